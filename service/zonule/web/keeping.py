"""Reading, saving, signing and adding to notes: what pages and programming interface do alike.

Every reading of a note stands in the trail; the store enters the writes itself.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from dataclasses import replace as changed

from starlette.requests import Request

from zonule import learning
from zonule.answers import KINDS
from zonule.case_data import CaseData
from zonule.casework import Casework, Given
from zonule.dictation import Dictation, read_bytes
from zonule.errors import InputError
from zonule.filling import facts_at
from zonule.labels import parse_label
from zonule.record.slots import format_value
from zonule.requirements import DEFAULT
from zonule.store import Note, NoteDraft, Proposal
from zonule.store.kept import CorrectionKind
from zonule.vocabulary import Origin
from zonule.web.problems import ProblemError
from zonule.web.reading_room import today


@dataclass(frozen=True, slots=True)
class Told:
    """What a person gives for a note: see `NoteDraft`, without what is read from it."""

    dictation: str
    name: str = "dictation"
    keep: tuple[str, ...] = ()
    answers: Mapping[str, str] = field(default_factory=dict)
    label: str | None = None
    case: CaseData | None = None
    standard: str = DEFAULT
    addenda: tuple[str, ...] = ()


def work(request: Request, told: Told) -> Casework:
    """Reads what was told; raises InputError, LabelError and UnknownNameError for what cannot be used."""
    given = Given(
        addenda=tuple(as_dictation(text, "addendum") for text in told.addenda),
        cases=(told.case,) if told.case else (),
        label=parse_label(told.label) if told.label else None,
        answers=told.answers,
        keep=told.keep,
        standard=told.standard,
        today=today(),
    )
    casework: Casework = request.app.state.reading_room.work(as_dictation(told.dictation, told.name), given)
    return casework


def as_dictation(text: str, name: str) -> Dictation:
    """The words as a dictation; raises InputError for none, too many, or characters nobody can speak."""
    try:
        return read_bytes(text.encode(), name)
    except UnicodeEncodeError as fault:
        raise InputError("The dictation: expected whole characters, got half of one; send it as UTF-8.") from fault


def draft_of(request: Request, told: Told) -> NoteDraft:
    """What was told, and what was read from it."""
    done = work(request, told)
    return NoteDraft(
        dictation=told.dictation,
        record=done.record,
        report=done.report,
        name=told.name,
        keep=told.keep,
        answers=dict(told.answers),
        label=told.label,
        case=told.case,
        standard=told.standard,
    )


def read_note(request: Request, note_id: str) -> Note:
    """The note as it stands."""
    note: Note = request.app.state.store.notes.get(note_id)
    enter(request, "note.read", note_id, version=note.number)
    return note


def create_note(request: Request, told: Told, case_id: str | None = None, key: str | None = None) -> Note:
    """A new note; with `case_id` that of a case of the day's list, whose data it takes."""
    store = request.app.state.store
    if case_id is not None and told.case is None:
        told = changed(told, case=store.cases.get(case_id).case)
    draft = draft_of(request, told)
    note: Note = store.notes.create(draft, by=user_name(request), case_id=case_id, key=key)
    _keep_corrections(request, None, draft)
    return note


def save_note(request: Request, note_id: str, base_version: int, told: Told) -> Note:
    """The note's next version; raises ConflictError when somebody saved since `base_version`."""
    store = request.app.state.store
    before = store.notes.get(note_id).draft
    if told.case is None:
        told = changed(told, case=before.case)
    draft = draft_of(request, told)
    note: Note = store.notes.save(note_id, base_version, draft, by=user_name(request))
    _keep_corrections(request, before, draft)
    return note


def sign_note(request: Request, note_id: str, version: int) -> Note:
    """The version signed under the full name of who is signed in."""
    user = request.state.user
    note: Note = request.app.state.store.notes.sign(note_id, version, by=user.name, signed_name=user.full_name)
    return note


def add_addendum(request: Request, note_id: str, text: str) -> Note:
    """The signed note with an addendum; the record is read anew from all that was said."""
    store = request.app.state.store
    note: Note = store.notes.get(note_id)
    draft = note.draft
    told = Told(
        draft.dictation,
        draft.name,
        draft.keep,
        draft.answers,
        draft.label,
        draft.case,
        draft.standard,
        (*(held.dictation for held in note.addenda), text),
    )
    done = work(request, told)
    added: Note = store.notes.add_addendum(note_id, text, done.record, done.report, by=user_name(request))
    return added


def decide_proposal(request: Request, proposal: str, *, accept: bool) -> Proposal:
    """What the unit makes of a proposal; an accepted one is read with from now on, in every worker process."""
    store = request.app.state.store
    store.corrections.get(proposal)  # an unknown one is told first
    (learning.accept if accept else learning.refuse)(store, proposal, user_name(request))
    if accept:
        request.app.state.reading_room.reload()
    decided: Proposal = store.corrections.get(proposal)
    return decided


def enter(request: Request, action: str, subject: str, **detail: int | str) -> None:
    """An entry of the trail by who is signed in. Ids and counts only."""
    request.app.state.store.trail.append(user_name(request), action, subject, detail)


def user_name(request: Request) -> str:
    """Who is signed in."""
    if request.state.user is None:
        raise ProblemError(401, "There is no session: sign in first.")
    return str(request.state.user.name)


def _keep_corrections(request: Request, before: NoteDraft | None, draft: NoteDraft) -> None:
    """What the person corrected since the version before, for the unit to learn from."""
    corrections, by = request.app.state.store.corrections, user_name(request)
    for kind, heard, reading in (*_refused(before, draft), *_answered(before, draft)):
        corrections.note(kind, heard, reading, by)


def _refused(before: NoteDraft | None, draft: NoteDraft) -> Iterator[tuple[CorrectionKind, str, str]]:
    """Repairs of the version before that are refused now."""
    newly = {heard.casefold() for heard in draft.keep} - {heard.casefold() for heard in (before.keep if before else ())}
    for repair in before.record.repairs if before else ():
        if repair.reading.heard.casefold() in newly:
            yield CorrectionKind.REPAIR_REFUSED, repair.reading.heard, repair.reading.read_as


def _answered(before: NoteDraft | None, draft: NoteDraft) -> Iterator[tuple[CorrectionKind, str, str]]:
    """New answers in the trade's own vocabulary. Names, numbers and dates are nothing to learn from."""
    known = before.answers if before else {}
    for slot, words in draft.answers.items():
        if slot in KINDS and words.strip() and known.get(slot) != words:
            values = [format_value(f.value) for f in facts_at(draft.record, slot) if f.origin is Origin.PERSON]
            if values:
                yield CorrectionKind.ANSWER, words, f"{slot}={'; '.join(values)}"

"""What the record itself, the list or the label holds against each other: conflicts, unclear words, repaired words."""

from collections.abc import Iterator

from zonule.case_data import case_conflicts
from zonule.consistency.finding import Checked, Found, Rule, spoken_name
from zonule.filling import PLACES, facts_at
from zonule.labels import label_conflicts
from zonule.record import Fact, Unclear
from zonule.record.operation_record import UNREAD_NUMBER
from zonule.vocabulary import Eye, Origin, Severity, Status

SUFFIXES = (".case_spelling", ".case", ".label")
"""Endings of conflicts that the list or the label has part in."""


OWN_RULE = ("operation.eye", "complications.statement")
"""Conflicts that a rule of their own asks about."""


def find_conflicts(checked: Checked) -> Iterator[Found]:
    """Values of the dictation that contradict each other."""
    for held in checked.record.conflicts:
        if not held.id.endswith(SUFFIXES) and held.id not in OWN_RULE:
            yield _found(checked, held)


def find_both_eyes(checked: Checked) -> Iterator[Found]:
    """Both eyes named for one operation."""
    eye = checked.record.operation.eye
    if eye is not None and eye.value is Eye.BOTH:
        yield Found((eye,), ("operation.eye",), id="operation.eye")
    yield from (_found(checked, held) for held in checked.record.conflicts if held.id == "operation.eye")


def find_other_eyes(checked: Checked) -> Iterator[Found]:
    """The other eye named by nothing but its name: taken for the other one, but a side may have been misspoken.

    Not asked again once a person has said which eye it was.
    """
    eye = checked.record.operation.eye
    if eye is not None and eye.origin is Origin.PERSON:
        return
    for remark in checked.record.remarks:
        named = remark.slot == "operation.eye" and remark.status is Status.OTHER_EYE
        if named and remark.cue in (None, *remark.evidence):
            words = {"side": remark.value}
            yield Found(slots=("operation.eye",), words=words, id="operation.eye.other", evidence=remark.evidence)


def find_case_conflicts(checked: Checked) -> Iterator[Found]:
    """Values that contradict the operating list."""
    yield from (_found(checked, held) for held in _against_list(checked) if held.id.endswith(".case"))


def find_case_spellings(checked: Checked) -> Iterator[Found]:
    """Names that differ from the operating list in spelling."""
    yield from (_found(checked, held) for held in _against_list(checked) if held.id.endswith(".case_spelling"))


def find_label_conflicts(checked: Checked) -> Iterator[Found]:
    """Values that contradict the lens label."""
    noted = [held for held in checked.record.conflicts if held.id.endswith(".label")]
    seen = label_conflicts(checked.record, checked.label) if checked.label else ()
    yield from (_found(checked, held) for held in _distinct([*noted, *seen]))


def find_unclear(checked: Checked) -> Iterator[Found]:
    """Words that look like content but could not be placed."""
    for held in checked.record.unclear:
        if held.id != UNREAD_NUMBER:
            yield Found(id=held.id, evidence=held.evidence, words={"detail": held.detail})


def find_unread(checked: Checked) -> Iterator[Found]:
    """Numbers that were said and are part of nothing that was read."""
    for held in checked.record.unclear:
        if held.id == UNREAD_NUMBER:
            said = " ".join(" ".join(e.text for e in held.evidence).split())
            yield Found(id=held.id, evidence=held.evidence, words={"words": said})


def find_repairs(checked: Checked) -> Iterator[Found]:
    """Words read as another term than heard."""
    for held in checked.record.repairs:
        words = {"heard": held.reading.heard, "read_as": held.reading.read_as}
        yield Found(id=held.reading.read_as, evidence=(held.evidence,), words=words)


def _against_list(checked: Checked) -> list[Unclear]:
    noted = [held for held in checked.record.conflicts if held.id.endswith(SUFFIXES[:2])]
    seen = case_conflicts(checked.record, checked.case) if checked.case else ()
    return _distinct([*noted, *seen])


def _distinct(held: list[Unclear]) -> list[Unclear]:
    return list({one.id: one for one in reversed(held)}.values())


def _found(checked: Checked, held: Unclear) -> Found:
    slot = held.id
    for suffix in SUFFIXES:
        slot = slot.removesuffix(suffix)
    spelling = held.id.endswith(".case_spelling")
    facts = _typed_in(checked, slot)
    return Found(
        facts=facts,
        slots=(slot,),
        words={
            "name": spoken_name(slot),
            "detail": held.detail.removeprefix(f"{held.id}: ").removesuffix(" were said"),
        },
        id=held.id,
        severity=None if spelling else severity_of(checked, slot),
        evidence=held.evidence,
    )


def _typed_in(checked: Checked, slot: str) -> tuple[Fact[object], ...]:
    return facts_at(checked.record, slot) if slot in PLACES else ()


def severity_of(checked: Checked, slot: str) -> Severity:
    """A contradiction weighs as much as silence: `must` for a slot that a note must hold."""
    must = {s for item in checked.requirements.items if item.severity is Severity.MUST for s in item.slots}
    return Severity.MUST if slot in must else Severity.SHOULD


RULES: dict[str, Rule] = {
    "conflict": find_conflicts,
    "both_eyes": find_both_eyes,
    "other_eye": find_other_eyes,
    "case": find_case_conflicts,
    "case_spelling": find_case_spellings,
    "label": find_label_conflicts,
    "unclear": find_unclear,
    "unread": find_unread,
    "repair": find_repairs,
}

"""Facts → `OperationRecord`. Values that contradict each other are kept and named; none is overwritten in silence."""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from typing import Any

from zonule.annotation.mentions import Annotation, Mention
from zonule.binding.found import Found
from zonule.binding.lenses import lens_status
from zonule.corrections import Retracted
from zonule.dictation import Dictation
from zonule.record import (
    Capsulorhexis,
    Evidence,
    MainIncision,
    Nucleus,
    Operation,
    OperationRecord,
    Paracentesis,
    Patient,
    Plan,
    ReadAs,
    Repair,
    Retraction,
    Team,
    Ultrasound,
    Unclear,
)
from zonule.record.operation_record import UNREAD_NUMBER
from zonule.record.slots import format_value
from zonule.text import Span
from zonule.vocabulary import ComplicationStatement, Eye, LensStatus, Status

WIDTH = "main_incision.width_mm"
"""A wound is enlarged and never shrinks: the widest said is its last state."""
LAST_COUNTS = frozenset({"main_incision.site", "main_incision.kind"})
"""Slots in which the last state said is the one that holds."""
GENERIC = {
    "operation.preoperative_diagnosis": "cataract",
    "operation.postoperative_diagnosis": "cataract",
    "nucleus.technique": "chop",
}
"""A value that says no kind gives way to one that does."""
KINDRED = frozenset({"operation.preoperative_diagnosis", "operation.postoperative_diagnosis"})
"""Slots in which only a kind of the same thing says more: a cataract beside a glaucoma is told of both."""
LENS_GONE = frozenset({"aphakia", "pseudophakia", "lens_opacification", "retained_lens_fragments"})
"""Diagnoses of eyes that have no cataract any more."""
REPLACING = frozenset({"intraocular_lens_exchange", "secondary_lens_insertion"})
"""Procedures that say how a lens was put in, so that its insertion alone says nothing more."""
MODELS: dict[str, type[Any]] = {
    "operation": Operation,
    "patient": Patient,
    "team": Team,
    "main_incision": MainIncision,
    "paracentesis": Paracentesis,
    "capsulorhexis": Capsulorhexis,
    "nucleus": Nucleus,
    "ultrasound": Ultrasound,
    "plan": Plan,
}
GROUPS = {name: [(f"{name}.{field}", field) for field in model.model_fields] for name, model in MODELS.items()}
"""The slots of each model, with the fields that they fill."""
LIST_SLOTS = frozenset(
    {
        "operation.procedures", "operation.preoperative_diagnosis", "operation.postoperative_diagnosis",
        "paracentesis.clock_hours", "plan.drops", "plan.follow_up_days", "plan.instructions", "nucleus.technique",
    }
)  # fmt: skip
UNREADABLE = {
    "unreadable_number": "these numbers can be read in more than one way",
    UNREAD_NUMBER: "this number is part of nothing that was read",
    "unreadable_date": "this date can be read in more than one way or is no day of the calendar",
}
TOP_LISTS = ("anesthesia", "steps", "settings", "other_implants", "drugs", "sutures", "findings", "specimens",
             "antibiotic_prophylaxis")  # fmt: skip
TOP_SINGLES = ("blood_loss", "counts")
FATED = ("lens_not_implanted.", "lens_explanted.")
"""Lenses of which there may be several."""

AnyFact = dict[str, Any]
"""A fact by the names of its fields: the whole record is validated at once, when it is made."""


class _Threads:
    """Mentions → evidence, time and readings; built once for a dictation."""

    def __init__(self, dictation: Dictation, annotation: Annotation) -> None:
        self._dictation = dictation
        self._annotation = annotation
        self._edits = [e for e in annotation.aligned.edits if e.rule != "time_mark" and e.rule != "spoken_punctuation"]
        self._starts = [e.original.start for e in self._edits]
        self._made: dict[tuple[int, int, bool], Evidence] = {}

    def evidence(self, mention: Mention) -> Evidence:
        quantity = mention.quantity
        place = mention if quantity is None else quantity
        key = (place.start, place.end, quantity is None)
        made = self._made.get(key)
        if made is None:
            made = self._made[key] = self._make(*key)
        return made

    def _make(self, start: int, end: int, words: bool) -> Evidence:
        # A quantity counts by characters: the sign of a number is no word.
        span = self._annotation.span(start, end) if words else self._annotation.aligned.to_original(Span(start, end))
        return Evidence(start=span.start, end=span.end, text=span.of(self._dictation.text))

    def fact(self, found: Found) -> AnyFact:
        evidence = tuple({(e.start, e.end): e for e in map(self.evidence, found.mentions)}.values())
        return {
            "value": found.value,
            "status": found.status,
            "evidence": evidence,
            "time_s": self._dictation.seconds_at(evidence[0].start),
            "read_as": tuple(dict.fromkeys(r for e in evidence for r in self._readings(e.start, e.end))),
            "cue": self.evidence(found.cue) if found.cue is not None else None,
        }

    def _readings(self, start: int, end: int) -> Iterable[ReadAs]:
        at = bisect_left(self._starts, start)
        while at < len(self._edits) and self._starts[at] < end:
            edit = self._edits[at]
            yield ReadAs(heard=edit.heard, read_as=edit.read_as, score=edit.score, rule=edit.rule)
            at += 1

    def repairs(self) -> tuple[Repair, ...]:
        repaired = [e for e in self._edits if e.rule.startswith("mishearing")]
        return tuple(
            Repair(
                evidence=Evidence(start=e.original.start, end=e.original.end, text=e.heard),
                reading=ReadAs(heard=e.heard, read_as=e.read_as, score=e.score, rule=e.rule),
            )
            for e in repaired
        )


def assemble_record(
    dictation: Dictation,
    annotation: Annotation,
    facts: Sequence[Found],
    retracted: Sequence[Retracted],
    unread: Sequence[Mention] = (),
) -> OperationRecord:
    """The record of everything said; `unread` are words with a number that is part of no fact."""
    threads = _Threads(dictation, annotation)
    done: dict[str, list[Found]] = {}
    for found in facts:
        if found.status is Status.DONE:
            done.setdefault(found.slot, []).append(found)
    conflicts: list[Unclear] = []
    fated = [lens for prefix in FATED for lens in _fated_lenses(prefix, done, threads, conflicts)]
    fields = {slot: _settle(slot, held, threads, conflicts) for slot, held in sorted(done.items())}
    return OperationRecord.model_validate(
        {
            **_groups(fields),
            **{name: fields.get(name, ()) for name in TOP_LISTS},
            **{name: fields.get(name) for name in TOP_SINGLES},
            "lenses": (*_lenses(fields), *fated),
            "viscoelastic": {
                "kinds": fields.get("viscoelastic.kinds", ()),
                "removed": fields.get("viscoelastic.removed"),
            },
            "complications": _complications(fields, conflicts),
            "remarks": _remarks(facts, threads),
            "retracted": _retractions(retracted, threads),
            "repairs": threads.repairs(),
            "conflicts": tuple(conflicts),
            "unclear": _unclear([*annotation.mentions, *unread], threads),
        }
    )


def _unclear(mentions: Iterable[Mention], threads: _Threads) -> tuple[Unclear, ...]:
    """Numbers and dates that a person must settle, and numbers that are part of nothing."""
    unreadable = [m for m in mentions if m.id in UNREADABLE]
    return tuple(Unclear(id=m.id, evidence=(threads.evidence(m),), detail=UNREADABLE[m.id]) for m in unreadable)


def _groups(fields: dict[str, Any]) -> dict[str, Any]:
    return {name: {field: fields[slot] for slot, field in slots if slot in fields} for name, slots in GROUPS.items()}


def _settle(slot: str, held: list[Found], threads: _Threads, conflicts: list[Unclear]) -> Any:
    """One slot: a tuple of distinct members for a list, one fact for the rest."""
    if slot in LIST_SLOTS or slot in TOP_LISTS or slot in ("complications.events", "viscoelastic.kinds"):
        return _members(slot, held, threads)
    if slot == "operation.eye":
        return _settle_eye(held, threads, conflicts)
    distinct = list({_text(f.value): f for f in reversed(held)}.values())
    if slot == WIDTH:
        return threads.fact(max(held, key=lambda f: (f.value, -f.at)))
    if slot in LAST_COUNTS:
        return threads.fact(max(held, key=lambda f: f.at))
    if len(distinct) > 1 and slot not in ("complications.statement", "viscoelastic.removed"):
        evidence = tuple(threads.evidence(f.mentions[0]) for f in sorted(distinct, key=lambda f: f.at))
        said = " and ".join(sorted(_text(f.value) for f in distinct))
        conflicts.append(Unclear(id=slot, evidence=evidence, detail=f"{slot}: {said} were said"))
        return None
    return threads.fact(min(held, key=lambda f: f.at))


def _members(slot: str, held: list[Found], threads: _Threads) -> tuple[AnyFact, ...]:
    distinct: dict[str, Found] = {}
    for found in sorted(held, key=lambda f: f.at):
        distinct.setdefault(_text(found.value), found)
    if slot == "operation.procedures" and not REPLACING.isdisjoint(distinct):
        distinct.pop("intraocular_lens_insertion", None)
    kinds = {value for value in distinct if value != GENERIC.get(slot)}
    if slot in KINDRED:
        kinds = {value for value in kinds if str(value).endswith(f"_{GENERIC[slot]}") or value in LENS_GONE}
    if slot in GENERIC and kinds:
        distinct.pop(GENERIC[slot], None)
    if slot == "sutures" and len(distinct) > 1:
        distinct.pop("none", None)
    if slot in ("drugs", "other_implants"):
        distinct = _without_bare(distinct)
    return tuple(threads.fact(f) for f in distinct.values())


def _without_bare(distinct: dict[str, Found]) -> dict[str, Found]:
    """A drug named again without route or dose is the one already told."""
    texts = list(distinct)
    return {
        text: f
        for text, f in distinct.items()
        if not any(other != text and other.startswith(text + " ") for other in texts)
    }


def _settle_eye(held: list[Found], threads: _Threads, conflicts: list[Unclear]) -> AnyFact | None:
    """The eye beyond doubt, or none: when both sides are named for one operation, the slot stays empty."""
    sides = {f.value: f for f in sorted(held, key=lambda f: -f.at)}
    if len(sides) > 1:
        sides.pop(Eye.BOTH, None)
    if len(sides) == 1:
        return threads.fact(next(iter(sides.values())))
    evidence = tuple(threads.evidence(f.mentions[0]) for f in sorted(sides.values(), key=lambda f: f.at))
    conflicts.append(Unclear(id="operation.eye", evidence=evidence, detail="both eyes are named for one operation"))
    return None


def _text(value: object) -> str:
    return format_value(value)


def _lenses(fields: dict[str, Any]) -> tuple[dict[str, Any], ...]:
    parts = {slot.partition(".")[2]: fact for slot, fact in fields.items() if slot.startswith("lens.")}
    return ({"status": LensStatus.IMPLANTED, **parts},) if parts else ()


def _fated_lenses(
    prefix: str, done: dict[str, list[Found]], threads: _Threads, conflicts: list[Unclear]
) -> Iterable[dict[str, Any]]:
    """The lenses of one fate: a new one where talk of a lens began and what is told differs from the one before."""
    slots = [slot for slot in sorted(done) if slot.startswith(prefix)]
    groups: dict[int, dict[str, list[Found]]] = {}
    for slot in slots:
        for found in done.pop(slot):
            groups.setdefault(found.group, {}).setdefault(slot, []).append(found)
    lenses: list[dict[str, list[Found]]] = []
    for _, told in sorted(groups.items()):
        if lenses and not any(_differ(lenses[-1].get(slot, held), held) for slot, held in told.items()):
            for slot, held in told.items():
                lenses[-1].setdefault(slot, []).extend(held)
        else:
            lenses.append(told)
    for told in lenses:
        facts = {slot.partition(".")[2]: _settle(slot, held, threads, conflicts) for slot, held in told.items()}
        yield {"status": lens_status(prefix), **facts}


def _differ(before: list[Found], now: list[Found]) -> bool:
    return {_text(f.value) for f in before}.isdisjoint(_text(f.value) for f in now)


def _complications(fields: dict[str, Any], conflicts: list[Unclear]) -> dict[str, Any]:
    events = fields.get("complications.events", ())
    stated = fields.get("complications.statement")
    if events and stated is not None:
        evidence = (stated["evidence"][0], *(e["evidence"][0] for e in events))
        detail = "no complications were stated beside a complication"
        conflicts.append(Unclear(id="complications.statement", evidence=evidence, detail=detail))
    statement = ComplicationStatement.NOT_STATED
    if events:
        statement = ComplicationStatement.PRESENT
    elif stated is not None:
        statement = ComplicationStatement.NONE
    return {"statement": statement, "statement_fact": None if events else stated, "events": events}


def _remarks(facts: Sequence[Found], threads: _Threads) -> tuple[dict[str, Any], ...]:
    kept: dict[tuple[str, str, Status, int], Found] = {}
    for found in sorted((f for f in facts if f.status is not Status.DONE), key=lambda f: f.at):
        kept.setdefault((found.slot, _text(found.value), found.status, found.at), found)
    remarks = []
    for (slot, text, status, _), found in kept.items():
        fact = threads.fact(found)
        told = {name: fact[name] for name in ("evidence", "cue", "time_s")}
        remarks.append({"slot": slot, "value": text, "status": status, **told})
    return tuple(remarks)


def _retractions(retracted: Sequence[Retracted], threads: _Threads) -> tuple[Retraction, ...]:
    kept: dict[tuple[int, int], Retraction] = {}
    for taken in retracted:
        evidence = threads.evidence(taken.mention)
        key = (evidence.start, evidence.end)
        kept.setdefault(key, Retraction(value=evidence.text, evidence=evidence, cue=threads.evidence(taken.cue)))
    return tuple(kept[key] for key in sorted(kept))

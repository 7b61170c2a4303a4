"""Records for the tests of gaps, drafted slot by slot in the grammar of the slot view, with words behind each value."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from zonule.case_data import CaseData
from zonule.filling import facts_at, parse_value, place_of, put
from zonule.labels import LensLabel
from zonule.record import Evidence, Fact, GapReport, Lens, OperationRecord, ReadAs, Remark, Repair, Unclear
from zonule.vocabulary import LensStatus, Status

Slots = Mapping[str, Sequence[str]]
NONE_SAID: Slots = {"team.assistant": ["none"], "team.anesthetist": ["none"]}
"""Nobody assisted: the reader keeps this as a remark `not_done`; drafted as its own word."""

COMPLETE: Slots = {
    "patient.name": ["ada tarnbrook"],
    "patient.hospital_number": ["41772"],
    "patient.date_of_birth": ["1948-06-02"],
    "operation.eye": ["left"],
    "operation.date": ["2026-03-04"],
    "operation.start_time": ["09:20"],
    "operation.end_time": ["09:42"],
    "operation.urgency": ["elective"],
    "operation.procedures": ["phacoemulsification", "intraocular_lens_insertion"],
    "operation.preoperative_diagnosis": ["nuclear_sclerotic_cataract"],
    "operation.postoperative_diagnosis": ["nuclear_sclerotic_cataract"],
    "team.surgeon": ["orla pennick"],
    "team.assistant": ["ivo larkwell"],
    "team.anesthetist": ["bram coldwater"],
    "anesthesia": ["topical", "intracameral"],
    "steps": [
        "draping", "main_incision", "viscoelastic_injection", "capsulorhexis", "hydrodissection", "nucleus_sculpting",
        "nucleus_cracking", "nucleus_removal", "cortex_removal", "lens_insertion", "viscoelastic_removal",
        "wound_hydration", "leak_check", "dressing",
    ],
    "main_incision.kind": ["clear_corneal"],
    "main_incision.width_mm": ["2.4"],
    "main_incision.site": ["temporal"],
    "paracentesis.clock_hours": ["2"],
    "capsulorhexis.diameter_mm": ["5"],
    "nucleus.technique": ["divide_and_conquer"],
    "settings": ["sculpt vacuum_mmhg 65", "* ultrasound_power_pct max 45"],
    "lens.manufacturer": ["orrinvale"],
    "lens.model": ["AQ7"],
    "lens.power_d": ["21.5"],
    "lens.serial_number": ["33729"],
    "lens.expiry_date": ["2028-11"],
    "lens.location": ["capsular_bag"],
    "viscoelastic": ["cohesive"],
    "viscoelastic.removed": ["true"],
    "drugs": ["lidocaine intracameral @ 1 % x 0.3 mL", "cefuroxime intracameral 1 mg @ 10 mg/mL x 0.1 mL"],
    "sutures": ["none"],
    "complications.statement": ["none"],
    "findings": ["posterior_capsule_intact"],
    "specimens": ["none"],
    "blood_loss": ["none"],
    "antibiotic_prophylaxis": ["cefuroxime"],
    "plan.drops": ["dexamethasone"],
    "plan.follow_up_days": ["14"],
}  # fmt: skip
"""A complete note by the default set, invented."""
DRUG = re.compile(r"(?P<drug>[^@]+?)(?: @ (?P<strength>[^x]+?))?(?: x (?P<volume>[\d.]+) mL)?")


@dataclass(frozen=True, slots=True)
class Draft:
    """A record before it is built, and what is given with it. `words` say a slot in other words than its value."""

    slots: Slots = field(default_factory=lambda: dict(COMPLETE))
    words: Mapping[str, str] = field(default_factory=dict)
    remarks: Sequence[tuple[str, str, str]] = ()
    conflicts: Sequence[tuple[str, str]] = ()
    unclear: Sequence[tuple[str, str]] = ()
    repairs: Sequence[tuple[str, str]] = ()
    second_lens: Slots = field(default_factory=dict)


class _Writing:
    """Writes the dictation and gives the evidence of what it has written."""

    def __init__(self) -> None:
        self.text = ""

    def say(self, words: str) -> tuple[Evidence, ...]:
        start = len(self.text)
        self.text += words + "\n"
        return (Evidence(start=start, end=start + len(words), text=words),)


def build(draft: Draft) -> OperationRecord:
    """The record of a draft."""
    writing, record = _Writing(), OperationRecord()
    for slot, values in draft.slots.items():
        facts = [_fact(slot, value, writing.say(draft.words.get(slot, value))) for value in values]
        record = put(record, slot, facts)
    return record.model_copy(
        update={
            "lenses": (*record.lenses, *_second_lens(draft.second_lens, writing)),
            "remarks": tuple(
                Remark(slot=slot, value=value, status=Status(status), evidence=writing.say(f"{slot} {value}"))
                for slot, value, status in draft.remarks
            ),
            "conflicts": tuple(Unclear(id=i, evidence=writing.say(w), detail=w) for i, w in draft.conflicts),
            "unclear": tuple(Unclear(id=i, evidence=writing.say(w), detail=w) for i, w in draft.unclear),
            "repairs": tuple(
                Repair(
                    evidence=writing.say(h)[0], reading=ReadAs(heard=h, read_as=r, score=0.9, rule="mishearing:known")
                )
                for h, r in draft.repairs
            ),
        }
    )


def _second_lens(slots: Slots, writing: _Writing) -> list[Lens]:
    """A second implanted lens, which the slot view has no name for."""
    alone = OperationRecord()
    for slot, values in slots.items():
        alone = put(alone, slot, [_fact(slot, value, writing.say(value)) for value in values])
    return [lens for lens in alone.lenses if lens.status is LensStatus.IMPLANTED]


def _fact(slot: str, value: str, evidence: tuple[Evidence, ...]) -> Fact[Any]:
    if slot == "drugs":
        return place_of(slot).fact(value=_drug(value), evidence=evidence)
    typed = value if place_of(slot).value is str else parse_value(slot, value)
    return place_of(slot).fact(value=typed, evidence=evidence)


def _drug(text: str) -> object:
    """`drug route dose unit @ strength x volume mL`, of which the slot grammar knows the part before the @."""
    found = DRUG.fullmatch(text)
    assert found, text
    given = parse_value("drugs", found["drug"])
    assert hasattr(given, "model_copy")
    volume = float(found["volume"]) if found["volume"] else None
    return given.model_copy(update={"strength": found["strength"], "volume_ml": volume})


def read_draft(case: Mapping[str, Any]) -> Draft:
    """The draft of one case file: the complete note, with `remove` taken out and `set` laid over it."""
    slots = {slot: values for slot, values in COMPLETE.items() if slot not in case.get("remove", ())}
    laid = {slot: _several(value) for slot, value in case.get("set", {}).items()}
    return Draft(
        slots={} if case.get("empty") and not laid else {**({} if case.get("empty") else slots), **laid},
        words=case.get("words", {}),
        remarks=[tuple(r) for r in case.get("remarks", ())],
        conflicts=[tuple(c) for c in case.get("conflicts", ())],
        unclear=[tuple(u) for u in case.get("unclear", ())],
        repairs=[tuple(r) for r in case.get("repairs", ())],
        second_lens={slot: _several(value) for slot, value in case.get("second_lens", {}).items()},
    )


def read_extras(case: Mapping[str, Any]) -> dict[str, Any]:
    """Case data, label and day of a case file, as arguments of `check`."""
    return {
        "standard": case.get("standard", "default"),
        "case": CaseData.model_validate(case["list"]) if "list" in case else None,
        "label": LensLabel.model_validate(case["label"]) if "label" in case else None,
        "today": case.get("today", date(2026, 3, 5)),
    }


def shown(report: GapReport) -> list[str]:
    """Each gap as `kind id severity`, and its words behind a colon."""
    lines = []
    for gap in report.gaps:
        words = " | ".join(e.text for e in gap.evidence)
        lines.append(f"{gap.kind.value} {gap.id} {gap.severity.value}" + (f": {words}" if words else ""))
    return lines


def _several(value: Any) -> list[str]:
    return value if isinstance(value, list) else [value]


def values_of(record: OperationRecord, slot: str) -> list[object]:
    """The bare values of a slot."""
    return [fact.value for fact in facts_at(record, slot)]

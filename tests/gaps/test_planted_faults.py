"""Thirty complete notes, each with one to six planted faults, get exactly the findings of these faults."""

import random
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date

import pytest
from drafts import Draft, Slots, build, read_extras, shown
from generated import complete_note

from zonule.gap_report import check
from zonule.lexicon import Lexicon
from zonule.requirements import Requirements

NOTES = 30
DAY = date(2026, 12, 1)


@dataclass(frozen=True, slots=True)
class Fault:
    """What is changed in a complete note and what must be found. `touches` keeps faults off each other's slots."""

    name: str
    touches: str
    expect: tuple[str, ...]
    change: Slots = field(default_factory=dict)
    conflicts: tuple[tuple[str, str], ...] = ()
    case: Mapping[str, object] = field(default_factory=dict)
    label: Mapping[str, object] = field(default_factory=dict)


def value(name: str, touches: str, slot: str, said: str, kind: str, severity: str, id: str | None = None) -> Fault:
    """A fault of one value, found with its own words."""
    return Fault(name, touches, (f"{kind} {id or slot} {severity}: {said}",), {slot: [said]})


CEFUROXIME = "cefuroxime intracameral 9 mg x 0.1 mL"
FAULTS = (
    value("incision ten times too wide", "incision", "main_incision.width_mm", "24", "implausible", "must"),
    value("an hour no clock has", "paracentesis", "paracentesis.clock_hours", "14", "implausible", "must"),
    value("power without its point", "power", "lens.power_d", "215", "implausible", "must"),
    value("power between the steps", "power", "lens.power_d", "21.1", "implausible", "should", "lens.power_step"),
    value("rhexis too wide", "rhexis", "capsulorhexis.diameter_mm", "55", "implausible", "must"),
    value("expired lens", "expiry", "lens.expiry_date", "2025-11", "implausible", "must", "lens.expired"),
    value("operation to come", "date", "operation.date", "2027-01-10", "implausible", "must", "operation.in_future"),
    value(
        "vacuum too high",
        "settings",
        "settings",
        "chop vacuum_mmhg max 5000",
        "implausible",
        "must",
        "settings.vacuum_mmhg",
    ),
    value("published overdose", "drugs", "drugs", CEFUROXIME, "implausible", "must", "drugs.dose"),
    value("both eyes", "eye", "operation.eye", "both", "conflict", "must"),
    value(
        "lens opened",
        "other lens",
        "lens_not_implanted.serial_number",
        "771",
        "unclear",
        "should",
        "lens.opened_not_implanted",
    ),
    value("blood loss of a liter", "blood", "blood_loss", "1000 mL", "implausible", "must"),
    Fault(
        "end before start",
        "times",
        ("implausible operation.end_before_start must: 10:30 | 10:05",),
        {"operation.start_time": ["10:30"], "operation.end_time": ["10:05"]},
    ),
    Fault(
        "sutured and not",
        "sutures",
        ("conflict sutures.denied should: none | 9-0 silk 1",),
        {"sutures": ["none", "9-0 silk 1"]},
    ),
    Fault(
        "two surgeons",
        "surgeon",
        ("conflict team.surgeon must: pennick and larkwell",),
        conflicts=(("team.surgeon", "pennick and larkwell"),),
    ),
    Fault(
        "another model planned", "model", ("conflict lens.model_plan must: AQ7",), case={"planned_lens": "Fellmoor B2"}
    ),
    Fault(
        "another serial on the label",
        "serial",
        ("conflict lens.serial_number.label must: 33729",),
        {"lens.serial_number": ["33729"]},
        label={"serial_number": "33728"},
    ),
    Fault(
        "effective time off",
        "ultrasound",
        ("conflict ultrasound.effective_phaco_time should: 60 | 20 | 30",),
        {
            "ultrasound.phaco_time_s": ["60"],
            "ultrasound.average_power_pct": ["20"],
            "ultrasound.effective_phaco_time_s": ["30"],
        },
    ),
)
"""Invented faults; the overdose is the published one (JAMA Ophthalmology 2015)."""


def planted(seed: int) -> list[Fault]:
    """One to six faults that do not touch the same slots."""
    dice = random.Random(1000 + seed)
    chosen: dict[str, Fault] = {}
    for fault in dice.sample(FAULTS, len(FAULTS)):
        chosen.setdefault(fault.touches, fault)
    return list(chosen.values())[: dice.randint(1, 6)]


def with_faults(note: Draft, faults: list[Fault]) -> Draft:
    slots = {**note.slots, "anesthesia": ["topical"], "drugs": ["lidocaine intracameral @ 1 % x 0.3 mL"]}
    for fault in faults:
        slots.update(fault.change)
    conflicts = [conflict for fault in faults for conflict in fault.conflicts]
    return replace(note, slots=slots, conflicts=conflicts)


@pytest.mark.parametrize("seed", range(NOTES))
def test_exactly_the_planted_faults_are_found(seed: int, requirements: Requirements, lexicon: Lexicon) -> None:
    faults = planted(seed)
    extras = {
        "list": {column: value for fault in faults for column, value in fault.case.items()},
        "label": {name: value for fault in faults for name, value in fault.label.items()},
        "today": DAY,
    }
    record = build(with_faults(complete_note(seed), faults))
    found = shown(check(record, requirements, lexicon, **read_extras(extras)))
    assert sorted(found) == sorted(line for fault in faults for line in fault.expect), [f.name for f in faults]


def test_every_fault_is_planted_somewhere() -> None:
    counts = [len(planted(seed)) for seed in range(NOTES)]
    assert {fault.name for seed in range(NOTES) for fault in planted(seed)} == {fault.name for fault in FAULTS}
    assert set(counts) == {1, 2, 3, 4, 5, 6}

"""The operation record: pydantic models of the record contract, and their flat slot view. No language processing."""

from zonule.record.facts import Evidence, Fact, ReadAs
from zonule.record.gaps import Gap, GapReport, gap_lines
from zonule.record.operation_record import (
    Capsulorhexis,
    Complications,
    DrugGiven,
    Implant,
    Lens,
    MainIncision,
    Nucleus,
    Operation,
    OperationRecord,
    Paracentesis,
    Patient,
    Plan,
    Remark,
    Repair,
    Retraction,
    Setting,
    SutureUse,
    Team,
    Ultrasound,
    Unclear,
    Viscoelastic,
)
from zonule.record.slots import SlotValue, slot_lines, slot_values

__all__ = [
    "Capsulorhexis", "Complications", "DrugGiven", "Evidence", "Fact", "Gap", "GapReport", "Implant", "Lens",
    "MainIncision", "Nucleus", "Operation", "OperationRecord", "Paracentesis", "Patient", "Plan", "ReadAs",
    "Remark", "Repair", "Retraction", "Setting", "SlotValue", "SutureUse", "Team", "Ultrasound", "Unclear",
    "Viscoelastic", "gap_lines", "slot_lines", "slot_values",
]  # fmt: skip

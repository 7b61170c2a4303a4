"""The values of a record as a page shows them: in words, with the places they hang by."""

from dataclasses import dataclass
from datetime import date
from enum import Enum
from typing import Any

from zonule.export import quantities
from zonule.export.wording import capitalized, name_shown, slot_label, wording, words
from zonule.record import DrugGiven, Fact, Implant, OperationRecord, Setting, SutureUse, slot_values
from zonule.record.slots import SlotValue, format_number
from zonule.vocabulary import Origin

Places = tuple[tuple[int, int], ...]
"""Start and end of words in the dictation, in characters."""
POWERS = ("power_d", "cylinder_d", "target_refraction_d")
SOURCES = {Origin.LABEL: "lens label", Origin.WORKLIST: "from the list", Origin.PERSON: "typed in"}
"""Where a value is from that nobody dictated."""
TRUTH = {"viscoelastic.removed": ("removed", "not removed"), "capsulorhexis.complete": ("complete", "not complete")}


@dataclass(frozen=True, slots=True)
class ShownValue:
    """One value of the record. `id` is unique on a page; `source` is empty for a dictated value.

    `text` is for reading, `typed` the same value as an answer would be typed (record contract, section 5).
    """

    id: str
    slot: str
    label: str
    text: str
    typed: str
    places: Places
    time_s: float | None
    source: str

    @property
    def time(self) -> str:
        """When it was said, as `m:ss`; empty where the source is not timed."""
        return quantities.mark_of_time(self.time_s) if self.time_s is not None else ""


def shown_values(record: OperationRecord) -> tuple[ShownValue, ...]:
    """Every slot value of the record, numbered in the order of the slot view, steps in the order performed."""
    return tuple(_shown(f"v{number}", held) for number, held in enumerate(slot_values(record)))


def _shown(name: str, held: SlotValue) -> ShownValue:
    fact = held.fact
    return ShownValue(
        id=name,
        slot=held.slot,
        label=slot_label(held.slot),
        text=words(held.text) if held.slot == "complications.statement" else value_in_words(held.slot, fact),
        typed=held.text,
        places=places_of(fact),
        time_s=fact.time_s,
        source=SOURCES.get(fact.origin, ""),
    )


def places_of(fact: Fact[Any]) -> Places:
    """Where the words of a fact stand, the words of the value itself first."""
    return tuple((evidence.start, evidence.end) for evidence in fact.evidence)


def value_in_words(slot: str, fact: Fact[Any]) -> str:
    """The value as a person reads it, with its unit."""
    value = fact.value
    match value:
        case bool():
            return TRUTH.get(slot, ("yes", "no"))[not value]
        case Setting():
            return _setting(value)
        case DrugGiven():
            return _drug(value)
        case SutureUse():
            return quantities.sutures(value)
        case Implant():
            return f"{words(value.kind)} {value.identifier or ''}".strip()
        case date():
            return quantities.day(value)
        case Enum():
            return words(str(value.value))
        case int() | float():
            return _number(slot, float(value))
    return _text(slot, str(value))


def _text(slot: str, value: str) -> str:
    if slot.startswith(("team.", "patient.name")):
        return name_shown(value)
    if slot.endswith("expiry_date"):
        return quantities.spoken_day(value)
    return quantities.site(value) if slot == "main_incision.site" else words(value)


def _number(slot: str, value: float) -> str:
    name = slot.rpartition(".")[2]
    if name in POWERS:
        return quantities.signed_power(value)
    if name == "clock_hours":
        return f"{quantities.clock_hour(value)} o'clock"
    if name == "follow_up_days":
        return quantities.follow_up(value)
    unit = next((unit for suffix, unit in wording()["unit"].items() if name.endswith(f"_{suffix}")), "")
    return f"{quantities.number(value)}{'' if unit in ('', '°') else ' '}{unit}"


def _setting(setting: Setting) -> str:
    name, unit = wording()["parameter"].get(setting.parameter, (words(setting.parameter), ""))
    phase = f"{capitalized(words(setting.phase))}: " if setting.phase else ""
    place = quantities.setting_place(setting)
    amount = f"{quantities.bare_amount(setting)} {unit}".strip()
    return f"{phase}{name.lower()} {amount}" + (f" ({place})" if place else "")


def _drug(drug: DrugGiven) -> str:
    volume = f"{format_number(drug.volume_ml)} mL" if drug.volume_ml is not None else ""
    route = words(drug.route) if drug.route else ""
    parts = (words(drug.drug), quantities.dose(drug), drug.strength or "", volume, route)
    return ", ".join(part for part in parts if part)

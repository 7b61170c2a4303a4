"""Strengths, doses and volumes in common units: mg or international units, and mL."""

import re
from dataclasses import dataclass
from typing import Literal

Measure = Literal["mg", "IU"]
MASSES = {"g": 1000.0, "mg": 1.0, "microgram": 0.001, "micrograms": 0.001, "mcg": 0.001, "ug": 0.001, "µg": 0.001,
          "μg": 0.001, "ng": 1e-6, "nanograms": 1e-6, "grams": 1000.0, "milligrams": 1.0}  # fmt: skip
UNITS = frozenset({"iu", "units", "unit", "u", "international units"})
VOLUMES = {"ml": 1.0, "cc": 1.0, "milliliters": 1.0, "microliter": 0.001, "microliters": 0.001, "ul": 0.001,
           "µl": 0.001, "μl": 0.001, "l": 1000.0}  # fmt: skip
NUMBER = r"\d+(?:\.\d+)?"


@dataclass(frozen=True, slots=True)
class Amount:
    """So much, in mg or international units."""

    value: float
    measure: Measure


@dataclass(frozen=True, slots=True)
class Strength:
    """So much in one mL; `volume_ml` when the wording itself names the volume (`1 mg in 0.1 mL`)."""

    per_ml: Amount
    volume_ml: float | None = None


def as_amount(value: float, unit: str | None) -> Amount | None:
    """A dose in mg or units; None for a unit that is neither."""
    name = (unit or "").strip().casefold()
    if name in UNITS:
        return Amount(value, "IU")
    return Amount(value * MASSES[name], "mg") if name in MASSES else None


def as_volume(value: float, unit: str | None) -> float | None:
    """A volume in mL; None for a unit that is none of volume."""
    factor = VOLUMES.get((unit or "").strip().casefold())
    return None if factor is None else value * factor


def parse_strength(text: str) -> Strength | None:
    """The strength in mg or units a mL; None for wording that gives none.

    x % is 10 x mg/mL; 1:x is 1 g in x mL, so 1000/x mg/mL.
    """
    words = text.strip().replace(",", "")
    if found := re.fullmatch(rf"({NUMBER}) ?%", words):
        return Strength(Amount(10 * float(found[1]), "mg"))
    if found := re.fullmatch(rf"1 ?(?::|in) ?({NUMBER})", words):
        return Strength(Amount(1000 / float(found[1]), "mg")) if float(found[1]) else None
    if found := re.fullmatch(rf"({NUMBER}) ?([^\W\d]+(?: units)?) ?(/|per|in) ?({NUMBER})? ?([^\W\d]+)", words):
        return _ratio(*found.groups())
    return None


def _ratio(value: str, unit: str, joint: str, volume: str | None, volume_unit: str) -> Strength | None:
    amount, room = as_amount(float(value), unit), as_volume(float(volume or 1), volume_unit)
    if amount is None or not room:
        return None
    return Strength(Amount(amount.value / room, amount.measure), room if joint == "in" and volume else None)

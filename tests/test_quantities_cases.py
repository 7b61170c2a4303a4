"""Quantities of normalized texts, as data; every form of every unit."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from zonule.annotation.quantities import Quantity, Units, find_quantities, load_units

CASES: list[dict[str, Any]] = tomllib.loads(
    (Path(__file__).parent / "cases" / "numbers" / "quantities.toml").read_text("utf-8")
)["case"]


@pytest.fixture(scope="module")
def units() -> Units:
    return load_units(Path(__file__).parents[1] / "lexicon" / "common")


def show(text: str, quantity: Quantity) -> str:
    value = quantity.value if isinstance(quantity.value, str) else f"{quantity.value:.6f}".rstrip("0").rstrip(".")
    parts = [text[quantity.start : quantity.end], quantity.dimension, value]
    if quantity.limit != "fixed" or quantity.low is not None or quantity.high is not None:
        bounds = ["-" if bound is None else f"{bound:g}" for bound in (quantity.low, quantity.high)]
        parts.append(" ".join([quantity.limit, *bounds]))
    if quantity.unit is not None:
        parts.append(f"[{quantity.unit}]")
    return " | ".join(parts)


@pytest.mark.parametrize("case", CASES, ids=[case["text"][:60] for case in CASES])
def test_quantities(case: dict[str, Any], units: Units) -> None:
    text = case["text"]
    assert [show(text, quantity) for quantity in find_quantities(text, units)] == case["found"]


def test_every_form_of_every_unit(units: Units) -> None:
    wrong = []
    for forms in units.words.units.by_head.values():
        for form in forms:
            value = form.unit.smallest or 7.0
            text = f"gave {value:g} {form.written} of it"
            found = [(q.dimension, q.value) for q in find_quantities(text, units)]
            if found != [(form.unit.dimension, round(value * form.unit.factor, 6))]:
                wrong.append((text, found))
    assert wrong == []


def test_ambiguous_dates_follow_day_first(units: Units) -> None:
    def dates(day_first: bool) -> list[float | str]:
        return [q.value for q in find_quantities("03/04/2026 14/03/2026 3/14/2026", units, day_first=day_first)]

    assert dates(day_first=True) == ["2026-04-03", "2026-03-14", "2026-03-14"]
    assert dates(day_first=False) == ["2026-03-04", "2026-03-14", "2026-03-14"]

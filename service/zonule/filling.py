"""Filling slots: a value in the grammar of the slot view (record contract, section 5) → a record that holds it."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import Enum
from typing import Any, get_args

from pydantic import BaseModel
from rapidfuzz import process

from zonule.errors import InputError, UnknownNameError
from zonule.record import (
    Complications,
    DrugGiven,
    Evidence,
    Fact,
    Implant,
    Lens,
    OperationRecord,
    Setting,
    SutureUse,
    Viscoelastic,
)
from zonule.record.slots import GROUPS, LENS_PREFIX, LISTS
from zonule.vocabulary import ComplicationStatement, LensStatus, Limit, Origin

ROUTES = (
    "topical", "intracameral", "subconjunctival", "sub_tenon", "peribulbar", "retrobulbar", "intravitreal", "oral",
    "intravenous",
)  # fmt: skip
"""Routes of the record contract, section 2."""
TEMPORARY = ("iris_hooks", "pupil_ring")
"""Implants that leave the eye before the end (record contract, section 2)."""
MONTH_OR_DAY = (r"\d{4}-(0[1-9]|1[0-2])(-(0[1-9]|[12]\d|3[01]))?", "a day or a month such as 2028-11")
FORMS = {
    "operation.start_time": (r"([01]\d|2[0-3]):[0-5]\d", "a time such as 09:20"),
    "operation.end_time": (r"([01]\d|2[0-3]):[0-5]\d", "a time such as 09:45"),
    **{f"{prefix}.expiry_date": MONTH_OR_DAY for prefix in LENS_PREFIX.values()},
}
"""Slots of plain text whose text has a form."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a slot lives in the record: the path of fields, the type of its value, and whether it holds several."""

    path: tuple[str, ...]
    value: type
    fact: type[Fact[Any]]
    many: bool
    lens: LensStatus | None = None


def _places() -> dict[str, Place]:
    found: dict[str, Place] = {}
    for group in GROUPS:
        model = OperationRecord.model_fields[group].annotation
        assert isinstance(model, type)
        assert issubclass(model, BaseModel)
        found |= {f"{group}.{name}": _place(model, name, group) for name in model.model_fields}
    found |= {name: _place(OperationRecord, name) for name in LISTS}
    for status, prefix in LENS_PREFIX.items():
        fields = [name for name in Lens.model_fields if name != "status"]
        found |= {f"{prefix}.{name}": _place(Lens, name, lens=status) for name in fields}
    found["viscoelastic"] = _place(Viscoelastic, "kinds", "viscoelastic")
    found["viscoelastic.removed"] = _place(Viscoelastic, "removed", "viscoelastic")
    found["complications.statement"] = _place(Complications, "statement_fact", "complications")
    found["complications.events"] = _place(Complications, "events", "complications")
    return found


def _place(model: type[BaseModel], name: str, *group: str, lens: LensStatus | None = None) -> Place:
    annotation = model.model_fields[name].annotation
    fact = get_args(annotation)[0]
    value = fact.__pydantic_generic_metadata__["args"][0]
    return Place((*group, name), value, fact, type(None) not in get_args(annotation), lens)


PLACES = _places()
"""Every slot of the record contract and where it lives."""


def place_of(slot: str) -> Place:
    """Where `slot` lives; raises UnknownNameError, with the nearest known slot, for one that does not exist."""
    if slot in PLACES:
        return PLACES[slot]
    near = process.extractOne(slot, list(PLACES))
    raise UnknownNameError(f"Unknown slot {slot!r}: expected a slot of the record contract, perhaps {near[0]!r}.")


def facts_at(record: OperationRecord, slot: str) -> tuple[Fact[Any], ...]:
    """The facts that fill `slot` now; of lenses, those of the first with the slot's status."""
    place = place_of(slot)
    held: Any = _lens(record, place.lens) if place.lens else record
    for name in place.path:
        held = getattr(held, name, None)
    return held if isinstance(held, tuple) else (held,) if held is not None else ()


def fact_for(slot: str, value: object, origin: Origin, evidence: tuple[Evidence, ...] = ()) -> Fact[Any]:
    """A fact of the type that `slot` holds; `value` is of that type already."""
    return place_of(slot).fact(value=value, origin=origin, evidence=evidence)


def put(record: OperationRecord, slot: str, facts: Iterable[Fact[Any]]) -> OperationRecord:
    """The record with `facts`, and only these, in `slot`; a lens is added when there is none to hold the value."""
    place = place_of(slot)
    given = tuple(facts)
    held = given if place.many else (given[0] if given else None)
    if place.lens:
        return _put_in_lens(record, place.lens, place.path[0], held)
    if slot.startswith("complications."):
        return _put_complications(record, slot, given)
    if len(place.path) == 1:
        return record.model_copy(update={place.path[0]: held})
    group, name = place.path
    return record.model_copy(update={group: getattr(record, group).model_copy(update={name: held})})


def _lens(record: OperationRecord, status: LensStatus) -> Lens | None:
    return next((lens for lens in record.lenses if lens.status is status), None)


def _put_in_lens(record: OperationRecord, status: LensStatus, name: str, held: object) -> OperationRecord:
    old = _lens(record, status)
    if old is None:
        return record.model_copy(
            update={"lenses": (*record.lenses, Lens(status=status).model_copy(update={name: held}))}
        )
    new = old.model_copy(update={name: held})
    return record.model_copy(update={"lenses": tuple(new if lens is old else lens for lens in record.lenses)})


def _put_complications(record: OperationRecord, slot: str, facts: tuple[Fact[Any], ...]) -> OperationRecord:
    """The statement follows its fact; events without a statement say that there were some."""
    update: dict[str, Any]
    if slot == "complications.events":
        update = {"events": facts}
        if facts and record.complications.statement_fact is None:
            update["statement"] = ComplicationStatement.PRESENT
        elif not facts and record.complications.statement_fact is None:
            update["statement"] = ComplicationStatement.NOT_STATED
    else:
        fact = facts[0] if facts else None
        implied = ComplicationStatement.PRESENT if record.complications.events else ComplicationStatement.NOT_STATED
        update = {"statement_fact": fact, "statement": fact.value if fact else implied}
    return record.model_copy(update={"complications": record.complications.model_copy(update=update)})


def parse_value(slot: str, text: str) -> object:
    """The typed value of `text` in the slot grammar; raises InputError with what the slot expects."""
    place = place_of(slot)
    words = text.strip()
    form, wanted = FORMS.get(slot, (r"(?s).+", "some text"))
    if not re.fullmatch(form, words):
        raise InputError(f"Value of {slot!r}: expected {wanted}, got {text!r}; please correct it.")
    try:
        return _parse(place.value, words)
    except ValueError as fault:
        wanted = str(fault) if str(fault).startswith(("a ", "one ")) else "a value of its kind"
        raise InputError(f"Value of {slot!r}: expected {wanted}, got {text!r}; please correct it.") from fault


def _parse(kind: type, text: str) -> object:
    if kind is float:
        return _parse_number(text)
    if kind is bool:
        return _parse_bool(text)
    if kind is date:
        return _parse_date(text)
    if issubclass(kind, Enum):
        return _parse_choice(kind, text)
    if kind in COMPOUND:
        return COMPOUND[kind](text)
    return text


def _parse_number(text: str) -> float:
    if not re.fullmatch(r"[+-]?\d{1,9}(\.\d{1,6})?", text):
        raise ValueError("a number such as 21.5")
    return float(text)


def _parse_bool(text: str) -> bool:
    answers = {"true": True, "yes": True, "false": False, "no": False}
    if text.casefold() not in answers:
        raise ValueError("one of yes, no")
    return answers[text.casefold()]


def _parse_date(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as fault:
        raise ValueError("a date such as 2026-03-04") from fault


def _parse_choice(kind: type[Enum], text: str) -> Enum:
    try:
        return kind(text.casefold())
    except ValueError as fault:
        raise ValueError(f"one of {', '.join(str(c.value) for c in kind)}") from fault


def _parse_drug(text: str) -> DrugGiven:
    drug, *rest = text.split()
    route = rest.pop(0) if rest and rest[0] in ROUTES else None
    if rest and len(rest) != 2:
        raise ValueError("a drug, its route, dose and unit such as 'cefuroxime intracameral 1 mg'")
    dose, unit = (_parse_number(rest[0]), rest[1]) if rest else (None, None)
    return DrugGiven(drug=drug, route=route, dose=dose, dose_unit=unit)


def _parse_suture(text: str) -> SutureUse:
    found = re.fullmatch(r"(?:(?P<size>\d{1,2}-0) )?(?P<material>[a-z]\w*)(?: (?P<count>\d{1,2}))?", text)
    if not found:
        raise ValueError("a size, a material and a count such as '10-0 nylon 1', or none")
    count = found["count"]
    return SutureUse(size=found["size"], material=found["material"], count=int(count) if count else None)


def _parse_implant(text: str) -> Implant:
    kind, _, identifier = text.partition(" ")
    return Implant(kind=kind, identifier=identifier or None, temporary=kind in TEMPORARY)


SETTING = re.compile(
    r"(?P<phase>\*|[a-z_]+) (?P<parameter>[a-z_]+)"
    r" (?:range (?P<low>[\d.]+)-(?P<high>[\d.]+)|(?P<max>max )?(?P<value>[\d.]+))"
    r"(?: fp(?P<foot>\d))?(?: mem(?P<memory>\d+))?"
)


def _parse_setting(text: str) -> Setting:
    found = SETTING.fullmatch(text)
    if not found:
        raise ValueError("a setting such as 'sculpt vacuum_mmhg max 65'")
    number = {n: float(found[n]) if found[n] else None for n in ("low", "high", "value")}
    whole = {n: int(found[n]) if found[n] else None for n in ("foot", "memory")}
    return Setting(
        phase=None if found["phase"] == "*" else found["phase"],
        parameter=found["parameter"],
        limit=Limit.RANGE if found["low"] else Limit.MAXIMUM if found["max"] else Limit.FIXED,
        **number,
        foot_position=whole["foot"],
        memory=whole["memory"],
    )


COMPOUND = {DrugGiven: _parse_drug, SutureUse: _parse_suture, Implant: _parse_implant, Setting: _parse_setting}
"""Values of several words and how they are read."""

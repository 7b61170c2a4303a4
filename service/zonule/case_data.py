"""Case data: what the operating list knew of each case before the first cut."""

import csv
import datetime
import io
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Annotated

from pydantic import BeforeValidator, Field, StringConstraints, ValidationError
from rapidfuzz import fuzz

from zonule.errors import InputError
from zonule.filling import fact_for, facts_at, put
from zonule.labels import same_identifier
from zonule.record import OperationRecord, Remark, Unclear
from zonule.record.facts import Frozen
from zonule.record.slots import format_value
from zonule.vocabulary import Eye, Origin, Status

LARGEST = 1_000_000
"""Bytes of a list; a day's list is a few kilobytes."""
Cell = Annotated[str, StringConstraints(strip_whitespace=True, pattern=r"^[^\x00-\x1f\x7f]{1,200}$")]


def _split(held: object) -> object:
    return [part.strip() for part in re.split(r"[;,]", held) if part.strip()] if isinstance(held, str) else held


EYES = {"r": "right", "re": "right", "od": "right", "l": "left", "le": "left", "os": "left"}


def _eye(held: object) -> object:
    if not isinstance(held, str):
        return held
    word = held.strip().casefold().removesuffix(" eye")
    return EYES.get(word, word)


class CaseData(Frozen):
    """One case of the list; any column may be left empty.

    Dates are ISO 8601, the planned power is in diopters, the planned axis in degrees. Allergies are separated by
    semicolons or commas; `none` says that there are none.
    """

    patient: Cell | None = None
    hospital_number: Cell | None = None
    date_of_birth: datetime.date | None = None
    date: datetime.date | None = None
    theatre: Cell | None = None
    planned_eye: Annotated[Eye, BeforeValidator(_eye)] | None = None
    procedure: Cell | None = None
    planned_lens: Cell | None = None
    planned_power_d: Annotated[float, Field(ge=-40, le=80)] | None = None
    planned_axis_deg: Annotated[float, Field(ge=0, le=180)] | None = None
    allergies: Annotated[tuple[Cell, ...], BeforeValidator(_split)] = ()
    surgeon: Cell | None = None
    assistant: Cell | None = None
    supervisor: Cell | None = None
    anesthetist: Cell | None = None
    scrub: Cell | None = None


KNOWN = {
    "patient": "patient.name",
    "hospital_number": "patient.hospital_number",
    "date_of_birth": "patient.date_of_birth",
    "date": "operation.date",
    "surgeon": "team.surgeon",
    "assistant": "team.assistant",
    "supervisor": "team.supervisor",
    "anesthetist": "team.anesthetist",
    "scrub": "team.scrub",
}
"""Columns that are known before the operation and fill a slot that was not dictated."""
PLANNED = {
    "planned_eye": "operation.eye",
    "procedure": "operation.procedures",
    "planned_lens": "lens.model",
    "planned_power_d": "lens.power_d",
    "planned_axis_deg": "lens.axis_deg",
}
"""Columns that are a plan: they are kept as remarks and compared, but never fill a slot."""
NAMES = ("patient", "surgeon", "assistant", "supervisor", "anesthetist", "scrub")
TITLES = frozenset(
    ("dr", "doctor", "mr", "mrs", "ms", "miss", "prof", "professor", "sister", "nurse", "staff", "sir", "dame")
)
ALIKE = 85.0
"""Score (0-100) from which two spellings are taken for one misheard name."""


def read_cases(path: Path) -> tuple[CaseData, ...]:
    """The cases of a JSON file (an object, or a list of them) or of a CSV file with a header.

    Raises InputError for a file that cannot be read, an unknown column, or a value that its column does not take.
    """
    try:
        content = path.read_bytes()
    except OSError as fault:
        raise InputError(f"Case data {path.name!r}: expected a readable file, got {fault.strerror}.") from fault
    if len(content) > LARGEST:
        raise InputError(f"Case data {path.name!r}: expected at most {LARGEST} bytes, got {len(content)}; split it.")
    try:
        return parse_cases(content.decode("utf-8-sig"), path.name)
    except UnicodeDecodeError as fault:
        raise InputError(f"Case data {path.name!r}: expected UTF-8, got other bytes; save it as UTF-8.") from fault


def parse_cases(text: str, name: str = "case data") -> tuple[CaseData, ...]:
    """The cases in `text`, JSON or CSV; `name` is used in messages."""
    if not text.strip():
        raise InputError(f"Case data {name!r}: expected JSON or CSV, got an empty file.")
    rows = _json_rows(text, name) if text.lstrip()[:1] in "[{" else _csv_rows(text, name)
    cases = tuple(_case(row, number, name) for number, row in enumerate(rows, 1))
    if not cases:
        raise InputError(f"Case data {name!r}: expected at least one case, got none.")
    return cases


def choose_case(cases: Sequence[CaseData], record: OperationRecord) -> CaseData:
    """The one case of a list that the record belongs to, by hospital number, then by name; a single case is taken.

    Raises InputError when no case or more than one fits.
    """
    if len(cases) == 1:
        return cases[0]
    for column in ("hospital_number", "patient"):
        fits = [case for case in cases if getattr(case, column) and _agrees(record, column, case)]
        if len(fits) == 1:
            return fits[0]
    raise InputError(
        f"Case data: expected one case of {len(cases)} to carry the dictated hospital number or name, got none or "
        "several; give the case alone."
    )


def apply_case(record: OperationRecord, case: CaseData) -> OperationRecord:
    """The record with what the list knew and nobody dictated; plans become remarks, contradictions become conflicts."""
    conflicts = case_conflicts(record, case)
    for column, slot in KNOWN.items():
        value = getattr(case, column)
        if value is not None and not facts_at(record, slot):
            known = _without_title(value) if column in NAMES else value
            record = put(record, slot, (fact_for(slot, known, Origin.WORKLIST),))
    remarks = (*record.remarks, *_plans(case))
    return record.model_copy(update={"conflicts": record.conflicts + conflicts, "remarks": remarks})


def case_conflicts(record: OperationRecord, case: CaseData) -> tuple[Unclear, ...]:
    """Where the record says something else than the list, with the words concerned; ids end in `.case`."""
    columns = [*KNOWN, "planned_eye"]
    return tuple(_conflict(record, c, case) for c in columns if _is_stated(record, c) and not _agrees(record, c, case))


def names_agree(one: str, other: str) -> bool:
    """Whether two names are the same but for titles, order, case and missing or shortened first names."""
    shorter, longer = sorted((_name_parts(one), _name_parts(other)), key=len)
    return bool(shorter) and all(any(_part_fits(part, o) for o in longer) for part in shorter)


def names_alike(one: str, other: str) -> bool:
    """Whether two different names may be spellings of one."""
    parts = (" ".join(sorted(_name_parts(name))) for name in (one, other))
    return fuzz.ratio(*parts) >= ALIKE


def _part_fits(part: str, other: str) -> bool:
    return part == other or (1 in (len(part), len(other)) and part[0] == other[0])


def _name_parts(name: str) -> list[str]:
    return [word for word in re.findall(r"[^\W\d_]+", name.casefold()) if word not in TITLES]


def _slot(column: str) -> str:
    return KNOWN[column] if column in KNOWN else PLANNED[column]


def _is_stated(record: OperationRecord, column: str) -> bool:
    facts = facts_at(record, _slot(column))
    return bool(facts) and facts[0].origin is not Origin.WORKLIST


def _agrees(record: OperationRecord, column: str, case: CaseData) -> bool:
    known = getattr(case, column)
    facts = facts_at(record, _slot(column))
    if known is None:
        return True
    if not facts:
        return False
    if column in NAMES:
        return names_agree(facts[0].value, known)
    if column == "hospital_number":
        return same_identifier(facts[0].value, known)
    return bool(facts[0].value == known)


def _conflict(record: OperationRecord, column: str, case: CaseData) -> Unclear:
    fact = facts_at(record, _slot(column))[0]
    said, listed = format_value(fact.value), format_value(getattr(case, column))
    alike = column in NAMES and names_alike(said, listed)
    name = f"{_slot(column)}.case_spelling" if alike else f"{_slot(column)}.case"
    return Unclear(id=name, evidence=fact.evidence, detail=f"{said} in the note, {listed} on the list")


def _plans(case: CaseData) -> Iterator[Remark]:
    for column, slot in PLANNED.items():
        value = getattr(case, column)
        if value is not None:
            yield Remark(slot=slot, value=format_value(value), status=Status.PLANNED, evidence=())


def _without_title(name: str) -> str:
    """Names stand in the record without title (record contract, section 2)."""
    words = name.split()
    while len(words) > 1 and words[0].casefold().strip(".") in TITLES:
        words.pop(0)
    return " ".join(words)


def _json_rows(text: str, name: str) -> list[Mapping[str, object]]:
    try:
        held = json.loads(text)
    except (json.JSONDecodeError, RecursionError) as fault:
        where = f"a fault in line {fault.lineno}" if isinstance(fault, json.JSONDecodeError) else "nested data"
        raise InputError(f"Case data {name!r}: expected JSON, got {where}.") from fault
    rows = held if isinstance(held, list) else [held]
    if not all(isinstance(row, dict) for row in rows):
        raise InputError(f"Case data {name!r}: expected an object or a list of objects, got other JSON.")
    return rows


def _csv_rows(text: str, name: str) -> list[Mapping[str, object]]:
    first = text.lstrip("\r\n").split("\n", 1)[0]
    delimiter = max(",;\t", key=first.count)
    reader = csv.DictReader(io.StringIO(text, newline=""), delimiter=delimiter, restkey="", strict=True)
    try:
        return [row for row in reader if any(row.values())]
    except csv.Error as fault:
        raise InputError(f"Case data {name!r}: expected CSV, got {fault} in line {reader.line_num}.") from fault


def _case(row: Mapping[str, object], number: int, name: str) -> CaseData:
    cells = {_column(key): value for key, value in row.items() if value not in (None, "")}
    unknown = [key for key in cells if key not in CaseData.model_fields]
    if unknown:
        listed, known = ", ".join(repr(key) for key in unknown), ", ".join(CaseData.model_fields)
        raise InputError(f"Case data {name!r}: unknown column {listed}; the columns are {known}.")
    try:
        return CaseData.model_validate(cells)
    except ValidationError as fault:
        first = fault.errors()[0]
        raise InputError(
            f"Case data {name!r}, case {number}, column {str(first['loc'][0])!r}: expected {first['msg'].lower()}; "
            "please correct it."
        ) from fault


def _column(heading: str) -> str:
    return re.sub(r"[\s-]+", "_", heading.strip().casefold())

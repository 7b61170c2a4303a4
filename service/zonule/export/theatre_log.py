"""A list of operations as CSV for the theater log: one line for each, safe to open in a spreadsheet."""

import csv
import re
from collections.abc import Callable, Iterable
from io import StringIO

from zonule.export import quantities
from zonule.export.panels import EYES
from zonule.export.particulars import complications_entry
from zonule.export.wording import capitalized, listed, name_shown, words
from zonule.record import Lens, OperationRecord
from zonule.record.operation_record import Text
from zonule.record.slots import format_value
from zonule.vocabulary import LensStatus, Status

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", quantities.MINUS)
"""What makes a spreadsheet run a cell as a formula. Source: OWASP, CSV Injection; the minus sign added for safety."""
NUMBER = re.compile(r"[+-]?\d+(?:\.\d+)?")
NOT_STATED = "not stated"


def log_csv(records: Iterable[OperationRecord]) -> str:
    """The log, header line first, lines ended by CR LF (RFC 4180). Every cell that is not stated says so."""
    written = StringIO()
    writer = csv.writer(written, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for record in records:
        writer.writerow([safe_cell(column(record) or NOT_STATED) for column in COLUMNS.values()])
    return written.getvalue()


def safe_cell(text: str) -> str:
    """The text, with an apostrophe in front where a spreadsheet would take it for a formula; numbers stay numbers."""
    if NUMBER.fullmatch(text):
        return text
    return f"'{text}" if text.lstrip(" ").startswith(FORMULA_STARTS) else text


def _fact(fact: object) -> str:
    return format_value(getattr(fact, "value", "")) if fact else ""


def _listed(facts: tuple[Text, ...]) -> str:
    return capitalized(listed([words(fact.value) for fact in facts if fact.status is Status.DONE]))


def _eye(record: OperationRecord) -> str:
    eye = record.operation.eye
    return capitalized(EYES[eye.value].lower()) if eye else ""


def _lens(record: OperationRecord) -> Lens | None:
    implanted = [lens for lens in record.lenses if lens.status is LensStatus.IMPLANTED]
    return implanted[0] if len(implanted) == 1 else None


def _of_lens(name: str) -> Callable[[OperationRecord], str]:
    return lambda record: _fact(getattr(lens, name)) if (lens := _lens(record)) else ""


def _complications(record: OperationRecord) -> str:
    text = " ".join(phrase.text for phrase in complications_entry(record).phrases)
    return "" if text == "not stated in the dictation" else capitalized(text)


COLUMNS: dict[str, Callable[[OperationRecord], str]] = {
    "Date": lambda record: _fact(record.operation.date),
    "Start": lambda record: _fact(record.operation.start_time),
    "End": lambda record: _fact(record.operation.end_time),
    "Hospital number": lambda record: _fact(record.patient.hospital_number),
    "Patient": lambda record: name_shown(_fact(record.patient.name)),
    "Date of birth": lambda record: _fact(record.patient.date_of_birth),
    "Eye": _eye,
    "Procedure": lambda record: _listed(record.operation.procedures),
    "Surgeon": lambda record: name_shown(_fact(record.team.surgeon)),
    "Assistant": lambda record: name_shown(_fact(record.team.assistant)),
    "Anesthesia": lambda record: _listed(record.anesthesia),
    "Lens model": _of_lens("model"),
    "Lens power (D)": _of_lens("power_d"),
    "Lens serial number": _of_lens("serial_number"),
    "Lens lot number": _of_lens("lot_number"),
    "Complications": _complications,
}
"""Column head → what stands in it. Dates are ISO 8601, numbers without trailing zeros."""

"""GS1 element strings: bracketed, raw with FNC1 (sent as GS, ASCII 29), or behind a scanner's symbology prefix.

Sources: GS1 General Specifications by way of the GS1 Barcode Syntax Dictionary (application identifiers, check digit,
century rule); UDI formats in IMDRF N48 (2019).
"""

import re
from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING

from zonule.errors import LabelError
from zonule.labels.lens_label import LensLabel

if TYPE_CHECKING:
    from biip.gs1_element_strings import GS1ElementString
    from biip.gs1_messages import GS1Message

SEPARATOR = "\x1d"
PREFIX = re.compile(r"\](C1|d2|Q3|e0|J1)")
"""Symbology identifiers of scanners for GS1 data: GS1-128, DataMatrix, QR, DataBar, DotCode."""
BRACKETED = re.compile(r"(?:\(\d{2,4}\)[^()\x1d]+)+")
"""The printed form. Brackets are never encoded; one inside a value cannot be told from the next identifier."""
RUN_ON = re.compile(r".17\d{2}(0[1-9]|1[0-2])([0-2]\d|3[01])")
"""What a swallowed expiry date looks like."""
DEVICE, LOT, MADE, EXPIRY, SERIAL = "01", "10", "11", "17", "21"
NOT_INSTALLED = "GS1 codes: expected the extra 'labels' (pip install 'zonule[labels]'), got an installation without it."
DAY_OPTIONAL_UNTIL = date(2025, 1, 1)
"""Since then `00` for the day is no longer allowed for regulated healthcare items (GSCN 21-040)."""


def looks_like_gs1(text: str) -> bool:
    """Whether `text` has one of the three forms."""
    return bool(text.startswith("(") or PREFIX.match(text) or SEPARATOR in text or re.match(r"01\d{14}", text))


def parse_gs1(text: str) -> LensLabel:
    """The label of a GS1 element string; raises LabelError, with the reason, for one that breaks the rules."""
    message = _message(text)
    found = {element.ai.ai: element for element in message.element_strings}
    if DEVICE not in found:
        raise LabelError(f"GS1 code {text!r}: expected a device identifier (01), got none; scan the label again.")
    if len(found) != len(message.element_strings):
        raise LabelError(f"GS1 code {text!r}: expected each identifier once, got one twice; scan the label again.")
    for element in message.element_strings:
        if element.gtin_error:
            raise LabelError(f"GS1 code {text!r}: {element.gtin_error} Scan the label again.")
    _refuse_run_on(text, found)
    dates = {ai: _date(found[ai].date) for ai in (MADE, EXPIRY) if ai in found}
    return LensLabel(
        serial_number=found[SERIAL].value if SERIAL in found else None,
        lot_number=found[LOT].value if LOT in found else None,
        expiry_date=dates[EXPIRY].isoformat() if EXPIRY in dates else None,
        manufacture_date=dates.get(MADE),
        udi="".join(f"({e.ai.ai}){e.value}" for e in message.element_strings),
        device_identifier=found[DEVICE].value,
        issuer="gs1",
        notes=tuple(_day_notes({ai: found[ai].value for ai in dates}, dates.get(MADE))),
    )


def _message(text: str) -> "GS1Message":
    try:
        from biip import ParseError
        from biip.gs1_messages import GS1Message
    except ImportError as fault:
        raise LabelError(NOT_INSTALLED) from fault
    bracketed = text.strip().startswith("(")
    try:
        message = GS1Message.parse_hri(text.strip()) if bracketed else GS1Message.parse(_raw(text))
    except (ParseError, ValueError) as fault:
        reason = " ".join(str(fault).split())
        raise LabelError(f"GS1 code {text!r}: {reason} Scan the label again.") from fault
    if bracketed and not _is_whole(text.strip(), message):
        raise LabelError(f"GS1 code {text!r}: expected (identifier)value pairs only; scan the label again.")
    return message


def _raw(text: str) -> str:
    """Without the scanner's prefix and the FNC1 that only says `GS1 data`."""
    return PREFIX.sub("", text.strip(" \r\n\t"), count=1).lstrip(SEPARATOR)


def _refuse_run_on(text: str, found: Mapping[str, "GS1ElementString"]) -> None:
    """A raw lot or serial number without a separator behind it may have swallowed the expiry date."""
    if text.strip().startswith("(") or EXPIRY in found:
        return
    for element in found.values():
        if element.ai.separator_required and RUN_ON.search(element.value):
            raise LabelError(
                f"GS1 code {text!r}: expected a separator behind {element.ai.data_title}, got what may be an expiry "
                "date run into it; type the printed form with its brackets."
            )


def _is_whole(text: str, message: "GS1Message") -> bool:
    """Whether every pair of the printed form was read as it stands."""
    read = "".join(f"({e.ai.ai}){e.value}" for e in message.element_strings)
    return BRACKETED.fullmatch(text) is not None and read == text


def _date(value: date | None) -> date:
    if value is None:
        raise LabelError("GS1 code: expected a date of six digits YYMMDD, got none; scan the label again.")
    return value


def _day_notes(values: dict[str, str], made: date | None) -> list[str]:
    """A day of `00` is the last of its month; a healthcare item made since 2025 should not carry it."""
    if not any(value.endswith("00") for value in values.values()):
        return []
    if made is not None and made < DAY_OPTIONAL_UNTIL:
        return ["day 00 read as the last day of the month"]
    return ["day 00 read as the last day of the month; not allowed on healthcare items since 2025-01-01"]

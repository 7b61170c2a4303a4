"""HIBC labels (ANSI/HIBC): `+` identifier, then `/$...` secondary data; check character modulo 43.

Source: UDI formats by issuing agency, in IMDRF N48 (2019), Appendix A. No kept library reads this format.
"""

import re
from datetime import date, datetime, timedelta

from zonule.errors import LabelError
from zonule.labels.lens_label import LensLabel

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%"
PRIMARY = re.compile(r"\+(?P<labeler>[A-Z][A-Z0-9]{3})(?P<item>[A-Z0-9]{1,18})(?P<unit>[0-9])")
DATED = {"2": 6, "3": 6, "4": 8, "5": 5, "6": 7}
"""Digits of the date behind `$$2` ... `$$6`."""
FORMATS = {"2": "%m%d%y", "3": "%y%m%d", "4": "%y%m%d%H", "5": "%y%j", "6": "%y%j%H"}


def check_character(data: str) -> str:
    """The check character of `data`: sum of the places in the alphabet, modulo 43."""
    return ALPHABET[sum(ALPHABET.index(c) for c in data) % 43]


def parse_hibc(text: str) -> LensLabel:
    """The label of an HIBC code, primary alone or joined with its secondary data; raises LabelError."""
    data = _checked(text)
    primary, *secondary = data.split("/")
    found = PRIMARY.fullmatch(primary)
    if not found:
        raise _fault(text, "'+', a labeler code, an item number and a unit digit")
    fields: dict[str, str | date | None] = {}
    for part in secondary:
        fields |= _secondary(part, text)
    return LensLabel.model_validate(
        {**fields, "udi": data + check_character(data), "device_identifier": primary, "issuer": "hibcc"},
    )


def _checked(text: str) -> str:
    """The code without its check character; a space may be one, so one at the end is tried as such."""
    lines = text.strip("\r\n\t").lstrip()
    codes = [lines.strip().strip("*"), lines.strip("*")]
    if set(codes[0]) - set(ALPHABET) or len(codes[0]) < 8:
        raise _fault(text, "characters of the HIBC alphabet only")
    for code in codes:
        if check_character(code[:-1]) == code[-1]:
            return code[:-1]
    computed = check_character(codes[0][:-1])
    raise _fault(text, f"check character {computed!r}, got {codes[0][-1]!r}")


def _secondary(part: str, text: str) -> dict[str, str | date | None]:
    """One part between slashes: lot or serial with its expiry, or a supplement."""
    if part.startswith("16D"):
        return {"manufacture_date": _parse_date(part[3:], "%Y%m%d", text)}
    if part.startswith("14D"):
        return {"expiry_date": _parse_date(part[3:], "%Y%m%d", text).isoformat()}
    if part.startswith("S"):
        return {"serial_number": _value(part[1:], text)}
    if part.startswith("$$+"):
        return _dated(part[3:], "serial_number", text)
    if part.startswith("$$"):
        return _dated(part[2:], "lot_number", text)
    if part.startswith("$+"):
        return {"serial_number": _value(part[2:], text)}
    if part.startswith("$"):
        return {"lot_number": _value(part[1:], text)}
    raise _fault(text, "secondary data that begins with '$', 'S', '14D' or '16D'")


def _dated(rest: str, name: str, text: str) -> dict[str, str | date | None]:
    """A date in one of seven forms, then the lot or serial number, which may be absent."""
    kind = rest[:1]
    if kind == "7":
        return {name: _value(rest[1:], text)}
    if kind in DATED:
        size = DATED[kind]
        expiry = _parse_date(rest[1 : 1 + size], FORMATS[kind], text).isoformat()
        rest = rest[1 + size :]
    else:
        expiry = _parse_month(rest[:4], text)
        rest = rest[4:]
    return {"expiry_date": expiry, name: _value(rest, text)} if rest else {"expiry_date": expiry}


def _parse_date(digits: str, form: str, text: str) -> date:
    try:
        if not digits.isascii() or not digits.isdigit():
            raise ValueError(digits)
        if "%j" in form and not 1 <= int(digits[2:5]) <= 366:
            raise ValueError(digits)
        return _exact(digits, form)
    except ValueError as fault:
        raise _fault(text, f"a date, got {digits!r}") from fault


def _exact(digits: str, form: str) -> date:
    """Read and written back, so that no half-read date passes; a day of the year counts from the first of January."""
    if "%j" in form:
        first = datetime.strptime(digits[:2], "%y").date()
        day = first + timedelta(days=int(digits[2:5]) - 1)
        if day.year != first.year or int(digits[5:] or 0) > 23:
            raise ValueError(digits)
        return day
    moment = datetime.strptime(digits, form)
    if moment.strftime(form) != digits:
        raise ValueError(digits)
    return moment.date()


def _parse_month(digits: str, text: str) -> str:
    if not re.fullmatch(r"(0[1-9]|1[0-2])[0-9]{2}", digits):
        raise _fault(text, f"an expiry MMYY, got {digits!r}")
    return f"20{digits[2:]}-{digits[:2]}"


def _value(value: str, text: str) -> str:
    if not re.fullmatch(r"[A-Z0-9.\- ]{1,18}", value):
        raise _fault(text, f"a lot or serial number of 1 to 18 characters, got {value!r}")
    return value


def _fault(text: str, expected: str) -> LabelError:
    return LabelError(f"HIBC code {text!r}: expected {expected}; scan the label again.")

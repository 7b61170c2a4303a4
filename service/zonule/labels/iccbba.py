"""ICCBBA (ISBT 128) labels: data identifiers, each with a value of fixed length. They carry no check digit.

Source: UDI formats by issuing agency, in IMDRF N48 (2019), Appendix A. No kept library reads this format.
"""

import re
from datetime import date, timedelta

from zonule.errors import LabelError
from zonule.labels.lens_label import LensLabel

ELEMENTS = (
    ("device", r"=/(?P<device>[A-Z0-9]{16})"),
    ("serial", r"=,(?P<serial>[A-Z0-9]{6})"),
    ("expiry", r"=>(?P<expiry>\d{6})"),
    ("made", r"=}(?P<made>\d{6})"),
    ("lot", r"&,1(?P<lot>[A-Z0-9]{18})"),
    ("donation", r"=(?P<donation>[A-Z0-9]{15})"),
)
ELEMENT = re.compile("|".join(form for _, form in ELEMENTS), re.ASCII)


def parse_iccbba(text: str) -> LensLabel:
    """The label of an ICCBBA code; raises LabelError."""
    code = text.strip()
    found: dict[str, str] = {}
    at = 0
    while at < len(code):
        element = ELEMENT.match(code, at)
        if element is None or element.lastgroup is None:
            raise _fault(text, f"a data identifier at character {at + 1}")
        if element.lastgroup in found:
            raise _fault(text, "each data identifier once")
        found[element.lastgroup] = element[element.lastgroup]
        at = element.end()
    if "device" not in found:
        raise _fault(text, "a device identifier '=/'")
    return LensLabel(
        serial_number=found.get("serial"),
        lot_number=found["lot"].lstrip("0") or None if "lot" in found else None,
        expiry_date=_parse_date(found["expiry"], text).isoformat() if "expiry" in found else None,
        manufacture_date=_parse_date(found["made"], text) if "made" in found else None,
        udi=code,
        device_identifier=found["device"],
        issuer="iccbba",
    )


def _parse_date(digits: str, text: str) -> date:
    """YYYJJJ: year of the millennium and day of the year (`014032` is 2014-02-01)."""
    year, day = 2000 + int(digits[:3]), int(digits[3:])
    first = date(year, 1, 1)
    found = first + timedelta(days=day - 1)
    if day < 1 or found.year != year:
        raise _fault(text, f"a date YYYJJJ, got {digits!r}")
    return found


def _fault(text: str, expected: str) -> LabelError:
    return LabelError(f"ICCBBA code {text!r}: expected {expected}; scan the label again.")

"""The words or the picture of a label → `LensLabel`."""

import json
from pathlib import Path

from pydantic import ValidationError

from zonule.errors import LabelError
from zonule.labels.gs1 import looks_like_gs1, parse_gs1
from zonule.labels.hibc import parse_hibc
from zonule.labels.iccbba import parse_iccbba
from zonule.labels.lens_label import LensLabel

LONGEST = 500
"""Characters; the longest UDI is far shorter."""


def parse_label(text: str) -> LensLabel:
    """The label of one code as scanned or printed (GS1, HIBC, ICCBBA), or of a JSON object of typed label fields.

    Raises LabelError for anything else, and for a code whose check digit is wrong.
    """
    words = text.strip(" \r\n\t")
    if not words or len(words) > LONGEST:
        raise LabelError(f"Label: expected a code of 1 to {LONGEST} characters, got {len(words)}; scan it again.")
    if words.startswith("{"):
        return _parse_typed(words)
    if words.startswith(("+", "*+")):
        return parse_hibc(text)
    if words.startswith(("=", "&")):
        return parse_iccbba(words)
    if looks_like_gs1(words):
        return parse_gs1(words)
    raise LabelError(f"Label {words!r}: expected a GS1, HIBC or ICCBBA code, or typed fields as JSON; scan it again.")


def decode_image(path: Path) -> LensLabel:
    """The label of the first readable code in a picture; needs the optional `labels` extra (zxing-cpp and Pillow).

    Raises LabelError where the extra is missing, the picture cannot be opened, or no code in it is a lens label.
    """
    codes = _decode(path)
    faults: list[LabelError] = []
    for code in codes:
        try:
            return parse_label(code)
        except LabelError as fault:
            faults.append(fault)
    if faults:
        raise faults[0]
    raise LabelError(f"Picture {path.name!r}: expected a barcode, found none; photograph it closer and sharp.")


def _decode(path: Path) -> list[str]:
    try:
        import zxingcpp
        from PIL import Image
    except ImportError as fault:
        raise LabelError(
            "Pictures: expected the extra 'labels' (pip install 'zonule[labels]'), got an installation without it."
        ) from fault
    try:
        with Image.open(path) as image:
            found = zxingcpp.read_barcodes(image.convert("L"), text_mode=zxingcpp.TextMode.Plain)
    except (OSError, ValueError) as fault:
        raise LabelError(f"Picture {path.name!r}: expected a PNG or JPEG file, got {type(fault).__name__}.") from fault
    return [barcode.text for barcode in found]


def _parse_typed(words: str) -> LensLabel:
    try:
        return LensLabel.model_validate(json.loads(words))
    except json.JSONDecodeError as fault:
        raise LabelError(f"Label: expected a JSON object, got {fault.msg} at character {fault.pos}.") from fault
    except ValidationError as fault:
        first = fault.errors()[0]
        name = ".".join(str(part) for part in first["loc"]) or "label"
        known = ", ".join(LensLabel.model_fields)
        raise LabelError(
            f"Label field {name!r}: {first['msg'].lower()}, got {first.get('input')!r}; known fields are {known}."
        ) from fault
    except RecursionError as fault:
        raise LabelError("Label: expected a flat JSON object, got a deeply nested one.") from fault

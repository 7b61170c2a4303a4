"""The words of the documents: ids of the record in the trade's wording, read from `wording.toml`."""

import re
from functools import cache
from pathlib import Path
from typing import Any

import tomli as tomllib

WORDING_FILE = Path(__file__).with_name("wording.toml")
NUMBER_AND_UNIT = re.compile(r"(?<=\d) (?=(?:mm|mg|mL|cm|D|%|s|o'clock|mmHg|mL/min)\b|%)")
UNPRINTABLE = re.compile(r"[^\t\n\r\x20-\uD7FF\uE000-\uFFFD\U00010000-\U0010FFFF]|[\u202A-\u202E\u2066-\u2069]")
"""What XML 1.0 forbids (section 2.2, Char), and marks that turn the direction of what follows."""
LINE_MARKS = str.maketrans("\t\n\r", "   ")
CAPITALS = re.compile(r"(?:^|(?<=[\s\-(]))\w")
NOT_STATED = "not stated in the dictation"


@cache
def wording() -> dict[str, Any]:
    """The tables of `wording.toml`."""
    return tomllib.loads(WORDING_FILE.read_text("utf-8"))


def words(name: str) -> str:
    """An id in words, lower case: `sub_tenon` -> `sub-Tenon`, `iris_hooks` -> `iris hooks`; other text as it is."""
    known = wording()["label"].get(name)
    return known if isinstance(known, str) else name.replace("_", " ")


def label(name: str) -> str:
    """What a gap asks for, as a label: `lens.serial_or_lot` -> `Lens serial or lot number`."""
    known = wording()["gap"].get(name)
    return str(known) if known else slot_label(name)


def slot_label(name: str) -> str:
    """The words of a slot's own name: `main_incision.width_mm` -> `Main incision width (mm)`."""
    return capitalized(" ".join(_without_suffix(part) for part in name.split(".")))


def capitalized(text: str) -> str:
    """The text with its first letter in upper case, the rest as it is."""
    return text[:1].upper() + text[1:]


def name_shown(text: str) -> str:
    """A name with capitals where the recognizer gave none at all (`ada brook` -> `Ada Brook`), else as it is."""
    if text != text.lower():
        return text
    return CAPITALS.sub(lambda found: found[0].upper(), text)


def listed(items: list[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    return " and ".join([", ".join(items[:-1]), items[-1]]) if len(items) > 1 else "".join(items)


def printable(text: str) -> str:
    """The text with characters that no document can hold or that hide others shown as replacement characters."""
    return UNPRINTABLE.sub("\N{REPLACEMENT CHARACTER}", text)


def unbroken(text: str) -> str:
    """Printable text on one line, with a hard space between a number and its unit: no line ends between them."""
    return NUMBER_AND_UNIT.sub("\N{NO-BREAK SPACE}", printable(text).translate(LINE_MARKS))


def with_article(noun: str) -> str:
    """`a 2.2 mm incision`, `an 8 mm incision`: the article that the first sound asks for."""
    first = noun.split()[0]
    vowel = noun[:1].lower() in "aeio" or first.split(".")[0] in {"8", "11", "18"} or noun.lower().startswith("un")
    return f"{'an' if vowel else 'a'} {noun}"


def _without_suffix(name: str) -> str:
    if name in wording()["label"]:
        return words(name)
    for suffix, unit in wording()["unit"].items():
        if name.endswith(f"_{suffix}"):
            return f"{name.removesuffix(f'_{suffix}').replace('_', ' ')} ({unit})"
    return name.replace("_", " ")

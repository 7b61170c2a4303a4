"""Scores readings against gold: per slot hits, misses, extras, F1, and false facts."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import tomli as tomllib

from zonule.dictation import Dictation, read_file
from zonule.errors import InputError
from zonule.record import OperationRecord, slot_values
from zonule.record.slots import format_value

INCOMPLETE = frozenset({"steps"})
"""Slots whose gold may be incomplete: a further value is no error."""
LOOSE = frozenset({"drugs"})
"""Slots whose value matches when all its words are there and the first is the same."""


@dataclass(frozen=True, slots=True)
class Gold:
    """One annotated dictation: the values a correct record holds, and those it must never hold."""

    file: str
    want: dict[str, list[str]]
    never: tuple[tuple[str, str], ...]


@dataclass(slots=True)
class Score:
    """Counts per slot, and every single miss, extra and false fact as (file, slot, value)."""

    hits: Counter[str] = field(default_factory=Counter)
    misses: list[tuple[str, str, str]] = field(default_factory=list)
    extras: list[tuple[str, str, str]] = field(default_factory=list)
    false_facts: list[tuple[str, str, str]] = field(default_factory=list)

    def add(self, other: "Score") -> None:
        """Takes another score's counts in."""
        self.hits.update(other.hits)
        self.misses += other.misses
        self.extras += other.extras
        self.false_facts += other.false_facts

    @property
    def f1(self) -> float:
        """Over all slots: 2 × hits / (2 × hits + misses + extras)."""
        return _f1(sum(self.hits.values()), len(self.misses), len(self.extras))

    def by_slot(self) -> list[tuple[str, int, int, int, float]]:
        """Slot, hits, misses, extras, F1."""
        misses = Counter(slot for _, slot, _ in self.misses)
        extras = Counter(slot for _, slot, _ in self.extras)
        slots = sorted({*self.hits, *misses, *extras})
        return [(s, self.hits[s], misses[s], extras[s], _f1(self.hits[s], misses[s], extras[s])) for s in slots]


def _f1(hits: int, misses: int, extras: int) -> float:
    return 2 * hits / (2 * hits + misses + extras) if hits or misses or extras else 1.0


def load_gold(folder: Path) -> list[Gold]:
    """The gold of a folder (`gold.toml`); raises InputError when it is missing or not as expected."""
    path = folder / "gold.toml"
    try:
        data = tomllib.loads(path.read_text("utf-8"))
        return [_gold(note) for note in data["note"]]
    except FileNotFoundError as fault:
        raise InputError(f"{path}: no such file; expected gold for the dictations of this folder.") from fault
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, KeyError, TypeError) as fault:
        raise InputError(f"{path}: expected [[note]] tables with file, never and want, got {fault!r}.") from fault


def _gold(note: dict[str, Any]) -> Gold:
    want = {
        slot: [format_value(v) for v in (value if isinstance(value, list) else [value])]
        for slot, value in note.get("want", {}).items()
    }
    never = tuple((line.partition(" ")[0], line.partition(" ")[2]) for line in note.get("never", []))
    return Gold(note["file"], want, never)


def score_folder(folder: Path, read: Callable[[Dictation], OperationRecord]) -> Score:
    """Reads every dictation that the folder's gold names and scores it."""
    score = Score()
    for gold in load_gold(folder):
        score_record(gold, read(read_file(str(folder / gold.file))), score)
    return score


def score_record(gold: Gold, record: OperationRecord, score: Score) -> None:
    """Adds one record's hits, misses, extras and false facts."""
    got: dict[str, list[str]] = {}
    for value in slot_values(record):
        got.setdefault(value.slot, []).append(value.text)
    for slot, wanted in gold.want.items():
        left = list(got.get(slot, []))
        for text in wanted:
            match = next((g for g in left if _matches(slot, text, g)), None)
            if match is None and text == "not_stated" and not left:
                continue
            if match is None:
                score.misses.append((gold.file, slot, text))
            else:
                left = [g for g in left if g is not match]
                score.hits[slot] += 1
        if slot not in INCOMPLETE:
            score.extras.extend((gold.file, slot, text) for text in left if not _repeats(slot, text, wanted))
    for slot, values in got.items():
        for text in values:
            if any(_forbids(pattern, slot) and _forbids(value, text) for pattern, value in gold.never):
                score.false_facts.append((gold.file, slot, text))


def _matches(slot: str, wanted: str, got: str) -> bool:
    if slot in LOOSE:
        want, have = wanted.lower().split(), got.lower().split()
        return want[:1] == have[:1] and set(want) <= set(have)
    return wanted.lower() == got.lower()


def _repeats(slot: str, text: str, wanted: list[str]) -> bool:
    """A drug given again by a further dose is listed once in a gold."""
    return slot in LOOSE and any(_matches(slot, w, text) for w in wanted)


def _forbids(pattern: str, text: str) -> bool:
    if pattern.endswith("*"):
        return text.lower().startswith(pattern[:-1].lower())
    return pattern.lower() == text.lower()

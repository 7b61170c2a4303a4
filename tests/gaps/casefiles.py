"""Case files of requirements and consistency rules: collected by folder, one file for each id, strict about keys."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from drafts import build, read_draft, read_extras, shown

from zonule.gap_report import check
from zonule.lexicon import Lexicon
from zonule.requirements import Requirements

CASES = Path(__file__).parents[1] / "cases"
KEYS = frozenset(
    ("name", "expect", "remove", "set", "words", "remarks", "conflicts", "unclear", "repairs", "second_lens",
     "standard", "list", "label", "today", "empty")
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Case:
    """One case: the file's id, whether it shows the rule at work, and the draft with what is expected."""

    id: str
    positive: bool
    data: Mapping[str, Any]

    @property
    def label(self) -> str:
        """For the test's name."""
        return f"{'positive' if self.positive else 'negative'}: {self.id}: {self.data['name']}"

    def report(self, requirements: Requirements, lexicon: Lexicon) -> list[str]:
        """The gap report of the draft."""
        record = build(read_draft(self.data))
        return shown(check(record, requirements, lexicon, **read_extras(self.data)))


def collect(area: str) -> list[Case]:
    """All cases of `tests/cases/AREA/positive` and `negative`; a file without cases or with unknown keys is a fault."""
    found = []
    for path in sorted((CASES / area).glob("*/*.toml")):
        cases = tomllib.loads(path.read_text("utf-8"))["case"]
        assert cases, f"{path.name}: no case"
        for data in cases:
            assert set(data) <= KEYS, f"{path.name}: unknown keys {set(data) - KEYS}"
            assert {"name", "expect"} <= set(data), f"{path.name}: a case needs a name and what is expected"
            found.append(Case(path.stem, path.parent.name == "positive", data))
    return found

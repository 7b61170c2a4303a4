"""What an archive holds, once it is read: completeness by item, complications, commonest repairs, faults."""

import re
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass

from zonule.batch.parts import Parts
from zonule.batch.rows import Row

SHOWN = 10
"""Lines of each list in the printed summary."""


@dataclass(frozen=True)
class Summary:
    """Counts over all notes. `missing`, `complications` and `statements` count operation notes, `repairs` words."""

    notes: int
    operations: int
    faults: Mapping[str, int]
    missing: Mapping[str, int]
    complications: Mapping[str, int]
    statements: Mapping[str, int]
    repairs: Mapping[str, int]
    left_out: Mapping[str, int]

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        return asdict(self)

    def text(self) -> str:
        """For the terminal."""
        unread = sum(self.faults.values())
        others = self.notes - self.operations - unread
        lines = [f"{self.notes} notes: {self.operations} operations, {others} other texts, {unread} could not be read"]
        lines += _section("Could not be read, by reason", self.faults)
        lines += _section("Left out, by ending", self.left_out)
        lines += _section("Asked for most often, of the operations", self.missing, self.operations)
        lines += _section("Complications: what was stated", self.statements, self.operations)
        lines += _section("Complications", self.complications, self.operations)
        lines += _section("Commonest repairs", self.repairs)
        return "\n".join(lines) + "\n"


def summarize(parts: Parts, left_out: Mapping[str, int]) -> Summary:
    """Counts the parts one by one: memory stays flat."""
    notes = operations = 0
    faults: Counter[str] = Counter()
    for rows in parts.rows("records"):
        notes += len(rows)
        operations += sum(row["is_operation_note"] for row in rows)
        faults.update(_reason(row["fault"]) for row in rows if row["fault"])
    said = _count_once(parts, "slots", "slot", "value", lambda row: row["slot"].startswith("complications."))
    missing = _count_once(parts, "gaps", "kind", "id", lambda row: row["kind"] == "missing")
    repairs = Counter(f"{row['heard']} → {row['reading']}" for rows in parts.rows("repairs") for row in rows)
    statements = _of(said, "complications.statement")
    silent = operations - sum(statements.values())
    return Summary(
        notes,
        operations,
        _by_count(faults),
        _of(missing, "missing"),
        _of(said, "complications.events"),
        {**statements, **({"not_stated": silent} if silent else {})},
        _by_count(repairs),
        left_out,
    )


def _count_once(
    parts: Parts, table: str, group: str, member: str, wanted: Callable[[Row], bool]
) -> Counter[tuple[str, str]]:
    """In how many notes each member of each group stands; a note counts once."""
    counted: Counter[tuple[str, str]] = Counter()
    for rows in parts.rows(table):
        each = {(row["place"], row[group], row[member]) for row in rows if wanted(row)}
        counted.update((name, value) for _, name, value in each)
    return counted


def _of(counted: Mapping[tuple[str, str], int], group: str) -> dict[str, int]:
    return _by_count({member: count for (name, member), count in counted.items() if name == group})


def _by_count(counted: Mapping[str, int]) -> dict[str, int]:
    return dict(sorted(counted.items(), key=lambda item: (-item[1], item[0])))


def _reason(fault: str) -> str:
    """The reason without the key and the numbers of the one note."""
    return re.sub(r"(?<![\w-])\d[\d,]*", "N", fault.partition("; ")[0].rpartition(": ")[2])


def _section(title: str, counted: Mapping[str, int], of: int | None = None) -> list[str]:
    """The head of a list; shares are of `of`."""
    if not counted:
        return []
    rows = [f"  {count:>8}{f'  {count / of:6.1%}' if of else ''}  {name}" for name, count in counted.items()]
    rest = [f"  … and {len(rows) - SHOWN} more in summary.json"] if len(rows) > SHOWN else []
    return ["", title, *rows[:SHOWN], *rest]

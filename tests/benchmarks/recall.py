"""Fills an index of 100,000 notes and measures how long a recall takes. Run by hand, never by the tests.

    python tests/benchmarks/recall.py [URL] [--notes N]

URL is an empty store, such as an empty PostgreSQL database; without it a SQLite file in a temporary folder. The index
is filled directly: heads and index rows as a save would write them, without words, records and trail. One lot in 500
notes is asked for, one model that a tenth of all notes carry, single serial numbers, and pages. Times are of what the
caller gets as values, by the clock and in CPU time of this process (without that of a PostgreSQL server); each is the
median of `ROUNDS`, after one round that is not counted.
"""

import argparse
import random
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import UTC, date, datetime, timedelta
from itertools import islice
from pathlib import Path
from statistics import median
from typing import Any

from sqlalchemy import insert

from zonule.store import Store, open_store
from zonule.store.tables import Base, FoundImplantRow, FoundNoteRow, NoteRow

ROUNDS = 11
NOTES_PER_LOT, MODELS, SURGEONS = 500, 10, 12
BEGAN = date(2021, 1, 4)


def rows(count: int) -> Iterator[tuple[dict[str, Any], dict[str, Any], dict[str, Any]]]:
    """Head, note and lens of each note."""
    draw = random.Random(7)
    made = datetime(2026, 3, 12, tzinfo=UTC)
    for number in range(count):
        note_id = f"{draw.getrandbits(128):032x}"
        day = (BEGAN + timedelta(days=number * 1800 // count)).isoformat()
        surgeon, lot = f"Surgeon {draw.randrange(SURGEONS)}", f"L{draw.randrange(max(1, count // NOTES_PER_LOT))}"
        head = {"id": note_id, "created_by": "imogen", "created_at": made, "version": 1, "state": "signed"}
        note = {
            "note_id": note_id, "day": day, "surgeon": surgeon, "surgeon_key": surgeon.casefold(), "eye": "right",
            "hospital_number": f"HEU-{number}", "hospital_number_key": f"heu{number}", "patient": f"Patient {number}",
        }  # fmt: skip
        model = f"Skerry {draw.randrange(MODELS)}"
        lens = {
            "note_id": note_id, "number": 1, "kind": "lens", "status": "implanted", "model": model, "power_d": 21.5,
            "serial_number": f"HM{number}", "lot_number": lot, "model_key": model.casefold().replace(" ", ""),
            "serial_key": f"hm{number}", "lot_key": lot.casefold(),
        }  # fmt: skip
        yield head, note, lens


def fill(store: Store, count: int) -> None:
    """The index as `count` saves would leave it."""
    tables: tuple[type[Base], ...] = (NoteRow, FoundNoteRow, FoundImplantRow)
    made = rows(count)
    while chunk := list(islice(made, 2000)):
        with store.database.writing() as session:
            for at, table in enumerate(tables):
                session.execute(insert(table), [row[at] for row in chunk])


def measure(name: str, ask: Callable[[], Any]) -> None:
    """A line of the table: how many were found and how long it took."""
    times, spent, found = [], [], ask()
    for _ in range(ROUNDS):
        begin, worked = time.perf_counter(), time.process_time()
        found = ask()
        times.append((time.perf_counter() - begin) * 1000)
        spent.append((time.process_time() - worked) * 1000)
    count = len(found) if isinstance(found, tuple) else len(found.items)
    print(f"| {name} | {count} | {median(times):.1f} | {max(times):.1f} | {median(spent):.1f} |")


def main() -> None:
    """Fills the store and prints the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("url", nargs="?")
    parser.add_argument("--notes", type=int, default=100_000)
    options = parser.parse_args()
    with ExitStack() as stack:
        folder = stack.enter_context(tempfile.TemporaryDirectory())
        store = stack.enter_context(open_store(options.url or f"sqlite:///{Path(folder) / 'zonule.db'}"))
        fill(store, options.notes)
        find, middle = store.find, options.notes // 2
        print(f"{options.notes} notes, {store.database.engine.dialect.name}\n")
        print("| question | found | median ms | longest ms | CPU ms |\n| --- | --- | --- | --- | --- |")
        measure("recall of a lot", lambda: find.recall(lot="L3"))
        measure("recall of a serial number", lambda: find.recall(serial=f"HM {middle}"))
        measure("recall of a model", lambda: find.recall(model="Skerry 3"))
        measure("a page by lot", lambda: find.by_lens(lot="L3"))
        measure("a page by model", lambda: find.by_lens(model="Skerry 3"))
        measure("a page by day and surgeon", lambda: find.by_day(BEGAN, date(2025, 1, 1), "Surgeon 3"))
        measure("a page by hospital number", lambda: find.by_hospital_number(f"HEU-{middle}"))


if __name__ == "__main__":
    main()

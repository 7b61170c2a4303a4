"""The output of a batch: one part of each table for every chunk, each written whole, so that a killed run goes on.

    OUT/plan.json                    what the batch was started with
    OUT/records/part-000000.parquet  and slots, gaps, repairs beside it (or .jsonl)
    OUT/notes/0000000-KEY.docx       on request
    OUT/summary.json                 once all is read

A chunk is done when its part of `records` stands: it is written last.
"""

import fcntl
import io
import json
import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq

from zonule.batch.rows import SCHEMAS, NoteRows, Row
from zonule.errors import OutputError
from zonule.output import write_whole

FORMATS = ("parquet", "jsonl")
LONGEST_KEY = 80
"""Characters of a key in a file name."""


@dataclass(frozen=True)
class Plan:
    """All that decides the output; a folder goes on only with the plan that it was begun with."""

    archive: str
    column: str | None
    key: str | None
    chunk: int
    format: str
    documents: bool
    standard: str
    keep: tuple[str, ...]
    lexicon: str
    version: str


class Parts:
    """The output folder of one plan."""

    def __init__(self, folder: Path, plan: Plan) -> None:
        self.folder, self.plan = folder, plan

    @contextmanager
    def held(self) -> Iterator[None]:
        """Makes or checks the folder and keeps other runs out of it.

        Raises OutputError for a folder with other content, another plan, or another run at work in it.
        """
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            lock = os.open(self.folder / ".lock", os.O_CREAT | os.O_RDWR, 0o644)
        except OSError as fault:
            raise OutputError(
                f"{self.folder}: cannot be written ({fault.strerror}); expected a folder to write to. Choose another."
            ) from fault
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            self._check_plan()
            for half_written in self.folder.glob("*/.*"):
                half_written.unlink()
            yield
        except BlockingIOError as fault:
            raise OutputError(
                f"{self.folder}: expected a folder that no other batch writes to, got one in use. Wait for it."
            ) from fault
        finally:
            os.close(lock)

    def done(self) -> frozenset[int]:
        """Numbers of the chunks that stand whole."""
        return frozenset(int(path.stem.removeprefix("part-")) for path in self.files("records"))

    def files(self, table: str) -> list[Path]:
        """The parts of a table, in order."""
        return sorted((self.folder / table).glob(f"part-*.{self.plan.format}"))

    def write(self, number: int, notes: list[NoteRows]) -> None:
        """The parts of one chunk, and its documents."""
        for note in notes:
            if note.document is not None:
                write_whole(self.folder / "notes" / document_name(note), note.document)
        for table in SCHEMAS:
            rows = [row for note in notes for row in note.tables.get(table, ())]
            write_whole(self.folder / table / f"part-{number:06d}.{self.plan.format}", self._encode(table, rows))

    def rows(self, table: str) -> Iterator[list[Row]]:
        """The rows of a table, part by part."""
        for path in self.files(table):
            if self.plan.format == "parquet":
                yield pq.read_table(path).to_pylist()
            else:
                yield [json.loads(line) for line in path.read_bytes().splitlines()]

    def _encode(self, table: str, rows: list[Row]) -> bytes:
        if self.plan.format == "jsonl":
            return "".join(json.dumps(row, ensure_ascii=False) + "\n" for row in rows).encode()
        held = io.BytesIO()
        pq.write_table(pa.Table.from_pylist(rows, SCHEMAS[table]), held, compression="zstd")
        return held.getvalue()

    def _check_plan(self) -> None:
        path = self.folder / "plan.json"
        plan = json.loads(json.dumps(asdict(self.plan)))
        if not path.exists():
            if any(entry.name != ".lock" for entry in self.folder.iterdir()):
                raise OutputError(f"{self.folder}: expected an empty folder or one of a batch, got others' files.")
            write_whole(path, (json.dumps(plan, indent=2) + "\n").encode())
            return
        try:
            held = json.loads(path.read_bytes())
        except ValueError:
            held = {}
        differing = [name for name, value in plan.items() if held.get(name) != value]
        if differing:
            raise OutputError(
                f"{self.folder}: expected a batch begun with the same input and options, got another "
                f"{', '.join(differing)}. Name an empty folder."
            )


def document_name(note: NoteRows) -> str:
    """A file name that is safe anywhere and unlike any other note's."""
    key = re.sub(r"[^\w.-]+", "_", Path(note.key).with_suffix("").as_posix())[:LONGEST_KEY]
    return f"{note.place:07d}-{key}.docx"

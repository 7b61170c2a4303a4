"""An archive of dictations: a folder, JSONL, CSV or Parquet → its notes, one by one, always in the same order."""

import csv
import hashlib
import json
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

import pyarrow as pa
import pyarrow.parquet as pq

from zonule.dictation import LIMIT_BYTES
from zonule.errors import InputError

DICTATIONS = (".txt", ".srt", ".vtt")
COLUMNS = ("dictation", "text", "note")
"""Names of the column that holds the words, looked for in this order when none is given."""
LONGEST_LINE = 8 * LIMIT_BYTES
"""Bytes of one JSONL line: a dictation of 1 MB, every character escaped, and some columns beside it."""
SLICE = 256
"""Rows of Parquet held at once."""


@dataclass(frozen=True, slots=True)
class Item:
    """One note of the archive: its place (from 0), its key, and its bytes or what is wrong with it."""

    place: int
    key: str
    data: bytes = b""
    fault: str | None = None


class Source(Protocol):
    """An archive that can be read more than once."""

    def items(self) -> Iterator[Item]:
        """All notes in order; what cannot be read is an item with its fault."""

    def fingerprint(self) -> str:
        """Changes when the archive does."""

    def count(self) -> int:
        """How many notes there are."""

    def left_out(self) -> dict[str, int]:
        """How many files were no dictations, by ending."""


def open_source(path: Path, column: str | None = None, key: str | None = None) -> Source:
    """The archive at `path`. `column` holds the words and `key` names each note, where the archive has columns.

    Raises InputError for what is neither a folder of dictations nor a JSONL, CSV or Parquet file with that column.
    """
    if path.is_dir():
        return FolderSource(path)
    if not path.is_file():
        raise InputError(f"{path}: expected a folder, or a .jsonl, .csv or .parquet file, got nothing. Check the name.")
    kinds: dict[str, Any] = {".jsonl": JsonLinesSource, ".ndjson": JsonLinesSource, ".csv": CsvSource}
    made = {**kinds, ".parquet": ParquetSource}.get(path.suffix.lower())
    if made is None:
        raise InputError(f"{path.name}: expected .jsonl, .csv or .parquet, got {path.suffix!r}. Convert the archive.")
    source: Source = made(path, column, key)
    return source


@dataclass(frozen=True)
class FolderSource:
    """Every dictation file under a folder, by its path."""

    folder: Path

    def items(self) -> Iterator[Item]:
        for place, path in enumerate(self._paths()):
            key = _printable(path.relative_to(self.folder).as_posix())
            try:
                with path.open("rb") as file:
                    yield Item(place, key, file.read(LIMIT_BYTES + 1))
            except OSError as fault:
                yield Item(place, key, fault=f"cannot be read ({fault.strerror}); expected a readable file.")

    def fingerprint(self) -> str:
        stats = ((path, path.stat()) for path in self._paths())
        lines = (f"{p.relative_to(self.folder)}\0{s.st_size}\0{s.st_mtime_ns}\n" for p, s in stats)
        return _hash(line.encode("utf-8", "surrogateescape") for line in lines)

    def count(self) -> int:
        return len(self._paths())

    def left_out(self) -> dict[str, int]:
        others = (p for p in self._files() if p.suffix.lower() not in DICTATIONS)
        return dict(sorted(Counter(p.suffix or "no ending" for p in others).items()))

    def _paths(self) -> list[Path]:
        return [path for path in self._files() if path.suffix.lower() in DICTATIONS]

    def _files(self) -> list[Path]:
        found = (p for p in self.folder.rglob("*") if p.is_file())
        return sorted(p for p in found if not any(part.startswith(".") for part in p.relative_to(self.folder).parts))


@dataclass(frozen=True)
class FileSource:
    """What all archives in one file share."""

    path: Path
    column: str | None = None
    key: str | None = None

    def fingerprint(self) -> str:
        with self.path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()

    def left_out(self) -> dict[str, int]:
        return {}

    def _item(self, place: int, row: dict[str, Any], column: str) -> Item:
        key = self._key(place, row)
        words = row.get(column)
        if words is None:
            return Item(place, key, fault=f"no column {column!r}; expected the words of a dictation in it.")
        if not isinstance(words, str):
            return Item(place, key, fault=f"column {column!r} is no text; expected the words of a dictation.")
        return Item(place, key, words.encode("utf-8", "surrogateescape"))

    def _key(self, place: int, row: dict[str, Any]) -> str:
        named = row.get(self.key) if self.key else None
        return _printable(str(named)) if named not in (None, "") else f"row-{place + 1:08d}"

    def _column_of(self, names: Iterable[str]) -> str:
        """The column of the words; raises InputError when the archive has none of that name."""
        held = [name for name in names if name]
        wanted = (self.column,) if self.column else COLUMNS
        found = next((name for name in wanted if name in held), None)
        missing = self.key if self.key and self.key not in held else None
        if found is None or missing:
            known = ", ".join(map(repr, held[:20])) or "none"
            want = repr(missing) if missing else " or ".join(map(repr, wanted))
            raise InputError(f"{self.path.name}: expected a column {want}, got {known}. Name it with --column or --id.")
        return found


class JsonLinesSource(FileSource):
    """One JSON object a line."""

    def items(self) -> Iterator[Item]:
        column = self.column
        for place, line in enumerate(self._lines()):
            row = _object(line)
            if isinstance(row, str):
                yield Item(place, f"row-{place + 1:08d}", fault=row)
                continue
            column = column or next((name for name in COLUMNS if name in row), COLUMNS[0])
            yield self._item(place, row, column)

    def count(self) -> int:
        return sum(1 for _ in self._lines())

    def _lines(self) -> Iterator[bytes]:
        """Lines that hold anything; one that is too long is cut where no JSON can end."""
        with self.path.open("rb") as file:
            while line := file.readline(LONGEST_LINE):
                if not line.endswith(b"\n") and len(line) == LONGEST_LINE:
                    while (rest := file.readline(LONGEST_LINE)) and not rest.endswith(b"\n"):
                        pass
                if line.strip():
                    yield line


class CsvSource(FileSource):
    """Rows of a CSV file with a header; separated by comma, semicolon or tab."""

    def items(self) -> Iterator[Item]:
        csv.field_size_limit(LONGEST_LINE)
        with self.path.open(encoding="utf-8-sig", errors="surrogateescape", newline="") as file:
            head = file.readline()
            file.seek(0)
            rows = csv.DictReader(file, delimiter=max(",;\t", key=head.count), restkey="")
            column = self._column_of(rows.fieldnames or ())
            try:
                for place, row in enumerate(rows):
                    yield self._item(place, row, column)
            except csv.Error as fault:
                raise InputError(
                    f"{self.path.name}: expected CSV, got {fault} in line {rows.line_num}; please correct it."
                ) from fault

    def count(self) -> int:
        return sum(1 for _ in self.items())


class ParquetSource(FileSource):
    """Rows of a Parquet file, a slice at a time."""

    def items(self) -> Iterator[Item]:
        with self._file() as file:
            column = self._column_of(file.schema_arrow.names)
            place = 0
            for batch in file.iter_batches(SLICE, columns=[column, *([self.key] if self.key else [])]):
                for row in batch.to_pylist():
                    yield self._item(place, row, column)
                    place += 1

    def count(self) -> int:
        with self._file() as file:
            return int(file.metadata.num_rows)

    def _file(self) -> pq.ParquetFile:
        try:
            return pq.ParquetFile(self.path)
        except (pa.ArrowInvalid, OSError) as fault:
            raise InputError(f"{self.path.name}: expected a Parquet file, got other data. Export it again.") from fault


def _object(line: bytes) -> dict[str, Any] | str:
    """The object of a line, or what is wrong with it."""
    if len(line) >= LONGEST_LINE:
        return f"a line of over {LONGEST_LINE:,} bytes; expected one dictation of at most 1 MB. Split it."
    try:
        row = json.loads(line)
    except (ValueError, RecursionError):
        return "a line that is no JSON; expected one object a line. Export it again."
    return row if isinstance(row, dict) else "a line with other JSON; expected one object a line. Export it again."


def _printable(key: str) -> str:
    """A key that any table takes: bytes of another encoding are shown as question marks."""
    return key.encode("utf-8", "replace").decode()


def _hash(parts: Iterable[bytes]) -> str:
    digest = hashlib.sha256()
    for part in parts:
        digest.update(part)
    return digest.hexdigest()

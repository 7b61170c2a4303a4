"""A file or text → the words exactly as received, plus the time marks of a timed source. Knows nothing of the trade."""

import re
import sys
from bisect import bisect_right
from dataclasses import dataclass
from pathlib import Path

from zonule.errors import InputError
from zonule.text import Edit, Span

LIMIT_BYTES = 1_000_000
"""The largest dictation read, in bytes."""

_CLOCK = r"(?:\d{1,2}:)?\d{1,2}:\d{2}[.,]\d{3}"
_CUE_BLOCK = re.compile(rf"(?m)^(?:\d+[ \t]*\r?\n)?({_CLOCK})[ \t]*-->[ \t]*{_CLOCK}[^\n]*\n?")
_LINE_MARK = re.compile(r"(?m)^[ \t]*\[((?:\d{1,2}:)?\d{1,3}:\d{2})\][ \t]*")
_VTT_HEAD = re.compile(r"\A\ufeff?WEBVTT[^\n]*\n")


@dataclass(frozen=True, slots=True)
class TimeMark:
    """From `at` (character offset) on, the words were spoken `seconds` into the recording."""

    at: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Dictation:
    """The text as received; `marks` in order of position; `silent` are characters that nobody spoke (time lines)."""

    text: str
    name: str = "dictation"
    marks: tuple[TimeMark, ...] = ()
    silent: tuple[Span, ...] = ()

    def edits(self) -> list[Edit]:
        """Edits that take the unspoken characters out."""
        return [Edit(span, "\n", "time_mark") for span in self.silent]

    def seconds_at(self, position: int) -> float | None:
        """Seconds into the recording at a character offset, None if the source is not timed there."""
        index = bisect_right(self.marks, position, key=lambda mark: mark.at)
        return self.marks[index - 1].seconds if index else None


def read_text(text: str, name: str = "dictation") -> Dictation:
    """A dictation from text: plain, SRT, VTT, or lines that start with `[m:ss]` or `[h:mm:ss]`."""
    blocks = list(_CUE_BLOCK.finditer(text)) or list(_LINE_MARK.finditer(text))
    head = _VTT_HEAD.match(text)
    silent = ([Span(*head.span())] if head and blocks else []) + [Span(*b.span()) for b in blocks]
    marks = tuple(TimeMark(b.end(), _seconds(b.group(1))) for b in blocks)
    return Dictation(text, name, marks, tuple(silent))


def read_file(path: str) -> Dictation:
    """A dictation from a file, or from standard input for `-`.

    Raises InputError for what is missing, a folder, empty, binary, not UTF-8 or over 1 MB.
    """
    data, name = (sys.stdin.buffer.read(LIMIT_BYTES + 1), "standard input") if path == "-" else _bytes_of(Path(path))
    return read_bytes(data, name)


def read_bytes(data: bytes, name: str) -> Dictation:
    """A dictation from bytes; raises InputError as `read_file` does."""
    if len(data) > LIMIT_BYTES:
        raise InputError(f"{name}: more than {LIMIT_BYTES:,} bytes; expected one dictation of at most 1 MB. Split it.")
    if b"\x00" in data:
        raise InputError(f"{name}: binary data; expected a dictation as UTF-8 text, SRT or VTT. Export it as text.")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as fault:
        raise InputError(f"{name}: not UTF-8 at byte {fault.start}; expected UTF-8 text. Save it as UTF-8.") from fault
    if not text.strip():
        raise InputError(f"{name}: empty; expected the words of a dictation. Check the file.")
    return read_text(text, name)


def _bytes_of(path: Path) -> tuple[bytes, str]:
    if path.is_dir():
        raise InputError(f"{path.name}: a folder; expected a file with one dictation. Name the files in it.")
    try:
        with path.open("rb") as file:
            return file.read(LIMIT_BYTES + 1), path.name
    except FileNotFoundError as fault:
        raise InputError(f"{path}: no such file; expected a dictation. Check the name.") from fault
    except OSError as fault:
        raise InputError(f"{path}: cannot be read ({fault.strerror}); expected a readable file.") from fault


def _seconds(clock: str) -> float:
    total = 0.0
    for part in clock.replace(",", ".").split(":"):
        total = total * 60 + float(part)
    return total

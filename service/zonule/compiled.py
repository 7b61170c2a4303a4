"""The compiled lexicon: what is worked out from the lexicon's files, kept so that no start need work it out again.

It is one JSON file in the user's cache folder, safe to delete at any time. Its first line says what it was made from,
with the digest of the rest; one that was made from anything else, or is damaged, is made anew. Where it cannot be
written the lexicon is compiled at every start.
"""

import hashlib
import json
import sys
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from pydantic import VERSION as PYDANTIC
from pydantic import TypeAdapter

from zonule import __version__
from zonule.annotation.forms import compile_senses
from zonule.errors import OutputError
from zonule.lexicon import Lexicon, load_lexicon
from zonule.lexicon.tables import Tables
from zonule.normalization.ordinary_words import frequency_file
from zonule.normalization.pronunciations import dictionary_file
from zonule.normalization.trade_tables import compile_repairs
from zonule.output import write_whole

SOURCES = ("lexicon", "normalization", "annotation")
"""Rooms whose code decides what stands in the tables."""
DICTIONARIES = (frequency_file, dictionary_file)
"""Files of libraries that it is made from: known by size and time, as reading them takes long."""
KEPT = 8
"""So many compiled lexicons stay in the folder, the latest."""


class Compiled(NamedTuple):
    """A lexicon with its tables."""

    lexicon: Lexicon
    tables: Tables


def load_compiled(folders: tuple[Path, ...], cache: Path | None) -> Compiled:
    """The lexicon of `folders` and its tables, from the file in the folder `cache` where that still holds.

    Without a folder no file is read or written. Raises LexiconError as `load_lexicon` does.
    """
    if cache is None:
        return compile_lexicon(*folders)
    origin = digest(f"{__version__} {sys.version} {PYDANTIC}".encode(), *_origins(folders))
    path = cache / f"lexicon-{digest(*(str(f.absolute()).encode() for f in folders))[:16]}.json"
    held = _read(path, origin)
    if held is None:
        held = compile_lexicon(*folders)
        _write(path, origin, held)
    return held


def compile_lexicon(*folders: Path) -> Compiled:
    """The lexicon of `folders` with its tables made anew."""
    lexicon = load_lexicon(*folders)
    return Compiled(lexicon, compile_repairs(lexicon) | compile_senses(lexicon))


def _origins(folders: tuple[Path, ...]) -> Iterator[bytes]:
    """Names and contents of all files that it depends on."""
    rooms = (Path(__file__).parent / name for name in SOURCES)
    for folder in (*rooms, *folders):
        for path in sorted(p for p in folder.rglob("*") if p.suffix in (".toml", ".py", ".txt")):
            yield path.relative_to(folder).as_posix().encode()
            with suppress(OSError):  # for `load_lexicon` to say
                yield path.read_bytes()
    for locate in DICTIONARIES:
        with suppress(ModuleNotFoundError, OSError):  # for the one who reads it to say
            facts = locate().stat()
            yield f"{locate().name} {facts.st_size} {facts.st_mtime_ns}".encode()


def digest(*parts: bytes) -> str:
    """SHA-256 of all parts, told apart by their lengths."""
    found = hashlib.sha256()
    for part in parts:
        found.update(len(part).to_bytes(8, "big"))
        found.update(part)
    return found.hexdigest()


def _read(path: Path, origin: str) -> Compiled | None:
    try:
        head, _, body = path.read_bytes().partition(b"\n")
        if json.loads(head) != {"made_from": origin, "sha256": digest(body)}:
            return None
        lexicon, _, tables = body.partition(b"\n")
        return Compiled(Lexicon.model_validate_json(lexicon), TypeAdapter(Tables).validate_json(tables))
    except (OSError, ValueError, RecursionError):
        return None


def _write(path: Path, origin: str, held: Compiled) -> None:
    tables = json.dumps(held.tables, ensure_ascii=False)
    body = f"{held.lexicon.model_dump_json(exclude_defaults=True)}\n{tables}".encode()
    head = json.dumps({"made_from": origin, "sha256": digest(body)}).encode()
    with suppress(OutputError, OSError):
        write_whole(path, head + b"\n" + body)
        for old in sorted(path.parent.glob("lexicon-*.json"), key=lambda p: p.stat().st_mtime)[:-KEPT]:
            old.unlink()

"""TOML files of one or more folders → one `Lexicon`; every fault names file, entry, expected and got."""

from collections.abc import Iterable
from pathlib import Path
from typing import Any, TypeVar

import tomli as tomllib
from pydantic import ValidationError

from zonule.errors import LexiconError
from zonule.lexicon.schema import Entry, Lexicon, LexiconFile, Term

SKIPPED = {"requirements", "catalog"}
"""Folders with a schema of their own."""
NUMERIC = {"numbers.toml", "units.toml", "dates.toml"}
"""Files of the number grammar, which has a schema of its own."""

E = TypeVar("E", bound=Entry)


def load_lexicon(*folders: Path) -> Lexicon:
    """The lexicon of all `folders`; a later folder adds forms to an entry of the same kind and id, or adds entries.

    Raises LexiconError for a missing folder, broken TOML or an entry that breaks the schema.
    """
    files = [_load_file(path) for folder in folders for path in _paths(folder)]
    terms = _merge(_with_kind(file) for file in files)
    lexicon = Lexicon(
        terms=terms,
        actions=tuple(a for f in files for a in f.action),
        frames=tuple(x for f in files for x in f.frame),
        cues=tuple(c for f in files for c in f.cue),
        corrections=tuple(c for f in files for c in f.correction),
        marks=tuple(m for f in files for m in f.mark),
        mishearings=tuple(m for f in files for m in f.mishearing),
        shorthands=tuple(s for f in files for s in f.shorthand),
        irregular={verb: forms for f in files for verb, forms in f.irregular.items()},
    )
    _check_references(lexicon)
    return lexicon


def _paths(folder: Path) -> list[Path]:
    if not folder.is_dir():
        raise LexiconError(f"Lexicon folder {str(folder)!r} is missing: expected a folder of TOML files.")
    return [
        path
        for path in sorted(folder.rglob("*.toml"))
        if path.name not in NUMERIC and not SKIPPED & set(path.relative_to(folder).parts[:-1])
    ]


def _load_file(path: Path) -> LexiconFile:
    try:
        data = tomllib.loads(path.read_text("utf-8"))
        return LexiconFile.model_validate(data)
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as fault:
        raise LexiconError(f"{path.name}: expected TOML in UTF-8, got {fault}.") from fault
    except ValidationError as fault:
        raise LexiconError(_describe(path, data, fault)) from fault


def _describe(path: Path, data: dict[str, Any], fault: ValidationError) -> str:
    first = fault.errors()[0]
    place = first["loc"]
    entry = data.get(str(place[0])) if place else None
    name = ""
    if isinstance(entry, list) and len(place) > 1 and isinstance(place[1], int) and isinstance(entry[place[1]], dict):
        name = f", entry {entry[place[1]].get('id', place[1])!r}"
    where = ".".join(str(part) for part in place)
    return f"{path.name}{name}: {where}: expected {first['msg'].lower()}, got {first.get('input')!r}."


def _with_kind(file: LexiconFile) -> list[Term]:
    return [term if term.kind else term.model_copy(update={"kind": file.kind or "word"}) for term in file.term]


def _merge(groups: Iterable[list[Term]]) -> tuple[Term, ...]:
    """Forms of the same kind and id are put together: trade names and a clinic's own words add to a concept."""
    merged: dict[tuple[str, str], Term] = {}
    for term in (term for group in groups for term in group):
        key = (term.kind or "word", term.id)
        held = merged.get(key)
        if held is None:
            merged[key] = term
            continue
        update: dict[str, Any] = {n: getattr(term, n) for n in term.model_fields_set - {"id", "kind", "forms"}}
        update["forms"] = tuple(dict.fromkeys(held.forms + term.forms))
        merged[key] = held.model_copy(update=update)
    return tuple(merged.values())


def _check_references(lexicon: Lexicon) -> None:
    """Frames name known steps, actions and things."""
    steps = {t.id for t in lexicon.of_kind("step")}
    things = {t.id for t in lexicon.terms}
    actions = {a.id for a in lexicon.actions}
    for frame in lexicon.frames:
        for name, known, what in (
            ((frame.step,) if frame.step else (), steps, "step"),
            (frame.actions, actions, "action"),
            (frame.things, things, "thing"),
        ):
            for unknown in [n for n in name if n not in known]:
                raise LexiconError(
                    f"frame {frame.step!r}: expected a known {what}, got {unknown!r}; add it or correct it."
                )

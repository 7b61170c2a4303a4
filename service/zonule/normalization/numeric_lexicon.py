"""Numeric lexicon files → validated models; a later folder's tables are laid over the first one's."""

from pathlib import Path
from typing import Any, TypeVar

import tomli as tomllib
from pydantic import BaseModel, ConfigDict, ValidationError

from zonule.errors import LexiconError


class Table(BaseModel):
    """Base of all numeric lexicon tables: immutable, unknown keys refused."""

    model_config = ConfigDict(frozen=True, extra="forbid")


T = TypeVar("T", bound=Table)


def load_table(name: str, schema: type[T], folders: tuple[Path, ...]) -> T:
    """The file `name` of the first folder with those of later folders laid over it.

    Raises LexiconError for a missing first file, broken TOML or an entry that breaks the schema.
    """
    data: dict[str, Any] = {}
    for place, folder in enumerate(folders):
        path = folder / name
        if place and not path.is_file():
            continue
        data = _lay_over(data, _read(path))
    try:
        return schema.model_validate(data)
    except ValidationError as fault:
        raise LexiconError(_describe(name, data, fault)) from fault


def _read(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text("utf-8"))
    except OSError as fault:
        raise LexiconError(f"{path.name}: expected a readable file in {str(path.parent)!r}, got none.") from fault
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as fault:
        raise LexiconError(f"{path.name}: expected TOML in UTF-8, got {fault}.") from fault


def _lay_over(below: dict[str, Any], above: dict[str, Any]) -> dict[str, Any]:
    """Tables merge, lists add up, a single value replaces."""
    merged = dict(below)
    for key, value in above.items():
        held = merged.get(key)
        if isinstance(held, dict) and isinstance(value, dict):
            merged[key] = _lay_over(held, value)
        elif isinstance(held, list) and isinstance(value, list):
            merged[key] = held + value
        else:
            merged[key] = value
    return merged


def _describe(name: str, data: dict[str, Any], fault: ValidationError) -> str:
    first = fault.errors()[0]
    place = first["loc"]
    where = ".".join(str(part) for part in place)
    entry: Any = data
    for part in place:
        if isinstance(entry, dict) and isinstance(entry.get("id"), str):
            where = f"entry {entry['id']!r}: {part}"
        try:
            entry = entry[part]
        except (KeyError, IndexError, TypeError):
            break
    return f"{name}: {where}: expected {first['msg'].lower()}, got {first.get('input')!r}."

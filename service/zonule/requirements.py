"""What a note must hold and what its values may be: the schema of `lexicon/requirements/*.toml`, and its loading.

Every file is TOML with any of the tables below. A clinic's own folder is laid over the shipped one: an entry with a
known id replaces the shipped entry.
"""

import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Annotated, Any, TypeVar

import jmespath
import tomli as tomllib
from jmespath.exceptions import JMESPathError
from jmespath.parser import ParsedResult
from pydantic import AfterValidator, Field, ValidationError

from zonule.errors import LexiconError, UnknownNameError
from zonule.lexicon.schema import Entry, Range
from zonule.vocabulary import GapKind, Severity

FOLDER = "requirements"
DEFAULT = "default"


def compile_path(path: str) -> ParsedResult:
    """The compiled JMESPath expression; raises ValueError for one that cannot be read."""
    try:
        return jmespath.compile(path)
    except JMESPathError as fault:
        raise ValueError(f"a JMESPath expression ({fault})".replace("\n", " ")) from fault


def _checked(path: str) -> str:
    """Refuses `!a.b` as well, which JMESPath reads as `(!a).b`."""
    compile_path(path)
    if loose := re.search(r"![A-Za-z_]\w*\.", path):
        raise ValueError(f"brackets after '!': {loose.group()[:-1]!r} binds tighter than '.', write '!(a.b)'")
    return path


JmesPath = Annotated[str, AfterValidator(_checked)]
Sources = Annotated[tuple[str, ...], Field(min_length=1)]


class RequirementSet(Entry):
    """A published standard, selectable by its id."""

    id: str
    title: str
    source: str
    note: str | None = None


class Condition(Entry):
    """A named circumstance of the operation; expressions refer to it as `is.ID`."""

    id: str
    path: JmesPath
    note: str | None = None


class Requirement(Entry):
    """Something a note must hold.

    `slots` are what an answer fills; the item is stated when one of them holds a value. `stated` (JMESPath over the
    record) says so instead where slots are not enough. `lacking` finds the facts that lack the item: one gap each.
    `when` limits the requirement to operations where it matters, `must_when` raises its severity to `must`.
    `may_be_none` says that "there was none" is an answer; `silent_in` names the sets that accept silence for none.
    """

    id: str
    slots: Sources
    when: JmesPath | None = None
    stated: JmesPath | None = None
    lacking: JmesPath | None = None
    severity: Severity = Severity.SHOULD
    must_when: JmesPath | None = None
    may_be_none: bool = False
    question: str
    why: str
    example: str
    sources: Sources
    sets: Sources
    silent_in: tuple[str, ...] = ()
    note: str | None = None


class ValueRange(Entry):
    """The usual and the possible range of a slot, in the unit that the slot's name ends in.

    A term of the lexicon with a range of its own (machine parameters, lens fields) goes before it. `unit` is how the
    value is spoken of, `shown` how the range is, where its numbers are not for reading; `slip` names factors by which a
    value is likely to be off (10 for a lost decimal point).
    """

    id: str
    name: str
    unit: str = ""
    usual: Range
    possible: Range
    shown: str | None = None
    slip: tuple[float, ...] = ()


class DoseRange(Entry):
    """The usual and the possible dose of a drug by a route, in `unit`; strength in `strength_unit`, volume in mL.

    `route` may be left out for any route. `route_needed` marks drugs that are harmful by the wrong route, `caution` a
    published warning that is shown whenever the drug is given by this route.
    """

    id: str
    drug: str
    route: str | None = None
    unit: str = "mg"
    usual: Range | None = None
    possible: Range | None = None
    strength_unit: str = "mg/mL"
    strength: Range | None = None
    possible_strength: Range | None = None
    volume_ml: Range | None = None
    possible_volume_ml: Range | None = None
    route_needed: bool = False
    caution: str | None = None
    source: str


class AllergyGroup(Entry):
    """An allergy as it is written on a list (`forms`), and the drugs and drug classes it is a reason to ask about."""

    id: str
    forms: Sources
    drugs: tuple[str, ...] = ()
    classes: tuple[str, ...] = ()
    source: str


class StepOrder(Entry):
    """Two steps of which the trade would question the second before the first."""

    id: str
    earlier: str
    later: str
    why: str
    source: str


class Finding(Entry):
    """The wording of one consistency rule: `question` may hold the fields that the rule fills in braces."""

    id: str
    kind: GapKind
    severity: Severity
    question: str
    why: str
    sources: Sources


class RequirementFile(Entry):
    """One TOML file."""

    note: str | None = None
    set: tuple[RequirementSet, ...] = ()
    condition: tuple[Condition, ...] = ()
    requirement: tuple[Requirement, ...] = ()
    range: tuple[ValueRange, ...] = ()
    dose: tuple[DoseRange, ...] = ()
    order: tuple[StepOrder, ...] = ()
    allergy: tuple[AllergyGroup, ...] = ()
    finding: tuple[Finding, ...] = ()


class Requirements(Entry):
    """All files together."""

    sets: tuple[RequirementSet, ...]
    conditions: tuple[Condition, ...]
    items: tuple[Requirement, ...]
    ranges: tuple[ValueRange, ...] = ()
    doses: tuple[DoseRange, ...] = ()
    orders: tuple[StepOrder, ...] = ()
    allergies: tuple[AllergyGroup, ...] = ()
    findings: tuple[Finding, ...] = ()

    def of_set(self, name: str) -> "Requirements":
        """These requirements with only the items of one set; raises UnknownNameError for a set that nobody defined."""
        known = [s.id for s in self.sets]
        if name not in known:
            raise UnknownNameError(f"Unknown requirement set {name!r}: expected one of {', '.join(known)}.")
        return self.model_copy(update={"items": tuple(item for item in self.items if name in item.sets)})

    @property
    def range_of(self) -> dict[str, ValueRange]:
        """Ranges by slot."""
        return {r.id: r for r in self.ranges}

    @property
    def finding_of(self) -> dict[str, Finding]:
        """Wordings by rule."""
        return {f.id: f for f in self.findings}


def load_requirements(*folders: Path) -> Requirements:
    """The requirements of all `folders`: lexicon folders, or their `requirements` subfolders themselves.

    A later entry replaces an earlier one of the same id. A lexicon folder without the subfolder adds nothing. Raises
    LexiconError for broken TOML, an entry that breaks the schema, or an item of a set that nobody defined.
    """
    places = [folder if folder.name == FOLDER else folder / FOLDER for folder in folders]
    files = [_load_file(path) for place in places for path in sorted(place.glob("*.toml"))]
    loaded = Requirements(
        sets=_latest(f.set for f in files),
        conditions=_latest(f.condition for f in files),
        items=_latest(f.requirement for f in files),
        ranges=_latest(f.range for f in files),
        doses=_latest(f.dose for f in files),
        orders=_latest(f.order for f in files),
        allergies=_latest(f.allergy for f in files),
        findings=_latest(f.finding for f in files),
    )
    _check_sets(loaded)
    return loaded


E = TypeVar("E", RequirementSet, Condition, Requirement, ValueRange, DoseRange, AllergyGroup, StepOrder, Finding)


def _latest(groups: Iterable[Sequence[E]]) -> tuple[E, ...]:
    return tuple({entry.id: entry for group in groups for entry in group}.values())


def _load_file(path: Path) -> RequirementFile:
    try:
        data = tomllib.loads(path.read_text("utf-8"))
        return RequirementFile.model_validate(data)
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as fault:
        raise LexiconError(f"{path.name}: expected TOML in UTF-8, got {fault}.") from fault
    except ValidationError as fault:
        raise LexiconError(_describe(path, data, fault)) from fault


def _describe(path: Path, data: dict[str, Any], fault: ValidationError) -> str:
    first = fault.errors()[0]
    table, *rest = first["loc"]
    entries = data.get(str(table))
    name = ""
    if isinstance(entries, list) and rest and isinstance(rest[0], int) and isinstance(entries[rest[0]], dict):
        name = f", {table} {entries[rest[0]].get('id', rest[0])!r}"
    where = ".".join(str(part) for part in rest[1:] or [table])
    expected = first["msg"].removeprefix("Value error, ").lower()
    return f"{path.name}{name}: {where}: expected {expected}, got {first.get('input')!r}."


def _check_sets(loaded: Requirements) -> None:
    known = {s.id for s in loaded.sets}
    for item in loaded.items:
        for unknown in [n for n in item.sets + item.silent_in if n not in known]:
            raise LexiconError(
                f"requirement {item.id!r}: sets: expected one of {', '.join(sorted(known))}, got {unknown!r}."
            )

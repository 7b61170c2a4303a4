"""The one schema of the lexicon files. Every file is TOML with a default `kind` and any of the tables below."""

from functools import cached_property
from typing import Literal

from pydantic import BaseModel, ConfigDict

from zonule.vocabulary import Status

Kind = Literal[
    "anesthesia", "anatomy", "blood_loss", "complication", "count", "device", "diagnosis", "drug", "drug_class", "eye",
    "field", "finding", "implant", "incision_kind", "instruction", "instrument", "laterality_none", "lens_field",
    "lens_location", "lens_material", "lens_type", "nucleus_grade", "parameter", "phase", "procedure", "route", "site",
    "specimen", "step", "suture_material", "technique", "thing", "title", "urgency", "viscoelastic", "word",
]  # fmt: skip


class Entry(BaseModel):
    """Base of all lexicon entries: immutable, unknown keys refused."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Range(Entry):
    """A usual range (bounds included) in the unit of what it belongs to, and where it is from."""

    low: float
    high: float
    source: str


class Term(Entry):
    """A concept of the trade and the forms in which it is said.

    `forms` are matched without regard to case; a hyphen in a form stands for a hyphen, a space or nothing, and the
    plural of its last word is understood. `also` names further senses the same words have (`kind:id`), `fills` slots
    that the words settle by themselves (slot = value), `usual` the range outside which the value is questioned and
    `possible` the one outside which it cannot be. A term with `near` counts only when one of these (`kind:id`) stands
    in the same clause. `classes` group a concept (drug classes; for a parameter the dimensions of quantity it takes).
    """

    id: str
    forms: tuple[str, ...]
    kind: Kind | None = None
    also: tuple[str, ...] = ()
    fills: dict[str, str | bool] = {}
    usual: Range | None = None
    possible: Range | None = None
    classes: tuple[str, ...] = ()
    routes: tuple[str, ...] = ()
    near: tuple[str, ...] = ()
    temporary: bool = False
    source: str | None = None
    note: str | None = None


class Action(Entry):
    """Something a surgeon does: verbs in the base form (inflected by rule), irregular forms, and nouns for the act."""

    id: str
    verbs: tuple[str, ...] = ()
    nouns: tuple[str, ...] = ()
    source: str | None = None


class Frame(Entry):
    """An action done to a thing is a step: `remove` + `viscoelastic` is `viscoelastic_removal`.

    `where` limits the frame to clauses that also hold one of these concepts (`kind:id`). With `alone` the action needs
    no thing ("the quadrants were chopped", "then chopped"); without `actions` the thing alone tells the step;
    with `bare` only where it stands between two pauses ("hydro, chop, cortex, lens in").
    `fills` names further slots that the done frame settles; a fact in one of `slots` tells the step as well ("mine was
    2.4 mm, clear corneal"). With `before` or `after` it counts only on that side of the
    first time that step was done; with `tenses` its action tells without a thing only in these.
    """

    step: str | None = None
    actions: tuple[str, ...] = ()
    things: tuple[str, ...] = ()
    alone: bool = False
    bare: bool = False
    fills: dict[str, str | bool] = {}
    before: str | None = None
    after: str | None = None
    where: tuple[str, ...] = ()
    unless: tuple[str, ...] = ()
    tenses: tuple[str, ...] = ()
    slots: tuple[str, ...] = ()
    source: str | None = None


class Cue(Entry):
    """Wording that decides the status of what stands in its scope.

    `direction` says on which side of the cue its scope lies; `scope` how far it reaches: the `clause`, the `sentence`,
    a `list` (the first thing named after it and what is strung to that), or `frame`: on into following
    sentences until a case anchor or a past tense. `status` is None for wording that only
    looks like a cue (`in the usual fashion`) and so shields its words. `anchor` marks wording that says "this eye".
    `window` limits a scope to so many words; with `tenses` the cue counts only in clauses of these tenses,
    with `kinds` only for concepts of these kinds ("takes" speaks of drugs), and not for terms of a class in `spares`.
    """

    id: str
    forms: tuple[str, ...]
    status: Status | None = None
    direction: Literal["forward", "backward", "both"] = "both"
    scope: Literal["clause", "sentence", "list", "frame"] = "clause"
    window: int | None = None
    tenses: tuple[str, ...] = ()
    kinds: tuple[Kind | Literal["action", "quantity"], ...] = ()
    spares: tuple[str, ...] = ()
    anchor: bool = False
    source: str | None = None


class Correction(Entry):
    """Wording that takes something back.

    `takes` says what: the last `value` of the kind that follows, the value `named` behind it, the last `clause`, the
    last `sentence`, or the number before it where one of the same measure is said `again` behind. A `weak` one
    (`sorry`, `actually`) counts only when a value of the same kind stands on both sides.
    """

    id: str
    forms: tuple[str, ...]
    takes: Literal["value", "named", "clause", "sentence", "again"] = "value"
    weak: bool = False


class Mark(Entry):
    """Spoken punctuation: `forms` are spoken, `mark` is what they stand for."""

    mark: str
    forms: tuple[str, ...]
    needs_context: bool = False


class Mishearing(Entry):
    """A known mishearing: `heard` stands for `read_as`; `near` are words of which one must stand close by."""

    heard: tuple[str, ...]
    read_as: str
    near: tuple[str, ...] = ()
    source: str | None = None


class Shorthand(Entry):
    """A short form with several senses: `forms` stand for `read_as` right before what tells this one.

    That is a `measure`, or one of the words `beside`; with `either_side` right behind it too.
    """

    forms: tuple[str, ...]
    read_as: str
    measure: Literal["percent", "duration", "identifier"] | None = None
    beside: tuple[str, ...] = ()
    either_side: bool = False
    source: str | None = None


class LexiconFile(Entry):
    """One TOML file."""

    kind: Kind | None = None
    source: str | None = None
    note: str | None = None
    irregular: dict[str, tuple[str, str]] = {}
    term: tuple[Term, ...] = ()
    action: tuple[Action, ...] = ()
    frame: tuple[Frame, ...] = ()
    cue: tuple[Cue, ...] = ()
    correction: tuple[Correction, ...] = ()
    mark: tuple[Mark, ...] = ()
    mishearing: tuple[Mishearing, ...] = ()
    shorthand: tuple[Shorthand, ...] = ()


class Lexicon(Entry):
    """All files together, a clinic's laid over the shipped ones. `irregular` maps a verb to past and participle."""

    terms: tuple[Term, ...]
    actions: tuple[Action, ...]
    frames: tuple[Frame, ...]
    cues: tuple[Cue, ...]
    corrections: tuple[Correction, ...]
    marks: tuple[Mark, ...]
    mishearings: tuple[Mishearing, ...]
    shorthands: tuple[Shorthand, ...]
    irregular: dict[str, tuple[str, str]]

    @cached_property
    def by_key(self) -> dict[tuple[str, str], Term]:
        """Terms by kind and id."""
        return {(term.kind or "word", term.id): term for term in self.terms}

    def of_kind(self, kind: Kind) -> tuple[Term, ...]:
        """The terms of one kind, in file order."""
        return tuple(term for term in self.terms if term.kind == kind)

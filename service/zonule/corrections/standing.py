"""What still stands of the mentions while corrections are applied, and what was taken back."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from zonule.annotation.mentions import Annotation, Mention

VALUE_KINDS = frozenset(
    {
        "anesthesia", "complication", "diagnosis", "drug", "eye", "implant", "incision_kind", "lens_location",
        "lens_material", "procedure", "quantity", "route", "site", "suture_material", "technique", "viscoelastic",
        "step", "urgency", "parameter", "lens_type", "phase",
    }
)  # fmt: skip
LAST_HOUR = 12.5
DATELIKE = frozenset({"month", "day_month", "day_of_month"})


@dataclass(frozen=True, slots=True)
class Retracted:
    """A mention that was taken back, by which cue, and what replaced it (None where nothing did)."""

    mention: Mention
    cue: Mention
    by: Mention | None


@dataclass(frozen=True, slots=True)
class Corrected:
    """What is left of the mentions, what was taken back, and all wording of correction."""

    annotation: Annotation
    retracted: tuple[Retracted, ...]
    cues: tuple[Mention, ...] = ()


class Live:
    """The mentions that still stand while corrections are applied in order; looked at by stretches of words."""

    def __init__(self, annotation: Annotation) -> None:
        self.annotation = annotation
        self._gone: set[int] = set()
        self._changed: dict[int, Mention] = {}
        self._added: list[Mention] = []

    def add(self, mention: Mention) -> None:
        """Hold a mention that only a correction made readable."""
        self._added.append(mention)

    def between(self, start: int, end: int) -> list[Mention]:
        """The mentions that still stand between two words, as they are by now."""
        held = self.annotation.mentions_between(start, end)
        return [self._changed.get(id(m), m) for m in held if m.correction is None and id(m) not in self._gone]

    def all(self) -> tuple[Mention, ...]:
        """All mentions that still stand, in the order of the text."""
        held = self.between(0, len(self.annotation.words))
        return tuple(sorted([*held, *self._added], key=lambda m: m.start)) if self._added else tuple(held)

    def take_back(self, found: Sequence[Retracted]) -> None:
        """Takes mentions away, and gives what replaces them the unit that it lacks."""
        taken = {(r.mention.start, r.mention.end) for r in found}
        for start, end in taken:
            held = self.annotation.mentions_between(start, start + 1)
            self._gone.update(id(m) for m in held if m.end == end and m.correction is None)
        for retracted in found:
            self._inherit(retracted)

    def drop_denials(self, start: int, end: int) -> None:
        """A "no" that turned back denies nothing ("5.5, no, 5.0"), nor does a "not" before the old value."""
        held = self.annotation.mentions_between(max(0, start - 1), end)
        self._gone.update(id(m) for m in held if m.cue is not None and m.end <= end)

    def _inherit(self, retracted: Retracted) -> None:
        """A bare new number takes the unit of the one it replaces ("nineteen diopters, sorry, twenty")."""
        new, old = retracted.by, retracted.mention
        if new is None or new.quantity is None or old.quantity is None or new.id != "number" or old.id == "number":
            return
        quantity = replace(new.quantity, dimension=old.quantity.dimension, unit=old.quantity.unit)
        for mention in self.annotation.mentions_between(new.start, new.start + 1):
            if mention.quantity is not None:
                self._changed[id(mention)] = replace(mention, id=old.id, quantity=quantity)


def is_same(named: Mention, earlier: Mention) -> bool:
    """Whether a value taken back by its name is the one said earlier."""
    if named.quantity is not None and earlier.quantity is not None:
        return named.quantity.value == earlier.quantity.value and "number" in (named.id, earlier.id, earlier.kind)
    return named.key == earlier.key


def says_again(new: Mention, earlier: Mention) -> bool:
    """ "The 2.4? It was the 2.4, make that 2.4": the same number corrects what stands before it."""
    if new.quantity is None or earlier.quantity is None or new.id != "number" or earlier.id != "number":
        return False
    return new.quantity.value == earlier.quantity.value


def _is_hour(value: object) -> bool:
    """Whether a number is an hour or half of a clock."""
    return isinstance(value, float | int) and 0 < value <= LAST_HOUR and value * 2 % 1 == 0


def replaces(new: Mention, old: Mention) -> bool:
    """Whether a value can stand in place of another: of the same kind, and not the same value."""
    if new.kind != old.kind:
        return False
    if new.quantity is not None and old.quantity is not None:
        if old.id == "clock_hour" and new.id == "number" and not _is_hour(new.quantity.value):
            return False
        numeric = isinstance(new.quantity.value, float | int) and isinstance(old.quantity.value, float | int)
        timed = {new.id, old.id} == {"clock_hour", "time_of_day"}
        dated = "date" in new.id and ("date" in old.id or old.id in DATELIKE)
        return new.id == old.id or dated or timed or (numeric and "number" in (new.id, old.id))
    return new.id != old.id

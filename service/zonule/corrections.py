"""What the speaker took back: mentions that a later correction replaces, and the words that say so."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from zonule.annotation.mentions import Annotation, Mention

REACH = 14
"""Words between a corrected value and the wording that corrects it; a slip is corrected at once or not at all."""
STRETCH = 14
"""Words that "scratch that" takes back at the most, where no punctuation shows how far it reaches."""
AHEAD = 9
"""Words after the wording within which the new value stands."""
VALUE_KINDS = frozenset(
    {
        "anesthesia", "complication", "diagnosis", "drug", "eye", "implant", "incision_kind", "lens_location",
        "lens_material", "procedure", "quantity", "route", "site", "suture_material", "technique", "viscoelastic",
        "step", "urgency", "parameter", "lens_type", "phase",
    }
)  # fmt: skip


DENIALS = (("no",), ("not",))
"""Weak wording that before a thing of the trade denies it instead of correcting."""
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


def apply_corrections(annotation: Annotation) -> Corrected:
    """Take back what the speaker took back; nothing else is deleted."""
    cues = [m for m in annotation.mentions if m.correction is not None]
    if not cues:
        return Corrected(annotation, ())
    live = [m for m in annotation.mentions if m.correction is None]
    retracted: list[Retracted] = []
    counted: set[int] = set()
    for cue in cues:
        if cue.start in counted:
            continue
        found = _taken_back(annotation, cue, live)
        if found:
            counted.add(cue.start)
        gone = {id(r.mention) for r in found}
        retracted.extend(found)
        live = _inherit([m for m in live if id(m) not in gone], found)
    return Corrected(replace(annotation, mentions=tuple(live)), tuple(retracted), tuple(cues))


def _taken_back(annotation: Annotation, cue: Mention, live: Sequence[Mention]) -> list[Retracted]:
    takes = cue.correction.takes if cue.correction else "value"
    if takes == "sentence":
        return _stretch(cue, live, _sentence_before(annotation, cue))
    new = _value_after(annotation, cue, live)
    old = _same_kind_before(annotation, cue, live, new) if new else None
    if old is not None:
        end = _end_of_suture(live, old)
        return [Retracted(m, cue, new) for m in live if m.start >= old.start and m.end <= end]
    if takes == "clause":
        return _stretch(cue, live, _clause_before(annotation, cue))
    return []


def _end_of_suture(live: Sequence[Mention], old: Mention) -> int:
    """A size taken back takes its material with it ("two 10-0 nylon, no, one 10-0 nylon")."""
    if old.id != "suture_size":
        return old.end
    return next((m.end for m in live if m.kind == "suture_material" and 0 <= m.start - old.end <= 1), old.end)


def _stretch(cue: Mention, live: Sequence[Mention], stretch: tuple[int, int]) -> list[Retracted]:
    start, end = stretch
    return [Retracted(m, cue, None) for m in live if start <= m.start < end and m.kind not in ("word", "cue", "field", "title")]


def _sentence_before(annotation: Annotation, cue: Mention) -> tuple[int, int]:
    """The words of the sentence that the cue follows; of its own when words stand before it there."""
    at = annotation.clause_of[cue.start]
    number = annotation.clauses[at].sentence
    spoken = [c for c in annotation.clauses if c.sentence == number and c.start < cue.start]
    if not any(annotation.words[i].isalnum() for c in spoken for i in range(c.start, min(c.end, cue.start))):
        spoken = [c for c in annotation.clauses[:at] if c.sentence == number - 1]
    return (spoken[0].start, min(spoken[-1].end, cue.start)) if spoken else (cue.start, cue.start)


def _clause_before(annotation: Annotation, cue: Mention) -> tuple[int, int]:
    at = annotation.clause_of[cue.start]
    clause = annotation.clauses[at]
    if any(annotation.words[i].isalnum() for i in range(clause.start, cue.start)):
        return max(clause.start, cue.start - STRETCH), cue.start
    before = annotation.clauses[at - 1] if at else clause
    return max(before.start, cue.start - STRETCH), min(before.end, cue.start)


def _value_after(annotation: Annotation, cue: Mention, live: Sequence[Mention]) -> Mention | None:
    for mention in live:
        if mention.start < cue.end or mention.kind not in VALUE_KINDS:
            continue
        return mention if mention.start - cue.end <= AHEAD else None
    return None


def _same_kind_before(
    annotation: Annotation, cue: Mention, live: Sequence[Mention], new: Mention
) -> Mention | None:
    """The nearest earlier mention that `new` can replace; an identical one is no correction."""
    weak = cue.correction is not None and cue.correction.weak
    reach = REACH if not weak else REACH // 2
    if weak and not _turns(annotation, cue, new):
        return None
    for mention in reversed(live):
        if mention.end > cue.start or mention.kind not in VALUE_KINDS:
            continue
        if weak and annotation.sentence_of(mention.start) != annotation.sentence_of(cue.start):
            return None
        if cue.start - mention.end > reach:
            return None
        if _replaces(new, mention):
            return mention
        if weak and (mention.kind == "quantity") == (new.kind == "quantity"):
            return None
    return None


def _turns(annotation: Annotation, cue: Mention, new: Mention) -> bool:
    """Whether weak wording ("no", "sorry") turns back at once, and is no denial of what follows it."""
    if new.start - cue.end > 3 or annotation.sentence_of(cue.start) != annotation.sentence_of(new.start):
        return False
    said = annotation.words[cue.start : cue.end]
    return said not in DENIALS or new.kind in ("quantity", "eye", "site")


def _replaces(new: Mention, old: Mention) -> bool:
    if new.kind != old.kind:
        return False
    if new.quantity is not None and old.quantity is not None:
        numeric = isinstance(new.quantity.value, float | int) and isinstance(old.quantity.value, float | int)
        timed = {new.id, old.id} == {"clock_hour", "time_of_day"}
        dated = "date" in new.id and ("date" in old.id or old.id in DATELIKE)
        return new.id == old.id or dated or timed or (numeric and "number" in (new.id, old.id))
    return new.id != old.id


def _inherit(live: list[Mention], found: list[Retracted]) -> list[Mention]:
    """A bare new number takes the unit of the one it replaces ("nineteen diopters, sorry, twenty")."""
    for taken in found:
        new, old = taken.by, taken.mention
        if new is None or new.quantity is None or old.quantity is None or new.id != "number" or old.id == "number":
            continue
        quantity = replace(new.quantity, dimension=old.quantity.dimension, unit=old.quantity.unit)
        live = [replace(m, id=old.id, quantity=quantity) if m is new else m for m in live]
    return live

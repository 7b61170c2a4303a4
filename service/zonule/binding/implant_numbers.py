"""Whose a serial or lot number is: the lens's, or that of a ring or stent told of right before."""

from zonule.annotation.mentions import Mention
from zonule.binding.reading import Reading

OTHERS = frozenset({"ring", "stent", "stents", "segment", "hooks", "shunt", "shunts"})
OTHER_REACH = 12
"""Words before a label within which a ring or stent is what it belongs to."""
BACK = 40
"""Words before a label within which the thing stands that "both" or "its" points back to."""
POINTING = frozenset({"both", "they", "their", "its", "it", "each", "these", "them"})
NUMBERED = frozenset({"serial_number", "lot_number"})
"""Fields that a ring has as well as a lens."""
ORDINALS = frozenset({"first", "second", "third", "other", "next", "another", "new", "replacement"})
LENS_KINDS = ("lens_type", "lens_field", "lens_material")


def belongs_to_implant(reading: Reading, label: Mention) -> bool:
    """Whether a label is that of a ring or stent named right before, and not the lens's."""
    first, _ = reading.sentence(label.start)
    start = max(first, label.start - OTHER_REACH)
    return _last_is_implant(reading, start, label.start) or points_to_implant(reading, label)


def points_to_implant(reading: Reading, label: Mention) -> bool:
    """ "Both from the same pack, lot …": what stands in the sentences before is a ring or stent and no lens."""
    first, _ = reading.sentence(label.start)
    if POINTING.isdisjoint(reading.words[first : label.start]) and not one_more(reading, first, label.start):
        return False
    if any(a.mention.key == "thing:lens" for a in reading.between(first, label.start)):
        return False
    return _last_is_implant(reading, max(0, label.start - BACK), label.start)


def one_more(reading: Reading, start: int, end: int) -> int | None:
    """Where "second one" or its like ends between two words: one more of what was named before."""
    return next(
        (i + 1 for i in range(start + 1, end) if reading.words[i] == "one" and reading.words[i - 1] in ORDINALS), None
    )


def _last_is_implant(reading: Reading, start: int, end: int) -> bool:
    named = [a.mention for a in reading.between(start, end)]
    others = [m.start for m in named if m.kind == "implant"]
    others += [i for i in range(start, end) if reading.words[i] in OTHERS]
    lenses = [m.start for m in named if m.key == "thing:lens" or (m.kind in LENS_KINDS and m.id not in NUMBERED)]
    return bool(others) and max(others) > max(lenses, default=-1)

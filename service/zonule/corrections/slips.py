"""What is told around a slip: the old value said again, a thing denied or counted anew."""

from collections.abc import Sequence

from zonule.annotation.mentions import Mention
from zonule.corrections.standing import Live, Retracted, is_same

REACH = 14
"""Words between a corrected value and the wording that corrects it; a slip is corrected at once or not at all."""
SLIP_REACH = 20
"""Words behind the new value within which the slip is told of."""
BY_CHANCE = 13
"""Whole numbers below stand twice in a sentence by chance, as hours do."""
NEVER_THERE = (
    ("never", "had"),
    ("didn't", "have"),
    ("hadn't", "a"),
    ("didn't", "get"),
    ("never", "got"),
    ("had", "no"),
)
GENERIC = frozenset({"block", "one", "any", "it", "that", "them", "injection"})
"""What stands for a thing named right before, behind a denial."""
DENIED_WITHIN = 7
SUTURE_AHEAD = 5
"""Words before a thread within which its count and size stand."""
NAMED_AGAIN = frozenset({"drug", "implant", "viscoelastic", "instrument", "suture_material"})
DENYING = frozenset({"didn't", "don't", "haven't", "hadn't", "not", "never", "wasn't"})
CLOSE = 3
"""Words between a value that ends a sentence and the wording behind it that corrects it."""


def denied_behind(live: Live, cue: Mention) -> list[Retracted]:
    """ "Then a sub-Tenon's block, no, I tell a lie, she never had a block": what was named last was not there."""
    words = live.annotation.words[cue.end : cue.end + DENIED_WITHIN]
    denied = any(
        words[i : i + 2] in NEVER_THERE and not GENERIC.isdisjoint(words[i + 2 : i + 4]) for i in range(len(words))
    )
    before = [
        m for m in live.between(max(0, cue.start - CLOSE - 2), cue.start) if m.kind in NAMED_AGAIN | {"anesthesia"}
    ]
    if not denied or not before:
        return []
    return [Retracted(m, cue, None) for m in before if m.start == before[-1].start]


def sutures_again(live: Live, cue: Mention) -> list[Retracted]:
    """ "Five 10-0 nylon sutures; let me count again, six 10-0 nylon sutures": the thread told anew with its count."""
    new = next((m for m in live.between(cue.end, cue.end + SUTURE_AHEAD) if m.kind == "suture_material"), None)
    before = [m for m in live.between(max(0, cue.start - REACH), cue.start) if new is not None and m.key == new.key]
    if not before or new is None:
        return []
    start = next(
        (m.start for m in live.between(before[-1].start - SUTURE_AHEAD, before[-1].end) if m.quantity), before[-1].start
    )
    return [
        Retracted(m, cue, new) for m in live.between(start, before[-1].end) if m.kind in ("suture_material", "quantity")
    ]


def denied_again(live: Live, cue: Mention, found: Sequence[Retracted]) -> list[Retracted]:
    """ "Carbachol, no, we didn't have carbachol": what is taken back, named again as what was not there."""
    gone = {r.mention.key for r in found if r.mention.kind in NAMED_AGAIN}
    denied = not DENYING.isdisjoint(live.annotation.words[cue.start : cue.end])
    behind = live.between(cue.end, cue.end + CLOSE + 1) if gone and denied else []
    return [Retracted(m, cue, None) for m in behind if m.key in gone]


def told_of_slip(live: Live, found: Sequence[Retracted]) -> list[Retracted]:
    """ "Plus 23, no, 22.5, the 23 was her other eye": what was taken back, told again only to say how the slip came.

    The cues of its clause go with it.
    """
    told: list[Retracted] = []
    for taken in found:
        old, new = taken.mention, taken.by
        if new is None or not tells_slip(old) or new.end <= old.end:
            continue
        clauses, at = live.annotation.clauses, live.annotation.clause_of
        last = live.annotation.sentence_of(new.start)
        for mention in live.between(new.end, new.end + SLIP_REACH):
            clause = clauses[at[mention.start]]
            if live.annotation.sentence_of(mention.start) == last and is_told(old, mention):
                told.append(Retracted(mention, taken.cue, None))
                live.drop_denials(max(clause.start, new.end) + 1, clause.end)
    return told


def tells_slip(old: Mention) -> bool:
    """Whether a value is one that is not said twice in a sentence by chance, as small whole numbers are."""
    if old.quantity is None:
        return old.kind in ("lens_location", "technique", "lens_type", "incision_kind")
    value = old.quantity.value
    return isinstance(value, float | int) and (value >= BY_CHANCE or value % 1 != 0)


def is_told(again: Mention, earlier: Mention) -> bool:
    if again.quantity is None or earlier.quantity is None:
        return is_same(again, earlier)
    units = again.id == earlier.id or "number" in (again.id, earlier.id)
    return units and again.quantity.value == earlier.quantity.value

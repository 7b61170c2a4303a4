"""What became of a lens: implanted unless the talk around it tells another fate."""

from bisect import bisect_left

from zonule.annotation.mentions import Mention
from zonule.binding.lens_passages import begins_other, numbered_passage
from zonule.binding.reading import PUNCTUATION, Reading

LONG_SENTENCE = 45
HEADED = {
    "out": "lens_explanted", "explant": "lens_explanted", "explanted": "lens_explanted", "removed": "lens_explanted",
    "in": "lens", "implanted": "lens", "new": "lens", "wasted": "lens_not_implanted", "unused": "lens_not_implanted",
}  # fmt: skip
"""What a label at the head of a line tells of the lens behind it ("OUT: …", "Lens in: …")."""
LENS = frozenset({"lens", "iol", "implant"})
FORMER = frozenset({"old", "previous", "existing", "former"})
CARDS = frozenset({"card", "wallet", "notes", "records", "passport"})
"""What tells the data of a lens that was in the eye before."""
PRONOUNS = frozenset({"it", "it's", "this", "that", "that's"})
NEAR = 12
POINTED = 36
"""Words before a place within which a lens is told of: right before, or by a pronoun."""
WINDOW = 18
AHEAD = 32
"""Words before and behind the data of a lens within which its fate is told."""


def lens_near(reading: Reading, mention: Mention) -> bool:
    """Whether a lens, or an action that puts one in, is spoken of in the clause or right before."""
    clause = reading.clause(mention.start)
    pointed = not PRONOUNS.isdisjoint(reading.words[clause.start : mention.start])
    start = max(0, min(clause.start, mention.start - (POINTED if pointed else NEAR)))
    around = reading.between(start, max(clause.end, mention.end + 6))
    return any(a.mention.key in ("thing:lens", "quantity:diopter") for a in around) or any(
        a.mention.kind in ("lens_field", "lens_type") or a.mention.key == "step:lens_insertion" for a in around
    )


def prefix_of(reading: Reading, mention: Mention) -> str:
    """Which lens a value speaks of: implanted unless its own clause or the talk around says another fate."""
    headed = _headed(reading, mention)
    if headed is not None:
        return headed
    passage = numbered_passage(reading, mention)
    if passage is not None:
        told = _fates(reading, *passage)
        return "lens_explanted" if "lens_explanted" in told else told[0] if told else "lens"
    clause = reading.clause(mention.start)
    first, last = reading.sentence(mention.start)
    start = max(first, clause.start, mention.start - WINDOW)
    start = max([start, *(i for i in range(start + 1, mention.start) if begins_other(reading, i))])
    end = min(last, mention.end + AHEAD)
    stop = next((i for i in range(mention.end, end) if _other_lens(reading, mention, i)), end)
    told = _fates(reading, start, stop)
    if not told and CARDS & set(reading.words[max(first, mention.start - WINDOW) : mention.start]):
        before, _ = reading.sentence(max(0, first - 1))
        told = _fates(reading, max(before, mention.start - 3 * WINDOW), mention.start)[-1:]
    if _old_lens(reading, mention):
        told.append("lens_explanted")
    told = told or _told_next(reading, last)
    return "lens_explanted" if "lens_explanted" in told else told[0] if told else "lens"


def _headed(reading: Reading, mention: Mention) -> str | None:
    """The fate that the last label before it in its sentence tells, None where it has no such label."""
    words = reading.words
    first, _ = reading.sentence(mention.start)
    for at in range(mention.start - 1, max(first, mention.start - LONG_SENTENCE), -1):
        if words[at] == ":" and words[at - 1] in HEADED:
            named = at - 1 - (at - 2 >= first and words[at - 2] in LENS)
            if named == first or words[named - 1] in PUNCTUATION:
                return HEADED[words[at - 1]]
    return None


def _fates(reading: Reading, start: int, stop: int) -> list[str]:
    """The fates told between two words."""
    first = bisect_left(reading.lens_fates, (start, ""))
    return [fate for at, fate in reading.lens_fates[first : first + 20] if at < stop]


def _old_lens(reading: Reading, mention: Mention) -> bool:
    """ "Old one-piece +20 lens with its bag lifted out": the lens that was in the eye before."""
    for i in range(max(0, mention.start - 4), mention.start):
        if reading.words[i] in FORMER:
            return any(a.mention.key == "thing:lens" for a in reading.between(i, mention.end + 3))
    return False


def _told_next(reading: Reading, end: int) -> list[str]:
    """What the next sentence tells of the same lens by a pronoun ("… so it was not implanted")."""
    if end >= len(reading.words) or reading.sentence(end - 1)[1] - reading.sentence(end - 1)[0] > LONG_SENTENCE:
        return []
    _, last = reading.sentence(end)
    at = bisect_left(reading.lens_fates, (end, ""))
    if at == len(reading.lens_fates) or reading.lens_fates[at][0] >= last:
        return []
    fate_at, fate = reading.lens_fates[at]
    named = any(a.mention.key in ("thing:lens", "quantity:diopter") for a in reading.between(end, fate_at))
    return [fate] if not named and PRONOUNS & set(reading.words[end:fate_at]) else []


def _other_lens(reading: Reading, mention: Mention, i: int) -> bool:
    """Whether talk of another lens begins at a word."""
    if i > mention.end + 4 and any(a.mention.key == "thing:lens" for a in reading.between(i, i + 1)):
        return reading.words[i - 1] in ("the", "a", "this", "new", "piece") or reading.clause(i).start >= i - 2
    return begins_other(reading, i)

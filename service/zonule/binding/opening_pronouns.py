"""Sizes that are told of an opening by a pronoun: "it came out at 5", "I made it seven", "that gave me 5.5"."""

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.openings import RHEXIS, SIDE, is_main
from zonule.binding.reading import Reading, around
from zonule.vocabulary import Status

GAVE = frozenset({"gave", "gives", "giving", "given"})
"""Before "me" or "us" and a size: that of what was named before it."""
MEASURING = (
    ("made", "it"), ("make", "it"), ("out", "at"), ("up", "at"), ("i", "got"), ("we", "got"), ("finished", "with"),
    ("came", "to"), ("ended", "at"), ("ended", "with"), ("and", "got"),
)  # fmt: skip
CALLED = 20
"""Words between a rhexis and the size that "that's" tells of it."""
PRONOUNS = frozenset({"it", "this", "mine", "that", "ours", "i", "we", "here"})
"""Words that speak on of an opening named before."""
OF_IT = 24
"""Words of a sentence before "it" or "I got" within which the opening stands that it speaks of."""
SPOKEN_OF = 30
"""Words of a sentence before a size within which the opening stands that is spoken of there."""
SPEAKS_ON = 7
"""Words between "it" or "I got" and the size told of it."""
REACHED = frozenset({"got", "ended", "finished", "measured", "reached"})
"""Behind "I": a size that was reached."""


def is_usual_or_other(reading: Reading, head: Asserted, value: Asserted) -> bool:
    """Whether a pronoun goes on from what was told as usual to what was done, or over something with no size."""
    if head.mention.kind in ("finding", "anatomy"):
        return True
    usual = head.status is not Status.DONE and value.status is Status.DONE
    return usual and reading.clause(head.mention.start) is not reading.clause(value.mention.start)


def was_given(reading: Reading, value: Mention) -> bool:
    """ "Four hooks, and that gave me about 5.5 mm | main incision": a size of what stands before."""
    led = reading.words[max(0, value.start - 4) : value.start]
    return not GAVE.isdisjoint(led) and not {"me", "us"}.isdisjoint(led)


def is_measured(reading: Reading, value: Mention) -> bool:
    """ "I made it 6.5", "this comes out at 5.2", "that's five and a quarter across": a size without its unit."""
    before = reading.words[max(0, value.start - 2) : value.start]
    across = reading.words[value.end : value.end + 1] in (("across",), ("wide",))
    across = across or reading.words[value.end : value.end + 2] == ("in", "diameter")
    return across or before in MEASURING or before[-1:] in (("measures",), ("measured",))


def called_size(reading: Reading, value: Mention, heads: list[Asserted]) -> Asserted | None:
    """ "That's five and a quarter, and complete": a size that is said of the rhexis right before."""
    led = reading.words[max(0, value.start - 1) : value.start]
    if led == ("about",) or led == ("say",):
        led = reading.words[max(0, value.start - 2) : value.start - 1]
    if led not in (("that's",), ("it's",), ("'s",)) or reading.words[value.end : value.end + 1] not in ((",",), (".",)):
        return None
    near = [h for h in around(heads, value.start) if value.start - CALLED <= h.mention.start < value.start]
    near = [h for h in near if is_main(h.mention) or h.mention.key in SIDE | RHEXIS]
    if not near or near[-1].mention.key not in RHEXIS:
        return None
    between = reading.between(near[-1].mention.end, value.start)
    other = any(a.mention.kind in ("parameter", "lens_field", "drug", "viscoelastic", "quantity") for a in between)
    return None if other else near[-1]


def spoken_of(reading: Reading, value: Mention, heads: list[Asserted]) -> Asserted | None:
    """What a pronoun stands for ("this one measured 5 mm"): the last opening spoken of before the sentence."""
    first, _ = reading.sentence(value.start)
    if not set(reading.words[first : value.start]) & PRONOUNS:
        return None
    own = [
        h for h in around(heads, value.start) if max(first, value.start - SPOKEN_OF) <= h.mention.start < value.start
    ]
    own = [h for h in own if is_main(h.mention) or h.mention.key in SIDE | RHEXIS]
    if own and "." in reading.words:
        return own[-1]
    near = [h for h in around(heads, first) if first - 30 <= h.mention.start < first]
    spoken = speaks_before(reading, value)
    near += [h for h in around(heads, spoken) if max(first, spoken - OF_IT) <= h.mention.start < spoken]
    earlier = [h for h in near if is_main(h.mention) or h.mention.key in SIDE | RHEXIS]
    return earlier[-1] if earlier else None


def speaks_before(reading: Reading, value: Mention) -> int:
    """Where "it" or "I got" stands before a size in its sentence; 0 where none does."""
    first, _ = reading.sentence(value.start)
    near = range(value.start - 1, max(first, value.start - SPEAKS_ON), -1)
    return next((i for i in near if _speaks_on(reading, i)), 0)


def _speaks_on(reading: Reading, i: int) -> bool:
    """Whether "it", or "I got" and its like, stands at `i`."""
    word = reading.words[i]
    return word == "it" or (word in ("i", "we") and reading.words[i + 1] in REACHED)

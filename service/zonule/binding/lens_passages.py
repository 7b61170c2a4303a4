"""Talk of several lenses, one after the other: where each begins, and how far it goes."""

from zonule.annotation.mentions import Mention
from zonule.binding.reading import Reading

OTHER = frozenset({"second", "another", "replacement", "instead", "stead", "new", "backup", "spare", "different"})
PUT_IN = frozenset(
    {
        ("put", "in"), ("i", "put"), ("we", "put"), ("that", "went"), ("which", "went"), ("going", "in"),
        ("implanted", "is"), ("implanted", "was"), ("inserted", "is"), ("inserted", "was"), ("i", "implanted"),
        ("we", "implanted"),
    }
)  # fmt: skip
"""Words behind "the one" that tell of the lens put in and no more of the one before."""
WENT_IN = (("went", "in"), ("went", "into"), ("was", "implanted"), ("was", "inserted"), ("was", "used"), ("is", "in"))
"""Words behind the power of a lens that say it was put in."""
ARTICLES = frozenset({"a", "an"})
BOUND = frozenset({",", ":", "is", "was", "(", "of", "be", "with"})
"""Words behind which "a lens" tells more of the same lens."""
ORDINALS = frozenset({"first", "second", "third", "fourth", "1st", "2nd", "3rd"})
ADVERBS = frozenset({"first", "firstly", "then", "next", "second", "secondly", "third", "finally", "lastly"})
"""Words that tell of the next lens where their sentence names a model or a number of one."""
COUNTING = ORDINALS | ADVERBS
BEGINNING = OTHER | ARTICLES | COUNTING | {"one", "the"}
"""Words at which talk of a lens may begin, besides the lens itself."""
HEADS = frozenset({".", "\n", ";", ":", ",", "(", "the", "and", "then", "so", "my", "our", "this", "that"})
OWNERS = frozenset({"her", "his", "their", "a", "one"})
"""Words before "first lens" that make it none of several of this operation."""
LABELS = frozenset({"label", "packet", "box", "sticker", "carton", "lens", "implant"})
"""What is counted instead of the lens ("first label reads …")."""
NAMED = frozenset({"model", "serial_number", "lot_number", "manufacturer"})
BEHIND = frozenset({"was", "is", "one", ",", ":", "had", "being"})
COUNTS = frozenset({"1", "2", "3", "one", "two", "three"})
NUMBERS = {
    "first": 1, "1st": 1, "1": 1, "one": 1, "second": 2, "2nd": 2, "2": 2, "two": 2, "third": 3, "3rd": 3, "3": 3,
    "three": 3, "fourth": 4,
}  # fmt: skip
NUMBER = frozenset({"#", "number", "no", "no."})
NEAR = 14
"""Words behind an ordinal within which the lens's data follow."""
LONGEST = 120
"""Words of the talk of one lens."""


def begins_numbered(reading: Reading, i: int) -> bool:
    """Whether a word begins to tell of one of several lenses ("first lens", "IOL #2", "Finally a …, model …")."""
    words = reading.words
    word = words[i]
    if word not in COUNTING and i not in reading.lens_starts:
        return False
    if word in ORDINALS and (i == 0 or words[i - 1] in HEADS or _runs_on(reading, i)):
        if _is_lens(reading, i + 1):
            return True
        if words[i + 1 : i + 2] and words[i + 1] in BEHIND | LABELS and _data_follow(reading, i):
            return True
    if word in ADVERBS and (i == 0 or words[i - 1] in (".", "\n", ";")):
        return _data_follow(reading, i)
    if _is_lens(reading, i):
        at = i + 1 + (words[i + 1 : i + 2] != () and words[i + 1] in NUMBER)
        counted = words[at : at + 1] != () and words[at] in COUNTS
        return counted and (at > i + 1 or words[at + 1 : at + 2] in ((":",), (",",), ("was",), ("is",)))
    return False


def numbered_passages(reading: Reading, mention: Mention) -> list[tuple[int, int]]:
    """The words that tell of one of several lenses: those around a mention first, then where its number is said again.

    Empty where no other one follows ("first lens …, so the first lens was not implanted. Second lens …").
    """
    least = max(0, mention.start - LONGEST)
    start = next((i for i in range(mention.start, least - 1, -1) if begins_numbered(reading, i)), None)
    if start is None:
        return []
    own = _passage(reading, start, mention.end)
    if own is None:
        return []
    number = _number_at(reading, start)
    again = [i for i in range(own[1], min(len(reading.words), own[1] + LONGEST)) if begins_numbered(reading, i)]
    same = [i for i in again if number and _number_at(reading, i) == number]
    return [own, *(_passage(reading, i, i + 2) or (i, reading.sentence(i)[1]) for i in same)]


def _passage(reading: Reading, start: int, least: int) -> tuple[int, int] | None:
    most = min(len(reading.words), start + LONGEST)
    end = next((i for i in range(max(least, start + 3), most) if begins_numbered(reading, i)), None)
    return (start, end) if end is not None else None


def _number_at(reading: Reading, i: int) -> int:
    """Which of the lenses begins at a word, 0 where it is told by "then" or "finally"."""
    near = (word for word in reading.words[i : i + 3] if word in NUMBERS)
    return NUMBERS.get(next(near, ""), 0)


def _runs_on(reading: Reading, i: int) -> bool:
    """Whether a lens may be counted at a word of raw text, which has no marks to show where talk begins."""
    word = reading.words[i - 1]
    return not reading.cased and word not in OWNERS and word not in reading.grammar.preposition


def begins_other(reading: Reading, i: int) -> bool:
    """Whether a word begins to tell of a lens not told of before ("instead", "a three-piece lens")."""
    word = reading.words[i]
    if word in OTHER or (word == "one" and reading.words[i + 1 : i + 3] in PUT_IN):
        return True
    if word == "the" and reading.words[i + 1 : i + 2] and reading.words[i + 1][0].isdigit():
        return reading.words[i + 2 : i + 4] in WENT_IN  # "… put aside unused, and the 21 went in: …"
    if word not in ARTICLES or reading.words[i - 1] in BOUND:
        return False
    for asserted in reading.between(i + 1, i + 6):
        mention = asserted.mention
        if mention.key == "thing:lens" or (mention.kind == "lens_type" and reading.words[i + 1] != "new"):
            gap = reading.gap(i + 1, mention.start)
            return reading.grammar.preposition.isdisjoint(gap) and not {",", ".", ";"} & set(gap)
    return False


def lens_beginnings(reading: Reading) -> list[int]:
    """The words at which talk of a lens begins, in order."""
    places = sorted(reading.lens_starts.union(reading.where(BEGINNING)))
    return [i for i in places if begins_other(reading, i) or begins_numbered(reading, i)]


def _is_lens(reading: Reading, i: int) -> bool:
    return i in reading.lens_starts


def _data_follow(reading: Reading, i: int) -> bool:
    """Whether a model or a number of a lens is told behind a word, in its sentence."""
    _, last = reading.sentence(i)
    near = reading.between(i + 1, min(last, i + NEAR))
    others = any(a.mention.kind == "implant" for a in near)
    return not others and any(a.mention.kind == "lens_field" and a.mention.id in NAMED for a in near)

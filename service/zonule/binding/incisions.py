"""Main wound and capsulorhexis: their widths; with the places of the wounds, all that is said of openings."""

from collections.abc import Iterator, Sequence

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.incision_places import bind_places
from zonule.binding.opening_pronouns import (
    called_size,
    is_measured,
    is_usual_or_other,
    speaks_before,
    spoken_of,
    was_given,
)
from zonule.binding.openings import MAIN, RHEXIS, SIDE, is_main, is_posterior, opening_heads, pair_openings
from zonule.binding.reading import Reading, around
from zonule.binding.rhexis import bind_complete, bind_told_late
from zonule.binding.sections import Section
from zonule.vocabulary import Status

NOT_A_WIDTH = frozenset(
    {
        "posterior",
        "behind",
        "from",
        "anterior",
        "away",
        "long",
        "length",
        "deep",
        "depth",
        "apart",
        "proximal",
        "back",
        "forward",
        "into",
        "inferior",
        "nasal",
        "short",
        "thick",
        "above",
        "below",
        "past",
    }
)
"""Words right behind a length that make it a distance, not a width."""
ONWARD = frozenset(
    {"forward", "posteriorly", "anteriorly", "centrally", "backward", "backwards", "forwards", "distance"}
)
"""Words right before a length that make it a distance."""
AT_FIRST = (("to", "begin", "with"), ("to", "start", "with"), ("at", "first"), ("initially",), ("originally",))
"""Words right behind a width that tell of the first of several."""
BEGAN = frozenset({"began", "begun", "started", "starting", "beginning"})
"""Before "at" or "with" and a width: the first of several."""
MIL = "mil"
"""Short for milliliters, and for millimeters of an opening."""
WIDEST = 12
"""Millimeters; a number above is no width of a wound."""
LIMIT = 10.0
BARE_REACH = 9
"""Words between an opening and a number without a unit that may be its width."""
BARE = frozenset(
    {
        "was", "is", "it", "of", "about", "around", "a", "an", "the", "measuring", "measured", "say", "roughly", "just",
        "width", "size", "sized", "good", "nice", ",", ":", "approximately", "made", "with", "maybe", "round", "and",
        "complete", "intact", "came", "went", "nicely", "diameter", "at", "to", "on", "bang", "exactly",
        "nearly", "almost", "small", "large", "side", "call", "slightly", "bit", "tad", "generous", "little",
    }
)  # fmt: skip
"""Words that may stand between an opening and its width."""
WIDENING = frozenset(
    tuple(said.split())
    for said in (
        "opened that to", "widened that to", "extended that to", "enlarged that to", "opened this to",
        "then opened to", "later opened to", "then widened to", "opened it to", "extended it to", "took it to",
        "widened it to", "and went to", "then went to", "to go to", "go up to", "went up to", "was taken to",
        "taken up to", "took that to", "brought it to", "i went to", "wound out to", "it up to", "wound up to",
    )
)  # fmt: skip
"""Before a width: the wound made wider, told without a verb for it."""
NOT_WOUND = frozenset({"thing:anterior_capsule", "thing:capsule", "thing:posterior_capsule", "step:capsulorhexis"})
SPOKEN = 80
"""Words within which an enlargement without its object is that of the wound told before."""
RHEXIS_SIZES = (3.5, 8.0)
"""Millimeters that a number without a unit behind a capsulorhexis may mean; common practice, no source."""
WOUND_SIZES = (1.2, 12.0)
MADE_SIZES = (1.8, 12.0)
"""Millimeters of a wound that "I made it seven" may mean."""


def bind_incisions(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """Widths, hours and sites, each bound to the opening it was said of."""
    del sections
    heads = opening_heads(reading)
    told = [*_widths(reading, heads), *_bare(reading, heads), *bind_places(reading, heads), *bind_complete(reading)]
    yield from told
    yield from bind_told_late(reading, told)


def _widths(reading: Reading, heads: list[Asserted]) -> Iterator[Found]:
    for value in reading.of("quantity"):
        if _bare_width(reading, reading.placed(value).mention, heads):
            yield from _width(value, value, enlarged=True)
    values = [v for v in reading.of("quantity") if v.mention.id == "length_mm" and not _is_distance(reading, v.mention)]
    bound = pair_openings(reading, heads, [reading.placed(v) for v in values], LIMIT)
    for value in values:
        place = reading.placed(value).mention
        widened = _enlarged(reading, place, heads)
        head = widened or bound.get(place.start)
        if head is not None and speaks_before(reading, value.mention) and is_usual_or_other(reading, head, value):
            head = None
        if head is not None and head.mention.start > place.start and was_given(reading, place):
            head = None
        if head is not None and is_posterior(reading, head.mention):
            continue
        if head is not None:
            yield from _width(_at_first(reading, value), head, enlarged=widened is not None)
            continue
        head = spoken_of(reading, value.mention, heads)
        if head is not None:
            yield from _told_of(reading, value, head)


def _told_of(reading: Reading, value: Asserted, head: Asserted) -> Iterator[Found]:
    """A width told by a pronoun: it was done or not as the sentence of the width says."""
    named = Asserted(head.mention, value.status, value.cue)
    yield from _width(value, named)
    if head.mention.key in RHEXIS:
        yield found("steps", "capsulorhexis", value, named)
        if "complete" in reading.gap(value.mention.end, value.mention.end + 7):
            yield found("capsulorhexis.complete", True, value, named)


def _bare(reading: Reading, heads: list[Asserted]) -> Iterator[Found]:
    """Widths without a unit, right beside their opening: "clear corneal incision two point two", "rhexis five"."""
    openings = [h for h in heads if is_main(h.mention) or h.mention.key in RHEXIS]
    for value in reading.of("quantity"):
        quantity = value.mention.quantity
        if quantity is None or quantity.limit != "fixed" or (value.mention.id != "number" and quantity.unit != MIL):
            continue
        if not isinstance(quantity.value, float | int) or _counts_something(reading, value.mention):
            continue
        head = _beside(reading, value.mention, openings)
        if head is not None and is_posterior(reading, head.mention):
            continue
        if head is not None:
            yield from _width(_at_first(reading, value), head)
            continue
        spoken = spoken_of(reading, value.mention, heads) if is_measured(reading, value.mention) else None
        spoken = spoken or called_size(reading, value.mention, heads)
        made = reading.words[value.mention.start - 2 : value.mention.start] == ("made", "it")
        if spoken is not None and made and is_main(spoken.mention) and MADE_SIZES[0] <= quantity.value <= MADE_SIZES[1]:
            # "I marked six millimetres, but … I made it seven."
            yield from _width(value, Asserted(spoken.mention, value.status, value.cue), enlarged=True)
        elif spoken is not None and _fits(reading, spoken.mention, value.mention):
            yield from _told_of(reading, value, spoken)


def _counts_something(reading: Reading, value: Mention) -> bool:
    """Whether a whole number stands right before a noun that it counts."""
    if reading.is_pointed(value):
        return False
    behind = [a.mention.kind for a in reading.between(value.end, value.end + 1)]
    return any(k in ("thing", "implant", "instrument", "suture_material", "phase", "drug", "quantity") for k in behind)


def _beside(reading: Reading, value: Mention, openings: list[Asserted]) -> Asserted | None:
    first, last = reading.sentence(value.start)
    for head in reversed(around(openings, value.start, 15)):
        if max(first, value.start - 15) <= head.mention.start < value.start and _leads(reading, head.mention, value):
            return head
    for head in around(openings, value.start, 8):
        gap = reading.gap(value.end, head.mention.start)
        beside = not gap or (gap == (",",) and head.mention.kind == "incision_kind")
        beside = beside or _is_sited(reading, value.end, head.mention)
        near = value.end <= head.mention.start < min(last, value.end + 4)
        if near and beside and _fits(reading, head.mention, value):
            return head
    return None


def _is_sited(reading: Reading, at: int, head: Mention) -> bool:
    """ "A 2.4 temporal clear corneal incision": only the place of the wound stands before its name."""
    sites = [a.mention for a in reading.between(at, head.start) if a.mention.kind == "site"]
    return is_main(head) and bool(sites) and sites[0].start == at and sites[-1].end == head.start


def _leads(reading: Reading, head: Mention, value: Mention) -> bool:
    """Whether nothing but attributes and light words stand between an opening and the number behind it."""
    covered = {
        i
        for a in reading.between(head.end, value.start)
        if a.mention.kind in ("site", "incision_kind", "anatomy", "quantity", "instrument")
        or a.mention.key == "thing:limbus"
        for i in range(a.mention.start, a.mention.end)
    }
    covered |= reading.dead_words
    rest = [w for i, w in enumerate(reading.gap(head.end, value.start), head.end) if i not in covered]
    light = set(rest) <= BARE or (head.key in RHEXIS and _told_alone(reading, head, value, rest))
    if not light or len(rest) > BARE_REACH or not _fits(reading, head, value):
        return False
    placed = reading.words[value.start - 1] in ("at", "to")
    amount = _amount(value)
    return not placed or (amount % 0.5 != 0 if head.key not in RHEXIS else amount % 1 != 0)


def _told_alone(reading: Reading, head: Mention, value: Mention, rest: Sequence[str]) -> bool:
    """ "The rhexis was on the small side, four and a half": nothing of the trade between, and a pause before."""
    between = reading.between(head.end, value.start)
    named = any(a.mention.kind not in ("action", "field", "site", "finding", "count") for a in between)
    return not named and rest[-1:] == [","] and reading.words[value.end] in ",.;"


def _fits(reading: Reading, head: Mention, value: Mention) -> bool:
    """Whether a number without a unit can be a width; that of a wound is said with its point, hours have none."""
    low, high = RHEXIS_SIZES if head.key in RHEXIS else WOUND_SIZES
    return low <= _amount(value) <= high and (head.key in RHEXIS or reading.is_pointed(value))


def _amount(value: Mention) -> float:
    """The number of a quantity; zero for a range."""
    amount = value.quantity.value if value.quantity is not None else None
    return float(amount) if isinstance(amount, float | int) else 0.0


def _bare_width(reading: Reading, value: Mention, heads: list[Asserted]) -> bool:
    """ "The wound was enlarged from 2.4 to 3.2": the number behind "to", without its unit."""
    amount = value.quantity.value if value.quantity is not None else None
    if value.id != "number" or not isinstance(amount, float | int) or not 1 <= amount <= WIDEST:
        return False
    led = reading.words[value.start - 1 : value.start] == ("to",)
    led = led or _right_behind([a.mention for a in reading.in_clause(value)], value)
    return led and _enlarged(reading, value, heads) is not None


def _enlarged(reading: Reading, value: Mention, heads: list[Asserted]) -> Asserted | None:
    """ "The wound was enlarged with a blade to 5.5 mm": the width is the wound's, whatever stands between."""
    inside = [a.mention for a in reading.in_clause(value)]
    if any(m.kind in ("parameter", "lens_field") for m in inside):
        return None
    if (
        not (any(m.key == "action:enlarge" for m in inside) or _opened_to(reading, value))
        or "to" not in reading.words[max(0, value.start - 3) : value.end]
    ) and not _right_behind(inside, value):
        return None
    clause = reading.clause(value.start)
    first, _ = reading.sentence(value.start)
    openings = [h for h in around(heads, value.start) if is_main(h.mention) or h.mention.key in SIDE | RHEXIS]
    here = [h for h in openings if h.mention.key in MAIN and clause.start <= h.mention.start < clause.end]
    pupil = any(m.key in ("thing:pupil", "thing:pupil_device") for m in inside)
    if pupil or _of_pupil(reading, value):
        here = [h for h in here if h.mention.start < value.start and not pupil]
    before = [h for h in openings if first <= h.mention.start < value.start]
    spoken = before[-1] if before and (is_main(before[-1].mention) or before[-1].mention.key in RHEXIS) else None
    if spoken is None and not before and not pupil and not any(m.key in NOT_WOUND for m in inside):
        earlier = [h for h in openings if value.start - SPOKEN <= h.mention.start < first and is_main(h.mention)]
        spoken = Asserted(earlier[-1].mention, Status.DONE) if earlier else None
    return here[0] if here else spoken


def _right_behind(inside: Sequence[Mention], value: Mention) -> bool:
    """ "Enlarged 2.9 for the cartridge", as typed notes have it."""
    return any(m.key == "action:enlarge" and m.end == value.start for m in inside)


def _at_first(reading: Reading, value: Asserted) -> Asserted:
    """ "2.8 to begin with": a width that was not the last one."""
    end = value.mention.end
    said = any(reading.words[end : end + len(words)] == words for words in AT_FIRST)
    led = [w for w in reading.words[max(0, value.mention.start - 3) : value.mention.start] if w not in ("about", "a")]
    said = said or (len(led) > 1 and led[-2] in BEGAN and led[-1] in ("at", "with", "as"))
    said = said or _first_of_several(reading, value.mention)
    return Asserted(value.mention, Status.HISTORICAL) if said and value.status is Status.DONE else value


def _first_of_several(reading: Reading, value: Mention) -> bool:
    """ "First 3 mm, then spiralled out to 5.5"."""
    if reading.words[value.start - 1 : value.start] not in (("first",), ("initially",)):
        return False
    _, last = reading.sentence(value.start)
    return "then" in reading.words[value.end : min(last, value.end + BARE_REACH)]


def _opened_to(reading: Reading, value: Mention) -> bool:
    """ "I later opened it to six": the wound made wider, told by a pronoun."""
    return reading.words[max(0, value.start - 3) : value.start] in WIDENING


def _of_pupil(reading: Reading, value: Mention) -> bool:
    """Whether the last thing named before a width is the pupil."""
    first, _ = reading.sentence(value.start)
    named = [a.mention for a in reading.between(max(first, value.start - 16), value.start)]
    things = [m for m in named if m.kind in ("thing", "step", "incision_kind")]
    return bool(things) and things[-1].key == "thing:pupil"


def _is_distance(reading: Reading, value: Mention) -> bool:
    following = reading.words[value.end : value.end + 2]
    if set(reading.words[max(0, value.start - 3) : value.start]) & ONWARD:
        return True
    return any(word in NOT_A_WIDTH for word in following[:1]) or following[:2] in (("in", "length"), ("in", "from"))


def _width(value: Asserted, head: Asserted, enlarged: bool = False) -> Iterator[Found]:
    quantity = value.mention.quantity
    if quantity is None:
        return
    if quantity.limit == "range":
        if enlarged and quantity.high is not None:
            yield found("main_incision.width_mm", quantity.high, value, head)
        return
    if head is value:
        yield found("main_incision.width_mm", quantity.value, value)
    elif is_main(head.mention):
        yield found("main_incision.width_mm", quantity.value, value, head)
    elif head.mention.key in RHEXIS:
        yield found("capsulorhexis.diameter_mm", quantity.value, value, head)

"""Main wound, side ports and capsulorhexis: widths, sites, clock hours, counts."""

from collections.abc import Iterator
from dataclasses import replace

from zonule.annotation.mentions import Mention
from zonule.annotation.quantities import Quantity
from zonule.assertion import Asserted
from zonule.binding.distance import measure
from zonule.binding.found import Found, found
from zonule.binding.reading import Reading, around, nearest
from zonule.binding.sections import Section
from zonule.record.slots import format_number

MAIN = frozenset({"step:main_incision", "thing:wound"})
SIDE = frozenset({"step:paracentesis", "thing:side_port"})
RHEXIS = frozenset({"step:capsulorhexis", "step:capsulotomy", "thing:anterior_capsule"})
ELSEWHERE = frozenset(
    {
        "thing:pupil",
        "step:relaxing_incision",
        "thing:synechiae",
        "thing:suture",
        "thing:bridle",
        "thing:iris",
        "thing:pupil_device",
        "step:conjunctival_flap",
        "thing:limbus",
        "step:bridle_suture",
        "step:suture",
        "step:iridectomy",
        "thing:conjunctiva",
        "thing:axis",
        "thing:flap",
    }
)
"""What else takes millimeters or hours, so that they do not go to the wound."""
ABSORBING_KINDS = frozenset({"complication", "finding", "implant", "instrument", "anatomy", "lens_field"})
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
WIDEST = 12
"""Millimeters; a number above is no width of a wound."""
STRINGS = frozenset({"and", ",", "at", "one", "1", "another", "a", "the", "second", "other", "&", "+", "then", "also"})
LIMIT = 13.0
COUNTS = {"two": 2, "2": 2, "three": 3, "3": 3, "four": 4, "4": 4}
"""How many side ports are counted; one is no count but an article."""
SITE_LIMIT = 9.0


def bind_incisions(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """Widths, hours and sites, each bound to the opening it was said of."""
    del sections
    heads = _heads(reading)
    distance = measure(reading, heads)
    for value in reading.of("quantity"):
        if _bare_width(reading, value.mention, heads):
            yield from _width(value, value, enlarged=True)
        if value.mention.id == "length_mm" and not _is_distance(reading, value.mention):
            widened = _enlarged(reading, value.mention, heads)
            head = widened or _owner(reading, value.mention, heads, nearest(heads, value.mention, distance, LIMIT))
            spoken = head is None
            head = head or _spoken_of(reading, value.mention, heads)
            if head is not None:
                named = Asserted(head.mention, value.status, value.cue)
                yield from _width(value, named if spoken else head, enlarged=widened is not None)
                if spoken and head.mention.key in RHEXIS:
                    yield found("steps", "capsulorhexis", value, named)
                    if "complete" in reading.gap(value.mention.end, value.mention.end + 7):
                        yield found("capsulorhexis.complete", True, value, named)
    apart = measure(reading, [*heads, *reading.of("step", "drug", "anesthesia")])
    candidates = [h for h in heads if h.mention.kind != "instrument"]
    before: tuple[Mention, Asserted] | None = None
    for value in _places(reading):
        if before is not None and _strung(reading, before[0], value.mention):
            head = before[1]
        elif value.mention.kind == "site":
            head = nearest(candidates, value.mention, apart, SITE_LIMIT)
        else:
            near = nearest(candidates, value.mention, distance, LIMIT)
            head = _owner(reading, value.mention, candidates, near)
        if head is not None:
            if value.mention.kind == "quantity":
                before = value.mention, head
            yield from _place(value, head)
    yield from _kinds(reading, heads)
    yield from _counts(reading)
    yield from _complete(reading)


def _owner(reading: Reading, value: Mention, heads: list[Asserted], head: Asserted | None) -> Asserted | None:
    """In "incision 2.2 mm capsulorhexis 5 mm" each value stands behind its noun.

    A noun with a value of its own behind it leaves the one in front to the noun before.
    """
    if head is None or head.mention.start < value.end:
        return head
    own = [a.mention for a in reading.between(head.mention.end, head.mention.end + 3)]
    if not any(m.id == value.id and m.kind == "quantity" for m in own):
        return head
    first, _ = reading.sentence(value.start)
    earlier = [h for h in around(heads, value.start) if max(first, value.start - 5) <= h.mention.start < value.start]
    gap = reading.gap(earlier[-1].mention.end, value.start) if earlier else (".",)
    return earlier[-1] if not set(gap) & {".", ";", ","} else head


def _bare_width(reading: Reading, value: Mention, heads: list[Asserted]) -> bool:
    """ "The wound was enlarged from 2.4 to 3.2": the number behind "to", without its unit."""
    amount = value.quantity.value if value.quantity is not None else None
    if value.id != "number" or not isinstance(amount, float | int) or not 1 <= amount <= WIDEST:
        return False
    return reading.words[value.start - 1 : value.start] == ("to",) and _enlarged(reading, value, heads) is not None


def _enlarged(reading: Reading, value: Mention, heads: list[Asserted]) -> Asserted | None:
    """ "The wound was enlarged with a blade to 5.5 mm": the width is the wound's, whatever stands between."""
    inside = [a.mention for a in reading.in_clause(value)]
    if (
        not any(m.key == "action:enlarge" for m in inside)
        or "to" not in reading.words[max(0, value.start - 3) : value.end]
    ):
        return None
    clause = reading.clause(value.start)
    first, _ = reading.sentence(value.start)
    openings = [h for h in around(heads, value.start) if _is_main(h.mention) or h.mention.key in SIDE | RHEXIS]
    here = [h for h in openings if h.mention.key in MAIN and clause.start <= h.mention.start < clause.end]
    before = [h for h in openings if first <= h.mention.start < value.start]
    spoken = before[-1] if before and _is_main(before[-1].mention) else None
    return here[0] if here else spoken


def _spoken_of(reading: Reading, value: Mention, heads: list[Asserted]) -> Asserted | None:
    """What a pronoun stands for ("this one measured 5 mm"): the last opening spoken of before the sentence."""
    first, _ = reading.sentence(value.start)
    if not set(reading.words[first : value.start]) & {"it", "this", "mine"}:
        return None
    earlier = [h for h in heads if first - 30 <= h.mention.start < first]
    return earlier[-1] if earlier else None


def _strung(reading: Reading, before: Mention, value: Mention) -> bool:
    """ "At one o'clock and one at five", "12 and 7": an hour strung to the one before belongs where that does."""
    if value.kind != "quantity" or not 0 < value.start - before.end <= 5:
        return False
    return set(reading.gap(before.end, value.start)) <= STRINGS


def _heads(reading: Reading) -> list[Asserted]:
    return [
        a
        for a in reading.asserted
        if a.mention.key in MAIN | SIDE | RHEXIS | ELSEWHERE
        or a.mention.kind in ABSORBING_KINDS
        or (a.mention.kind == "incision_kind" and _of_main(reading, a.mention))
    ]


def _is_distance(reading: Reading, value: Mention) -> bool:
    following = reading.words[value.end : value.end + 2]
    if set(reading.words[max(0, value.start - 3) : value.start]) & ONWARD:
        return True
    return any(word in NOT_A_WIDTH for word in following[:1]) or following[:2] in (("in", "length"), ("in", "from"))


def _is_main(head: Mention) -> bool:
    return (
        head.key in MAIN
        or head.kind == "incision_kind"
        or (head.kind == "instrument" and ("keratome" in head.id or "slit" in head.id))
    )


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
    elif _is_main(head.mention):
        yield found("main_incision.width_mm", quantity.value, value, head)
    elif head.mention.key in RHEXIS:
        yield found("capsulorhexis.diameter_mm", quantity.value, value, head)


def _places(reading: Reading) -> list[Asserted]:
    """Hours, meridians and words that say where; a bare number after "at" or in a list of hours is an hour."""
    hours = [a for a in reading.of("quantity") if _is_hour(reading, a)]
    return [*hours, *reading.of("site")]


def _is_hour(reading: Reading, value: Asserted) -> bool:
    mention = value.mention
    if mention.id == "clock_hour":
        return True
    if mention.id == "degrees":
        return True
    if mention.id == "time_of_day":
        return reading.words[max(0, mention.start - 1) : mention.start] in (("at",), ("@",))
    if mention.id != "number" or mention.quantity is None or not isinstance(mention.quantity.value, float | int):
        return False
    if not 1 <= mention.quantity.value <= 12 or mention.quantity.value % 0.5:
        return False
    before = reading.words[max(0, mention.start - 1) : mention.start]
    if before in (("at",), ("@",)):
        return True
    return _in_hour_list(reading, mention)


def _in_hour_list(reading: Reading, mention: Mention) -> bool:
    """ "2 and 10 o'clock", "10 o'clock and 2"."""
    for other in reading.between(max(0, mention.start - 4), mention.end + 5):
        if other.mention is mention or other.mention.kind != "quantity":
            continue
        first, second = sorted((mention, other.mention), key=lambda m: m.start)
        gap = set(reading.gap(first.end, second.start))
        if (
            gap <= {"and", ",", "&", "+", "at"}
            and gap
            and (
                other.mention.id == "clock_hour"
                or (other.mention.id == "number" and reading.words[max(0, first.start - 1)] in ("at", "@"))
            )
        ):
            return True
    return False


def _place(value: Asserted, head: Asserted) -> Iterator[Found]:
    quantity = value.mention.quantity
    main = head.mention.key in MAIN or head.mention.kind == "incision_kind"
    if quantity is None:
        if main:
            yield found("main_incision.site", value.mention.id, value, head)
        return
    if value.mention.id == "time_of_day":
        quantity = _as_hour(quantity)
    if quantity.limit == "range" or not isinstance(quantity.value, float | int):
        return
    if value.mention.id == "degrees":
        if main:
            yield found("main_incision.site", f"{format_number(quantity.value)} deg", value, head)
    elif main:
        yield found("main_incision.site", f"{_hour(quantity.value)} o'clock", value, head)
    elif head.mention.key in SIDE:
        yield found("paracentesis.clock_hours", float(quantity.value), value, head)


def _as_hour(quantity: Quantity) -> Quantity:
    """ "at 12:00" beside a wound is the clock hour 12."""
    hours, _, minutes = str(quantity.value).partition(":")
    return replace(quantity, dimension="clock_hour", value=int(hours) + int(minutes) / 60)


def _hour(value: float) -> str:
    return f"{int(value)}:30" if value % 1 == 0.5 else format_number(value)


def _kinds(reading: Reading, heads: list[Asserted]) -> Iterator[Found]:
    """The kind of the main wound: named right before it or in the clause that makes it, not before a side port."""
    del heads
    for kind in reading.of("incision_kind"):
        if _of_main(reading, kind.mention):
            yield found("main_incision.kind", kind.mention.id, kind)
            if reading.clause(kind.mention.start).tense != "none" or kind.mention.end - kind.mention.start > 1:
                yield found("steps", "main_incision", kind)


def _of_main(reading: Reading, kind: Mention) -> bool:
    """Whether a kind of incision is that of the main wound: not when it stands before or beside a side port only."""
    if reading.words[kind.start] == "into" or reading.preposition_before(kind) in ("into", "to", "toward", "towards"):
        first, last = reading.sentence(kind.start)
        if any(first <= m.start < last for m in reading.annotation.mentions if m.key == "word:carried_into"):
            return False
    following = [
        a
        for a in reading.between(kind.end, kind.end + 4)
        if a.mention.key in MAIN | SIDE | RHEXIS | ELSEWHERE or a.mention.kind in ("implant", "complication")
    ]
    if following and not set(reading.gap(kind.end, following[0].mention.start)) & set(",.;"):
        return following[0].mention.key in MAIN
    clause = [a.mention.key for a in reading.in_clause(kind)]
    return any(key in MAIN for key in clause) or not any(key in SIDE | ELSEWHERE - {"thing:limbus"} for key in clause)


def _counts(reading: Reading) -> Iterator[Found]:
    """ "Two paracenteses", "side ports x2"."""
    for head in reading.of("step"):
        if head.mention.id != "paracentesis":
            continue
        counted = _count_before(reading, head.mention) or _count_behind(reading, head.mention)
        if counted is not None:
            count, at = counted
            part = Asserted(Mention(at, at + 1, "word", "count"), head.status, head.cue)
            yield found("paracentesis.count", float(count), part, head)


def _count_before(reading: Reading, head: Mention) -> tuple[int, int] | None:
    for i in range(head.start - 1, max(-1, head.start - 4), -1):
        word = reading.words[i]
        if word in COUNTS:
            return COUNTS[word], i
        if word in ",.;:\n" or word in reading.grammar.preposition or word in reading.grammar.auxiliary:
            return None
    return None


def _count_behind(reading: Reading, head: Mention) -> tuple[int, int] | None:
    behind = reading.words[head.end : head.end + 2]
    if behind[:1] in (("x",), ("×",)) and behind[1:2] and behind[1] in COUNTS:
        return COUNTS[behind[1]], head.end + 1
    return None


def _complete(reading: Reading) -> Iterator[Found]:
    """A rhexis said to be complete."""
    for head in reading.of("step"):
        if head.mention.id != "capsulorhexis":
            continue
        first, last = reading.sentence(head.mention.start)
        clause = reading.clause(head.mention.start)
        ahead = [i for i in range(head.mention.end, min(last, head.mention.end + 24)) if i not in reading.dead_words]
        stop = next(
            (a.mention.start for a in reading.between(head.mention.end, last) if a.mention.kind == "step"), last
        )
        behind = range(max(first, clause.start, head.mention.start - 5), head.mention.start)
        for i in [*behind, *(i for i in ahead[:10] if i < stop)]:
            if reading.words[i] in ("complete", "completed", "intact", "360", "whole"):
                word = Mention(i, i + 1, "word", "complete")
                yield found("capsulorhexis.complete", True, head, Asserted(word, head.status, head.cue))
                return

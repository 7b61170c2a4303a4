"""Where the wounds are: clock hours, meridians and sites, their kind, and how many side ports were made."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from zonule.annotation.mentions import Mention
from zonule.annotation.quantities import Quantity
from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.openings import (
    MADE,
    MAIN,
    RHEXIS,
    SIDE,
    STRINGS,
    blade_size,
    cut_with_keratome,
    names_kind,
    of_main,
    pair_openings,
)
from zonule.binding.reading import Reading
from zonule.record.slots import format_number
from zonule.vocabulary import Status

LIMIT = 10.0
HOUR = 3600
"""Seconds."""
DIAL = frozenset(float(hour) for hour in range(1, 13))
COUNTS = {"a": 0, "one": 1, "1": 1, "single": 1, "two": 2, "2": 2, "three": 3, "3": 3, "four": 4, "4": 4, "both": 2}
ORDINALS = {"second": 2, "third": 3, "fourth": 4, "another": 2, "further": 2}
PRONOUNS = frozenset({"mine", "one", "it", "two", "2", "them", "both"})
YOU = frozenset({"you", "you'll", "you'd"})
"""Behind an hour: what comes of it, said to others ("put it at 12 and you'll fight the brow")."""
SPEAKS_ON = 12
"""Words before an hour within which the pronoun stands."""
COUNTED_AT = (("one", "at"), ("1", "at"), ("two", "at"), ("2", "at"), ("another", "at"))
STITCHED = 14
"""Words before an hour within which stitches are told of."""
AT_EDGE = frozenset({"at", "to", "near", "from", "of", "by"})
"""Prepositions before the limbus where it is a place."""
ONLY = frozenset({"only", "just", "single"})
SPOKEN = 45
"""Words before a sentence within which a side port is still what a pronoun stands for."""


def bind_places(reading: Reading, heads: list[Asserted]) -> Iterator[Found]:
    """Hours, meridians and sites of the wounds, each bound to the opening it was said of."""
    places = list(_hours(reading, [h for h in heads if h.mention.kind != "instrument" and not _is_edge(reading, h)]))
    counts = list(_counts(reading))
    yield from places
    yield from _sites(reading, [h for h in heads if h.mention.kind != "instrument"])
    yield from _kinds(reading)
    yield from counts
    if all(f.status is not Status.DONE for f in counts):
        yield from _count_hours(reading, places)


def _is_edge(reading: Reading, head: Asserted) -> bool:
    """ "A stab incision at the 2 o'clock position at the limbus": the limbus as where something else was made."""
    mention = head.mention
    if mention.key != "thing:limbus" or reading.preposition_before(mention) not in AT_EDGE:
        return False
    first, _ = reading.sentence(mention.start)
    return any(a.mention.key in MADE for a in reading.between(max(first, mention.start - SPOKEN), mention.start))


def _hours(reading: Reading, heads: list[Asserted]) -> Iterator[Found]:
    places = [a for a in reading.of("quantity") if _is_place(reading, a.mention)]
    places = sorted([*places, *_spoken_ones(reading)], key=lambda a: a.mention.start)
    places = [_whole_angle(reading, p) for p in places]
    angles = [p for p in places if p.mention.id in ("degrees", "number") and _is_angle(reading, p.mention)]
    hours = [p for p in places if p not in angles]
    bound = pair_openings(reading, heads, [reading.placed(h) for h in hours], LIMIT)
    words = reading.words
    turning = [h for h in heads if h.mention.key not in RHEXIS and words[h.mention.start] != "meridian"]
    bound |= pair_openings(reading, turning, angles, LIMIT)
    for place in places:
        head = bound.get(reading.placed(place).mention.start)
        if place in hours and (head is None or _spoken_anew(reading, head, place)):
            head = _spoken_of(reading, place) or head
        if head is not None:
            main = head.mention.key in MAIN or head.mention.kind == "incision_kind"
            if main and place in hours and (_is_strung(reading, place, hours) or _of_stitch(reading, place.mention)):
                continue
            yield from _place(place, head, main=main or cut_with_keratome(reading, head.mention), angle=place in angles)


def _is_strung(reading: Reading, place: Asserted, hours: Sequence[Asserted]) -> bool:
    """ "PC x2 at 10 + 2 o'clock": one of two hours, of which a main wound has one."""
    for other in hours:
        first, second = sorted((place.mention, other.mention), key=lambda m: m.start)
        if other is not place and reading.gap(first.end, second.start) in (("and",), ("+",), ("&",), ("and", "at")):
            return True
    return False


def _of_stitch(reading: Reading, hour: Mention) -> bool:
    """ "Three sutures, two on the tunnel and one at ten o'clock": where a stitch was laid."""
    if reading.words[hour.start - 2 : hour.start] not in COUNTED_AT:
        return False
    first, _ = reading.sentence(hour.start)
    near = reading.between(max(first, hour.start - STITCHED), hour.start)
    return any(a.mention.kind == "suture_material" or a.mention.key == "thing:suture" for a in near)


def _whole_angle(reading: Reading, place: Asserted) -> Asserted:
    """ "The one eighty meridian" is 180: the hundred stands before its rest as a word of its own."""
    mention, quantity = place.mention, place.mention.quantity
    if quantity is None or not _is_angle(reading, mention) or not isinstance(quantity.value, float | int):
        return place
    if reading.words[max(0, mention.start - 1) : mention.start] != ("one",) or not 10 <= quantity.value <= 80:
        return place
    start = reading.annotation.starts[mention.start - 1]
    whole = replace(quantity, start=start, value=quantity.value + 100)
    return Asserted(replace(mention, start=mention.start - 1, quantity=whole), place.status, place.cue)


def _spoken_anew(reading: Reading, head: Asserted, value: Asserted) -> bool:
    """Whether an hour is of a pronoun rather than of what stands near it.

    "As a rule at two; here I put it at 5", "with that brow I made a single one at 11", "that puts it at 10, and …".
    """
    if head.mention.kind in ("finding", "anatomy"):
        return True
    if head.mention.start > value.mention.start:
        return reading.words[value.mention.start - 2] in PRONOUNS
    told = head.mention.key in SIDE and head.status is not Status.DONE and value.status is Status.DONE
    return told and reading.clause(head.mention.start) is not reading.clause(value.mention.start)


def _spoken_of(reading: Reading, value: Asserted) -> Asserted | None:
    """The side port that a pronoun stands for ("Some make two side ports. Mine is at 4 o'clock")."""
    first, last = reading.sentence(value.mention.start)
    start = max(first, value.mention.start - SPEAKS_ON)
    if not PRONOUNS & set(reading.words[start : value.mention.start]):
        return None
    if YOU & set(reading.words[value.mention.end : min(last, value.mention.end + SPEAKS_ON)]):
        return None
    earlier = [
        a
        for a in reading.between(max(0, start - SPOKEN), value.mention.start)
        if a.mention.key in MADE or a.mention.kind in ("complication", "implant")
    ]
    if not earlier or earlier[-1].mention.key not in SIDE:
        return None
    return Asserted(earlier[-1].mention, value.status, value.cue)


def _spoken_ones(reading: Reading) -> Iterator[Asserted]:
    """ "Side ports at five and at one": the hour one is a word like any other but for its place in a list."""
    words = reading.words
    for i in range(2, len(words)):
        if words[i] != "one" or words[i - 1] != "at":
            continue
        if words[i + 1 : i + 2] == ("and",) and any(a.mention.key in SIDE for a in reading.between(i - 4, i)):
            bare = [a for a in reading.between(i + 2, i + 3) if a.mention.id == "number" and _may_be_hour(a.mention)]
            if bare:
                yield Asserted(Mention(i, i + 1, "hour", "clock_hour"), bare[0].status, bare[0].cue)
                continue
        before = [a for a in reading.between(max(0, i - 5), i) if a.mention.kind == "quantity"]
        if not before:
            behind = [a for a in reading.between(i + 2, i + 4) if a.mention.id == "clock_hour"]
            if behind and set(reading.gap(i + 1, behind[0].mention.start)) <= {"and", "at", "&", "+"}:
                yield Asserted(Mention(i, i + 1, "hour", "clock_hour"), behind[0].status, behind[0].cue)
            continue
        if not _is_place(reading, before[-1].mention):
            continue
        if set(reading.gap(before[-1].mention.end, i)) <= STRINGS:
            spoken = Mention(i, i + 1, "hour", "clock_hour")
            yield Asserted(spoken, before[-1].status, before[-1].cue)


def _is_place(reading: Reading, mention: Mention) -> bool:
    """Hours and meridians; a bare number after "at" or in a list of hours is an hour."""
    if mention.id in ("clock_hour", "degrees"):
        return not blade_size(reading, mention) and not _behind_counted(reading, mention)
    if mention.id == "time_of_day":
        return _is_dial_time(reading, mention)
    if mention.id == "duration_s":
        return _is_hours_at(reading, mention)
    if mention.id != "number" or mention.quantity is None or not isinstance(mention.quantity.value, float | int):
        return False
    if _is_angle(reading, mention):
        return True
    if not 1 <= mention.quantity.value <= 12 or mention.quantity.value % 0.5 or _counts_ports(reading, mention):
        return False
    if reading.words[max(0, mention.start - 1) : mention.start] in (("at",), ("@",)):
        return True
    if reading.words[max(0, mention.start - 2) : mention.start] in (("hour", "of"), ("the", "hour")):
        return True
    if reading.words[max(0, mention.start - 3) : mention.start] == ("at", "one", "and"):
        return True
    return _in_hour_list(reading, mention) or _behind_ports(reading, mention)


def _counts_ports(reading: Reading, mention: Mention) -> bool:
    """A number right before the ports ("two side ports"), before "only", or before as many hours of theirs."""
    if any(a.mention.key in SIDE for a in reading.between(mention.end, mention.end + 1)):
        return True
    if reading.words[mention.end : mention.end + 1] == ("only",) or reading.words[mention.end : mention.end + 2] == (
        ",",
        "at",
    ):
        return True
    return _behind_counted(reading, mention)


def _behind_counted(reading: Reading, mention: Mention) -> bool:
    """Whether a number right behind the ports counts them, since as many hours follow."""
    ports = [a.mention for a in reading.between(mention.start - 4, mention.start) if a.mention.key in SIDE]
    count = mention.quantity.value if mention.quantity is not None else None
    return bool(ports) and ports[-1].end == mention.start and _heads_hours(reading, ports[-1], mention.end, count)


def _heads_hours(reading: Reading, ports: Mention, end: int, count: object) -> bool:
    """ "Side ports two, 6 and 11 o'clock": as many hours as the number says follow a comma."""
    if reading.words[end : end + 1] != (",",):
        return False
    behind = [a.mention for a in reading.between(end + 1, end + 6) if a.mention.kind == "quantity"]
    hours = [m for m in behind if _may_be_hour(m)]
    plural = reading.words[ports.end - 1].endswith("s") and reading.words[ports.end - 1] != "paracentesis"
    return len(hours) == count and (count != 1 or not plural)


def _behind_ports(reading: Reading, mention: Mention) -> bool:
    """ "Paras 10 and 2": two whole numbers strung together right behind the side ports."""
    near = reading.between(max(0, mention.start - 5), mention.end + 3)
    ports = [a.mention for a in near if a.mention.key in SIDE and a.mention.end <= mention.start]
    numbers = [a.mention for a in near if ports and a.mention.id == "number" and a.mention.start >= ports[-1].end][:2]
    if len(numbers) != 2 or mention not in numbers:
        return False
    lead, gap = reading.gap(ports[-1].end, numbers[0].start), reading.gap(numbers[0].end, numbers[1].start)
    return set(lead) <= {":", ",", "("} and bool(gap) and set(gap) <= {"and", "&", "+"}


def _may_be_hour(mention: Mention) -> bool:
    value = mention.quantity.value if mention.quantity is not None else None
    return mention.id in ("clock_hour", "number") and isinstance(value, float | int) and 1 <= value <= 12


def _is_dial_time(reading: Reading, mention: Mention) -> bool:
    """ "At 12:00", "two paracenteses, 10:00 and 2:00": a time of day that tells a place of the limbus."""
    if reading.words[max(0, mention.start - 1) : mention.start] in (("at",), ("@",)):
        return True
    value = str(mention.quantity.value) if mention.quantity is not None else ""
    hour, _, minute = value.partition(":")
    if minute not in ("00", "30") or not 1 <= int(hour) <= 12:
        return False
    near = reading.between(max(0, mention.start - 5), mention.start)
    return any(a.mention.key in SIDE | MAIN for a in near)


def _is_hours_at(reading: Reading, mention: Mention) -> bool:
    """ "The paracentesis at 12 hours", "at the five hours": the dial as speakers of other languages tell it."""
    quantity = mention.quantity
    if quantity is None or quantity.unit != "h" or not isinstance(quantity.value, float | int):
        return False
    led = reading.words[max(0, mention.start - 2) : mention.start]
    near = reading.between(max(0, mention.start - 5), mention.start)
    strung = led[-1:] == ("and",) and any(a.mention.end == mention.start - 1 and _may_be_hour(a.mention) for a in near)
    told = strung or led[-1:] == ("at",) or led == ("at", "the")
    return told and quantity.value / HOUR in DIAL and any(a.mention.key in SIDE | MAIN for a in near)


def _is_angle(reading: Reading, mention: Mention) -> bool:
    """Degrees, or a bare number right before "meridian"."""
    if mention.id == "degrees":
        return True
    amount = mention.quantity.value if mention.quantity is not None else None
    behind = reading.gap(mention.end, mention.end + 1)
    return behind == ("meridian",) and isinstance(amount, float | int) and 12 < amount <= 360


def _in_hour_list(reading: Reading, mention: Mention) -> bool:
    """ "2 and 10 o'clock", "10 o'clock and 2"."""
    for other in reading.between(max(0, mention.start - 4), mention.end + 5):
        if other.mention is mention or other.mention.kind != "quantity":
            continue
        first, second = sorted((mention, other.mention), key=lambda m: m.start)
        gap = set(reading.gap(first.end, second.start))
        hour = other.mention.id == "clock_hour" or (
            other.mention.id == "number" and reading.words[max(0, first.start - 1)] in ("at", "@")
        )
        if gap and gap <= {"and", ",", "&", "+", "at"} and hour:
            return True
    return False


def _place(value: Asserted, head: Asserted, *, main: bool, angle: bool) -> Iterator[Found]:
    quantity = value.mention.quantity
    if value.mention.kind == "hour":
        if head.mention.key in SIDE:
            yield found("paracentesis.clock_hours", 1.0, value, head)
        return
    if quantity is None:
        return
    if value.mention.id == "time_of_day":
        quantity = _as_hour(quantity)
    if value.mention.id == "duration_s" and isinstance(quantity.value, float | int):
        quantity = replace(quantity, dimension="clock_hour", value=quantity.value / HOUR)
    if quantity.limit == "range" or not isinstance(quantity.value, float | int):
        return
    if angle:
        if main and 0 <= quantity.value <= 180:
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


def _sites(reading: Reading, heads: list[Asserted]) -> Iterator[Found]:
    """Words that say where ("temporal")."""
    sites = reading.of("site")
    bound = pair_openings(reading, heads, sites, LIMIT)
    for site in sites:
        head = _named_behind(site, heads) or bound.get(site.mention.start)
        if head is not None and (head.mention.key in MAIN or head.mention.kind == "incision_kind"):
            yield found("main_incision.site", site.mention.id, site, head)


def _named_behind(site: Asserted, heads: list[Asserted]) -> Asserted | None:
    """ "Side port at 11 | temporal clear corneal incision": the main wound right behind its place."""
    behind = [h for h in heads if h.mention.start == site.mention.end]
    main = (h for h in behind if h.mention.key in MAIN or h.mention.kind == "incision_kind")
    return next(main, None)


def _kinds(reading: Reading) -> Iterator[Found]:
    """The kind of the main wound: named right before it or in the clause that makes it, not before a side port."""
    for kind in reading.of("incision_kind"):
        if of_main(reading, kind.mention):
            yield found("main_incision.kind", kind.mention.id, kind)
            if reading.clause(kind.mention.start).tense != "none" or kind.mention.end - kind.mention.start > 1:
                yield found("steps", "main_incision", kind)
    for limbus in reading.of("thing"):
        if limbus.mention.id == "limbus" and names_kind(reading, limbus.mention):
            yield found("main_incision.kind", "limbal", limbus)


def _counts(reading: Reading) -> Iterator[Found]:
    """ "Two paracenteses", "side ports x2", "a second paracentesis", "some make two; I made the one"."""
    for head in reading.of("step", "thing"):
        if head.mention.key not in SIDE or cut_with_keratome(reading, head.mention):
            continue
        counted = _count_before(reading, head.mention) or _count_behind(reading, head.mention)
        if counted is not None:
            count, at = counted
            part = Asserted(Mention(at, at + 1, "word", "count"), head.status, head.cue)
            yield found("paracentesis.count", float(count), part, head)
    yield from _only_one(reading)


def _only_one(reading: Reading) -> Iterator[Found]:
    """ "Some make two side ports; here I made just the one"."""
    words = reading.words
    for i, word in enumerate(words):
        if word not in ("one", "1") or not ONLY & {*words[max(0, i - 3) : i], *words[i + 1 : i + 2]}:
            continue
        earlier = [a for a in reading.between(max(0, i - SPOKEN), i) if a.mention.key in MADE]
        if earlier and earlier[-1].mention.key in SIDE and words[i - 1] not in ("side", "second"):
            inside = next((a for a in reading.in_clause(Mention(i, i + 1, "word", "one"))), None)
            status, cue = (inside.status, inside.cue) if inside is not None else (Status.DONE, None)
            said = Asserted(Mention(i, i + 1, "word", "count"), status, cue)
            yield found("paracentesis.count", 1.0, said)


def _is_single(reading: Reading, ports: Mention) -> bool:
    """ "A paracentesis at 5 o'clock", "side port at 2": one of them, where it is no "other" or "further" one."""
    noun = reading.words[ports.end - 1]
    if ports.key not in SIDE or (noun.endswith("s") and not noun.endswith("sis")):
        return False
    return not ORDINALS.keys() & set(reading.words[max(0, ports.start - 3) : ports.start])


def _count_hours(reading: Reading, places: Sequence[Found]) -> Iterator[Found]:
    """Side ports that are told by their hours are as many as these."""
    told = [f for f in places if f.slot == "paracentesis.clock_hours" and f.status is Status.DONE]
    count = len({f.value for f in told})
    if count > 1 or (told and _is_single(reading, told[0].mentions[-1])):
        yield Found("paracentesis.count", float(count), Status.DONE, tuple(f.mentions[0] for f in told))


def _count_before(reading: Reading, head: Mention) -> tuple[int, int] | None:
    measured = [a.mention for a in reading.between(head.start - 5, head.start) if a.mention.kind == "quantity"]
    alone = [m for m in measured if m.end == head.start and m.end - m.start == 1 and m.id == "degrees"]
    taken = {i for m in measured if m.id != "number" and m not in alone for i in range(m.start, m.end)}
    for i in range(head.start - 1, max(-1, head.start - 4), -1):
        word = reading.words[i]
        if i in taken:
            return None
        if word in ORDINALS and reading.words[i - 1 : i] != ("the",):
            return ORDINALS[word], i
        if word in COUNTS:
            return (COUNTS[word], i) if COUNTS[word] else None
        if word in ",.;:\n" or word in reading.grammar.preposition or word in reading.grammar.auxiliary:
            return None
    return None


def _count_behind(reading: Reading, head: Mention) -> tuple[int, int] | None:
    """ "Side ports x2", "para at 12 o'clock and another at 5 o'clock"."""
    behind = reading.words[head.end : head.end + 2]
    said = COUNTS.get(behind[0] if behind else "", 0)
    if said and _heads_hours(reading, head, head.end + 1, said):
        return said, head.end
    if behind[:1] in (("x",), ("×",)) and COUNTS.get(behind[-1], 0):
        return COUNTS[behind[1]], head.end + 1
    hour = next((a.mention.end for a in reading.between(head.end, head.end + 2) if _may_be_hour(a.mention)), head.end)
    said_at = reading.between(head.end, head.end + 1) + reading.between(hour, hour + 1)
    times = next((a.mention for a in said_at if a.mention.id == "times"), None)
    if times is not None and times.quantity is not None and isinstance(times.quantity.value, float | int):
        return int(times.quantity.value), times.start
    _, last = reading.sentence(head.start)
    for i in range(head.end + 1, min(last, head.end + 16)):
        if any(a.mention.kind in ("step", "viscoelastic", "incision_kind") for a in reading.between(i, i + 1)):
            return None
        strung = reading.words[i - 1] in ("and", "a") and reading.words[i + 1 : i + 2] == ("at",)
        if reading.words[i] in ("another", "second") and strung:
            return 2, i
    return None

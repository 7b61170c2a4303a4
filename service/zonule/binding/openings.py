"""The openings of the eye that take millimeters, hours and sites, and what else takes them."""

from collections.abc import Sequence

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.reading import Reading, around
from zonule.binding.runs import Toll, pair_row

MAIN = frozenset({"step:main_incision", "thing:wound"})
SIDE = frozenset({"step:paracentesis", "thing:side_port"})
RHEXIS = frozenset({"step:capsulorhexis", "step:capsulotomy", "thing:anterior_capsule"})
MADE = MAIN | SIDE | RHEXIS
ELSEWHERE = frozenset(
    {
        "thing:pupil", "step:relaxing_incision", "thing:synechiae", "thing:suture", "thing:bridle", "thing:iris",
        "thing:pupil_device", "step:conjunctival_flap", "thing:limbus", "step:bridle_suture", "step:suture",
        "step:iridectomy", "thing:conjunctiva", "thing:axis", "thing:flap", "thing:lens",
    }
)  # fmt: skip
"""What else takes millimeters or hours, so that they do not go to the wound."""
POSTERIOR_OPENING = "procedure:posterior_capsulotomy"
POSTERIOR_REACH = 12
"""Words of a sentence before a rhexis within which the posterior capsule is what it was made in."""
BEHIND = frozenset({"posterior", "back"})
"""First words of the name of the capsule behind the lens."""
ABSORBING_KINDS = frozenset({"complication", "finding", "implant", "instrument", "anatomy", "lens_field"})
SIZED = ("blade", "knife", "keratome", "slit", "caliper", "marker", "trephine", "ring", "scissors")
"""Instruments that are told by their width or that measure one."""
NOT_BETWEEN = frozenset({"step", "viscoelastic", "drug", "technique", "anesthesia", "lens_location", "implant"})
"""Kinds behind which a value no longer speaks of the opening before them."""
SECOND = 4.0
"""A further value of one kind for one opening that is not strung to the first."""
CLAIMED = 3.0
"""Reaching over to the opening behind when another stands right before."""
CLAIM_REACH = 4
BEFORE = 0.6
"""A value right before its noun ("2.2 mm incision") stands closer than one behind it."""
TOLLS = {",": 1.0, ".": 7.0, ";": 5.0, ":": 0.5, "\n": 1.0, "and": 1.5, "then": 4.0, "but": 4.0, "(": 0.3, ")": 0.3}
ENDS = frozenset({".", ";", "!", "?"})
"""Marks over which a value does not reach forward to a later noun."""
LIGHT = frozenset(
    {"at", "the", "of", "in", "is", "was", "were", "made", "position", "on", "over", "side", "about", "a"}
)
LENGTHS = frozenset({"length_mm"})
WIDER_THAN_PORTS = 1.6
"""Millimeters; side ports are cut 0.6 to 1.5 wide. Common practice, no source."""
STRUNG = 0.5
"""One that is."""
STRINGS = frozenset(
    {
        "and", ",", "at", "one", "1", "another", "a", "the", "second", "other", "&", "+", "then", "also", "with",
        "position", "hour", "of",
    }
)  # fmt: skip
BLADES = frozenset({"blade", "knife", "bevel", "slit", "stab"})


def opening_heads(reading: Reading) -> list[Asserted]:
    """Openings and whatever else may take their values, in the order of the text."""
    return [
        a
        for a in reading.asserted
        if ((a.mention.key in MADE or a.mention.key in ELSEWHERE) and not names_kind(reading, a.mention))
        or _absorbs(a.mention)
        or (a.mention.kind == "incision_kind" and of_main(reading, a.mention))
    ]


def is_posterior(reading: Reading, opening: Mention) -> bool:
    """Whether a rhexis is that of the posterior capsule, which has no slot for its size."""
    if opening.key not in RHEXIS:
        return False
    if any(a.mention.key == POSTERIOR_OPENING for a in reading.between(opening.start, opening.start + 1)):
        return True
    first, _ = reading.sentence(opening.start)
    before = [a.mention for a in reading.between(max(first, opening.start - POSTERIOR_REACH), opening.start)]
    behind = any(m.key == "thing:capsule" and reading.words[m.start] in BEHIND for m in before)
    return behind and not any(m.key in RHEXIS for m in before)


def _absorbs(mention: Mention) -> bool:
    """Whether millimeters near a mention may be its own; a forceps or cannula has none that anyone dictates."""
    if mention.kind == "instrument":
        return any(part in mention.id for part in SIZED)
    return mention.kind in ABSORBING_KINDS


def is_main(head: Mention) -> bool:
    """Whether a head is the main wound, or the blade that makes it."""
    return (
        head.key in MAIN
        or head.kind == "incision_kind"
        or (head.kind == "instrument" and ("keratome" in head.id or "slit" in head.id))
    )


def cut_with_keratome(reading: Reading, head: Mention) -> bool:
    """ "Using a keratome, another stab incision was made": what a keratome cuts is the main wound."""
    if head.key not in SIDE or reading.words[head.end - 1] != "incision":
        return False
    return any("keratome" in a.mention.id for a in reading.in_clause(head) if a.mention.kind == "instrument")


def of_main(reading: Reading, kind: Mention) -> bool:
    """Whether a kind of incision is that of the main wound: not when it stands before or beside a side port only."""
    if reading.words[kind.start] == "into" or reading.preposition_before(kind) in ("into", "to", "toward", "towards"):
        first, last = reading.sentence(kind.start)
        inside = reading.annotation.mentions_between(first, last)
        if any(m.key == "word:carried_into" or (m.kind == "incision_kind" and m.id != kind.id) for m in inside):
            return False
    if _given_up(reading, kind):
        return False
    if _told_of_main(reading, kind) or _sized_before(reading, kind):
        return True
    following = [
        a
        for a in reading.between(kind.end, kind.end + 4)
        if a.mention.key in MAIN | SIDE | ELSEWHERE or a.mention.kind in ("implant", "complication")
    ]
    if following and _sized_as_main(reading, kind, following[0].mention):
        return True
    if following and not set(reading.gap(kind.end, following[0].mention.start)) & set(",.;"):
        return following[0].mention.key in MAIN
    clause = [a.mention for a in reading.in_clause(kind)]
    others = [m for m in clause if m.key in SIDE | ELSEWHERE - {"thing:limbus"}]
    return any(m.key in MAIN for m in clause) or not any(_is_near(reading, kind, other) for other in others)


def _sized_as_main(reading: Reading, kind: Mention, behind: Mention) -> bool:
    """ "Clear corneal 2.4 | paracentesis at 7": a size between them that no side port has."""
    between = [a.mention for a in reading.between(kind.end, behind.start) if a.mention.id in ("number", *LENGTHS)]
    return any(
        m.quantity is not None
        and isinstance(m.quantity.value, float | int)
        and m.quantity.value >= WIDER_THAN_PORTS
        and (m.id != "number" or m.quantity.value % 1 != 0)
        for m in between
    )


def _sized_before(reading: Reading, kind: Mention) -> bool:
    """ "2.2 mm clear corneal at 3 o'clock, one side port at 6": a size right before it that no side port has."""
    before = [a.mention for a in reading.between(kind.start - 4, kind.start) if a.mention.end == kind.start]
    return any(
        m.quantity is not None
        and isinstance(m.quantity.value, float | int)
        and m.quantity.value >= WIDER_THAN_PORTS
        and (m.id in LENGTHS or (m.id == "number" and reading.is_pointed(m)))
        for m in before
    )


def _is_near(reading: Reading, kind: Mention, other: Mention) -> bool:
    """Whether nothing else of the operation is told between a kind of incision and another opening."""
    first, second = (kind, other) if kind.start < other.start else (other, kind)
    between = reading.between(first.end, second.start)
    if first is kind and any(a.mention.id in LENGTHS for a in between):
        return False
    return not any(a.mention.kind in NOT_BETWEEN and a.mention.key not in MAIN | SIDE | RHEXIS for a in between)


def _given_up(reading: Reading, kind: Mention) -> bool:
    """ "Converted from clear corneal", "instead of a scleral tunnel": the kind that was not made after all."""
    before = [w for w in reading.words[max(0, kind.start - 4) : kind.start] if w not in reading.grammar.determiner]
    return before[-2:] in (["converted", "from"], ["changed", "from"], ["instead", "of"], ["rather", "than"])


def _told_of_main(reading: Reading, kind: Mention) -> bool:
    """ "The main wound is temporal clear corneal 2.2": the wound is named right before, and no port behind."""
    before = [a.mention for a in reading.between(max(0, kind.start - 14), kind.start) if a.mention.key in MAIN]
    if not before:
        return False
    told = {
        i
        for a in reading.between(before[-1].end, kind.start)
        if a.mention.kind in ("quantity", "site")
        for i in range(a.mention.start, a.mention.end)
    }
    gap = [reading.words[i] for i in range(before[-1].end, kind.start) if i not in reading.dead_words | told]
    if len(gap) > 4 or not {",", ".", ";", "and"}.isdisjoint(gap):
        return False
    return not any(a.mention.key in SIDE | ELSEWHERE for a in reading.between(kind.end, kind.end + 1))


def names_kind(reading: Reading, mention: Mention) -> bool:
    """ "The main incision was limbal, 2.8 mm": the word tells the kind of the wound, with no noun behind it."""
    words = reading.words
    if words[mention.start : mention.end] != ("limbal",):
        return False
    if any(a.mention.kind == "incision_kind" for a in reading.between(mention.start, mention.end)):
        return True
    behind = words[mention.end] if mention.end < len(words) else "."
    ends = behind in ",.;\n" or behind == "one" or behind in reading.grammar.preposition or behind[0].isdigit()
    ends = ends or any(a.mention.kind == "site" for a in reading.between(mention.end, mention.end + 1))
    first, _ = reading.sentence(mention.start)
    before = reading.between(max(first, mention.start - 4), mention.start)
    return ends and any(a.mention.key in MAIN for a in before)


def pair_openings(
    reading: Reading, heads: Sequence[Asserted], values: Sequence[Asserted], limit: float
) -> dict[int, Asserted]:
    """The head of each value, by the word the value starts at; a row of them is read as a whole."""

    def cost(head: Asserted, value: Asserted, used: bool) -> float | None:
        far = _far(reading, head.mention, value.mention, limit)
        if far is None:
            return None
        strung = _strung_behind(reading, value.mention)
        if head.mention.start > value.mention.start:
            return far + (CLAIMED if strung or _claimed(reading, heads, value.mention) else 0.0)
        if used and strung:
            return STRUNG
        return far + (SECOND if used else 0.0)

    members = [*((h, True) for h in _apart(heads)), *((v, False) for v in _apart(values))]
    row = sorted(members, key=lambda m: (m[0].mention.start, m[0].mention.end))
    return {value.mention.start: head for value, head in pair_row(row, cost, Toll(0.5, limit))}


def _apart(mentions: Sequence[Asserted]) -> list[Asserted]:
    """One mention for each stretch of words: the longest where several begin together, none inside another."""
    kept: list[Asserted] = []
    for asserted in sorted(mentions, key=lambda a: (a.mention.start, -a.mention.end)):
        if not kept or asserted.mention.start >= kept[-1].mention.end:
            kept.append(asserted)
    return kept


def _far(reading: Reading, head: Mention, value: Mention, limit: float) -> float | None:
    """What stands between a head and a value, None where they are too far apart."""
    first, second = (head, value) if head.start < value.start else (value, head)
    if second.start < first.end:
        return 0.0
    if second.start - first.end > 3 * limit:
        return None
    gap = [(i, reading.words[i]) for i in range(first.end, second.start) if i not in reading.dead_words]
    if first is value and not ENDS.isdisjoint(word for _, word in gap):
        return None
    if _cut_off(reading, head, value):
        return None
    attributes = {
        i
        for a in reading.between(first.end, second.start)
        if a.mention.kind in ("quantity", "site", "incision_kind", "anatomy")
        for i in range(a.mention.start, a.mention.end)
    }
    far = sum(0.1 if i in attributes else TOLLS.get(word, 0.4 if word in LIGHT else 1.0) for i, word in gap)
    if first is value:
        parted = not {",", "and"}.isdisjoint(word for _, word in gap)
        far = far * BEFORE if len(gap) <= 4 and not parted else far + 2.0
    return far if far < limit else None


def _claimed(reading: Reading, heads: Sequence[Asserted], value: Mention) -> bool:
    """Whether a head stands right before a value ("side port at 3 o'clock | the main incision")."""
    before = [h for h in around(heads, value.start, 16) if h.mention.end <= value.start]
    if not before:
        return False
    start = before[-1].mention.end
    told = {i for a in reading.between(start, value.start) for i in range(a.mention.start, a.mention.end)}
    gap = [reading.words[i] for i in range(start, value.start) if i not in reading.dead_words | told]
    return len(gap) <= CLAIM_REACH and {",", ".", ";", "and", "then", "\n"}.isdisjoint(gap)


def blade_size(reading: Reading, mention: Mention) -> bool:
    """The angle of a blade ("the 15 degree knife") is no place of the limbus."""
    return mention.id == "degrees" and not BLADES.isdisjoint(reading.gap(mention.end, mention.end + 2))


def _cut_off(reading: Reading, head: Mention, value: Mention) -> bool:
    """Whether talk of something else stands between an opening and a value."""
    if not (is_main(head) or head.key in SIDE | RHEXIS):
        return False
    first, second = (head, value) if head.start < value.start else (value, head)
    return any(
        a.mention.kind in NOT_BETWEEN and a.mention.start >= first.end and a.mention.key not in MADE
        for a in reading.between(first.end, second.start)
    )


def _strung_behind(reading: Reading, value: Mention) -> bool:
    """Whether a value follows another one with nothing but joining words between ("12 and 7 o'clock")."""
    earlier = [a.mention for a in reading.between(max(0, value.start - 12), value.start)]
    before = [m for m in earlier if m.kind == "quantity" and not blade_size(reading, m)]
    if not before or (before[-1].id in LENGTHS) != (value.id in LENGTHS):
        return False
    tools = {
        i
        for a in reading.between(before[-1].end, value.start)
        if a.mention.kind == "instrument" or blade_size(reading, a.mention)
        for i in range(a.mention.start, a.mention.end)
    }
    gap = {w for i, w in enumerate(reading.gap(before[-1].end, value.start), before[-1].end) if i not in tools}
    return gap <= STRINGS

"""Sutures that stay, and other implants."""

from collections.abc import Iterator

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.implant_numbers import NUMBERED, one_more, points_to_implant
from zonule.binding.names import is_rare
from zonule.binding.reading import Reading
from zonule.binding.sections import Section, section_at
from zonule.record.operation_record import Implant, SutureUse
from zonule.vocabulary import Status

COUNTS = {"a": 1, "one": 1, "single": 1, "an": 1, "two": 2, "three": 3, "four": 4, "five": 5, "double": 2}
NOUNS = frozenset({"suture", "sutures", "stitch", "stitches"})
BARE_NONE = frozenset(
    {
        ("without", "sutures"),
        ("without", "suture"),
        ("without", "stitches"),
        ("neither", "suture"),
        ("neither", "stitch"),
        ("not", "sutured"),
        ("didn't", "suture"),
    }
)
NO_SUTURE = frozenset({"sutureless", "unsutured", "stitchless"})
TRACTION = frozenset({"thing:bridle", "step:bridle_suture"})
PULLING = frozenset({"traction", "bridle"})
NOT_TODAY = frozenset({Status.HABITUAL, Status.HYPOTHETICAL, Status.OTHER_EYE, Status.HISTORICAL, Status.PLANNED})
DEVICES = frozenset({"hook", "hooks", "retractor", "retractors", "haptic", "haptics"})
"""What is made of the materials of threads and stays no suture."""
DEVICE_OF = frozenset({"iris", "pupil", "flexible", "lens", "capsule"})
MADE = frozenset({"of", "the", "a", "an", ",", "made", "from", "in", "out", "these", "are", "were", "was", "being"})
"""Words between a device and what it is made of."""
KINDS_OF = frozenset({"ones", "one", "sort", "kind", "type", "variety"})
COARSE = frozenset({"4-0", "5-0", "6-0"})
"""Silk of these sizes holds the globe; a cataract wound is closed with finer thread (common practice, no source)."""
GONE = frozenset(
    {("no", "sutures", "remain"), ("no", "sutures", "remained"), ("no", "suture", "remains"), ("no", "sutures", "left")}
)
"""Wording that says of sutures placed before that none is left."""
ELSEWHERE = frozenset({"suprachoroidal", "supraciliary", "subconjunctival", "gel"})
"""Words of stents that drain elsewhere than through the angle."""
MANNERS = frozenset({"running", "continuous", "interrupted", "mattress", "cross", "radial", "x", "horizontal"})
"""How a stitch is laid."""
OUT_REACH = 45
"""Words behind a ring within which it is said that it was taken out again."""
RETRIEVED = frozenset({"retrieved", "removed", "explanted", "withdrawn"})
ONE_EACH = (("on", "each"), ("at", "each"), ("to", "each"), ("for", "each"), ("in", "each"))
ONE_KIND = tuple((manner,) for manner in ("running", "continuous", "interrupted", "mattress", "buried", "radial"))
"""Behind a count: how the stitches are laid."""
TOTALS = frozenset({"altogether", "total"})
TOTAL_PHRASES = (("in", "all"), ("in", "total"))
TOTAL_REACH = 25
"""Words behind the last thread within which it is said how many there are in all."""
TAKEN_OUT = tuple((verb, what, "out") for verb in ("took", "taken", "take") for what in ("that", "it", "this", "them"))
REMOVED = (("removed", "it"), ("removed", "that"))
TAKEN_OUT_REACH = 12
"""Words behind a stitch within which it is said that it was taken out again."""
STITCHED = frozenset({"thing:suture", "thing:wound"})
THINGS = frozenset({"thing", "instrument", "implant", "lens_type"})
"""Kinds of what else "it" may stand for."""
SKIP = frozenset({"interrupted", "x", "radial", "buried", "of", "nylon", "corneal", "running", "continuous", "single"})


def bind_closure(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """Sutures by size, material and count; `none` where it was said."""
    gone = max((i for i in range(len(reading.words)) if reading.words[i : i + 3] in GONE), default=-1)
    total = _total(reading)
    for material in reading.of("suture_material"):
        if material.mention.start < gone or (total is not None and material.mention.start > total[0]):
            continue
        if material.mention.id == "none":
            # Denied twice ("no stitch, none was needed") it is denied.
            denied = material.status is Status.NOT_DONE
            told = Asserted(material.mention, Status.DONE) if denied else material
            yield found("sutures", SutureUse(material="none"), told)
        elif _of_device(reading, material.mention):
            continue
        elif not _traction(reading, material.mention):
            yield from _suture(reading, material, total)
            total = None if total is None else (-1, total[1], total[2])
        else:
            yield found("steps", "bridle_suture", material)
    yield from _unknown(reading)
    yield from _none(reading, sections)


def _unknown(reading: Reading) -> Iterator[Found]:
    """ "One 10-0 brandname to the wound": a thread that no lexicon has met, by its size and how many there were."""
    for size in (a for a in reading.of("quantity") if a.mention.id == "suture_size"):
        at = size.mention.end
        near = reading.between(size.mention.start - 3, at + 4)
        if any(a.mention.kind == "suture_material" for a in near) or at >= len(reading.words):
            continue
        word = reading.words[at]
        named = word.isalpha() and len(word) > 3 and not any(a.mention.start == at for a in near) and is_rare(word)
        count, where = _count(reading, size.mention.start, at + 1)
        if not named or count is None or _traction(reading, size.mention):
            continue
        thread = Mention(min(where, size.mention.start), at + 1, "suture_material", word)
        told = Asserted(thread, size.status, size.cue)
        yield found("sutures", SutureUse(material=word, size=_size(size.mention), count=count), told)
        yield found("steps", "suture", told)


def _of_device(reading: Reading, material: Mention) -> bool:
    """ "Iris hooks of the nylon sort", "polypropylene haptics": what a device is made of is no suture."""
    words = reading.words
    behind = words[material.end : material.end + 3]
    if not DEVICES.isdisjoint(behind[:1]) or (behind[:1] and behind[0] in DEVICE_OF and not DEVICES.isdisjoint(behind)):
        return True
    first = max(0, material.start - 6)
    named = [i for i in range(first, material.start) if words[i] in DEVICES]
    if not named or not set(words[named[-1] + 1 : material.start]) <= MADE:
        return False
    return "of" in words[named[-1] : material.start] or not KINDS_OF.isdisjoint(behind[:1])


def _traction(reading: Reading, mention: Mention) -> bool:
    """A suture that only holds the globe does not stay."""
    near = reading.between(max(0, mention.start - 4), mention.end + 7)
    coarse = any(a.mention.id == "suture_size" and _size(a.mention) in COARSE for a in near)
    named = [a.mention for a in near if a.mention.key in TRACTION]
    joined = any(m.end <= mention.start or "and" not in reading.gap(mention.end, m.start) for m in named)
    held = not PULLING.isdisjoint(reading.words[max(0, mention.start - 4) : mention.start])
    return held or joined or (coarse and mention.id == "silk")


def _size(mention: Mention) -> str:
    return str(mention.quantity.value) if mention.quantity is not None else ""


def _total(reading: Reading) -> tuple[int, int, int] | None:
    """How many in all ("two 10-0 polyglactin, and one in each port, so four altogether"): the word of the first thread
    of the one kind that was used, the count, and the word that says it."""
    threads = [a.mention for a in reading.of("suture_material") if a.mention.id != "none"]
    threads = [m for m in threads if not _traction(reading, m)]
    if not threads or len({m.id for m in threads}) > 1:
        return None
    words = reading.words
    for i in range(threads[0].end, min(len(words), threads[-1].end + TOTAL_REACH)):
        if words[i] in TOTALS or words[i - 1 : i + 1] in TOTAL_PHRASES:
            for at in range(i - 1, max(threads[0].start, i - 6), -1):
                count = _number_at(reading, at)
                if count is not None and (words[at] != "a"):
                    return threads[0].start, count, at
    return None


def _suture(reading: Reading, material: Asserted, total: tuple[int, int, int] | None) -> Iterator[Found]:
    sizes = [
        a
        for a in reading.between(max(0, material.mention.start - 3), material.mention.end + 3)
        if a.mention.id == "suture_size"
    ]
    parts = [material, *sizes[:1]]
    start = min(p.mention.start for p in parts)
    end = max(p.mention.end for p in parts)
    size = str(sizes[0].mention.quantity.value) if sizes and sizes[0].mention.quantity else None
    count, where = _count(reading, start, end)
    parts = [Asserted(p.mention, Status.NOT_DONE) for p in parts] if _stitch_removed(reading, end) else parts
    counted: list[Asserted] = []
    stands = total[1:] if total is not None else _said_anew(reading, where)
    if stands is not None:
        count, at = stands
        where = start
        counted = [Asserted(Mention(at, at + 1, "word", "count"), material.status, material.cue)]
    evidence = Asserted(
        Mention(min(start, where), end, "suture_material", material.mention.id), _status(parts), _cue(parts)
    )
    yield found("sutures", SutureUse(material=material.mention.id, size=size, count=count), evidence, *counted)
    yield found("steps", "suture", evidence)


def _stitch_removed(reading: Reading, end: int) -> bool:
    """ "One stitch 10-0 nylon, no wait, I took that out again": a stitch that did not stay."""
    words = reading.words
    reach = range(end, min(len(words) - 2, end + TAKEN_OUT_REACH))
    told = next((i for i in reach if words[i : i + 3] in TAKEN_OUT or words[i : i + 2] in REMOVED), None)
    return told is not None and all(
        a.mention.key in STITCHED or a.mention.kind not in THINGS for a in reading.between(end, told)
    )


def _said_anew(reading: Reading, counted: int) -> tuple[int, int] | None:
    """ "Five 10-0 nylon, actually four": the count said in place of the one at a word, and where."""
    anew = next((new for new, old in reading.instead.items() if old.start == counted), None)
    count = _number_at(reading, anew) if anew is not None else None
    return (count, anew) if count is not None and anew is not None else None


def _status(parts: list[Asserted]) -> Status:
    return next((p.status for p in parts if p.status is not Status.DONE), Status.DONE)


def _cue(parts: list[Asserted]) -> Mention | None:
    return next((p.cue for p in parts if p.status is not Status.DONE), None)


def _count(reading: Reading, start: int, end: int) -> tuple[int | None, int]:
    """How many, said in front ("two interrupted 10-0 nylon") or behind ("10-0 nylon x 2"); and where it was said."""
    i = start - 1
    while i >= 0 and reading.words[i] in SKIP | NOUNS and start - i <= 4:
        if reading.words[i] == "single":
            return 1, i
        i -= 1
    number = _number_at(reading, i)
    if number is not None:
        return number + _first_part(reading, i), i
    stated = _count_behind(reading, end)
    if stated is not None:
        return stated
    behind = end
    while behind < len(reading.words) and reading.words[behind] in NOUNS | {"x", "times", ","} and behind < end + 3:
        behind += 1
    if behind > end and reading.words[behind - 1] in ("x", "times"):
        return _number_at(reading, behind), behind - 1
    return None, start


def _first_part(reading: Reading, i: int) -> int:
    """ "One running and two interrupted": what is counted before the "and" of one list of stitches."""
    if i < 3 or reading.words[i - 1] != "and" or reading.words[i - 2] not in MANNERS:
        return 0
    return _number_at(reading, i - 3) or 0


def _count_behind(reading: Reading, end: int) -> tuple[int, int] | None:
    """The count behind the material, and where it is said.

    "10-0 nylon two sutures", "10-0 nylon, two of them", "8-0 polyglactin, one running", "… one each side".
    """
    words = reading.words
    at = end + (words[end : end + 1] == (",",))
    if words[at : at + 1] in (("a",), ("an",)) or _number_at(reading, at) is None:
        return None
    if _said_anew(reading, at) is not None:
        return _number_at(reading, at) or 0, at
    behind = words[at + 1 : at + 3]
    sides = behind[:1] == ("each",) or behind in ONE_EACH
    counted = sides or set(behind) & NOUNS or behind[:1] in ONE_KIND or behind == ("of", "them")
    count = _number_at(reading, at) if counted else None
    return (2 if sides and count == 1 else count, at) if count is not None else None


def _number_at(reading: Reading, i: int) -> int | None:
    if not 0 <= i < len(reading.words):
        return None
    word = reading.words[i]
    if word in COUNTS:
        return COUNTS[word]
    return int(word) if word.isdigit() and int(word) < 20 else None


def _none(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    for suture in reading.of("thing", "step"):
        if suture.mention.id != "suture" or suture.status is not Status.NOT_DONE or suture.cue is None:
            continue
        if "further" in reading.words[max(0, suture.mention.start - 3) : suture.mention.start]:
            continue
        none = Asserted(suture.mention, Status.DONE)
        cue = Asserted(suture.cue, Status.DONE)
        yield found("sutures", SutureUse(material="none"), none, cue)
    for i, word in enumerate(reading.words):
        if word in ("0", "zero") and reading.words[i + 1 : i + 2] and reading.words[i + 1] in NOUNS:
            yield found("sutures", SutureUse(material="none"), Asserted(Mention(i, i + 2, "word", word), Status.DONE))
        if reading.words[i : i + 2] in BARE_NONE:
            said = Mention(i, i + 2, "word", "none")
            status = next((a.status for a in reading.in_clause(said) if a.status in NOT_TODAY), Status.DONE)
            yield found("sutures", SutureUse(material="none"), Asserted(said, status))
        if word in NO_SUTURE:
            yield found("sutures", SutureUse(material="none"), Asserted(Mention(i, i + 1, "word", word), Status.DONE))
    for section in sections:
        if section.field == "sutures" and set(reading.words[section.start : section.start + 1]) & {"none", "nil", "no"}:
            said = Mention(section.start, section.start + 1, "word", "none")
            yield found("sutures", SutureUse(material="none"), Asserted(said, Status.DONE))


def bind_implants(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """Rings, hooks, stents: each with the serial or lot said with it."""
    rings = [a.mention for a in reading.of("implant") if a.mention.id.endswith("ring")]
    later = _later(reading, rings[0]) if len({m.id for m in rings}) == 1 else None
    for implant in reading.of("implant"):
        section = section_at(sections, implant.mention.start)
        if section is not None and section.field == "plan":
            continue
        term = implant.mention.term
        gone = _taken_out(reading, implant.mention) if len({m.id for m in rings}) == 1 else None
        if gone is not None and implant.status is Status.DONE:
            implant = Asserted(implant.mention, Status.NOT_DONE, gone)
        identifier = _identifier(reading, implant.mention)
        if identifier is None:
            identifier = later if implant.mention.id.endswith("ring") else _told_of_them(reading, implant.mention)
        value = Implant(
            kind=implant.mention.id,
            identifier=identifier[1] if identifier else None,
            temporary=bool(term and term.temporary),
        )
        parts = [implant, *([Asserted(identifier[0], implant.status, implant.cue)] if identifier else [])]
        yield found("other_implants", value, *parts)
        if implant.mention.id.endswith("tension_ring"):
            yield found("steps", "capsular_tension_ring", implant)
            yield found("operation.procedures", "capsular_tension_ring_insertion", implant)
        if implant.mention.id == "stent" and ELSEWHERE.isdisjoint(
            reading.words[implant.mention.start : implant.mention.end]
        ):
            yield found("operation.procedures", "angle_stent_insertion", implant)
        if implant.mention.id in ("iris_hooks", "pupil_ring"):
            yield found("steps", "pupil_expansion", implant)
    yield from _one_more(reading)


def _one_more(reading: Reading) -> Iterator[Found]:
    """ "The first stent, serial …, came out again. The second one, serial …, sat well"."""
    implants = [a.mention for a in reading.of("implant") if a.mention.term and not a.mention.term.temporary]
    if len({m.id for m in implants}) != 1:
        return
    for label in reading.of("lens_field"):
        first, _ = reading.sentence(label.mention.start)
        end = one_more(reading, first, label.mention.start) if label.mention.id in NUMBERED else None
        if end is None or not points_to_implant(reading, label.mention):
            continue
        again = Mention(end - 2, end, "implant", implants[0].id)
        said = Asserted(again, reading.status_at(again))
        identifier = _identifier(reading, again)
        if identifier is not None:
            value = Implant(kind=again.id, identifier=identifier[1], temporary=False)
            yield found("other_implants", value, said, Asserted(identifier[0], said.status))


def _taken_out(reading: Reading, implant: Mention) -> Mention | None:
    """ "I put in a tension ring … the ring was retrieved": what says that a ring meant to stay did not."""
    if implant.term is None or implant.term.temporary or not implant.id.endswith("ring"):
        return None
    words = reading.words
    for i in range(implant.end, min(len(words) - 1, implant.end + OUT_REACH)):
        if words[i] != "ring" or any(w in reading.grammar.negator for w in words[i : i + 5]):
            continue
        for at in range(i + 1, min(len(words) - 1, i + 5)):
            if words[at] in RETRIEVED or words[at : at + 2] in (("taken", "out"), ("came", "out")):
                return Mention(at, at + 1, "word", "taken_out")
    return None


def _later(reading: Reading, implant: Mention) -> tuple[Mention, str] | None:
    """ "Then the ring, serial CR-77": the only ring, told of again with its number."""
    for label in reading.of("lens_field"):
        at = label.mention.start
        if label.mention.id not in NUMBERED or at < implant.end:
            continue
        first, _ = reading.sentence(at)
        for i in range(max(first, at - 4, implant.end), at):
            if reading.words[i] == "ring":
                return _identifier(reading, Mention(i, i + 1, "word", "ring"))
    return None


def _told_of_them(reading: Reading, implant: Mention) -> tuple[Mention, str] | None:
    """ "Both from the same pack, lot …": the number of what was told of before; rings and the like have their own."""
    if any(a.mention.id != implant.id for a in reading.of("implant")):
        return None
    for label in reading.of("lens_field"):
        at = label.mention.start
        if at > implant.end and label.mention.id in NUMBERED and points_to_implant(reading, label.mention):
            return _identifier(reading, Mention(at - 1, at, "implant", implant.id))
    return None


def _identifier(reading: Reading, implant: Mention) -> tuple[Mention, str] | None:
    for label in reading.between(implant.end, implant.end + 8):
        if label.mention.key == "thing:lens" or label.mention.kind == "implant":
            return None
        if label.mention.kind == "lens_field" and label.mention.id in NUMBERED:
            at = label.mention.end
            while at < len(reading.words) and reading.words[at] in ("number", "is", "no", ":", "?"):
                at += 1
            end = at
            text = reading.annotation.aligned.text
            while end < len(reading.words) and (end == at or _glued(reading, end)):
                end += 1
            said = text[reading.annotation.starts[at] : reading.annotation.ends[end - 1]] if end > at else ""
            return (Mention(at, end, "word", "identifier"), said) if any(c.isdigit() for c in said) else None
    return None


def _glued(reading: Reading, i: int) -> bool:
    """Whether a word is written together with the one before it ("CT" + "44-019")."""
    text = reading.annotation.aligned.text
    gap = text[reading.annotation.ends[i - 1] : reading.annotation.starts[i]]
    return gap in ("", "-", "/") and reading.words[i][0].isalnum()

"""What became of a lens: implanted unless the talk around it tells another fate."""

from bisect import bisect_left

from zonule.annotation.mentions import Mention
from zonule.binding.lens_passages import begins_other, numbered_passages
from zonule.binding.reading import PUNCTUATION, Reading
from zonule.vocabulary import Status

LONG_SENTENCE = 45
HEADED = {
    "out": "lens_explanted", "explant": "lens_explanted", "explanted": "lens_explanted", "removed": "lens_explanted",
    "in": "lens", "implanted": "lens", "new": "lens", "wasted": "lens_not_implanted", "unused": "lens_not_implanted",
}  # fmt: skip
"""What a label at the head of a line tells of the lens behind it ("OUT: …", "Lens in: …")."""
HEADING = {"lens_head_out": "lens_explanted", "lens_head_in": "lens"}
"""The fates that wording right before a named lens tells."""
HEAD_REACH = 14
"""Words behind such wording within which the lens is named."""
OTHER_THINGS = frozenset({"implant", "instrument", "viscoelastic", "drug", "suture_material"})
THING_REACH = 5
OF_LENS = frozenset({"implanted", "implant", "inserted", "eye", "lens"})
PUT = frozenset({"insert", "place", "inject", "implant"})
"""Actions that put a lens where it lies."""
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
    dead = sum(i in reading.dead_words for i in range(max(0, mention.start - NEAR), mention.start))
    start = max(0, min(clause.start, mention.start - (POINTED if pointed else NEAR + dead)))
    around = reading.between(start, max(clause.end, mention.end + 6))
    return any(a.mention.key in ("thing:lens", "quantity:diopter") for a in around) or any(
        a.mention.kind in ("lens_field", "lens_type") or a.mention.key == "step:lens_insertion" for a in around
    )


def prefix_of(reading: Reading, mention: Mention) -> str:
    """Which lens a value speaks of: implanted unless its own clause or the talk around says another fate."""
    headed = _headed(reading, mention) or _behind_head(reading, mention)
    if headed is not None and headed != "lens":
        return headed
    fate = _fate_told(reading, mention)
    return "lens" if headed is not None and fate != "lens_explanted" else fate


def _fate_told(reading: Reading, mention: Mention) -> str:
    passages = numbered_passages(reading, mention)
    if passages:
        told = [fate for passage in passages for fate in _fates(reading, *passage)]
        return "lens_explanted" if "lens_explanted" in told else told[0] if told else "lens"
    clause = reading.clause(mention.start)
    first, last = reading.sentence(mention.start)
    start = max(first, clause.start, mention.start - WINDOW)
    others = [i for i in range(start + 1, mention.start) if begins_other(reading, i)]
    start = max([start, *others])
    end = min(last, mention.end + AHEAD)
    stop = next((i for i in range(mention.end, end) if _other_lens(reading, mention, i)), end)
    told = _fates(reading, start, stop)
    if not told and CARDS & set(reading.words[max(first, mention.start - WINDOW) : mention.start]):
        before, _ = reading.sentence(max(0, first - 1))
        told = _fates(reading, max(before, mention.start - 3 * WINDOW), mention.start)[-1:]
    if _old_lens(reading, mention):
        told.append("lens_explanted")
    told = told or ([] if others else _told_before(reading, first)) or _told_next(reading, last)
    return "lens_explanted" if "lens_explanted" in told else told[0] if told else "lens"


def _headed(reading: Reading, mention: Mention) -> str | None:
    """The fate that the last label before it in its sentence tells, None where it has no such label."""
    words = reading.words
    first, _ = reading.sentence(mention.start)
    for at in range(mention.start - 1, max(first, mention.start - LONG_SENTENCE), -1):
        if words[at] == ":" and words[at - 1] in HEADED:
            named = at - 1 - (at - 2 >= first and words[at - 2] in LENS)
            if named == first or words[named - 1] in PUNCTUATION or words[named - 1] in ("so", "then", "and"):
                return HEADED[words[at - 1]]
    return None


def names_lens(reading: Reading, head: Mention) -> bool:
    """Whether a lens is named behind a head ("what came out was a …, model …") before any step or other thing."""
    for asserted in reading.between(head.end, head.end + HEAD_REACH):
        mention = asserted.mention
        if mention.kind in ("lens_field", "lens_type") or mention.key in ("thing:lens", "quantity:diopter"):
            return True
        if mention.kind in ("step", "thing", "viscoelastic", "drug", "complication"):
            return False
    return False


def _behind_head(reading: Reading, mention: Mention) -> str | None:
    """The fate that the last head before it tells: of its sentence, or of the one before where it is a bare list."""
    near = reading.annotation.mentions_between(max(0, mention.start - LONG_SENTENCE), mention.start)
    head = next((m for m in reversed(near) if m.kind == "word" and m.id in HEADING and names_lens(reading, m)), None)
    if head is None:
        return None
    first, _ = reading.sentence(mention.start)
    bare = head.start >= reading.sentence(max(0, first - 1))[0] and _is_list(reading, first, mention.start)
    if head.start < first and not bare:
        return None
    if any(begins_other(reading, i) for i in range(head.end + HEAD_REACH, mention.start)):
        return None
    return HEADING[head.id]


def _is_list(reading: Reading, first: int, end: int) -> bool:
    """Whether data are told without a verb and without another lens ("Model D 55, twenty diopters.")."""
    words = reading.words[first:end]
    named = any(a.mention.key == "thing:lens" for a in reading.between(first, end))
    return not named and reading.grammar.auxiliary.isdisjoint(words) and reading.grammar.subject.isdisjoint(words)


def _fates(reading: Reading, start: int, stop: int) -> list[str]:
    """The fates told between two words; a lens that lies in its place by then was not left out."""
    first = bisect_left(reading.lens_fates, (start, ""))
    near = [(at, fate) for at, fate in reading.lens_fates[first : first + 20] if at < stop]
    near = [(at, fate) for at, fate in near if not _of_other_thing(reading, at)]
    if not any(fate == "lens_not_implanted" for _, fate in near):
        return [fate for _, fate in near]
    places = [
        a.mention.start
        for a in reading.between(start, stop)
        if a.mention.kind == "lens_location" and a.status is Status.DONE and not meant_for(reading, a.mention)
    ]
    placed = min(places, default=stop)
    return [fate for at, fate in near if fate == "lens_explanted" or at < placed or _of_lens(reading, at)]


def _of_lens(reading: Reading, at: int) -> bool:
    """Whether a fate can be that of a lens only ("not implanted", not "thrown away")."""
    near = reading.annotation.mentions_between(at, at + 1)
    return any(m.id == "lens_not_implanted" and OF_LENS & set(reading.words[m.start : m.end]) for m in near)


def _of_other_thing(reading: Reading, at: int) -> bool:
    """ "A tension ring was not used": what stands right before a fate is no lens."""
    near = [a.mention for a in reading.between(max(reading.clause(at).start, at - THING_REACH), at)]
    named = [m for m in near if m.kind in OTHER_THINGS or m.kind in ("thing", "lens_type", "lens_field")]
    return bool(named) and named[-1].kind in OTHER_THINGS


def meant_for(reading: Reading, place: Mention) -> bool:
    """ "I was ready with a three-piece for the sulcus": what a lens is for, where nothing was put there."""
    at = place.start
    while at > 0 and (reading.words[at - 1] in reading.grammar.determiner or reading.words[at - 1] == "ciliary"):
        at -= 1
    inside = reading.in_clause(place)
    put = any(a.mention.kind == "action" and a.mention.id in PUT and a.status is Status.DONE for a in inside)
    return "for" in (reading.words[at - 1 : at] + reading.words[place.start : place.start + 1]) and not put


def _old_lens(reading: Reading, mention: Mention) -> bool:
    """ "Old one-piece +20 lens with its bag lifted out": the lens that was in the eye before."""
    for i in range(max(0, mention.start - 4), mention.start):
        if reading.words[i] in FORMER:
            return any(a.mention.key == "thing:lens" for a in reading.between(i, mention.end + 3))
    return False


def _told_before(reading: Reading, first: int) -> list[str]:
    """What the sentence before tells of the lens of which a pronoun goes on ("… explanted. This was a 21.5")."""
    goes_on = reading.words[first : first + 1] and reading.words[first] in PRONOUNS
    if not goes_on or not first or reading.words[first + 1] not in ("was", "is", "had", "has"):
        return []
    before, _ = reading.sentence(first - 1)
    told = _fates(reading, before, first)
    return told[-1:] if first - before <= LONG_SENTENCE else []


def _told_next(reading: Reading, end: int) -> list[str]:
    """What the next sentence tells of the same lens by a pronoun ("… so it was not implanted")."""
    if end >= len(reading.words) or reading.sentence(end - 1)[1] - reading.sentence(end - 1)[0] > LONG_SENTENCE:
        return []
    _, last = reading.sentence(end)
    at = bisect_left(reading.lens_fates, (end, ""))
    if at == len(reading.lens_fates) or reading.lens_fates[at][0] >= last:
        return []
    fate_at, fate = reading.lens_fates[at]
    named = any(_is_of_lens(a.mention) for a in reading.between(end, fate_at))
    other = named or any(begins_other(reading, i) for i in range(end, fate_at))
    return [fate] if not other and PRONOUNS & set(reading.words[end:fate_at]) else []


def _is_of_lens(mention: Mention) -> bool:
    """Whether a mention names a lens, so that a pronoun behind it speaks of that one."""
    powered = mention.quantity is not None and mention.id in ("number", "diopter")
    return powered or mention.kind == "lens_type" or mention.key == "thing:lens"


def _other_lens(reading: Reading, mention: Mention, i: int) -> bool:
    """Whether talk of another lens begins at a word."""
    if i > mention.end + 4 and any(a.mention.key == "thing:lens" for a in reading.between(i, i + 1)):
        return reading.words[i - 1] in ("the", "a", "this", "new", "piece") or reading.clause(i).start >= i - 2
    return begins_other(reading, i)

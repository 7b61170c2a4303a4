"""People of the team told without a label: "Miss Cole operating", "by Dr Park", "Dr Bhatt was the anesthetist"."""

from collections.abc import Iterator
from dataclasses import dataclass

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.names import full_name, full_name_before, name_from
from zonule.binding.reading import Reading
from zonule.binding.role_words import (
    ACTS,
    ARTICLES,
    ASSISTS,
    BEFORE_ACT,
    BEFORE_LABEL,
    BEFORE_NAME,
    BEFORE_OWN_ACT,
    BEFORE_SPEAKER,
    BY_ACT,
    CLOSES,
    COPULAS,
    DEEDS,
    DENIED,
    DICTATED,
    DICTATED_BY_END,
    DOCTORS,
    DROPS,
    FAR,
    FIELD_OF_GIVES,
    GAVE,
    GIVEN,
    GIVERS,
    GIVES,
    HEAD,
    LAY,
    LEADS,
    LED,
    LITTLE,
    MANAGED,
    NEAR_SURGEON,
    NO_ACT,
    PERFORMED,
    RAN,
    REACH,
    SMALL,
    SPEAKS,
    WHOLE,
    WHOLE_OPERATION,
)
from zonule.binding.sections import Section
from zonule.vocabulary import Status

SUPERVISORS = (("supervisor",), ("supervising",), ("trainer",))
"""Behind "dictating as": who dictates and did not operate."""
I_WAS = (("i", "am", "the"), ("i", "was", "the"))
"""Behind "dictating": what the speaker was."""


@dataclass(frozen=True, slots=True)
class Role:
    """Who fills a slot of the team; `act` is the word behind the name that says so, None where words before it do."""

    slot: str
    person: Asserted
    act: int | None = None


@dataclass(frozen=True, slots=True)
class _Part:
    """What words behind a name make of the person: the slot, and the label among those words if one is."""

    slot: str
    at: int
    own: int | None


def find_roles(reading: Reading, sections: list[Section]) -> Iterator[Role]:
    """The people of the team that no label names, at most one for each slot."""
    named = [s for s in sections if s.field.startswith("team.") or s.field == "patient.name"]
    labels = {s.label.end: s.label.start for s in named if not is_act(reading, s)}
    ends = {first: end for end, first in labels.items()}
    filled: set[str] = set()
    for role in _by_initial(reading, named):
        filled.add(role.slot)
        yield role
    for start, name, status, cue in _people(reading):
        if (_belongs_to_label(reading, labels, start) and not _acts_itself(reading, name)) or (
            _owns(reading, name) and not _supervises(reading, name)
        ):
            continue
        part = _part_behind(reading, name)
        if part is not None and part.slot == "team.scrub" and reading.words[start] in DOCTORS:
            continue
        slot = part.slot if part is not None else _by_words_before(reading, start, name)
        own = part.own if part is not None else None
        if own is not None:
            labels.pop(ends.get(own, -1), None)
        if slot is not None and slot not in filled:
            filled.add(slot)
            yield Role(slot, Asserted(Mention(name.start, name.end, "word", slot), status, cue), own)


def _by_initial(reading: Reading, named: list[Section]) -> Iterator[Role]:
    """ "S: Ruan Estcourt. A: Lise Obermoor.": the assistant by one letter, right behind the surgeon by one letter."""
    words = reading.words
    lettered = [s.end for s in named if s.field == LEADS and words[s.label.start : s.label.end] == ("s",)]
    for i in reading.where(frozenset({"a"})):
        behind = any(0 <= i - end <= NEAR_SURGEON for end in lettered)
        if not behind or words[i + 1 : i + 2] != (":",) or words[i - 1] not in (".", ",", ";", "\n"):
            continue
        name = name_from(reading, i + 2)
        if name is not None:
            yield Role(ASSISTS, Asserted(Mention(name.start, name.end, "word", ASSISTS), Status.DONE))
            return


def _people(reading: Reading) -> Iterator[tuple[int, Mention, Status, Mention | None]]:
    """Who is named with a title, or by full name beside words that tell the part; where the title or name starts."""
    people: dict[int, tuple[int, Mention, Status, Mention | None]] = {}
    for title in reading.of("title"):
        name = name_from(reading, title.mention.end)
        if name is not None:
            far = title.status is Status.NOT_DONE and _far_from(title, name)
            said = (Status.DONE, None) if far else (title.status, title.cue)
            people[name.start] = (title.mention.start, name, *said)
    named = {name.end for _, name, _, _ in people.values()}
    for name in _untitled(reading):
        if name.end not in named:
            people.setdefault(name.start, (name.start, name, Status.DONE, None))
    return iter(sorted(people.values(), key=lambda person: person[0]))


def _far_from(title: Asserted, name: Mention) -> bool:
    """ "Dr Ade, operation note for …, date of birth not known": a denial far from a person is of something else."""
    cue = title.cue
    return cue is not None and (cue.start > name.end + DENIED or cue.end < title.mention.start - DENIED)


def _untitled(reading: Reading) -> Iterator[Mention]:
    words = reading.words
    spoken = {i + 1 for i in reading.where(BEFORE_SPEAKER) if i + 1 < len(words)}
    for i in sorted(spoken.union(reading.where(ACTS))):
        name, word = None, words[i]
        if word in BY_ACT or word in GAVE or word in PERFORMED:
            name = full_name_before(reading, _before_small(words, i))
        elif i >= 1 and (_opens_with_speaker(words, i) or words[i - 1] == "by" or words[i - 2 : i] == ("this", "is")):
            name = full_name(reading, i) or _surname_of_speaker(reading, i)
        if name is not None:
            yield name
    for field in reading.of("field"):
        if field.mention.id.startswith("team.") or field.mention.id == "anesthesia":
            at = field.mention.start
            while at > 0 and words[at - 1] in BEFORE_LABEL:
                at -= 1
            name = full_name_before(reading, at) if at < field.mention.start else None
            if name is not None:
                yield name


def _surname_of_speaker(reading: Reading, i: int) -> Mention | None:
    """ "I'm Brewer, the attending": one capitalized word at the head, a part in the team told right behind."""
    spoken = reading.words[i - 1] in ("i'm", "'m") or reading.words[i - 2 : i] == ("i", "am")
    behind = reading.between(i + 1, i + NEAR_SURGEON + 2)
    closed = reading.words[i + 1 : i + 2] in ((",",), (".",)) and any(
        a.mention.kind in ("field", "title") for a in behind
    )
    name = name_from(reading, i) if spoken and closed and reading.cased and i <= HEAD else None
    return name if name is not None and not reading.between(i, i + 1) else None


def _opens_with_speaker(words: tuple[str, ...], i: int) -> bool:
    before = words[i - 1]
    return (
        any(words[max(0, i - len(said)) : i] == said for said in DICTATED_BY_END.get(before, ()))
        or before == "i"
        or (words[i - 2 : i] == ("i", ","))
    )


def _before_small(words: tuple[str, ...], i: int) -> int:
    while i > 0 and words[i - 1] in BEFORE_OWN_ACT:
        i -= 1
    return i


def _belongs_to_label(reading: Reading, labels: dict[int, int], start: int) -> bool:
    at = start
    while at > 0 and at not in labels and reading.words[at - 1] in BEFORE_NAME:
        at -= 1
    return at in labels


def _acts_itself(reading: Reading, name: Mention) -> bool:
    """ "I'm the surgeon, Dr Park is assisting": a label before the name is somebody else's."""
    words = reading.words[name.end : name.end + 2]
    return len(words) > 1 and words[0] in ("is", "was", "will") and BY_ACT.get(words[1], LEADS) != LEADS


def _owns(reading: Reading, name: Mention) -> bool:
    """ "Dr Park's patient"."""
    return reading.words[name.end : name.end + 1] in (("'s",), ("’s",), ("s",))


def _supervises(reading: Reading, name: Mention) -> bool:
    """ "Under Mr Lind's supervision"."""
    return reading.words[name.end + 1 : name.end + 2] in (("supervision",), ("guidance",))


def _part_behind(reading: Reading, name: Mention) -> _Part | None:
    """What the words behind a name say that the person did or was."""
    if _supervises(reading, name):
        return _Part("team.supervisor", name.end + 1, name.end + 1)
    return _act_behind(reading, name) or _noun_behind(reading, name)


def _act_behind(reading: Reading, name: Mention) -> _Part | None:
    """ "Operating", "is scrubbed", "gave the sedation", "was anesthesia"."""
    words = reading.words
    at = name.end
    behind = at + 1 + (words[at + 1 : at + 2] == ("the",))
    if words[at : at + 1] == ("from",) and words[behind : behind + 1] and words[behind] in FIELD_OF_GIVES:
        return _Part(GIVES, behind, behind)
    while at < min(len(words), name.end + 3) and words[at] in BEFORE_ACT:
        at += 1
    if at >= len(words):
        return None
    following = words[at + 1] if at + 1 < len(words) else ""
    if words[at] in LED and following == "by":
        return _Part(LEADS, at, None)
    if words[at] in GAVE or words[at : at + 2] == ("put", "in"):
        given = [a.mention for a in reading.between(at, at + 6) if a.mention.kind == "anesthesia"]
        return _Part(GIVES, at, at) if any(m.id not in DROPS for m in given) else None
    if words[at - 1] in RAN | {"on", "doing"} and words[at] in FIELD_OF_GIVES and words[at + 1 : at + 2] != (":",):
        return _Part(GIVES, at, at)
    if words[at] in RAN and following in FIELD_OF_GIVES:
        return _Part(GIVES, at + 1, at + 1)
    if words[at] in MANAGED | PERFORMED:
        return _thing_done(reading, at)
    if words[at] not in BY_ACT or following in NO_ACT:
        return None
    slot = BY_ACT[words[at]]
    if following == "as" and words[at + 2 : at + 3] in SUPERVISORS:
        return _Part("team.supervisor", at + 2, at + 2)
    if words[at + 1 : at + 4] in I_WAS and words[at + 4 : at + 5] in SUPERVISORS:
        return _Part("team.supervisor", at + 4, at + 4)
    return _Part(slot, at, at if slot != LEADS else None)


def _thing_done(reading: Reading, at: int) -> _Part | None:
    """ "Did the general anesthetic", "performed the operation": the whole of it."""
    words = reading.words
    behind = at + 1 + (words[at + 1 : at + 2] == ("out",))
    while behind < len(words) and words[behind] in LITTLE | {"this"}:
        behind += 1
    if words[at] in MANAGED and any(
        a.mention.kind == "anesthesia" and a.mention.id in WHOLE for a in reading.between(behind, behind + 1)
    ):
        return _Part(GIVES, at, at)
    whole = words[behind : behind + 1] and words[behind] in WHOLE_OPERATION
    return _Part(LEADS, at, None) if whole and words[at] in PERFORMED else None


def _noun_behind(reading: Reading, name: Mention) -> _Part | None:
    """ ", our anesthetist", "was the surgeon", "as my assistant", "at the assistant's scope"."""
    words = reading.words
    at = name.end
    at += words[at : at + 1] in ((",",), ("(",))
    led = at
    while at < min(len(words), led + 4) and words[at] in COPULAS | ARTICLES | (SMALL - {",", "and"}):
        at += 1
    for field in reading.between(at, at + 1):
        behind = field.mention.end
        if at == led and behind < len(words) and words[behind] not in CLOSES:
            continue
        known = field.mention.kind == "field" and field.mention.id.startswith("team.")
        if not known or words[at] in BY_ACT or words[at : at + 1] == ("operated",):
            continue
        while words[behind : behind + 1] in (("is",), ("was",), (":",), ("today",)):
            behind += 1
        again = behind > field.mention.end and (name_from(reading, behind) or _titled(reading, behind))
        if not again and not _titled(reading, behind):
            leads = field.mention.id == LEADS and words[behind : behind + 1] in (("supervising",), ("supervisor",))
            return _Part("team.supervisor" if leads else field.mention.id, at, at)
    return None


def is_act(reading: Reading, section: Section) -> bool:
    """ "You're assisting, Sister Kerr is scrubbed": what somebody does, and no label of the name behind."""
    start, end = section.label.start, section.label.end
    does = reading.words[end - 1] in BY_ACT and end - start == 1
    if does and SPEAKS & set(reading.words[max(0, start - 2) : start]) and reading.words[end - 1] != "supervised":
        return True
    closed = reading.words[end : end + 1] in ((), (",",), (".",), (";",), ("\n",), ("and",))
    before = reading.words[max(0, start - 1) : start]
    return does and closed and bool({"you're", "is", "are", "'re", "was", "i'm", "in"} & set(before))


def _titled(reading: Reading, i: int) -> bool:
    return any(a.mention.kind == "title" for a in reading.between(i, i + 1))


def slot_by_act(reading: Reading, name: Mention) -> str | None:
    """The slot of the team that the words behind a name tell ("my attending, Dr Park, supervised")."""
    part = _act_behind(reading, name)
    return part.slot if part is not None else None


def _by_words_before(reading: Reading, start: int, name: Mention) -> str | None:
    words = reading.words
    before = start
    while before > 0 and words[before - 1] in SMALL:
        before -= 1
    if any(words[max(0, at - len(said)) : at] == said for said in DICTATED for at in (start, before)):
        return _own_act(words, name.end) or LEADS
    if words[start - 1] == "by" and "assisted" in words[max(0, start - 3) : start - 1]:
        return ASSISTS
    if words[start - 1] in ("assisting", "assisted") and SPEAKS & set(words[max(0, start - 3) : start - 1]):
        return LEADS
    if words[start - 1 : start] == ("i",) or (start > 1 and words[start - 2 : start] == ("i", ",")):
        at = name.end + (words[name.end : name.end + 1] == (",",))
        return LEADS if words[at : at + 1] and words[at] in DEEDS else None
    if words[start] in LAY or start == name.start:
        return GIVES if start == name.start and _gave_anesthesia(reading, start) else None
    if "this" in words[max(0, before - 2) : start] and "is" in words[max(0, before - 1) : start] and start <= HEAD:
        return LEADS
    return GIVES if _gave_anesthesia(reading, start) else None


def _own_act(words: tuple[str, ...], i: int) -> str | None:
    """What the speaker says to do beside the own name: "and I'll be assisting Dr Park"."""
    for at in range(i + 1, min(len(words), i + 8)):
        if words[at] in (".", "\n"):
            return None
        if words[at] in BY_ACT and SPEAKS & set(words[max(i, at - 2) : at]):
            return BY_ACT[words[at]]
    return None


def _gave_anesthesia(reading: Reading, start: int) -> bool:
    """Whether anesthesia stands right before the title, no more between than "given by" or a remark in brackets."""
    words = reading.words
    if words[start - 1] == "by" and (
        words[start - 2] in GIVERS or words[max(0, start - 3) : start - 1] == ("put", "in")
    ):
        first, _ = reading.sentence(start)
        first = max(first, start - FAR)
        return not {"block", *FIELD_OF_GIVES}.isdisjoint(words[first:start]) or any(
            a.mention.kind == "anesthesia" for a in reading.between(first, start)
        )
    for asserted in reversed(reading.between(max(0, start - REACH), start)):
        mention = asserted.mention
        if mention.kind not in ("anesthesia", "field") or (mention.kind == "field" and mention.id != "anesthesia"):
            continue
        between = _outside_brackets(reading.words[mention.end : start])
        giver = bool({"by", "-", ":", "from"} & set(between))
        return (
            asserted.status is Status.DONE
            and set(between) <= GIVEN | {","}
            and (giver or mention.kind == "field" or mention.id in WHOLE)
        )
    return False


def _outside_brackets(words: tuple[str, ...]) -> list[str]:
    kept: list[str] = []
    inside = 0
    for word in words:
        inside += word == "("
        if not inside:
            kept.append(word)
        inside -= word == ")" and inside > 0
    return kept

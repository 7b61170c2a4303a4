"""People named without a label, from their acts: "Miss Cole operating", "dictated by Dr Park", "GA - Dr Moran"."""

from collections.abc import Iterator
from dataclasses import dataclass

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.names import name_from
from zonule.binding.reading import Reading
from zonule.binding.sections import Section
from zonule.vocabulary import Status

LAY = frozenset({"mr", "mrs", "ms", "miss", "mister", "missus", "master"})
LEADS = "team.surgeon"
BY_ACT = {
    "operating": LEADS,
    "dictating": LEADS,
    "assisting": "team.assistant",
    "assisted": "team.assistant",
    "supervised": "team.supervisor",
    "supervising": "team.supervisor",
    "scrubbing": "team.scrub",
    "scrubbed": "team.scrub",
    "gave": "team.anesthetist",
    "anaesthetising": "team.anesthetist",
    "anaesthetizing": "team.anesthetist",
    "anesthetizing": "team.anesthetist",
}
"""What stands behind a name and says what the person did."""
LED = frozenset({"assisted", "supervised"})
"""Behind a name and before "by": who was helped is the surgeon."""
NO_ACT = frozenset({"room", "theatre", "theater", "microscope", "list", "by", "table"})
"""Behind "operating" and its like: no act."""
SMALL = frozenset({"uh", "um", "er", ",", "here", "is", "was", "now", "today", "and"})
DICTATED = (("dictated", "by"), ("dictation", "by"), ("note", "by"), ("report", "by"), ("i", "am"), ("i'm",))
GIVEN = frozenset(
    {"given", "by", "done", "administered", "performed", "was", "is", "with", "-", ":", "(", ")", "uh", "um"}
)
WHOLE = frozenset({"general", "sedation"})
"""Anesthesia that is never the surgeon's own: its giver needs no "by"."""
HEAD = 30
"""Words at the head of a dictation within which "this is Dr Park" names who dictates."""
REACH = 8
FAR = 20
"""Words of a sentence within which "given by Dr Moran" speaks of its anesthesia."""


@dataclass(frozen=True, slots=True)
class Role:
    """Who fills a slot of the team; `act` is the word behind the name that says so, None where words before it do."""

    slot: str
    person: Asserted
    act: int | None = None


def find_roles(reading: Reading, sections: list[Section]) -> Iterator[Role]:
    """The people of the team that no label names, at most one for each slot."""
    labels = {s.label.end: s.label.start for s in sections if s.field.startswith("team.")}
    ends = {first: end for end, first in labels.items()}
    filled: set[str] = set()
    for title in reading.of("title"):
        start = title.mention.start
        name = name_from(reading, title.mention.end)
        if name is None or _belongs_to_label(reading, labels, start) or _owns(reading, name):
            continue
        act = _act_behind(reading, name)
        slot = _by_act(reading.words, act) if act is not None else _by_words_before(reading, start)
        own = act if slot != LEADS else None
        if own is not None:
            labels.pop(ends.get(own, -1), None)
        if slot is not None and slot not in filled:
            filled.add(slot)
            yield Role(slot, Asserted(Mention(name.start, name.end, "word", slot), title.status, title.cue), own)


def _belongs_to_label(reading: Reading, labels: dict[int, int], start: int) -> bool:
    at = start
    while at > 0 and at not in labels and (reading.words[at - 1] in SMALL | {":", "-", "the", "our", "by"}):
        at -= 1
    return at in labels


def _owns(reading: Reading, name: Mention) -> bool:
    """ "Dr Park's patient"."""
    return reading.words[name.end : name.end + 1] in (("'s",), ("’s",), ("s",))


def _act_behind(reading: Reading, name: Mention) -> int | None:
    """The word behind a name that says what the person did."""
    words, at = reading.words, name.end
    while at < min(len(words), name.end + 3) and words[at] in SMALL:
        at += 1
    if at >= len(words):
        return None
    following = words[at + 1] if at + 1 < len(words) else ""
    if words[at] in LED and following == "by":
        return at
    if words[at] == "gave":
        return at if any(a.mention.kind == "anesthesia" for a in reading.between(at, at + 4)) else None
    return at if words[at] in BY_ACT and following not in NO_ACT else None


def slot_by_act(reading: Reading, name: Mention) -> str | None:
    """The slot of the team that the words behind a name tell ("my attending, Dr Park, supervised")."""
    act = _act_behind(reading, name)
    return _by_act(reading.words, act) if act is not None else None


def _by_act(words: tuple[str, ...], act: int) -> str:
    return LEADS if words[act] in LED and words[act + 1 : act + 2] == ("by",) else BY_ACT[words[act]]


def _by_words_before(reading: Reading, start: int) -> str | None:
    words = reading.words
    before = start
    while before > 0 and words[before - 1] in SMALL:
        before -= 1
    if any(words[max(0, before - len(said)) : before] == said for said in DICTATED):
        return LEADS
    if words[start] in LAY:
        return None
    if "this" in words[max(0, before - 2) : start] and "is" in words[max(0, before - 1) : start] and start <= HEAD:
        return LEADS
    return "team.anesthetist" if _gave_anesthesia(reading, start) else None


def _gave_anesthesia(reading: Reading, start: int) -> bool:
    """Whether anesthesia stands right before the title, no more between than "given by" or a remark in brackets."""
    if reading.words[start - 1] == "by" and reading.words[start - 2] in ("given", "administered"):
        first, _ = reading.sentence(start)
        return any(a.mention.kind == "anesthesia" for a in reading.between(max(first, start - FAR), start))
    for asserted in reversed(reading.between(max(0, start - REACH), start)):
        mention = asserted.mention
        if mention.kind not in ("anesthesia", "field") or (mention.kind == "field" and mention.id != "anesthesia"):
            continue
        between = _outside_brackets(reading.words[mention.end : start])
        giver = bool({"by", "-", ":"} & set(between))
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

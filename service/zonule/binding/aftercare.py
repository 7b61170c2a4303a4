"""The plan: drops, follow-up, instructions."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.reading import Reading
from zonule.binding.sections import Section, section_at
from zonule.vocabulary import Status

SEEING = frozenset(
    {
        "follow",
        "followup",
        "follow-up",
        "review",
        "reviewed",
        "see",
        "seen",
        "clinic",
        "return",
        "back",
        "appointment",
        "check",
        "visit",
        "followed",
        "office",
        "postoperative",
        "outpatients",
        "outpatient",
        "recheck",
        "postop",
        "opd",
        "returns",
        "control",
        "controlled",
        "rv",
        "tca",
        "r/v",
    }
)
CHAIN = frozenset(
    {"and", "then", "again", "after", "at", "in", ",", "also", "once", "more", "next", "a", "week", "day", "morning"}
)
"""Words that string a further day to come back to the one before."""
TOMORROW = frozenset({"tomorrow"})
ELSEWHERE = frozenset(
    {"optician", "optometrist", "glasses", "spectacles", "refraction", "gp", "ros", "sutures", "suture"}
)
"""Words right before a duration that make it no visit to the clinic."""
POSTOPERATIVE = {"pod1": 1, "pow1": 7, "pom1": 28}
AMOUNT = frozenset({"for", "over", "every", "taper", "tapering", "qds", "tds", "bd", "daily", "od", "x"})
SPANS = {"week": 7, "fortnight": 14, "month": 28}
AFTER_A = frozenset({("in", "a"), ("after", "a"), ("then", "a"), ("at", "a"), ("and", "a")})
ORDINALS = {"first": 1, "second": 2, "third": 3}
AT_OPERATION = frozenset({"local_anesthetic", "mydriatic", "antiseptic", "dye", "enzyme"})
"""Classes that are given at the operation, however often."""
HOME_REACH = 9
"""Words between a drug and how often it is to be taken."""
NEVER_THEIRS = frozenset({Status.HABITUAL, Status.HYPOTHETICAL, Status.OTHER_EYE, Status.HISTORICAL, Status.NOT_DONE})


def bind_aftercare(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """What was ordered for afterwards; being a plan is what makes it a fact here."""
    for drug in reading.of("drug", "drug_class"):
        if is_for_home(reading, sections, drug):
            yield found("plan.drops", drug.mention.id, _ordered(drug))
    for order in reading.of("instruction"):
        section = section_at(sections, order.mention.start)
        if section is not None and section.field == "plan":
            yield found("plan.instructions", order.mention.id, _ordered(order))
    spoken = list(_spoken_days(reading, sections))
    days = [f.mentions[0] for f in spoken]
    before: Mention | None = None
    for value in reading.of("quantity"):
        if value.mention.id != "duration_days":
            continue
        before = _latest(before, days, value.mention)
        behind = before.end if before is not None else 0
        if _sees_again(reading, sections, value, behind) or _then_again(reading, before, value.mention):
            before = value.mention
            quantity = value.mention.quantity
            if quantity is not None and isinstance(quantity.value, float | int):
                yield found("plan.follow_up_days", float(quantity.value), _appointed(value))
    yield from spoken


def _latest(before: Mention | None, spoken: list[Mention], value: Mention) -> Mention | None:
    """The day to come back that was told last before a duration, in figures or in words."""
    at = bisect_right(spoken, value.start, key=lambda m: m.end) - 1
    earlier = [m for m in (before, spoken[at] if at >= 0 else None) if m is not None]
    return max(earlier, key=lambda m: m.end, default=None)


def is_for_home(reading: Reading, sections: list[Section], drug: Asserted) -> bool:
    """Whether a drug is ordered for afterwards: in the plan, planned, or said with how often it is to be taken."""
    section = section_at(sections, drug.mention.start)
    if section is not None and section.field == "plan":
        return True
    if drug.status is Status.PLANNED:
        return True
    if drug.mention.term is not None and AT_OPERATION & set(drug.mention.term.classes):
        return False
    _, last = reading.sentence(drug.mention.start)
    end = min(last, drug.mention.end + HOME_REACH)
    following = [
        a.mention.start
        for a in reading.between(drug.mention.end, end)
        if a.mention.kind == "step" or (a.mention.kind == "drug" and not _strung(reading, drug.mention, a.mention))
    ]
    at = bisect_left(reading.frequencies, drug.mention.end)
    return at < len(reading.frequencies) and reading.frequencies[at] < min([end, *following])


def _strung(reading: Reading, first: Mention, second: Mention) -> bool:
    """ "Prednisolone and ketorolac drops four times a day": one order for both."""
    gap = reading.gap(first.end, second.start)
    return bool(gap) and set(gap) <= {"and", ",", "plus", "+", "&", "with", "drops", "drop"}


def _appointed(asserted: Asserted) -> Asserted:
    """A day to come back is ordered whatever verb orders it ("should come back"), save on a condition or long ago."""
    if asserted.cue is not None and asserted.cue.id in ("if", "general", "long_ago"):
        return asserted
    return Asserted(asserted.mention, Status.DONE)


def _ordered(asserted: Asserted) -> Asserted:
    if asserted.status in NEVER_THEIRS:
        return asserted
    return Asserted(asserted.mention, Status.DONE)


def _sees_again(reading: Reading, sections: list[Section], value: Asserted, behind: int) -> bool:
    """Whether a word of seeing the patient stands near a duration, and no other duration between."""
    start, end = value.mention.start, value.mention.end
    if (
        set(reading.words[max(0, start - 2) : start]) & AMOUNT
        or set(reading.words[max(0, start - 4) : start]) & ELSEWHERE
    ):
        return False
    at = bisect_left(reading.frequencies, start - 4)
    if at < len(reading.frequencies) and reading.frequencies[at] < start:
        gap = set(reading.gap(reading.frequencies[at], start))
        if not gap & (SEEING | {".", ";", ",", "\n", "f", "r", "then"}):
            return False  # how long drops are to be taken
    if _reviews(reading, sections, start):
        return True
    first, last = reading.sentence(start)
    alive = [i for i in range(max(first, behind), start) if i not in reading.dead_words]
    near = {reading.words[i] for i in alive[-7:]} | set(reading.words[end : min(last, end + 6)])
    return bool(near & SEEING)


def _then_again(reading: Reading, before: Mention | None, value: Mention) -> bool:
    """ "After one day and again after one week", "two weeks, make that four": strung to a day to come back."""
    if before is None or value.start - before.end > 8:
        return False
    gap = [reading.words[i] for i in range(before.end, value.start) if i not in reading.dead_words]
    return set(gap) <= CHAIN


def _reviews(reading: Reading, sections: list[Section], start: int) -> bool:
    """ "R/V 3/52", "f/u POD 1": a label that asks for a review stands right before."""
    section = section_at(sections, start)
    if section is None or section.field != "plan" or start - section.label.end > 2:
        return False
    label = set(reading.words[section.label.start : section.label.end])
    return bool(label & {"r", "f", "rv", "fu", "review", "follow", "followup", "return"})


def _spoken_days(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """ "Tomorrow", "the next day", "day one", "first postoperative day"."""
    words = reading.words
    for i, word in enumerate(words):
        day = None
        if (
            word in TOMORROW
            or (word == "day" and words[i - 1 : i] == ("next",))
            or (word == "day" and words[i - 1 : i] == ("following",))
        ) or (word in ("day", "pod") and words[i + 1 : i + 2] in (("1",), ("one",))):
            day = 1
        elif word in SPANS and words[max(0, i - 2) : i] in AFTER_A:
            day = SPANS[word]
        elif word in POSTOPERATIVE:
            day = POSTOPERATIVE[word]
        elif word in ORDINALS and set(words[i + 1 : i + 4]) >= {"day"} and set(words[i + 1 : i + 3]) & {
            "postoperative", "post", "postop", "day"
        }:  # fmt: skip
            day = ORDINALS[word]
        if day is None or any(0 < c.start - i <= 3 for c in reading.corrections):
            continue
        first, last = reading.sentence(i)
        clause = reading.clause(i)
        first, last = max(first, clause.start), min(last, clause.end)
        near = set(words[max(first, i - 12) : min(last, i + 8)])
        section = section_at(sections, i)
        if near & SEEING or word in ("pod", *POSTOPERATIVE) or (section is not None and section.field == "plan"):
            yield found("plan.follow_up_days", float(day), Asserted(Mention(i, i + 1, "word", "day"), Status.DONE))

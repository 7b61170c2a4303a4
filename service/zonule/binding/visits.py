"""When the patient is to be seen again: every visit ordered, in days; not a habit, not a condition, nobody else's."""

from bisect import bisect_left
from collections.abc import Iterator
from typing import NamedTuple

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.reading import Reading
from zonule.binding.sections import Section, section_at
from zonule.vocabulary import Status

SLOT = "plan.follow_up_days"
SEEING = frozenset(
    {
        "follow", "followup", "follow-up", "review", "reviewed", "reviewing", "see", "seen", "seeing", "clinic",
        "return", "back", "appointment", "check", "visit", "followed", "office", "postoperative", "outpatients",
        "outpatient", "recheck", "postop", "opd", "returns", "returning", "come", "comes", "coming",
        "inspection",
        "control", "controlled", "rv", "tca", "r/v", "examine", "examined", "attend", "attends", "attending",
    }
)  # fmt: skip
CHAIN = SEEING | {
    "and", "then", "again", "after", "at", "in", ",", "also", "once", "more", "next", "a", "week", "day", "morning",
    "tomorrow", "'s", "’s", "'", "time", "dressing",
    "on", "for", "another", "finally", "plus", "+", "&", "the", "month",
}  # fmt: skip
"""Words that string a further day to come back to the one before."""
CHAIN_REACH = 8
INSTEAD_REACH = 10
REPLACES = (
    ("make", "that"), ("make", "it"), ("change", "that", "to"), ("rather",), ("i", "mean"), ("that's",), ("say",),
    ("actually",), ("sorry",), ("no",), ("let's", "say"),
)  # fmt: skip
"""Wording between a day to come back and the one that takes its place."""
ANEW = frozenset(
    {".", ",", "no", "sorry", "actually", "correction", "wait", "make", "change", "that", "it", "to", "a", "one"}
)
"""Words of a sentence of its own that puts another day in the place of the one before ("No, make that a week")."""
ELSEWHERE = frozenset(
    {"optician", "optometrist", "glasses", "spectacles", "refraction", "gp", "ros", "sutures", "suture", "call"}
)
"""Words right before a duration that make it no visit to the clinic."""
ASLEEP = frozenset({"anesthesia", "anaesthesia", "anesthetic", "anaesthetic", "eua"})
ASLEEP_REACH = 5
"""Words before a day within which it is said that the patient sleeps."""
CALLED = 3
"""Words before a day within which somebody is to be called then, and not seen."""
DAY = 86400
"""Seconds."""
SHORT_DAYS = 7
SHORT_SPAN = range(1, SHORT_DAYS + 1)
SHORT_REACH = 3
"""Words before "1 d" within which a visit is told of."""
NEXT_DAY = (("next", "day"), ("following", "day"))
AMOUNT = frozenset({"for", "over", "every", "taper", "tapering", "qds", "tds", "bd", "daily", "od", "x", "ago"})
POSTOPERATIVE = {"pod1": 1, "pow1": 7, "pom1": 28}
SPANS = {"week": 7, "fortnight": 14, "month": 28}
SHORT = {"week": 7, "wk": 7, "month": 28, "day": 1, "pod": 1, "w": 7, "m": 28, "d": 1}
"""Before a figure, or in "1w" behind it: days in one."""
AFTER_A = frozenset({"in", "after", "then", "at", "and", "about", "again", ","})
"""Before "a week": a day to come back, no length."""
ORDINALS = {"first": 1, "second": 2, "third": 3}
VAGUE = frozenset({("couple", "of"), ("few",), ("next",)})
"""Before weeks or months: nobody has said how many days."""
OTHERS = frozenset(
    {
        "them", "they", "they'll", "patients", "children", "kids", "most", "others", "people", "everyone", "everybody",
        "sister", "brother", "mother", "father", "husband", "wife", "diabetics", "somebody", "someone", "you'd",
    }
)  # fmt: skip
"""Of these a visit is told that is not this patient's."""
HABITS = frozenset(
    {"normally", "usually", "generally", "routinely", "always", "typically", "ordinarily", "often", "used"}
)
ANY_ONE = frozenset({"a", "an", "any", "every", "some"})
VISITS = SEEING | {
    "further", "second", "first", "final", "routine", "repeat", "week", "month", "fortnight", "day", "couple", "few",
    "phone", "telephone", "post", "good", "little", "bit", "single", "standard", "quick", "two", "one",
}  # fmt: skip
"""Behind "a" at the head of a clause: the visit itself; any other noun there is another patient ("a diabetic")."""
INVERTED = frozenset({"should", "were", "had"})
"""At the head of a clause these make a condition: "should she have pain"."""
CONDITIONS = frozenset({"if", "whenever", "case"})
BREAKS = frozenset({".", ";", "\n", "(", ":", "-"})
SEE_REACH = 7
BEHIND_REACH = 6
CONDITION_REACH = 5
CONDITION_BEFORE = 12
"""Words before a visit within which a condition holds for it, in text without punctuation."""
ALONE = 8
"""Words of a condition that ends a text without punctuation; a longer one goes with what follows."""
OWN_REACH = 5
"""Words between a word of seeing and the next duration within which it speaks of that one."""
LONG = 40
"""Words of a sentence before a visit that show that nothing parts the sentences of a text."""
ENDS = BREAKS | {","}
HEADS = ENDS | {"and", "but"}
"""Before the head of a clause."""
MORNING = ("in", "the", "morning")
UNIT = frozenset({"day", "days", "week", "weeks", "month", "months", "wk", "wks"})


class _Visit(NamedTuple):
    """Words that may tell when the patient is seen: `days` is None where they leave it open."""

    start: int
    end: int
    days: float | None
    mention: Mention
    asserted: Asserted | None = None
    sure: bool = False
    taken_back: bool = False


def bind_visits(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """The days to come back; an open one ("four to six weeks") and a conditional one become remarks.

    Source: common practice, no source. A week is 7 days, a month 28.
    """
    kept: list[tuple[_Visit, Status]] = []
    before: _Visit | None = None
    visits = list(_join_ranges(reading, _candidates(reading, sections)))
    starts = [*(visit.start for visit in visits[1:]), len(reading.words)]
    for visit, following in zip(visits, starts, strict=False):
        behind = before.end if before is not None else 0
        anew = before is not None and _anew(reading, before, visit)
        again = before is not None and not anew and _then_again(reading, before, visit)
        instead = anew or (before is not None and not again and _instead(reading, before, visit))
        if not (again or instead or visit.sure or _sees_again(reading, sections, visit, (behind, following))):
            continue
        status = kept[-1][1] if instead and kept else _status(reading, visit)
        if instead and kept:
            kept.pop()
        before = visit
        kept.append((visit, status))
    for visit, status in kept:
        if visit.taken_back:
            continue
        if visit.days is not None:
            cue = visit.asserted.cue if visit.asserted is not None and status is visit.asserted.status else None
            yield found(SLOT, float(visit.days), Asserted(visit.mention, status, cue))
        elif status is Status.DONE:
            yield found(SLOT, _words(reading, visit), Asserted(visit.mention, Status.PLANNED))


def _words(reading: Reading, visit: _Visit) -> str:
    return " ".join(reading.words[visit.start : visit.end])


def _candidates(reading: Reading, sections: list[Section]) -> list[_Visit]:
    visits = list(_in_words(reading, sections))
    for value in reading.of("quantity"):
        quantity = value.mention.quantity
        if value.mention.id == "duration_days" and quantity is not None and isinstance(quantity.value, float | int):
            days = None if quantity.limit == "range" else float(quantity.value)
            visits.append(_Visit(value.mention.start, value.mention.end, days, value.mention, value))
        elif quantity is not None and isinstance(quantity.value, float | int):
            visits += [
                _Visit(value.mention.start, value.mention.end, days, value.mention, value)
                for days in _days_in_short(reading, value.mention, float(quantity.value))
            ]
    ordered: list[_Visit] = []
    for visit in sorted(visits, key=lambda v: (v.start, -v.end)):
        if not ordered or visit.start >= ordered[-1].end:
            ordered.append(visit)
    return ordered


def _days_in_short(reading: Reading, mention: Mention, amount: float) -> Iterator[float]:
    """ "FU 1 d", which is no diopter, and "in 24 hours"."""
    if mention.id == "duration_s" and amount % DAY == 0 and 1 <= amount / DAY <= SHORT_DAYS:
        yield amount / DAY
    led = reading.words[max(0, mention.start - SHORT_REACH) : mention.start]
    seen = not (SEEING | {"fu", "f/u"}).isdisjoint(led) or led in (("r", "/", "v"), ("f", "/", "u"))
    if mention.id == "diopter" and reading.words[mention.end - 1] == "d" and seen and amount in SHORT_SPAN:
        yield amount


def _join_ranges(reading: Reading, visits: list[_Visit]) -> Iterator[_Visit]:
    """ "A week to ten days", "2 or 3 weeks", "a week or two": either of two days is none."""
    words = reading.words
    i = 0
    while i < len(visits):
        visit = visits[i]
        following = visits[i + 1] if i + 1 < len(visits) else None
        if following is not None and words[visit.end : following.start] in (("or",), ("to",), ("-",), ("or", "at")):
            visit = _open(visit.start, following.end, visit)
            i += 1
        elif words[visit.start - 1 : visit.start] == ("or",) and words[visit.start - 2][:1].isdigit():
            visit = _open(visit.start - 2, visit.end, visit)
        elif words[visit.end : visit.end + 1] == ("or",) and _counts(words, visit.end + 1):
            visit = _open(visit.start, visit.end + 2, visit)
        yield visit
        i += 1


def _open(start: int, end: int, visit: _Visit) -> _Visit:
    return _Visit(start, end, None, Mention(start, end, "word", "day"), visit.asserted, visit.sure)


def _counts(words: tuple[str, ...], i: int) -> bool:
    return i < len(words) and (words[i][0].isdigit() or words[i] in ("two", "so", "three"))


def _sees_again(reading: Reading, sections: list[Section], visit: _Visit, bounds: tuple[int, int]) -> bool:
    """Whether a word of seeing the patient stands near a duration; `bounds` are the durations before and behind."""
    words, start, end = reading.words, visit.start, visit.end
    if set(words[max(0, start - 2) : start]) & AMOUNT or set(words[max(0, start - 4) : start]) & ELSEWHERE:
        return False
    if words[end : end + 1] == ("ago",):
        return False
    if not ASLEEP.isdisjoint(words[max(0, start - ASLEEP_REACH) : start]):
        return False  # "we will examine him under anesthesia again at three months" is an operation
    at = bisect_left(reading.frequencies, start - 4)
    if at < len(reading.frequencies) and reading.frequencies[at] < start:
        gap = set(reading.gap(reading.frequencies[at], start))
        if not gap & (SEEING | {".", ";", ",", "\n", "f", "r", "then"}):
            return False  # how long drops are to be taken
    if _reviews(reading, sections, start):
        return True
    first, last = reading.sentence(start)
    if words[start:end] == MORNING:
        first = _back_to(words, first, start, ENDS)  # "back in a week, latanoprost in the morning"
    alive = [i for i in range(max(first, bounds[0]), start) if i not in reading.dead_words]
    if any(words[i] in SEEING or words[i : i + 2] == ("look", "at") for i in alive[-SEE_REACH:]):
        return True
    for i in range(end, min(last, end + BEHIND_REACH)):
        if words[i] in (",", ";") or (words[i] in ("then", "and") and i > end):
            return False
        if words[i] in SEEING:
            next_day = words[start - 1 : end] in NEXT_DAY and words[i] in ("review", "check", "visit", "appointment")
            return bounds[1] - i > OWN_REACH or (i == end and next_day)
    return False


def _then_again(reading: Reading, before: _Visit, visit: _Visit) -> bool:
    """ "After one day and again after one week": strung to a day to come back."""
    gap = _alive(reading, before.end, visit.start)
    return len(gap) <= CHAIN_REACH and set(gap) <= CHAIN


def _anew(reading: Reading, before: _Visit, visit: _Visit) -> bool:
    """ "In two weeks. No, make that one week": no more between them than the wording that puts one for the other."""
    gap = reading.words[before.end : visit.start]
    return bool({"make", "change"} & set(gap)) and ANEW.issuperset(gap)


def _instead(reading: Reading, before: _Visit, visit: _Visit) -> bool:
    """ "In one week, no, make it five days"."""
    gap = reading.words[before.end : visit.start]
    if len(gap) > INSTEAD_REACH or {".", "\n"} & set(gap):
        return False
    return any(gap[i : i + len(said)] == said for said in REPLACES for i in range(len(gap))) and (
        not SEEING & set(gap) or bool({"no", "sorry", "rather"} & set(gap))
    )


def _alive(reading: Reading, start: int, end: int) -> list[str]:
    return [reading.words[i] for i in range(start, end) if i not in reading.dead_words]


def _reviews(reading: Reading, sections: list[Section], start: int) -> bool:
    """ "R/V 3/52", "f/u POD 1": a label that asks for a review stands right before."""
    section = section_at(sections, start)
    if section is None or section.field != "plan" or start - section.label.end > 2:
        return False
    label = set(reading.words[section.label.start : section.label.end])
    return bool(label & {"r", "f", "rv", "fu", "f/u", "r/v", "review", "follow", "followup", "follow-up", "return"})


def _status(reading: Reading, visit: _Visit) -> Status:
    """A visit is ordered whatever verb orders it ("should come back"), save on a condition, of others, or long ago."""
    words, start = reading.words, visit.start
    first, last = reading.sentence(start)
    raw = start - first > LONG
    clause = max(reading.clause(start).start, start - SEE_REACH) if raw else _back_to(words, first, start, ENDS)
    before = max(0, start - CONDITION_BEFORE)
    plan = [i for i in range(before, start) if words[i] == "plan"]
    sentence = range(
        max([before, *plan]) if raw else _planned_anew(words, _back_to(words, first, start, BREAKS), start), start
    )
    cue = visit.asserted.cue if visit.asserted is not None else None
    if visit.asserted is not None and cue is not None and (not raw or cue.id in ("general", "long_ago")):
        of_other = visit.asserted.status is Status.OTHER_EYE and cue.start >= clause
        if of_other or cue.id in ("if", "general", "long_ago"):
            return visit.asserted.status
    if _is_conditional(words, sentence) or _is_conditional_behind(words, visit.end, last, raw=raw):
        return Status.HYPOTHETICAL
    said = {words[i] for i in range(clause, start)}
    head = clause + (words[clause] in ("and", "but", "so", "then"))
    another = words[head] in ANY_ONE and words[head + 1] not in VISITS and head + 1 < start and not raw
    usual = [i for i in range(clause, start) if words[i] == "usual" and words[i - 1] != "as"]
    usually = any("is" in words[i + 1 : min(i + 3, start)] for i in usual)
    return Status.HABITUAL if another or usually or said & (OTHERS | HABITS) else Status.DONE


def _planned_anew(words: tuple[str, ...], first: int, at: int) -> int:
    """Where ", and I will" begins behind a condition that follows what hangs on it; `first` where nothing does."""
    if words[first] in CONDITIONS:
        return first
    for i in range(at - 1, first + 1, -1):
        wills = words[i + 1] in ("i'll", "we'll") or words[i + 1 : i + 3] in (("i", "will"), ("we", "will"))
        if words[i - 1 : i + 1] == (",", "and") and wills:
            return i
    return first


def _is_conditional(words: tuple[str, ...], sentence: range) -> bool:
    for i in sentence:
        opens = words[i - 1] in HEADS or i == 0
        if words[i - 1] == "only" and i - 1 > sentence.start and words[i - 2] not in HEADS:
            continue  # "acetazolamide only if the pressure is up see him tomorrow"
        if words[i] in CONDITIONS or (words[i] in INVERTED and opens):
            return True
    return False


def _is_conditional_behind(words: tuple[str, ...], end: int, last: int, *, raw: bool) -> bool:
    """ "See her in two days if the pressure is up"."""
    for i in range(end, min(last, end + CONDITION_REACH)):
        if words[i] in ("and", "or", ",", "sooner", "earlier", "then"):
            return False
        if words[i] == "if":
            of_other = raw and words[i - 1] == "only" and i - end > 2  # "review tomorrow retina opinion only if"
            return not of_other and (last - i <= ALONE or not raw)
    return False


def _back_to(words: tuple[str, ...], first: int, at: int, marks: frozenset[str]) -> int:
    """The word behind the last of `marks` before `at`; one after the first word ("Normally,") does not part."""
    for i in range(at - 1, first, -1):
        if words[i] in marks and (words[i] != "," or i - first > 2):
            return i + 1
    return first


DAY_WORDS = frozenset({"tomorrow", "day", "morning", "week", "month", "weeks", "months", "days"}).union(
    POSTOPERATIVE, SHORT, SPANS, ORDINALS
)
"""Words at which a day to come back may be named."""


def _in_words(reading: Reading, sections: list[Section]) -> Iterator[_Visit]:
    """ "Tomorrow", "the next day", "day one", "week 1", "first postoperative day", "a week"."""
    words = reading.words
    for i in reading.where(DAY_WORDS):
        word, told = words[i], _day_at(words, i)
        if told is None:
            continue
        taken_back = i in reading.taken_back or any(0 < c.start - i <= 3 for c in reading.corrections)
        start, end, days = told
        mention = Mention(start, end, "word", "day")
        section = section_at(sections, i)
        planned = section is not None and section.field == "plan"
        sure = word in ("pod", *POSTOPERATIVE) or (planned and days is not None and word not in ("d", "morning"))
        sure = sure and ELSEWHERE.isdisjoint(words[max(0, start - CALLED) : start])
        yield _Visit(start, end, days, mention, None, sure and not taken_back, taken_back)


def _day_at(words: tuple[str, ...], i: int) -> tuple[int, int, float | None] | None:
    """The words around `i` that name a day to come back, and the days; None for the days where they are left open."""
    word, before, following = words[i], words[max(0, i - 1) : i], words[i + 1 : i + 2]
    if word in POSTOPERATIVE:
        return i, i + 1, POSTOPERATIVE[word]
    if word == "tomorrow":
        after = words[max(0, i - 2) : i] == ("day", "after")
        return (i - 2, i + 1, 2) if after else (i, i + 1, 1)
    if word == "day" and before in (("next",), ("following",)) and words[i : i + 2] != ("day", "after"):
        return i, i + 1, 1
    if word == "morning" and words[max(0, i - 2) : i] == ("in", "the"):
        return i - 2, i + 1, 1
    if word in ("week", "month", "weeks", "months", "days"):
        for said in VAGUE:
            if words[max(0, i - len(said)) : i] == said:
                return i - len(said), i + 1, None
    if word in SHORT and len(word) > 1 and following and (following[0].isdigit() or following == ("one",)):
        number = 1 if following == ("one",) else int(following[0])
        return (i, i + 2, SHORT[word] * number) if words[i + 2 : i + 3] not in (("/",), ("%",)) else None
    made = words[max(0, i - 3) : i - 1] in (("make", "that"), ("make", "it"), ("that", "to"), ("it", "to"))
    told = before == ("a",) and i > 1 and words[i - 2] in AFTER_A
    if word in SPANS and (told or (made and before in (("a",), ("one",)))):
        return i, i + 1, SPANS[word]
    if word in ORDINALS and "day" in words[i + 1 : i + 4] and set(words[i + 1 : i + 3]) & {
        "postoperative", "post", "postop", "day", "post-operative",
    }:  # fmt: skip
        return i, i + 1, ORDINALS[word]
    return None

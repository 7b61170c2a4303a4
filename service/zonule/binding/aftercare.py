"""The plan: drops, follow-up, instructions."""

from bisect import bisect_left
from collections.abc import Iterator

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.reading import Reading
from zonule.binding.sections import Section, section_at
from zonule.binding.visits import bind_visits
from zonule.vocabulary import Status

AT_OPERATION = frozenset({"local_anesthetic", "mydriatic", "antiseptic", "dye", "enzyme"})
"""Classes that are given at the operation, however often."""
HOME = (("at", "home"), ("home", "on"), ("home", "with"), ("take", "home"))
"""Words beside a drug, whatever its class, that say it is taken after the patient went home."""
COURSE = frozenset({"for", "x", "over", "another"})
"""Words before a number of days that say how long a drug is taken."""
FORMERLY = frozenset({"has", "had", "been", "used", "taken", "took", "taking", "using", "already"})
"""Words before a drug whose course the patient had before the operation."""
HOME_REACH = 12
"""Words between a drug and how often it is to be taken."""
LATER = tuple(
    tuple(said.split())
    for said in (
        "tonight", "this evening", "tomorrow", "from tonight", "from this evening", "from tomorrow",
        "from the morning", "starting tonight", "starting tomorrow", "starting this evening", "starting today",
        "beginning tonight", "beginning tomorrow", "to start", "to begin", "start tonight", "start tomorrow",
        "in the morning", "from today", "from the next",
    )
)  # fmt: skip
"""Right behind a drug: it is taken later than the operation."""
OF_ORDER = frozenset({"and", ",", "plus", "with", "drops", "drop", "ointment", "gel", "eye", "eyedrops", "both"})
"""Words between the drugs of one order and what tells when they are taken."""
STRINGS = frozenset({"and", ",", "plus", "+", "&", "with", "drops", "drop"})
"""Words between the drugs of one order."""
BEGINS = frozenset({"starts", "begins"})
"""Before a drug: the patient does, later."""
BOTTLES = frozenset({"bottles"})
"""Behind a drug: it is given to take along."""
HEADINGS = tuple((word, ":") for word in ("drops", "gtt", "gtts", "meds", "postop", "rx", "home", "discharge"))
"""How a line begins that orders what is taken afterwards."""
ORDER_REACH = 14
"""Words between how often one drug is to be taken and the next drug of the order."""
TYING = frozenset({"with", "and", "plus"})
APART = frozenset({"step", "drug", "action", "field", "procedure"})
"""Kinds between two drugs that are not of one order."""
INSIDE = frozenset({"intracameral", "subconjunctival", "intravitreal", "sub_tenon", "intravenous"})
"""Routes by which nobody takes a drug at home."""
ROUTE_REACH = 7
OF_ROUTE = frozenset({"of", "in", "given", "was", "the", "a", "then"})
"""Words between a drug and the route by which it was given."""
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
    yield from bind_visits(reading, sections)


def is_for_home(reading: Reading, sections: list[Section], drug: Asserted) -> bool:
    """Whether a drug is ordered for afterwards: in the plan, planned, or said with how often it is to be taken."""
    if _goes_inside(reading, drug.mention):
        return False
    section = section_at(sections, drug.mention.start)
    if section is not None and section.field == "plan":
        return True
    if drug.status is Status.PLANNED:
        return True
    if _at_home(reading, drug.mention):
        return True
    if drug.mention.term is not None and AT_OPERATION & set(drug.mention.term.classes):
        return False
    if _begins_later(reading, drug.mention):
        return True
    first, last = reading.sentence(drug.mention.start)
    if reading.words[first : first + 2] in HEADINGS or _behind_frequency(reading, drug.mention, first):
        return True
    end = min(last, drug.mention.end + HOME_REACH)
    following = [
        a.mention.start
        for a in reading.between(drug.mention.end, end)
        if a.mention.kind == "step" or (a.mention.kind == "drug" and not _strung(reading, drug.mention, a.mention))
    ]
    if _for_days(reading, drug.mention, min([end, *following])):
        return True
    at = bisect_left(reading.frequencies, drug.mention.end)
    return at < len(reading.frequencies) and reading.frequencies[at] < min([end, *following])


def _goes_inside(reading: Reading, drug: Mention) -> bool:
    """ "Cefuroxime intracameral drops for four weeks": a drug that was put into the eye is none of the drops behind."""
    near = [a.mention for a in reading.between(max(0, drug.start - ROUTE_REACH), drug.end + ROUTE_REACH)]
    amounts = {i for m in near if m.kind == "quantity" for i in range(m.start, m.end)}
    others = [m for m in near if m.kind == "drug" and m.end < drug.start]
    for route in near:
        if route.kind != "route" or route.id not in INSIDE or (others and route.end <= drug.start):
            continue
        apart = range(route.end, drug.start) if route.end <= drug.start else range(drug.end, route.start)
        if all(i in amounts or reading.words[i] in OF_ROUTE for i in apart):
            return True
    return False


def _begins_later(reading: Reading, drug: Mention) -> bool:
    """ "Prednisolone and ketorolac drops this evening", "starts dexamethasone", "we give two bottles to take"."""
    _, last = reading.sentence(drug.start)
    at = drug.end
    others = {a.mention.start: a.mention.end for a in reading.between(at, at + HOME_REACH) if a.mention.kind == "drug"}
    while at < last and (at in others or reading.words[at] in OF_ORDER):
        at = others.get(at, at + 1)
    behind = reading.words[at : min(last, at + 3)]
    if any(behind[: len(said)] == said for said in LATER):
        return True
    before = reading.words[max(0, drug.start - 4) : drug.start]
    return not BEGINS.isdisjoint(before) or not BOTTLES.isdisjoint(reading.words[at : min(last, at + 6)])


def _at_home(reading: Reading, drug: Mention) -> bool:
    """ "Atropine at home once a day", "she goes home on atropine"."""
    first, last = reading.sentence(drug.start)
    near = reading.words[max(first, drug.start - 3) : drug.start]
    if any(near[i : i + 2] in HOME[1:3] for i in range(len(near))):
        return True
    behind = reading.words[drug.end : min(last, drug.end + 5)]
    return any(behind[i : i + 2] in (HOME[0], HOME[3]) for i in range(len(behind)))


def _for_days(reading: Reading, drug: Mention, end: int) -> bool:
    """ "Dexamethasone drops for four weeks": a course of days is taken at home, and nothing given at the operation."""
    first, _ = reading.sentence(drug.start)
    if not FORMERLY.isdisjoint(reading.words[max(first, drug.start - 6) : drug.start]):
        return False
    return any(
        a.mention.id == "duration_days" and reading.words[a.mention.start - 1] in COURSE
        for a in reading.between(drug.end, end)
    )


def _behind_frequency(reading: Reading, drug: Mention, first: int) -> bool:
    """ "Dexamethasone drops four times a day for a month, and chloramphenicol for one week": how often the drug before
    is to be taken, and how long, stands between two drugs of one order."""
    at = bisect_left(reading.frequencies, drug.start)
    if at == 0 or reading.words[drug.start - 1] not in TYING:
        return False
    often = reading.frequencies[at - 1]
    if often < max(first, drug.start - ORDER_REACH):
        return False
    if any(a.mention.kind in APART for a in reading.between(often, drug.start)):
        return False
    following = reading.between(drug.end, drug.end + 5)
    return not any(a.mention.kind == "route" and a.mention.id in INSIDE for a in following)


def _strung(reading: Reading, first: Mention, second: Mention) -> bool:
    """ "Prednisolone, moxifloxacin and ketorolac drops four times a day": one order for all."""
    drugs = [a.mention for a in reading.between(first.end, second.start) if a.mention.kind == "drug"]
    named = {i for m in drugs for i in range(m.start, m.end)}
    gap = [reading.words[i] for i in range(first.end, second.start) if i not in named]
    return bool(gap) and set(gap) <= STRINGS


def _ordered(asserted: Asserted) -> Asserted:
    if asserted.status in NEVER_THEIRS:
        return asserted
    return Asserted(asserted.mention, Status.DONE)

"""Numbers whose parameter is not said with them but told by an order said before, or by "it"."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from zonule.assertion import Asserted
from zonule.binding.pedal import names_position
from zonule.binding.reading import Reading
from zonule.binding.settings_runs import Pair, accepts
from zonule.vocabulary import Status

JOINED = frozenset({"and", ",", "/", "&", "then", "the", "my"})
"""Words between the members of one list."""
LED = frozenset(
    {"for", "the", ":", ",", "at", "it", "was", "were", "to", "-", "settings", "with", "i", "had", "used", "of"}
)
"""Words between a phase and the numbers that stand for its settings."""
TIED = frozenset({"were", "was", "at", "of", "set", "to", "on", "are", "is", ":", "=", "both", "respectively"})
"""Words between a list of parameters and the list of their numbers."""
PHASED = frozenset({"for", "in", "during", "with", "on", "the"})
FAR = 15
"""Words between the order that was said and the numbers that follow it."""
APART = 8
"""Words between two parameters of one list."""
IN_FRONT = 3
"""Words before a parameter in which its number may stand ("60 percent power")."""
PRONOUNS = frozenset({"it", "this", "that"})
CHANGED = frozenset(
    {"down", "up", "to", "at", "back", "as", "low", "only", "about", "around", "just", "even", "on", "a"}
)
"""Words between the pronoun of a parameter and its number ("brought it down to 70")."""
STATED = frozenset({"was", "is"})
"""Words that tell a value against the usual one ("usually 400; today it was 340")."""
ACTED = frozenset({"past", "progressive"})


@dataclass(frozen=True, slots=True)
class Ordered:
    """Numbers with the parameters that an order gives them, and the words of those that no order settles."""

    pairs: tuple[Pair, ...]
    taken: frozenset[int]
    """Where the numbers start that are not to be read in another way."""


def read_order(reading: Reading, parameters: Sequence[Asserted], values: Sequence[Asserted]) -> Ordered:
    """What lists and pronouns tell.

    "Vacuum and flow were 60 and 25"; "sculpting vacuum 60, flow 25, quads 350 and 35": as many numbers as parameters,
    each possible for its own, take them in the same order; otherwise none is bound. "I dropped it to 70".
    """
    pairs: list[Pair] = []
    taken: set[int] = set()
    last: tuple[int, list[Asserted]] = (-1, [])
    for group in _groups(reading, values):
        start, end = group[0].mention.start, group[-1].mention.end
        order = _named_before(reading, parameters, start)
        elided = not order and _phased(reading, parameters, start, end)
        if elided:
            held = last[1] if 0 <= start - last[0] <= FAR else []
            order = held or _order_before(reading, parameters, start)
        if len(order) < 2:
            continue
        if len(order) == len(group) and all(_fits(p, v) for p, v in zip(order, group, strict=True)):
            pairs += [_standing_in(p, v, v) if elided else Pair(v, p) for p, v in zip(order, group, strict=True)]
            last = end, order
        elif not elided:
            continue
        taken.update(v.mention.start for v in group)
    for value in values:
        if value.mention.start not in taken and (pair := _by_pronoun(reading, parameters, value)) is not None:
            pairs.append(pair)
            taken.add(value.mention.start)
    return Ordered(tuple(pairs), frozenset(taken))


def _groups(reading: Reading, values: Sequence[Asserted]) -> Iterator[list[Asserted]]:
    """Two numbers or more with nothing but commas and "and" between."""
    group: list[Asserted] = []
    for value in values:
        if group and not JOINED.issuperset(reading.gap(group[-1].mention.end, value.mention.start)):
            if len(group) > 1:
                yield group
            group = []
        group.append(value)
    if len(group) > 1:
        yield group


def _named_before(reading: Reading, parameters: Sequence[Asserted], start: int) -> list[Asserted]:
    """The list of parameters right in front of the list of their numbers ("vacuum and flow were")."""
    names: list[Asserted] = []
    for parameter in reversed([p for p in parameters if start - FAR <= p.mention.start < start]):
        gap = reading.gap(parameter.mention.end, names[0].mention.start if names else start)
        if not (JOINED if names else TIED).issuperset(gap) or (names and not gap):
            break
        names.insert(0, parameter)
    return names if len(names) > 1 else []


def _phased(reading: Reading, parameters: Sequence[Asserted], start: int, end: int) -> bool:
    """Whether a phase is said with the numbers and no parameter of their own."""
    near = [p.mention for p in parameters if start - 4 <= p.mention.start <= end + 2]
    if any(p.end >= start - 1 for p in near):
        return False
    before = [a.mention for a in reading.between(start - 5, start) if a.mention.kind == "phase"]
    if before and LED.issuperset(reading.gap(before[-1].end, start)):
        return True
    behind = [a.mention for a in reading.between(end, end + 4) if a.mention.kind == "phase"]
    return bool(behind) and behind[0].start > end and PHASED.issuperset(reading.gap(end, behind[0].start))


def _order_before(reading: Reading, parameters: Sequence[Asserted], start: int) -> list[Asserted]:
    """The parameters of the last list of settings, in the order in which they were said with their numbers."""
    order: list[Asserted] = []
    following = start
    for parameter in reversed([p for p in parameters if p.mention.end <= start]):
        mention = parameter.mention
        reach = APART if order else FAR
        if following - mention.end > reach or any(p.mention.id == mention.id for p in order):
            break
        inside = [a.mention for a in reading.between(mention.end, following)]
        if order and any(m.kind == "phase" for m in inside):
            break
        order.insert(0, parameter)
        following = mention.start
    said = reading.between(max(0, following - IN_FRONT), start) if order else []
    numbers = [a.mention for a in said if a.mention.kind == "quantity" and not names_position(reading, a.mention)]
    return order if len(numbers) >= len(order) else []


def _fits(parameter: Asserted, value: Asserted) -> bool:
    mention, quantity = parameter.mention, value.mention.quantity
    if quantity is None or not isinstance(quantity.value, float | int) or not accepts(mention, value.mention):
        return False
    possible = mention.term.possible if mention.term is not None else None
    return possible is None or possible.low <= quantity.value <= possible.high


def _standing_in(parameter: Asserted, value: Asserted, status: Asserted) -> Pair:
    """A number that stands for its parameter too: what is told of its place is told of both."""
    named = replace(value.mention, kind="parameter", id=parameter.mention.id, term=parameter.mention.term)
    return Pair(Asserted(value.mention, status.status, status.cue), Asserted(named, status.status, status.cue))


def _by_pronoun(reading: Reading, parameters: Sequence[Asserted], value: Asserted) -> Pair | None:
    """ "The bottle is at 90 by default; I'm bringing it down to 70": the parameter last named, if it can have this."""
    words, start = reading.words, value.mention.start
    at = start - 1
    while at > 0 and words[at] in CHANGED | STATED:
        at -= 1
    if at < 1 or at == start - 1 or words[at] not in PRONOUNS or words[at - 1] in reading.grammar.preposition:
        return None
    if words[at - 1] in (".", ",", ";", "\n", "and") or names_position(reading, value.mention):
        return None
    earlier = [p for p in parameters if start - 2 * FAR <= p.mention.start < at]
    if not earlier or not _fits(earlier[-1], value):
        return None
    if not STATED.isdisjoint(words[at:start]) and earlier[-1].status is not Status.HABITUAL:
        return None
    barred = {"step", "drug", "implant", "lens_field", "viscoelastic", "incision_kind"}
    if any(a.mention.kind in barred for a in reading.between(earlier[-1].mention.end, at)):
        return None
    return _standing_in(earlier[-1], value, _today(reading, value))


def _today(reading: Reading, value: Asserted) -> Asserted:
    """A change told in the first person against what is usual was made here, where its own clause says nothing else."""
    clause = reading.clause(value.mention.start)
    cued = value.cue is not None and value.cue.start >= clause.start
    acts = clause.tense in ACTED and clause.subject.startswith(("i", "we"))
    if value.status is Status.HABITUAL and acts and not cued:
        return Asserted(value.mention, Status.DONE)
    return value

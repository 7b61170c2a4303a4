"""Nouns and their values in a row: which stands in front of which is decided for the whole row at once.

"Vacuum 350 flow 30" and "350 vacuum 30 flow" are one row read in two directions; a value alone cannot tell, the
cheapest way to place all of them can. The search keeps one way for each state, so its time grows with the length of
the row and no faster.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from zonule.assertion import Asserted

Cost = Callable[[Asserted, Asserted, bool], float | None]
"""What it costs to give a noun a value that stands in front or behind, and whether the noun has one already."""


@dataclass(frozen=True, slots=True)
class Toll:
    """What it costs to leave a noun without a value and a value without a noun."""

    noun: float
    value: float


class _Link(NamedTuple):
    """A value with its noun, and the pair before it."""

    value: Asserted
    noun: Asserted
    before: "_Link | None"


class _Way(NamedTuple):
    """One way to read the row so far: its cost, whether the last noun has a value, whether the next one has."""

    cost: float
    used: bool
    ahead: bool
    last: "_Link | None" = None


def pair_row(row: Sequence[tuple[Asserted, bool]], cost: Cost, toll: Toll) -> tuple[tuple[Asserted, Asserted], ...]:
    """The values of a row with their nouns (value, noun); `row` holds each member and whether it is a noun."""
    if not row:
        return ()
    ways = [_Way(0.0, used=True, ahead=False)]
    last: Asserted | None = None
    for (item, noun), following in zip(row, [*row[1:], None], strict=True):
        if noun:
            ways = [_Way(way.cost + _debt(way, toll), way.ahead, ahead=False, last=way.last) for way in ways]
            last = item
        else:
            right = following[0] if following is not None and following[1] else None
            ways = [new for way in ways for new in _place(way, item, (last, right), cost, toll)]
        ways = _best(ways)
    return _unlinked(min(ways, key=lambda way: way.cost + _debt(way, toll)).last)


def _unlinked(link: _Link | None) -> tuple[tuple[Asserted, Asserted], ...]:
    pairs = []
    while link is not None:
        pairs.append((link.value, link.noun))
        link = link.before
    return tuple(reversed(pairs))


def _debt(way: _Way, toll: Toll) -> float:
    return 0.0 if way.used else toll.noun


def _best(ways: list[_Way]) -> list[_Way]:
    """The cheapest way to each state; the earlier one of equals."""
    best: dict[tuple[bool, bool], _Way] = {}
    for way in ways:
        state = way.used, way.ahead
        if state not in best or way.cost < best[state].cost:
            best[state] = way
    return list(best.values())


def _place(
    way: _Way, value: Asserted, nouns: tuple[Asserted | None, Asserted | None], cost: Cost, toll: Toll
) -> Iterator[_Way]:
    """The ways to read one value: for the noun before, for the one behind, for none."""
    left, right = nouns
    if left is not None and (price := cost(left, value, way.used)) is not None:
        yield _Way(way.cost + price, True, way.ahead, _Link(value, left, way.last))
    if right is not None and not way.ahead and (price := cost(right, value, False)) is not None:
        yield _Way(way.cost + price, way.used, True, _Link(value, right, way.last))
    yield _Way(way.cost + toll.value, way.used, way.ahead, way.last)

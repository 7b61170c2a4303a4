"""A foot position told behind the lists that it holds for: "both FP3", "pedal in three for both"."""

from collections.abc import Sequence

from zonule.annotation.mentions import Mention
from zonule.binding.pedal import POSITION, count_of, numbered
from zonule.binding.reading import Reading
from zonule.binding.settings_phases import Phases
from zonule.binding.settings_runs import Pair

TALK = 15
"""Words between two settings of one talk, and between the last one and the position."""
OF_THESE = frozenset(
    {
        "of", "these", "those", "them", "this", "three", "two", "settings", "in", "at", "on", "with", "the", "foot",
        "position", "pedal", "fp", "was", "is", "were",
    }
)  # fmt: skip
"""Words between "all" and the position that it speaks of ("all these in foot position three")."""
WHOLE = frozenset({"all", "everything"})
NEAR = 4
"""Words between the position and the word that says whose it is."""
ENDS = frozenset({".", ";", "\n"})


def shared_positions(reading: Reading, phases: Phases, pairs: Sequence[Pair]) -> dict[int, int]:
    """The position of each setting, by the first word of its number, that was told for two lists or all at once.

    "400 and 32, both in foot position 2" speaks of two numbers and is left to the numbers.
    """
    ordered = sorted(pairs, key=lambda p: p.start)
    told: dict[int, int] = {}
    for mention in numbered(reading, 0, len(reading.words), POSITION):
        count, shared = count_of(mention), _whose(reading, mention)
        if count is None or not shared:
            continue
        before = [p for p in ordered if p.end <= mention.start]
        lists = _lists(reading, phases, before, mention)
        if not lists or (shared == "both" and (len(lists) < 2 or _of_two_numbers(reading, lists[-1], mention))):
            continue
        chosen = lists[-2:] if shared == "both" else lists
        told.update({p.value.mention.start: count for held in chosen for p in held})
    return told


def _whose(reading: Reading, mention: Mention) -> str:
    """ "Both" or "all", said close to a position in its sentence."""
    first, last = reading.sentence(mention.start)
    before = reading.words[max(first, mention.start - NEAR) : mention.start]
    behind = reading.words[mention.end : min(last, mention.end + 2)]
    for word in ("both", "all"):
        if word in before or behind[:2] == ("for", word):
            return word
    at = mention.start
    while at > first and reading.words[at - 1] in OF_THESE:
        at -= 1
    return "all" if reading.words[at - 1] in WHOLE and at > first else ""


def _lists(reading: Reading, phases: Phases, before: Sequence[Pair], mention: Mention) -> list[list[Pair]]:
    """The settings of the talk before a position, list by list of one phase."""
    lists: list[list[Pair]] = []
    following = mention.start
    for pair in reversed(before):
        positions = list(numbered(reading, pair.end, following, POSITION))
        if following - pair.end > TALK or any(p.start != mention.start for p in positions):
            break
        if lists and phases.of(lists[0][0]) == phases.of(pair):
            lists[0].insert(0, pair)
        else:
            lists.insert(0, [pair])
        following = pair.start
    return lists


def _of_two_numbers(reading: Reading, held: Sequence[Pair], mention: Mention) -> bool:
    """Whether "both" means the two numbers of the last list: they are two, in the sentence of the position."""
    return len(held) == 2 and ENDS.isdisjoint(reading.gap(held[-1].end, mention.start))

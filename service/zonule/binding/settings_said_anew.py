"""Settings that do not stand: given anew behind wording that corrects, or of a set that was not used."""

from collections.abc import Iterator, Sequence
from itertools import islice

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.reading import Reading
from zonule.binding.settings_phases import Phases
from zonule.binding.settings_runs import Pair
from zonule.vocabulary import Status

REACH = 20
"""Words between a value and the one that replaces it."""
TODAY_REACH = 14
"""Words between what is usual and what was set today."""
MOST_APART = 4
"""Times that one setting of a parameter may be another."""
TALK = frozenset({Status.HABITUAL, Status.HYPOTHETICAL, Status.PLANNED})
NOT = frozenset({"not", "never", "wasn't", "weren't", "didn't", "haven't", "hadn't", "don't", "aren't"})
USE = frozenset({"use", "used", "using"})
SETS = frozenset({"settings", "setting", "preset", "presets", "memory", "program", "programme", "parameters"})
"""What is not used as a whole; one of them must be named before the setting."""
THOSE = frozenset({"those", "that", "them", "these", "it"})
OF_SETTINGS = frozenset({"parameter", "quantity", "phase", "word", "field"})
"""Kinds of words between a setting and a denial of its use; anything else there may be what was not used."""


def corrected(reading: Reading, phases: Phases, pairs: Sequence[Pair]) -> Iterator[tuple[Pair, Mention | None]]:
    """Every setting, with the wording that took it back, None for those that stand.

    "Vacuum 400. No, wait, that's what I use on everyone, today the vacuum was 350": the parameter is named again behind
    wording of correction, for the same phase.
    """
    ordered = sorted(pairs, key=lambda p: p.start)
    for at, pair in enumerate(ordered):
        yield pair, _taken_back(reading, phases, ordered, at) if reading.corrections else None


def _taken_back(reading: Reading, phases: Phases, ordered: Sequence[Pair], at: int) -> Mention | None:
    pair = ordered[at]
    for other in islice(ordered, at + 1, at + 1 + REACH):
        if other.start - pair.end > REACH:
            return None
        if other.parameter.mention.id != pair.parameter.mention.id or phases.between(pair.end, other.start):
            continue
        cues = [c for c in reading.corrections if pair.end <= c.start and c.end <= other.start]
        named = other.parameter.mention.start != other.value.mention.start
        if cues and named and _follows(reading, cues[0], pair):
            return cues[0]
    return None


def _follows(reading: Reading, cue: Mention, pair: Pair) -> bool:
    """Whether wording of correction comes before anything else is told but more of the same parameter."""
    inside = [a.mention for a in reading.between(pair.end, cue.start)]
    kinds = {"step", "drug", "implant", "phase", "viscoelastic", "lens_field"}
    others = {m.id for m in inside if m.kind == "parameter"} - {pair.parameter.mention.id}
    return not others and not any(m.kind in kinds for m in inside)


def told_for_today(reading: Reading, pairs: Sequence[Pair], values: Sequence[Asserted]) -> Iterator[Pair]:
    """ "My habit is a vacuum of 400 for chopping, but today it was 340": a bare number of the parameter told before."""
    taken = {pair.value.mention.start for pair in pairs}
    for value in values:
        mention = value.mention
        led = reading.words[max(0, mention.start - 2) : mention.start]
        if mention.id != "number" or mention.start in taken or value.status is not Status.DONE:
            continue
        if led != ("it", "was") and led[-1:] not in (("today",), ("here",)):
            continue
        before = [p for p in pairs if mention.start - TODAY_REACH <= p.end <= mention.start]
        usual = max(before, key=lambda p: p.end, default=None)
        if usual is None or usual.value.status not in TALK or not _comparable(usual.value.mention, mention):
            continue
        between = reading.annotation.mentions_between(usual.end, mention.start)
        if any(m.cue is not None and m.cue.anchor for m in between):
            yield Pair(value, Asserted(usual.parameter.mention, value.status, value.cue))


def _comparable(first: Mention, second: Mention) -> bool:
    """Whether two numbers may be of one measure."""
    one, other = (m.quantity.value if m.quantity is not None else 0 for m in (first, second))
    if not isinstance(one, float | int) or not isinstance(other, float | int) or one <= 0:
        return False
    return 1 / MOST_APART <= other / one <= MOST_APART


def left_unused(reading: Reading, pair: Pair) -> bool:
    """ "The registrar's settings have vacuum 280, but we weren't using those": told in the sentence of the setting."""
    words = reading.words
    first, last = reading.sentence(max(0, pair.end - 1))
    if SETS.isdisjoint(words[max(first, pair.start - REACH) : pair.end]):
        return False
    for i in range(pair.end, min(last - 1, pair.end + REACH)):
        if words[i] in NOT and USE & set(words[i + 1 : i + 3]) and THOSE & set(words[i + 2 : i + 5]):
            inside = reading.between(pair.end, i)
            return all(a.mention.kind in OF_SETTINGS for a in inside)
    return False

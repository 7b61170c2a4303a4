"""Which phase of the operation a setting belongs to."""

from bisect import bisect_left
from collections.abc import Sequence
from functools import cached_property

from zonule.binding.pedal import MEMORY, count_of, names_position, numbered
from zonule.binding.reading import Reading
from zonule.binding.settings_marks import VITRECTOMY, Phase, find_phases
from zonule.binding.settings_runs import Pair
from zonule.binding.settings_whole import WHOLE, holds_throughout
from zonule.vocabulary import Status

PHASE_REACH = 45
"""Words over which a phase holds on when no other step intervenes."""
GLOBAL = frozenset({"bottle_height_cm", "infusion_pressure_mmhg"})
"""Parameters usually set once for all: a phase told in an earlier sentence does not hold on for them."""
INTRODUCES = frozenset({"for", "during", "in", "on", "through", "while", "when", "with", "at", "throughout"})
BETWEEN = frozenset({"the", "my", "our", "its", "that", "this", "both", "foot", "position", "fp", "all", "of"})
BETWEEN |= WHOLE | {"last", "first", "second", "remaining", "final", "rest", "2", "3", "other", "mode"}
BETWEEN |= {"continuous", "linear", "burst", "pulsed", "fixed"}
PURPOSES = frozenset(
    {
        "taking", "take", "removing", "remove", "eating", "eat", "clearing", "clear", "emulsifying", "emulsify",
        "aspirating", "aspirate", "getting", "bringing", "out",
    }
)  # fmt: skip
"""What a setting is for, before its phase ("380 for taking the segments", "400 to take the quadrants")."""
INTERRUPTING = frozenset({"step", "lens_location", "anesthesia", "lens_field"})
"""Kinds that end a phase when they stand between it and a setting."""
CUTTER = "cut_rate_cpm"
"""Only a vitrector cuts: a cut rate is a setting of the vitrectomy."""
MARKS = frozenset({",", "and", "then", ";", "but"})
HEADING = 8
"""Words of a sentence that tells a phase and nothing of settings ("Now cortex, stripping sideways.")."""
CONTIGUOUS = 5
"""Words between two settings of one list."""
WHOLE_REACH = 12
"""Words around a setting within which it is said that it held for the whole."""
NEAR_MEMORY = 5
"""Words between a phase and the memory that it was told with."""
CUTTER_REACH = 25
"""Words between a cut rate and the settings beside it."""


class Phases:
    """The phases of one reading, asked for the phase of its settings."""

    def __init__(self, reading: Reading, pairs: Sequence[Pair]) -> None:
        self._reading = reading
        self._pairs = sorted(pairs, key=lambda p: p.start)
        self._starts = [p.start for p in self._pairs]
        self._parameters = frozenset(p.parameter.mention.start for p in self._pairs)
        self._phase_of: dict[int, str | None] = {}
        self._hold()

    def of(self, pair: Pair) -> str | None:
        """The phase of a setting, None where none was said."""
        return self._phase_of[pair.value.mention.start] or None

    @cached_property
    def varied(self) -> frozenset[str]:
        """The parameters that are told with more than one value: they change with the phase."""
        values: dict[str, set[object]] = {}
        for pair in self._pairs:
            quantity = pair.value.mention.quantity
            values.setdefault(pair.parameter.mention.id, set()).add(quantity.value if quantity is not None else None)
        return frozenset(name for name, told in values.items() if len(told) > 1)

    @cached_property
    def _phases(self) -> list[Phase]:
        return find_phases(self._reading)

    @cached_property
    def _phase_starts(self) -> list[int]:
        return [p.start for p in self._phases]

    def between(self, start: int, end: int) -> list[Phase]:
        """The phases told between two words."""
        return self._phases[bisect_left(self._phase_starts, start) : bisect_left(self._phase_starts, end)]

    def _hold(self) -> None:
        """Goes through the settings in order: what was told of one holds on for the next of the same talk."""
        carried: str | None = None
        sentence = -9
        for at, pair in enumerate(self._pairs):
            number = self._reading.annotation.sentence_of(pair.start)
            own, whole = self._told(at)
            if own is None and not whole and self._continues(sentence, number, pair):
                own = carried
            self._phase_of[pair.value.mention.start] = own
            if not whole:
                carried, sentence = own, number

    def _told(self, at: int) -> tuple[str | None, bool]:
        """The phase that the sentence of a setting tells for it; and whether it was said to hold for the whole."""
        pair = self._pairs[at]
        if pair.parameter.mention.id == CUTTER:
            return VITRECTOMY, False
        if self._whole(at):
            return None, True
        behind = self._inside(at) or self._trailing(at)
        if behind is not None:
            return behind.id, False
        before = self._before(pair)
        told = self._listed(at) if before is None or self._closing(before) or self._anew(at) else None
        told = told or before
        if self._beside_cutter(at, told):
            return VITRECTOMY, False
        return (told.id if told is not None else None), False

    def _continues(self, sentence: int, number: int, pair: Pair) -> bool:
        """Whether talk of settings goes on from the sentence before, so that its phase holds on."""
        if pair.parameter.mention.id in GLOBAL - self.varied and sentence != number:
            return False
        if not 0 <= number - sentence <= 1:
            return False
        first, _ = self._reading.sentence(pair.start)
        earlier = self._pairs[max(0, bisect_left(self._starts, pair.start) - 1)]
        if any(numbered(self._reading, earlier.end, pair.start, MEMORY)) and self._phases_switch(earlier, pair):
            return False
        return not self._interrupted(earlier.end, max(first, earlier.end)) and not self._interrupted(
            max(first, earlier.end), pair.start
        )

    def _phases_switch(self, earlier: Pair, pair: Pair) -> bool:
        """Whether another memory than the one before was told between two settings."""
        before = list(numbered(self._reading, earlier.start - PHASE_REACH, earlier.start, MEMORY))
        now = list(numbered(self._reading, earlier.end, pair.start, MEMORY))
        return bool(before) and count_of(before[-1]) != count_of(now[-1])

    def _before(self, pair: Pair) -> Phase | None:
        """The last phase told before a setting, in its sentence or at the end of the one before."""
        first, _ = self._reading.sentence(pair.start)
        reach = max(first, pair.start - PHASE_REACH)
        told = self.between(reach, pair.start)
        if not told and pair.parameter.mention.id not in GLOBAL and first:
            told = self._heading(first)
        if told and not self._interrupted(told[-1].end, pair.start) and not self._switched(told[-1], pair):
            return told[-1]
        return None

    def _switched(self, phase: Phase, pair: Pair) -> bool:
        """Whether the machine went on to another memory: what is set there is of a phase that was not understood."""
        told = list(numbered(self._reading, phase.start - NEAR_MEMORY, pair.start, MEMORY))
        counts = [count_of(m) for m in told]
        return (
            len(told) > 1
            and counts[-1] != counts[-2]
            and bool(self.within(told[-2].end, told[-1].start))
            and (told[-1].start > phase.end + NEAR_MEMORY)
        )

    def _heading(self, first: int) -> list[Phase]:
        """The phase that the sentence before ends with ("Then the chop. Vacuum 350") or gave a bare number for."""
        before, end = self._reading.sentence(first - 1)
        told = self.between(before, end)
        if not told or self._reading.words[first - 1] == "\n" or self.within(before, end):
            return []
        numbers = any(a.mention.id == "number" for a in self._reading.between(told[-1].end, end))
        headed = self._reading.words[told[-1].end] == ":"
        alone = end - before <= HEADING and len({p.id for p in told}) == 1
        return told if end - told[-1].end <= 3 or numbers or headed or alone else []

    def within(self, start: int, end: int) -> list[Pair]:
        """The settings that start between two words."""
        return self._pairs[bisect_left(self._starts, start) : bisect_left(self._starts, end)]

    def _interrupted(self, start: int, end: int) -> bool:
        """Whether a step that no phase serves, or a lens, is told between two places."""
        own = {p.start for p in self.between(start, end)} | self._parameters
        return any(
            (a.mention.kind in INTERRUPTING or a.mention.key == "thing:lens")
            and a.mention.start not in own
            and a.status is not Status.NOT_DONE
            for a in self._reading.between(start, end)
        )

    def _inside(self, at: int) -> Phase | None:
        """ "Vacuum for sculpting is 50": the phase said between a parameter and its number.

        One that closes the number before is that one's ("torsional 80 sculpt 60 chop").
        """
        pair = self._pairs[at]
        first, second = sorted((pair.parameter.mention, pair.value.mention), key=lambda m: m.start)
        told = [p for p in self.between(first.end, second.start) if p.named]
        if not told:
            return None
        earlier = self._trailing(at - 1) if at and self._pairs[at - 1].end > first.start else None
        return told[-1] if earlier is None or earlier.start != told[-1].start else None

    def _trailing(self, at: int) -> Phase | None:
        """The phase said right behind a setting ("350 for the quadrants")."""
        pair = self._pairs[at]
        for phase in self.between(pair.end, pair.end + 8):
            gap = self._reading.gap(pair.end, phase.start)
            if not phase.named:
                return None
            if not gap:
                return phase if self._trails_bare(at) else None
            if gap == ("(",) and self._reading.words[phase.end : phase.end + 1] == (")",):
                return phase
            if self._closes_list(phase, gap):
                return phase
            return phase if self._introduced(pair.end, phase.start, gap) and not self._heads(at, phase) else None
        return None

    def _closes_list(self, phase: Phase, gap: tuple[str, ...]) -> bool:
        """ "Then vacuum 550, flow 40, for taking the viscoelastic out.": what a list was for, and no setting behind."""
        end = self._reading.words[phase.end : phase.end + 1]
        served = self._reading.words[phase.start] == "for" and gap == (",",)
        return served and (end == () or end[0] in (".", ";", "\n"))

    def _trails_bare(self, at: int) -> bool:
        """ "Vac 40 flow 20 sculpt, vac 350 quads": the whole list names each phase behind its settings."""
        first, last = self._reading.sentence(self._pairs[at].start)
        pairs = self.within(first, last)
        behind = self.between(pairs[-1].end, pairs[-1].end + 1)
        return bool(behind) and not self.between(max(first, pairs[0].start - PHASE_REACH), pairs[0].start)

    def _introduced(self, start: int, end: int, gap: tuple[str, ...]) -> bool:
        counted = {
            i
            for a in self._reading.between(start, end)
            if a.mention.kind == "quantity" and names_position(self._reading, a.mention)
            for i in range(a.mention.start, a.mention.end)
        }
        rest = [w for i, w in enumerate(gap, start) if i not in counted]
        if rest[:1] == ["to"] and not PURPOSES.isdisjoint(rest[1:2]):
            return set(rest[1:]) <= BETWEEN | PURPOSES
        return (
            set(rest) <= INTRODUCES | BETWEEN | PURPOSES
            and rest[:1] != ["the"]
            and not INTRODUCES.isdisjoint([*rest[-3:], self._reading.words[end]])
        )

    def _heads(self, at: int, phase: Phase) -> bool:
        """Whether a phase opens the settings behind it rather than closing those before.

        Where nothing marks the border ("… 60 for quadrant removal the vacuum was 350") the talk's own pattern decides:
        a phase that leads the settings before it makes this one lead too.
        """
        following = self._pairs[at + 1] if at + 1 < len(self._pairs) else None
        if following is None or following.start - phase.end > 4:
            return False
        behind = self._reading.gap(phase.end, following.start)
        if MARKS & set(behind[:1]) or not {".", ";", "\n"}.isdisjoint(behind):
            return False
        if self._anew(at) or self.throughout(following):
            return False
        return self._before(self._pairs[at]) is not None

    def _closing(self, phase: Phase) -> bool:
        """Whether a phase closes the settings before it ("60 for the groove, then …")."""
        at = bisect_left(self._starts, phase.start) - 1
        trailing = self._trailing(at) if at >= 0 else None
        return trailing is not None and trailing.start == phase.start

    def _listed(self, at: int) -> Phase | None:
        """ "Vacuum 60 and flow 25 for sculpting": the phase behind a list is that of its members."""
        seen = {self._pairs[at].parameter.mention.id}
        for i in range(at + 1, len(self._pairs)):
            before, pair = self._pairs[i - 1], self._pairs[i]
            gap = self._reading.gap(before.end, pair.start)
            name = pair.parameter.mention.id
            if len(gap) > CONTIGUOUS or {".", ";", "\n"} & set(gap) or self.between(before.end, pair.start):
                return None
            if name in seen or "then" in gap or self.throughout(pair):
                return None
            seen.add(name)
            trailing = self._trailing(i)
            if trailing is not None:
                return trailing
        return None

    def _anew(self, at: int) -> bool:
        """Whether the list of a setting opens without a phase of its own behind a list that has one.

        "Then" opens it, or a parameter that comes again ("sculpting vacuum 60 flow 26 then vacuum 450 for quads").
        """
        seen = {self._pairs[at].parameter.mention.id}
        for i in range(at, 0, -1):
            before, pair = self._pairs[i - 1], self._pairs[i]
            gap = self._reading.gap(before.end, pair.start)
            if len(gap) > CONTIGUOUS or {".", ";", "\n"} & set(gap) or self.between(before.end, pair.start):
                return False
            if "then" in gap or before.parameter.mention.id in seen:
                return True
            seen.add(before.parameter.mention.id)
        return False

    def _beside_cutter(self, at: int, told: Phase | None) -> bool:
        """Whether a setting stands in one list with a cut rate, and no phase was told between the two."""
        pair = self._pairs[at]
        first, last = self._reading.sentence(pair.start)
        for other in self.within(max(first, pair.start - CUTTER_REACH), min(last, pair.end + CUTTER_REACH)):
            if other.parameter.mention.id != CUTTER or (other.start > pair.start and told is not None):
                continue
            one, two = sorted((pair, other), key=lambda p: p.start)
            if not self._interrupted(one.end, two.start) and not self.between(one.end, two.start):
                return True
        return False

    def throughout(self, pair: Pair) -> bool:
        """ "Throughout", "the whole case", said right with a setting: it belongs to no phase."""
        return holds_throughout(self._reading, pair, self.between(pair.start - WHOLE_REACH, pair.end + WHOLE_REACH))

    def _whole(self, at: int) -> bool:
        """Whether a setting held for the whole; "bottle at 65 and flow at 20 for the whole thing" tells both."""
        if self.throughout(self._pairs[at]):
            return True
        before = self._before(self._pairs[at])
        if before is not None and before.named:
            return False
        for i in range(at + 1, len(self._pairs)):
            earlier, pair = self._pairs[i - 1], self._pairs[i]
            gap = self._reading.gap(earlier.end, pair.start)
            joined = bool({"and", ","} & set(gap[:1])) and len(gap) <= CONTIGUOUS
            if not joined or {".", ";", "\n"} & set(gap) or self.between(earlier.end, pair.start):
                return False
            if self.throughout(pair):
                return "and" in gap
        return False

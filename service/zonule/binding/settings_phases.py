"""Which phase of the operation a setting belongs to, and the machine memory that was on."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from zonule.annotation.mentions import Mention
from zonule.binding.pedal import MEMORY, count_of, names_position, numbered
from zonule.binding.reading import Reading
from zonule.binding.settings_runs import Pair
from zonule.vocabulary import Status

PHASE_REACH = 45
"""Words over which a phase holds on when no other step intervenes."""
WHOLE = frozenset({"throughout", "whole", "entire", "constant", "constantly"})
ALL_THROUGH = frozenset(
    {("the", "way", "through"), ("all", "the", "way"), ("all", "through", "the"), ("from", "start", "to")}
)
GLOBAL = frozenset({"bottle_height_cm", "infusion_pressure_mmhg"})
"""Parameters usually set once for all: a phase told in an earlier sentence does not hold on for them."""
INTRODUCES = frozenset({"for", "during", "in", "on", "through", "while", "when", "with", "at"})
BETWEEN = frozenset({"the", "my", "our", "its", "that", "this", "both", "foot", "position", "fp", "all", "of"})
PHASE_OF = {
    "technique:horizontal_chop": "chop",
    "technique:vertical_chop": "chop",
    "technique:chop": "chop",
    "step:nucleus_sculpting": "sculpt",
    "step:nucleus_chopping": "chop",
    "step:nucleus_removal": "segment_removal",
    "step:epinucleus_removal": "epinucleus",
    "step:cortex_removal": "cortex",
    "step:viscoelastic_removal": "viscoelastic_removal",
    "step:anterior_vitrectomy": "vitrectomy",
    "action:sculpt": "sculpt",
    "action:chop": "chop",
}
"""Techniques, steps and actions that a machine phase serves."""
POLISHING = frozenset({"polish", "polished", "polishing"})
"""The polishing of the capsule is a phase without a name of its own in the record."""
INTERRUPTING = frozenset({"step", "lens_location", "anesthesia", "lens_field"})
"""Kinds that end a phase when they stand between it and a setting."""
CUTTER = "cut_rate_cpm"
"""Only a vitrector cuts: a cut rate is a setting of the vitrectomy."""
VITRECTOMY = "vitrectomy"
VITRECTOMY_REACH = 60
MARKS = frozenset({",", "and", "then", ";", "but"})
CONTIGUOUS = 5
"""Words between two settings of one list."""


@dataclass(frozen=True, slots=True)
class Phase:
    """Words that tell the phase `id`."""

    start: int
    end: int
    id: str
    named: bool
    """By the name of the phase, not by what was done."""


class Phases:
    """The phases of one reading, asked for the phase and memory of its settings."""

    def __init__(self, reading: Reading, pairs: Sequence[Pair]) -> None:
        self._reading = reading
        self._pairs = sorted(pairs, key=lambda p: p.start)
        self._starts = [p.start for p in self._pairs]
        self._phase_of: dict[int, str | None] = {}
        self._hold()

    def of(self, pair: Pair) -> str | None:
        """The phase of a setting, None where none was said."""
        return self._phase_of[pair.value.mention.start] or None

    @cached_property
    def _phases(self) -> list[Phase]:
        marks: dict[int, Phase] = {}
        for a in self._reading.asserted:
            mention = a.mention
            name = mention.id if mention.kind == "phase" else PHASE_OF.get(mention.key)
            if name is None or a.status is Status.NOT_DONE:
                continue
            held = marks.get(mention.start)
            if held is None or (mention.kind == "phase" and not held.named):
                marks[mention.start] = Phase(mention.start, mention.end, name, mention.kind == "phase")
        for i, word in enumerate(self._reading.words):
            if word in POLISHING:
                marks[i] = Phase(i, i + 1, "", named=True)
        return [marks[start] for start in sorted(marks)]

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
        if self._throughout(pair):
            return None, True
        behind = self._inside(pair) or self._trailing(at)
        if behind is not None:
            return behind.id, False
        before = self._before(pair)
        told = self._listed(at) if before is None or self._closing(before) else None
        told = told or before
        if told is None and pair.parameter.mention.id == CUTTER:
            return self._vitrectomy(pair), False
        if told is None and self._beside_cutter(at):
            return VITRECTOMY, False
        return (told.id if told is not None else None), False

    def _continues(self, sentence: int, number: int, pair: Pair) -> bool:
        """Whether talk of settings goes on from the sentence before, so that its phase holds on."""
        if pair.parameter.mention.id in GLOBAL and sentence != number:
            return False
        if not 0 <= number - sentence <= 1:
            return False
        first, _ = self._reading.sentence(pair.start)
        earlier = self._pairs[max(0, bisect_left(self._starts, pair.start) - 1)]
        return not self._interrupted(earlier.end, max(first, earlier.end)) and not self._interrupted(
            max(first, earlier.end), pair.start
        )

    def _before(self, pair: Pair) -> Phase | None:
        """The last phase told before a setting, in its sentence or at the end of the one before."""
        first, _ = self._reading.sentence(pair.start)
        reach = max(first, pair.start - PHASE_REACH)
        told = self.between(reach, pair.start)
        if not told and pair.parameter.mention.id not in GLOBAL and first:
            told = self._heading(first)
        if told and not self._interrupted(told[-1].end, pair.start):
            return told[-1]
        return None

    def _heading(self, first: int) -> list[Phase]:
        """The phase that the sentence before ends with ("Then the chop. Vacuum 350") or gave a bare number for."""
        before, end = self._reading.sentence(first - 1)
        told = self.between(before, end)
        if not told or self._reading.words[first - 1] == "\n" or self._within(before, end):
            return []
        numbers = any(a.mention.id == "number" for a in self._reading.between(told[-1].end, end))
        headed = self._reading.words[told[-1].end] == ":"
        return told if end - told[-1].end <= 3 or numbers or headed else []

    def _within(self, start: int, end: int) -> list[Pair]:
        return self._pairs[bisect_left(self._starts, start) : bisect_left(self._starts, end)]

    def _interrupted(self, start: int, end: int) -> bool:
        """Whether a step that no phase serves, or a lens, is told between two places."""
        own = {p.start for p in self.between(start, end)}
        return any(
            (a.mention.kind in INTERRUPTING or a.mention.key == "thing:lens")
            and a.mention.start not in own
            and a.status is not Status.NOT_DONE
            for a in self._reading.between(start, end)
        )

    def _inside(self, pair: Pair) -> Phase | None:
        """ "Vacuum for sculpting is 50": the phase said between a parameter and its number."""
        first, second = sorted((pair.parameter.mention, pair.value.mention), key=lambda m: m.start)
        told = [p for p in self.between(first.end, second.start) if p.named]
        return told[-1] if told else None

    def _trailing(self, at: int) -> Phase | None:
        """The phase said right behind a setting ("350 for the quadrants")."""
        pair = self._pairs[at]
        for phase in self.between(pair.end, pair.end + 8):
            gap = self._reading.gap(pair.end, phase.start)
            if not phase.named:
                return None
            if not gap:
                return phase if self._trails_bare(at) else None
            return phase if self._introduced(pair.end, phase.start, gap) and not self._heads(at, phase) else None
        return None

    def _trails_bare(self, at: int) -> bool:
        """ "Vac 40 flow 20 sculpt, vac 350 quads": the whole list names each phase behind its settings."""
        first, last = self._reading.sentence(self._pairs[at].start)
        pairs = self._within(first, last)
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
        return (
            set(rest) <= INTRODUCES | BETWEEN
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
        pair = self._pairs[at]
        led = self._before(pair)
        return led is not None

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
            if name in seen or self._throughout(pair):
                return None
            seen.add(name)
            trailing = self._trailing(i)
            if trailing is not None:
                return trailing
        return None

    def _vitrectomy(self, pair: Pair) -> str | None:
        """The vitrectomy that a cut rate was set for, told some way before or right behind."""
        told = self.between(max(0, pair.start - VITRECTOMY_REACH), pair.end + 12)
        return VITRECTOMY if any(p.id == VITRECTOMY for p in told) else None

    def _beside_cutter(self, at: int) -> bool:
        """Whether a setting stands in one list with a cut rate of the vitrectomy."""
        pair = self._pairs[at]
        first, last = self._reading.sentence(pair.start)
        for other in self._within(max(first, pair.start - 25), min(last, pair.end + 25)):
            if other.parameter.mention.id != CUTTER or self._vitrectomy(other) is None:
                continue
            one, two = sorted((pair, other), key=lambda p: p.start)
            return not self._interrupted(one.end, two.start) and not self.between(one.end, two.start)
        return False

    def _throughout(self, pair: Pair) -> bool:
        """ "Throughout", "the whole case": the setting belongs to no phase."""
        _, last = self._reading.sentence(max(0, pair.end - 1))
        words = self._reading.words
        for i in range(pair.end, min(last, pair.end + 5)):
            if any(a.mention.kind in ("parameter", "quantity") for a in self._reading.between(i, i + 1)):
                return False
            if words[i] in WHOLE or words[i : i + 3] in ALL_THROUGH:
                return True
        first, _ = self._reading.sentence(pair.start)
        return "throughout" in words[max(first, pair.start - 2) : pair.start]

    def memory(self, pair: Pair) -> int | None:
        """The machine memory that holds for a setting: said in this stretch of talk, or right behind its list."""
        if self._throughout(pair):
            return None
        behind = self._memory_behind(pair)
        if behind is not None:
            return behind
        first, _ = self._reading.sentence(pair.start)
        for mention in reversed(self._memories(max(0, pair.start - PHASE_REACH), pair.start)):
            if mention.start < first and not self._same_talk(mention, first, pair):
                return None
            return None if self._ends(mention, pair) else count_of(mention)
        return None

    def _same_talk(self, memory: Mention, first: int, pair: Pair) -> bool:
        """Whether the sentence before, which told the memory, told settings or the phase that goes on here."""
        before, _ = self._reading.sentence(first - 1)
        return memory.start >= before and not self.between(first, pair.start)

    def _ends(self, memory: Mention, pair: Pair) -> bool:
        """Whether a memory holds no longer: a further phase was told behind it, or it closed the list before it."""
        told = self.between(memory.end, pair.start)
        if not told:
            return False
        return not (memory.end + 3 >= told[0].start and len(told) == 1 and not self._closes(memory))

    def _closes(self, memory: Mention) -> bool:
        """Whether a memory stands behind the settings it holds for ("vacuum 400 flow 32 memory 3")."""
        told = self._within(max(0, memory.start - 16), memory.start)
        if not told:
            return False
        gap = self._reading.gap(told[-1].end, memory.start)
        return len(gap) <= 7 and not {".", ";", ":", "then", "\n", ","} & set(gap)

    def _memory_behind(self, pair: Pair) -> int | None:
        _, last = self._reading.sentence(pair.start)
        own = [m for m in self._memories(pair.end, min(last, pair.end + 16)) if self._closes(m)]
        if not own or self.between(pair.end, own[0].start):
            return None
        others = self._within(pair.end, own[0].start)
        both = "both" in self._reading.gap(pair.end, own[0].start)
        return count_of(own[0]) if not others or (both and len(others) == 1) else None

    def _memories(self, start: int, end: int) -> list[Mention]:
        return list(numbered(self._reading, start, end, MEMORY))

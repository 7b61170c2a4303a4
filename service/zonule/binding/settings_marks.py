"""Where a phase of the operation is told: by its name, by what was done in it, by the instrument that only it has."""

from collections.abc import Iterator
from dataclasses import dataclass

from zonule.annotation.mentions import Mention
from zonule.binding.reading import Reading
from zonule.vocabulary import Status

VITRECTOMY = "vitrectomy"
REMOVAL = "viscoelastic_removal"
CORTEX = "cortex"
CORTICAL = frozenset({"cortex", "cortical", "slm", "cx"})
MEANS = frozenset({"with", "w", "using", "by", "via", "on"})
PHASE_OF = {
    "technique:horizontal_chop": "chop",
    "technique:vertical_chop": "chop",
    "technique:chop": "chop",
    "step:nucleus_sculpting": "sculpt",
    "step:nucleus_chopping": "chop",
    "step:nucleus_removal": "segment_removal",
    "step:epinucleus_removal": "epinucleus",
    "step:cortex_removal": "cortex",
    "step:viscoelastic_removal": REMOVAL,
    "step:anterior_vitrectomy": VITRECTOMY,
    "procedure:anterior_vitrectomy": VITRECTOMY,
    "procedure:pars_plana_vitrectomy": VITRECTOMY,
    "action:sculpt": "sculpt",
    "action:chop": "chop",
}
"""Techniques, steps and actions that a machine phase serves."""
POLISHING = frozenset({"polish", "polished", "polishing"})
"""The polishing of the capsule is a phase without a name of its own in the record."""
TAKEN_OUT = frozenset({"action:remove", "action:cleanse"})
AWAY = frozenset({"out", "washout", "aspiration", "aspirated"})
"""Words right behind a viscoelastic that tell its removal."""
NEAR_REMOVAL = 4
"""Words between the viscoelastic and the act of taking it out."""
SHORT_REACH = 5
WHICH = frozenset({"the", "my", "that", "this", "first", "second", "third", "fourth", "last", "next", "other", "final"})
BORDERS = frozenset(",.;:\n")
FOR_VISCOELASTIC = frozenset({"the", "my", "this", "that", "any", "remaining"})


@dataclass(frozen=True, slots=True)
class Phase:
    """Words that tell the phase `id`."""

    start: int
    end: int
    id: str
    named: bool
    """By the name of the phase, not by what was done."""


def find_phases(reading: Reading) -> list[Phase]:
    """The phases told, in the order of the text; of several at one word the one told by its name."""
    marks: dict[int, Phase] = {}
    for a in reading.asserted:
        mention = a.mention
        name = mention.id if mention.kind == "phase" else PHASE_OF.get(mention.key)
        denied = a.status is Status.NOT_DONE and not _is_when(reading, mention.start)
        if name is None or denied or not _beside_setting(reading, mention):
            continue
        held = marks.get(mention.start)
        if held is None or (mention.kind == "phase" and not held.named):
            marks[mention.start] = Phase(mention.start, mention.end, name, mention.kind == "phase")
    for phase in _removals(reading):
        marks.setdefault(phase.start, phase)
    for i, word in enumerate(reading.words):
        if word in POLISHING:
            marks[i] = Phase(i, i + 1, "", named=True)
    return _by_means(reading, [marks[start] for start in sorted(marks)])


def _by_means(reading: Reading, phases: list[Phase]) -> list[Phase]:
    """ "Visco out with I/A, vacuum 350": irrigation and aspiration that takes the gel out is no phase of the cortex."""
    told: list[Phase] = []
    for phase in phases:
        before = told[-1] if told else None
        if phase.id == CORTEX and before is not None and before.id == REMOVAL and before.end <= phase.start:
            gap = reading.gap(before.end, phase.start)
            named = not CORTICAL.isdisjoint(reading.words[phase.start : phase.end])
            if gap and len(gap) <= NEAR_REMOVAL and gap[0] in MEANS and BORDERS.isdisjoint(gap) and not named:
                told.append(Phase(phase.start, phase.end, REMOVAL, named=True))
                continue
        told.append(phase)
    return told


def _is_when(reading: Reading, start: int) -> bool:
    """ "The crack wasn't clean, and on the third quadrant the vacuum was 420": a phase that says when is not denied."""
    at = start - 1
    while at > 0 and reading.words[at] in WHICH:
        at -= 1
    return at >= 0 and reading.words[at] in ("on", "for", "during", "at")


def _beside_setting(reading: Reading, mention: Mention) -> bool:
    """Whether a short form that counts only beside a setting ("seg", "frags") has one right behind or before it."""
    if mention.term is None or not mention.term.near:
        return True
    near = set(mention.term.near)
    return any(a.mention.key in near for a in reading.between(mention.start - SHORT_REACH, mention.end + SHORT_REACH))


def _removals(reading: Reading) -> Iterator[Phase]:
    """ "Removal of the viscoelastic", "washing out the gel", "for the visco": no other act with it has settings."""
    for asserted in reading.of("viscoelastic", "thing"):
        mention = asserted.mention
        if asserted.status is Status.NOT_DONE or (mention.kind == "thing" and mention.id != "viscoelastic"):
            continue
        acts = [
            a.mention
            for a in reading.between(mention.start - NEAR_REMOVAL, mention.end + NEAR_REMOVAL)
            if a.mention.key in TAKEN_OUT and a.status is not Status.NOT_DONE
        ]
        acts = [
            a for a in acts if BORDERS.isdisjoint(reading.words[min(a.end, mention.end) : max(a.start, mention.start)])
        ]
        if acts:
            yield Phase(min(acts[0].start, mention.start), max(acts[0].end, mention.end), REMOVAL, named=True)
        elif AWAY.intersection(reading.words[mention.end : mention.end + 1]):
            yield Phase(mention.start, mention.end + 1, REMOVAL, named=True)
        elif _is_purpose(reading, mention.start):
            yield Phase(mention.start, mention.end, REMOVAL, named=True)


def _is_purpose(reading: Reading, start: int) -> bool:
    """ "For the visco the vacuum was 600": the setting stands right behind."""
    words = reading.words
    at = start - 1
    while at > 0 and words[at] in FOR_VISCOELASTIC:
        at -= 1
    if at < 0 or words[at] not in ("for", "during"):
        return False
    return any(a.mention.kind == "parameter" for a in reading.between(start, start + 7))

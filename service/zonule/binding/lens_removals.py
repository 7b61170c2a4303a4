"""A lens that was in the eye and was taken out: told by "explant", or by what was done to the old lens."""

from collections.abc import Iterator

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.lens_fates import names_lens
from zonule.binding.reading import Reading
from zonule.binding.sections import Section, section_at
from zonule.binding.steps import NOT_TOLD
from zonule.vocabulary import Status

FATE = "word:lens_explanted"
HEAD = "word:lens_head_out"
OUT = frozenset({"remove", "extract", "explant"})
"""Actions that take a lens out of the eye."""
FORMER = frozenset({"old", "previous", "existing", "former", "original"})
ARTIFICIAL = frozenset({"iol", "implant", "pciol", "aciol"})
"""Words of a lens that cannot be the eye's own."""
TAKEN = frozenset({"removed", "cut"})
BEFORE = 4
"""Words between an action and the old lens that it takes out."""
BEHIND = 24
"""Words behind the old lens within which it is told that it came out."""


def bind_removals(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """The step `lens_explantation`, each time it is told."""
    for action in reading.of("action"):
        if action.mention.id == "explant" and _says_explant(reading, action.mention):
            yield from _told(sections, action)
    for fate in reading.annotation.mentions:
        if fate.key == HEAD and names_lens(reading, fate):
            yield from _told(sections, Asserted(fate, Status.DONE))
        if fate.key != FATE:
            continue
        words = set(reading.words[fate.start : fate.end])
        if ARTIFICIAL & words and TAKEN & words:
            yield from _told(sections, Asserted(fate, reading.status_at(fate)))
        elif FORMER & words:
            out = _taken_out(reading, fate)
            if out is not None:
                yield from _told(sections, out)


def _told(sections: list[Section], act: Asserted) -> Iterator[Found]:
    section = section_at(sections, act.mention.start)
    if section is None or section.field not in NOT_TOLD:
        yield found("steps", "lens_explantation", act)


def _says_explant(reading: Reading, mention: Mention) -> bool:
    return any(word.startswith("explant") for word in reading.words[mention.start : mention.end])


def _taken_out(reading: Reading, lens: Mention) -> Asserted | None:
    """The action that took the old lens out: right before it, or behind it with no other thing between."""
    first, last = reading.sentence(lens.start)
    before = [a for a in reading.between(max(first, lens.start - BEFORE), lens.start) if _is_out(a)]
    if before:
        return before[-1]
    for asserted in reading.between(lens.end, min(last, lens.end + BEHIND)):
        mention = asserted.mention
        if _is_out(asserted):
            return asserted
        if mention.kind in ("thing", "implant", "viscoelastic", "drug") and mention.id not in (
            "wound",
            "lens",
            "haptic",
        ):
            return None
    return None


def _is_out(asserted: Asserted) -> bool:
    return asserted.mention.kind == "action" and asserted.mention.id in OUT

"""Diopters of the eye itself, as it was measured or is to be, and not of a lens."""

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.reading import Reading
from zonule.vocabulary import Status

EYE_ERRORS = frozenset(
    {"astigmatism", "myopia", "hyperopia", "hypermetropia", "refraction", "myope", "myopic", "hyperopic", "glasses"}
)
"""Words right behind diopters that make them the eye's and not a lens's."""
CORNEAL = frozenset(
    {
        "keratometry", "keratometric", "keratometer", "topography", "topographer", "tomography", "cornea", "corneal",
        "biometry", "autorefraction", "autorefractor", "refraction", "refracted", "spectacle", "glasses", "rule",
        "manifest",
    }
)  # fmt: skip
"""Words before a cylinder in its clause that make it the eye's and not a lens's."""
REACH = 14
"""Words between what was measured and its cylinder."""


def of_refraction(reading: Reading, value: Mention) -> bool:
    """ "Two diopters of astigmatism": the error of the eye stands right behind."""
    return not EYE_ERRORS.isdisjoint(reading.words[value.end : value.end + 4])


def of_cornea(reading: Reading, field: Mention) -> bool:
    """ "Keratometry showed 2.1 diopters of cylinder": measured on the eye, where no lens stands between."""
    if field.id != "cylinder_d":
        return False
    first, _ = reading.sentence(field.start)
    told = [i for i in range(max(first, field.start - REACH), field.start) if reading.words[i] in CORNEAL]
    if not told:
        return False
    near = [a.mention for a in reading.between(told[-1], field.start)]
    return not any(m.key == "thing:lens" or m.kind in ("lens_type", "lens_field") for m in near)


def as_target(part: Asserted, head: Asserted) -> Asserted:
    """ "Aimed for minus 0.4": a target is told by words of a plan, and is no plan for that."""
    cue = part.cue
    own = cue is not None and cue.start < head.mention.end and head.mention.start < cue.end
    planned = head.mention.id == "target_refraction_d" and part.status is Status.PLANNED
    return Asserted(part.mention, Status.DONE) if planned and own else part

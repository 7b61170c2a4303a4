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
SIGNS = frozenset({"+", "-", "plus", "minus"})
WORST_ERROR = 8.0
"""Diopters; a signed number above that is rather the power of a lens. Common practice, no source."""
REACH = 14
"""Words between what was measured and its cylinder."""


def of_refraction(reading: Reading, value: Mention) -> bool:
    """ "Two diopters of astigmatism", "the eye is now at plus 3.25": the error of the eye itself."""
    return not EYE_ERRORS.isdisjoint(reading.words[value.end : value.end + 4]) or _eye_stands_at(reading, value)


def _eye_stands_at(reading: Reading, value: Mention) -> bool:
    """Whether a small number with a sign is where the eye is ("she ended up at minus two")."""
    amount = value.quantity.value if value.quantity is not None else None
    if not isinstance(amount, float | int) or abs(amount) > WORST_ERROR:
        return False
    before = [w for w in reading.words[max(0, value.start - 4) : value.start + 1] if w not in SIGNS]
    signed = not SIGNS.isdisjoint(reading.words[max(0, value.start - 1) : value.start + 1]) or amount < 0
    return signed and "at" in before[-2:]


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

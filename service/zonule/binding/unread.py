"""Numbers said of what was done that no room has read: a person is told of them, except for uses that no slot holds."""

import re
from collections.abc import Iterable, Iterator

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.found import Found
from zonule.binding.pedal import names_position
from zonule.binding.reading import PUNCTUATION, Reading
from zonule.binding.sections import HISTORY, Section, find_sections, section_at
from zonule.binding.visits import SLOT as VISIT
from zonule.record.operation_record import UNREAD_NUMBER
from zonule.vocabulary import Status

JOINED = re.compile(r"\d+(?:\.\d+)?(?:/\d+(?:\.\d+)?)+")
TAKEN = frozenset(
    {
        "length_mm", "length_cm", "diopter", "percent", "degrees", "clock_hour", "pressure_mmhg", "pressure_cmh2o",
        "volume_ml", "flow_ml_min", "mass_mg", "international_units", "concentration_mg_ml", "concentration_iu_ml",
        "duration_s", "rate_pps", "rate_cpm", "dose_in_volume", "height_cm",
    }
)  # fmt: skip
"""Dimensions that a slot takes; a gauge, a frequency or a length of time has none."""
SMALL = 12
"""A whole number without unit up to this counts things or is an hour, unless the noun of a slot stands right beside."""
YEARS = (1900, 2100)
ROUND = frozenset({0, 90, 180, 270, 360})
"""Degrees of reference marks and of going all the way round."""
NOUNS = frozenset({"parameter", "lens_field"})
STEP_NOUNS = frozenset({"step:capsulorhexis", "step:main_incision", "step:paracentesis", "field:main_incision"})
"""Names of what has a number of its own in the record."""
TIES = frozenset({"of", "was", "is", "at", "about", "a", "to", ":", "=", "the", "set", "it", "were"})
MEASURING = frozenset({"grade", "graded", "measures", "measured", "measuring"})
"""Words whose number is a value however small it is."""
THIS = frozenset({"this", "here", "today"})
OPENING = 4
"""Words at the head of a clause that may say that it speaks of this operation."""
COUNTED = frozenset(
    {
        "theatre", "theater", "room", "th", "or", "case", "list", "bay", "bed", "number", "no", "slot", "day",
        "part", "stage", "level", "type", "class", "size", "version", "week", "month", "page", "step", "ward", "table",
        "age", "aged", "asa", "episode", "tray", "box", "cassette", "year", "unit", "floor", "suite", "#", "stent",
        "line", "pack", "photo", "picture", "slide", "course", "trainee", "patient",
    }
)  # fmt: skip
"""Nouns that a number right behind them counts or names."""
MEASURED = frozenset(
    {
        "pupil", "pupils", "dilated", "dilate", "dilates", "dilating", "dilation", "constricted", "mydriasis", "optic",
        "ring", "biometry", "formula", "formulae", "keratometry", "topography", "endothelium", "endothelial", "cells",
        "astigmatism", "astig", "axial", "k1", "k2", "k", "ks", "vision", "acuity", "tonometry", "refraction", "myope",
        "myopic", "hyperope", "hyperopic", "myopia", "glasses", "white-to-white", "pachymetry", "thickness", "iop",
        "pressure", "pressures", "tension", "blade", "knife", "needle", "cannula", "syringe", "trephine", "forceps",
        "years", "old", "aged", "kg", "hba1c", "inr", "oxygen", "saturation", "saturations", "sats", "heart", "pulse",
        "haptic", "haptics", "tip", "sleeve", "trocar", "trocars", "printout", "sheet", "calculation", "calc", "trial",
        "study", "chance", "risk", "weeks", "months", "days", "hours", "minutes", "fellows", "visitors", "students",
        "cup", "disc", "cornea's", "guttata", "target", "hyphema", "hyphaema", "bleb", "card", "leaflet", "video",
        "tilt", "tilted", "turn", "turned", "head", "microscope", "scope", "reverse", "trendelenburg", "stops", "metre",
    }
)  # fmt: skip
"""Words that make a number near them a measure of the eye, the patient, the room or a tool, which no slot holds."""
PLACED = frozenset({"complication", "finding", "anatomy", "suture_material", "implant", "device", "diagnosis"})
"""Kinds whose hours, degrees and lengths the record does not hold."""
PLACED_STEPS = frozenset(
    {
        "conjunctival_flap", "iridectomy", "suture", "bridle_suture", "cautery", "relaxing_incision", "axis_marking",
        "synechiolysis", "lens_rotation", "pupil_expansion", "subconjunctival_injection", "capsulotomy",
    }
)  # fmt: skip
OWN = frozenset({"cornea", "sclera", "main_incision_route", "paracentesis_route", "capsulorhexis_edge"})
"""Anatomy that wounds are told of, too."""
PLACES = frozenset({"clock_hour", "degrees"})
STANDS_FOR = frozenset({"it", "one", "this", "that"})
"""Words that may stand for something else than the noun before."""
PLACE_REACH = 10
AGED = frozenset(
    {"he", "she", "he's", "she's", "he'd", "she'd", "woman", "man", "lady", "gentleman", "patient", "boy", "girl"}
)
LINKS = frozenset({"is", "was", "'s", "of", "only", "now", "just", "a", "at", "nearly", "almost", "about"})
NEAR = 6
"""Words on either side within which such wording is looked for."""
APART = 4
"""Words between two numbers that are told as one."""
AROUND = 3
"""Words told on either side of a number, so that a person can place it."""
UNTOLD = frozenset({HISTORY, "plan", "patient.name", "patient.hospital_number", "operation.date"})
"""Labeled parts in which numbers are no values of the operation."""


def find_unread(reading: Reading, facts: Iterable[Found]) -> tuple[Mention, ...]:
    """The numbers of done clauses that ended nowhere, each with the words around it; those close together as one."""
    facts = list(facts)
    held = {i for fact in facts for m in fact.mentions for i in range(m.start, m.end)}
    values = {fact.value for fact in facts if isinstance(fact.value, float | int)}
    sections = find_sections(reading)
    done = [a.mention for a in reading.of("quantity") if _was_done(reading, a)]
    loose = [m for m in done if held.isdisjoint(range(m.start, m.end))]
    left = [m for m in loose if _has_content(reading, m, values) and not _is_harmless(reading, m, sections)]
    groups: list[list[Mention]] = []
    for mention in sorted([*left, *_joined(reading, held)], key=lambda m: m.start):
        if groups and mention.start - groups[-1][-1].end <= APART:
            groups[-1].append(mention)
        else:
            groups.append([mention])
    unread = [Mention(*_around(reading, group), "unread", UNREAD_NUMBER) for group in groups]
    open_visits = [m for fact in facts if fact.slot == VISIT and fact.status is Status.PLANNED for m in fact.mentions]
    asked = [Mention(m.start, m.end, "unread", "unreadable_number") for m in open_visits]
    return tuple(sorted([*unread, *asked], key=lambda m: m.start))


def _was_done(reading: Reading, asserted: Asserted) -> bool:
    """Whether a number is told of this operation; of "this one", too, in the talk of what one usually does."""
    if asserted.status is not Status.HABITUAL or asserted.cue is None:
        return asserted.status is Status.DONE
    clause = reading.clause(asserted.mention.start)
    return asserted.cue.start < clause.start and not THIS.isdisjoint(
        reading.words[clause.start : clause.start + OPENING]
    )


def _joined(reading: Reading, held: set[int]) -> Iterator[Mention]:
    """ "Quads 400/35": numbers written as one word beside a phase or a parameter, which no number grammar reads."""
    inside = {i for m in reading.annotation.mentions if m.quantity is not None for i in range(m.start, m.end)}
    for i, word in enumerate(reading.words):
        if i in held or i in inside or i in reading.taken_back or not JOINED.fullmatch(word):
            continue
        near = reading.between(i - APART, i + APART)
        if any(a.mention.kind in ("phase", "parameter") and a.status is Status.DONE for a in near):
            yield Mention(i, i + 1, "unread", UNREAD_NUMBER)


def _has_content(reading: Reading, mention: Mention, values: set[float | int]) -> bool:
    """Whether a number looks like a value of the record: by its unit, by its size, or by the noun right beside it."""
    quantity = mention.quantity
    if quantity is None or not isinstance(quantity.value, float | int) or names_position(reading, mention):
        return False
    amount = quantity.value
    whole = float(amount).is_integer()
    if mention.id == "duration_s":
        return _beside_noun(reading, mention)
    if mention.id != "number":
        return mention.id in TAKEN and (amount not in values or (whole and amount <= SMALL))
    if whole and amount <= SMALL:
        return _beside_noun(reading, mention)
    return amount not in values and not (whole and YEARS[0] <= amount <= YEARS[1])


def _beside_noun(reading: Reading, mention: Mention) -> bool:
    """Whether only ties stand between a number and the noun of a slot before it."""
    at = mention.start - 1
    while at > 0 and reading.words[at] in TIES:
        at -= 1
    if reading.words[max(0, at)] in MEASURING:
        return True
    for asserted in reversed(reading.between(mention.start - NEAR, mention.start)):
        noun = asserted.mention
        if noun.kind in NOUNS or noun.key in STEP_NOUNS:
            return TIES.issuperset(reading.gap(noun.end, mention.start))
    return False


def _is_harmless(reading: Reading, mention: Mention, sections: list[Section]) -> bool:
    section = section_at(sections, mention.start)
    if section is not None and section.field in UNTOLD:
        return True
    words, start, end = reading.words, mention.start, mention.end
    if mention.id == "number" and (
        not COUNTED.isdisjoint(words[max(0, start - 1) : start]) or _is_age(reading, mention)
    ):
        return True
    clause = reading.clause(start)
    near = words[max(clause.start, start - NEAR) : max(min(clause.end, end + NEAR), end + 2)]
    if not MEASURED.isdisjoint(near) or _is_reference(reading, mention):
        return True
    return mention.id in ("clock_hour", "degrees", "length_mm", "number") and _is_placed(reading, mention)


def _is_reference(reading: Reading, mention: Mention) -> bool:
    """ "0 and 180 degrees", "free for 360 degrees"."""
    amount = mention.quantity.value if mention.quantity is not None else None
    if amount not in ROUND:
        return False
    others = [a.mention for a in reading.between(mention.start - APART, mention.end + APART) if a.mention != mention]
    paired = any(m.quantity is not None and m.quantity.value in ROUND for m in others)
    return mention.id == "degrees" or (mention.id == "number" and paired)


def _is_age(reading: Reading, mention: Mention) -> bool:
    """ "She is 31", "a woman of 34"."""
    at = mention.start - 1
    while at >= 0 and reading.words[at] in LINKS:
        at -= 1
    return at >= 0 and at < mention.start - 1 and reading.words[at] in AGED


def _is_placed(reading: Reading, mention: Mention) -> bool:
    """Whether the place or length is that of something whose places and lengths are not kept: the noun next before it.

    Where none stands before it in its sentence, the one next behind.
    """
    first, last = reading.sentence(mention.start)
    before = reading.between(max(first, mention.start - PLACE_REACH), mention.start)
    behind = reading.between(mention.end, min(last, mention.end + NEAR)) if mention.id in PLACES else []
    for asserted in (*reversed(before), *behind):
        noun = asserted.mention
        if noun.kind in NOUNS or noun.key in STEP_NOUNS:
            return False
        step = noun.kind == "step" and noun.id in PLACED_STEPS
        if step or (noun.kind in PLACED and mention.id != "number"):
            return noun.id not in OWN and STANDS_FOR.isdisjoint(reading.gap(noun.end, mention.start))
    return False


def _around(reading: Reading, group: list[Mention]) -> tuple[int, int]:
    """The words of a group with some on either side, within its sentence and its line."""
    first, last = reading.sentence(group[0].start)
    start, end = group[0].start, group[-1].end
    while start > max(first, group[0].start - AROUND) and reading.words[start - 1] not in PUNCTUATION - {",", ":", "("}:
        start -= 1
    while end < min(last, group[-1].end + AROUND) and reading.words[end] not in PUNCTUATION:
        end += 1
    while reading.words[start] in PUNCTUATION:
        start += 1
    return start, end

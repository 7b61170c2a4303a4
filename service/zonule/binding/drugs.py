"""Drugs: each with its route, strength, volume and dose; and what a drug given settles besides."""

from collections.abc import Iterator

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.aftercare import is_for_home
from zonule.binding.drug_rows import BLOCKS, MASSES, STRENGTHS, bind_amounts, bind_routes
from zonule.binding.found import Found, found
from zonule.binding.reading import Reading
from zonule.binding.sections import Section, section_at
from zonule.record.operation_record import DrugGiven
from zonule.record.slots import format_number
from zonule.vocabulary import Status

DROPPED = frozenset({"ointment", "drops", "drop", "gel", "minims", "gtt", "eyedrops"})
"""Words within a drug's name that say it was put on the eye."""
SYSTEMIC = frozenset({"oral", "subcutaneous", "intramuscular", "inhaled"})
"""Routes of drugs that a patient takes at home."""
BEFOREHAND = frozenset({"beforehand", "preop", "preoperatively", "premed", "premedication", "stat", "recovery"})
"""Words that say a drug for the mouth was given for the operation."""
GIVEN_REACH = 8
"""Words behind a drug for the mouth within which it is said that it was given."""
CONTROLLED = frozenset(
    {"controlled", "maintained", "stable", "mmhg", "millimetres", "millimeters", "mercury", "glaucoma"}
)
"""Before "on" and a drug: a pressure, or how the eye was with what the patient took."""
ANTISEPTIC = frozenset({"antiseptic"})
INJECTED = frozenset({"intracameral", "subconjunctival", "sub_tenon", "intravitreal", "intravenous"})


def bind_drugs(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """Drugs given or withheld, outside the plan."""
    drugs = [d for d in reading.of("drug") if not is_for_home(reading, sections, d)]
    amounts = bind_amounts(reading, drugs)
    routes = bind_routes(reading, drugs)
    openings = [a for a in reading.of("step") if a.mention.id in ("paracentesis", "main_incision")]
    first_cut = openings[0].mention.start if openings else len(reading.words)
    merged: dict[tuple[str, str | None, Status], tuple[DrugGiven, list[Asserted]]] = {}
    for drug in drugs:
        route = routes.get(drug.mention.start)
        if _swallowed(reading, drug, route):
            drug = Asserted(drug.mention, Status.PLANNED, drug.cue)
        elif drug.status is Status.DONE and _is_on(reading, drug.mention):
            drug = Asserted(drug.mention, Status.HISTORICAL, drug.cue)
        words = reading.words[drug.mention.start : drug.mention.end]
        given, parts = _given(drug, words, route, amounts.get(drug.mention.start, []))
        key = (given.drug, given.route, drug.status)
        if key in merged:
            given, parts = _fuse(merged[key], given, parts)
        merged[key] = given, parts
    for given, parts in merged.values():
        yield found("drugs", given, *parts)
        yield from _settles(given, parts, first_cut)
    yield from _classes(reading, sections)


def _in_plan(sections: list[Section], mention: Mention) -> bool:
    section = section_at(sections, mention.start)
    return section is not None and section.field == "plan"


def _swallowed(reading: Reading, drug: Asserted, route: Asserted | None) -> bool:
    """A drug for the mouth that nobody is said to have given is one that the patient takes."""
    routes = set(drug.mention.term.routes) if drug.mention.term else set()
    by_mouth = ("oral" in routes and routes <= SYSTEMIC) or (route is not None and route.mention.id == "oral")
    if not by_mouth or drug.status is not Status.DONE:
        return False
    first, last = reading.sentence(drug.mention.start)
    if not BEFOREHAND.isdisjoint(reading.words[max(first, drug.mention.start - 6) : min(last, drug.mention.end + 8)]):
        return False
    behind = reading.between(drug.mention.end, min(last, drug.mention.end + GIVEN_REACH))
    return not any(
        a.mention.key == "action:apply" and a.mention.tense == "past"
        for a in (*reading.in_clause(drug.mention), *behind)
    )


def _is_on(reading: Reading, drug: Mention) -> bool:
    """ "Pressures of nineteen on latanoprost": what the patient is on was not given at the operation."""
    at = drug.start - 1
    held = {a.mention.end - 1: a.mention.start for a in reading.between(max(0, at - 6), drug.start)}
    while at > 0 and (reading.words[at] in ("and", ",", "plus") or (at in held and reading.words[at] != "on")):
        at = held.get(at, at) - 1
    if at < 1 or reading.words[at] != "on":
        return False
    return reading.words[at - 1] in CONTROLLED or reading.words[at - 1][:1].isdigit()


def _given(
    drug: Asserted, words: tuple[str, ...], route: Asserted | None, amounts: list[Asserted]
) -> tuple[DrugGiven, list[Asserted]]:
    dose = unit = strength = volume = None
    for amount in amounts:
        quantity = amount.mention.quantity
        if quantity is None or quantity.limit == "range":
            continue
        if amount.mention.id in MASSES and isinstance(quantity.value, float | int):
            dose, unit = _dose(float(quantity.value), amount.mention.id, quantity.unit)
        elif amount.mention.id == "volume_ml" and isinstance(quantity.value, float | int):
            volume = float(quantity.value)
        elif amount.mention.id == "dose_in_volume" and isinstance(quantity.value, float | int):
            dose, unit = _dose(float(quantity.value), "mass_mg", quantity.unit)
            volume = quantity.high
        elif amount.mention.id in STRENGTHS:
            strength = _strength(amount.mention)
    classes = drug.mention.term.classes if drug.mention.term else ()
    named = route.mention.id if route is not None and not ANTISEPTIC & set(classes) else None
    if named is None and set(words) & DROPPED and not ANTISEPTIC & set(classes):
        named = "topical"
    given = DrugGiven(drug=drug.mention.id, route=named, dose=dose, dose_unit=unit, strength=strength, volume_ml=volume)
    return given, [drug, *amounts, *([route] if route is not None and named == route.mention.id else [])]


def _dose(value: float, dimension: str, unit: str | None) -> tuple[float, str]:
    """In the unit said: micrograms stay micrograms, the rest are milligrams."""
    if dimension == "international_units":
        return value, "IU"
    if unit is not None and unit.lower() in ("microgram", "mcg", "ug", "µg", "micrograms"):
        return value * 1000, "micrograms"
    return value, "mg"


def _strength(mention: Mention) -> str | None:
    quantity = mention.quantity
    if quantity is None:
        return None
    if mention.id == "percent" and isinstance(quantity.value, float | int):
        return f"{format_number(quantity.value)} %"
    if mention.id == "concentration_mg_ml" and isinstance(quantity.value, float | int):
        return f"{format_number(quantity.value)} mg/mL"
    return str(quantity.value)


def _fuse(
    held: tuple[DrugGiven, list[Asserted]], given: DrugGiven, parts: list[Asserted]
) -> tuple[DrugGiven, list[Asserted]]:
    """One drug said twice by one route is one entry; what either says is kept."""
    update = {n: v for n, v in given.model_dump().items() if v is not None and getattr(held[0], n) is None}
    return held[0].model_copy(update=update), [*held[1], *parts]


def _settles(given: DrugGiven, parts: list[Asserted], first_cut: int) -> Iterator[Found]:
    """What a drug given says besides: its kind of anesthesia, the prophylaxis, the step it is."""
    drug = parts[0]
    classes = set(drug.mention.term.classes) if drug.mention.term else set()
    if "local_anesthetic" in classes and given.route in BLOCKS:
        yield found("anesthesia", given.route, *parts)
    if "sedative" in classes and drug.status is Status.DONE:
        yield found("anesthesia", "sedation", drug)
    if "antibiotic" in classes and given.route == "intracameral":
        yield found("steps", "intracameral_antibiotic", *parts)
    if given.route == "subconjunctival" and "local_anesthetic" not in classes:
        yield found("steps", "subconjunctival_injection", *parts)
    if "antibiotic" in classes and given.route in INJECTED:
        yield found("antibiotic_prophylaxis", given.drug, *parts)
    if "antiseptic" in classes and drug.mention.start < first_cut:
        yield found("steps", "skin_preparation", drug)
    if "dye" in classes:
        yield found("steps", "dye_staining", drug)


def _classes(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """ "Topical anesthetic drops" names a kind of anesthesia without its drug."""
    groups = [
        a for a in reading.of("drug_class") if a.mention.id == "local_anesthetic" and not _in_plan(sections, a.mention)
    ]
    routes = bind_routes(reading, groups)
    for group in groups:
        route = routes.get(group.mention.start)
        if route is not None and route.mention.id in BLOCKS:
            yield found("anesthesia", route.mention.id, group, route)

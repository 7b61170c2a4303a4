"""Drugs: each with its route, strength, volume and dose; and what a drug given settles besides."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.aftercare import is_for_home
from zonule.binding.distance import measure
from zonule.binding.found import Found, found
from zonule.binding.reading import Reading, nearest
from zonule.binding.sections import Section, section_at
from zonule.record.operation_record import DrugGiven
from zonule.record.slots import format_number
from zonule.vocabulary import Status

MASSES = frozenset({"mass_mg", "international_units"})
STRENGTHS = frozenset({"percent", "concentration_mg_ml", "ratio", "dose_in_volume"})
LIMIT = 9.0
ROUTE_REACH = 14
LONG = 70
"""Words; in a longer sentence (raw text) a block holds only for the drugs near it."""
DEEP = frozenset({"peribulbar", "retrobulbar", "sub_tenon"})
BLOCKS = frozenset({"peribulbar", "retrobulbar", "sub_tenon", "subconjunctival", "intracameral", "topical"})
BLOCK_CLASSES = frozenset({"local_anesthetic", "enzyme", "vasoconstrictor"})
DROPPED = frozenset({"ointment", "drops", "drop", "gel", "minims", "gtt", "eyedrops"})
"""Words within a drug's name that say it was put on the eye."""
ANTISEPTIC = frozenset({"antiseptic"})
INJECTED = frozenset({"intracameral", "subconjunctival", "sub_tenon", "intravitreal", "intravenous"})


def bind_drugs(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """Drugs given or withheld, outside the plan."""
    drugs = [d for d in reading.of("drug") if not is_for_home(reading, sections, d)]
    amounts = _amounts(reading, drugs)
    openings = [a for a in reading.of("step") if a.mention.id in ("paracentesis", "main_incision")]
    first_cut = openings[0].mention.start if openings else len(reading.words)
    merged: dict[tuple[str, str | None, Status], tuple[DrugGiven, list[Asserted]]] = {}
    for drug in drugs:
        route = _route(reading, drug)
        if _swallowed(reading, drug, route):
            drug = Asserted(drug.mention, Status.PLANNED, drug.cue)
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
    routes = drug.mention.term.routes if drug.mention.term else ()
    by_mouth = routes == ("oral",) or (route is not None and route.mention.id == "oral")
    if not by_mouth or drug.status is not Status.DONE:
        return False
    return not any(
        a.mention.key == "action:apply" and a.mention.tense == "past" for a in reading.in_clause(drug.mention)
    )


def _amounts(reading: Reading, drugs: list[Asserted]) -> dict[int, list[Asserted]]:
    """Masses, strengths and volumes by the word their drug starts at."""
    distance = measure(reading, drugs)
    bound: dict[int, list[Asserted]] = {}
    for value in reading.of("quantity"):
        if value.mention.id in MASSES | STRENGTHS | {"volume_ml"}:
            drug = nearest(drugs, value.mention, distance, LIMIT)
            if drug is not None:
                bound.setdefault(drug.mention.start, []).append(value)
    return bound


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


def _route(reading: Reading, drug: Asserted) -> Asserted | None:
    """The route said nearest in the same sentence, or that of the block the drug went into."""
    first, last = reading.sentence(drug.mention.start)
    around = reading.between(max(first, drug.mention.start - ROUTE_REACH), min(last, drug.mention.end + ROUTE_REACH))
    drugs = [a for a in around if a.mention.kind == "drug"]
    classes = set(drug.mention.term.classes) if drug.mention.term else set()
    allowed = set(drug.mention.term.routes) if drug.mention.term else set()
    routes = [a for a in around if a.mention.kind == "route" and (not allowed or a.mention.id in allowed)]
    if classes & BLOCK_CLASSES:
        routes += [
            a
            for a in around
            if a.mention.kind == "anesthesia" and a.mention.id in BLOCKS and (not allowed or a.mention.id in allowed)
        ]
    distance = measure(reading, [] if _listed(reading, drugs) else drugs)
    block = _block(reading, first, last, classes)
    if block is not None:
        return block
    chamber = _chamber(reading, drug) if not routes and (not allowed or "intracameral" in allowed) else None
    if chamber is not None:
        return chamber
    return nearest(routes, drug.mention, lambda head, value: _route_distance(reading, distance, head, value), 20.0)


def _block(reading: Reading, first: int, last: int, classes: set[str]) -> Asserted | None:
    """The block of the sentence, for what goes into a block mixture."""
    if not classes & BLOCK_CLASSES or last - first > LONG:
        return None
    blocks = [a for a in reading.between(first, last) if a.mention.kind == "anesthesia" and a.mention.id in DEEP]
    return blocks[0] if len({b.mention.id for b in blocks}) == 1 else None


def _chamber(reading: Reading, drug: Asserted) -> Asserted | None:
    """ "The anterior chamber was filled with lidocaine" is intracameral."""
    inside = reading.in_clause(drug.mention)
    filled = any(a.mention.key in ("action:inject", "action:place", "action:insert") for a in inside)
    chamber = next((a for a in inside if a.mention.key == "thing:anterior_chamber"), None)
    if not filled or chamber is None:
        return None
    return Asserted(replace(chamber.mention, kind="route", id="intracameral"), chamber.status, chamber.cue)


def _route_distance(reading: Reading, distance, route: Mention, drug: Mention) -> float:  # type: ignore[no-untyped-def]
    far: float = distance(route, drug)
    gap = reading.gap(route.end, drug.start) if route.end <= drug.start else ()
    return far + 6.0 * sum(word in (".", ";", "then", "followed") for word in gap)


def _listed(reading: Reading, drugs: list[Asserted]) -> bool:
    """Whether drugs are strung together ("a mixture of lidocaine and bupivacaine") and share their route."""
    return len(drugs) > 1 and all(
        set(reading.gap(a.mention.end, b.mention.start)) <= {"and", ",", "with", "plus", "&", "/"}
        or len(reading.gap(a.mention.end, b.mention.start)) <= 5
        for a, b in pairwise(drugs)
    )


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
    for group in reading.of("drug_class"):
        if _in_plan(sections, group.mention):
            continue
        if group.mention.id == "local_anesthetic":
            route = _route(reading, group)
            if route is not None and route.mention.id in BLOCKS:
                yield found("anesthesia", route.mention.id, group, route)

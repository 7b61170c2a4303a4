"""Drugs in a row: which dose, strength, volume and route is whose, in whatever order the row tells them."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.reading import Reading, around
from zonule.binding.runs import Toll, pair_row
from zonule.vocabulary import Status

MASSES = frozenset({"mass_mg", "international_units"})
STRENGTHS = frozenset({"percent", "concentration_mg_ml", "ratio", "dose_in_volume"})
AMOUNTS = (MASSES | {"dose_in_volume"}, STRENGTHS - {"dose_in_volume"}, frozenset({"volume_ml"}))
"""Kinds of amount of which a drug has one each."""
FAR = 9.0
"""Cost of the words from which an amount no longer belongs to a drug."""
ROUTE_FAR = 14.0
DEEP = frozenset({"peribulbar", "retrobulbar", "sub_tenon"})
BLOCKS = frozenset({"peribulbar", "retrobulbar", "sub_tenon", "subconjunctival", "intracameral", "topical"})
BLOCK_CLASSES = frozenset({"local_anesthetic", "enzyme", "vasoconstrictor"})
LONG = 70
"""Words; in a longer sentence (raw text) a block holds only for the drugs near it."""
BLOCK_REACH = 16
TOLLS = {",": 1.5, "and": 2.0, "then": 6.0, "followed": 6.0, "but": 4.0, ":": 1.0, "(": 0.3, ")": 0.3, "+": 1.5}
SECOND = 6.0
"""A further value of one kind for one drug."""
BEFORE = 0.6
"""A value right in front ("2 % lidocaine") stands closer than one behind."""
BY_ROUTE = 6.0
"""A route that closes its clause with "by" is not that of a drug behind."""
OWN_REACH = 10
"""Words behind a drug within which its amounts and its route stand."""
CLOSED = 1.5
"""A route behind a drug and its dose closes them rather than opening the next drug."""
BARRIERS = frozenset({"step", "viscoelastic", "complication", "suture_material", "field", "lens_field", "implant"})
BARRIER = 3.0
JOINS = frozenset(
    {"and", "with", "plus", "&", "/", "+", "mixed", "mixture", "of", "in", "combined", "together", "then"}
)
SAME = (("same", "way"), ("same", "route"), ("same", "place"), ("same", "site"), ("same", "space"), ("same", "needle"))
"""What says that a drug went where the one before it did."""
SURFACE = frozenset({"eye", "cornea", "surface", "fornix", "conjunctiva"})
TALK = frozenset({Status.HABITUAL, Status.HYPOTHETICAL, Status.NOT_DONE})
ELSEWHERE = frozenset({Status.OTHER_EYE, Status.HISTORICAL})
INSIDE = frozenset({"eye", "chamber"})
"""What a drug put inside is put into: by itself "inside" says the chamber too."""
LEADS_ON = frozenset({".", ",", ";", ":", "\n", "to", "and", "then", "for", "later", "first", "again", "now"})
"""Words behind an "inside" that names no place of its own."""
INSTILLED = frozenset({"instilled", "instil", "instill", "instillation"})


def bind_amounts(reading: Reading, drugs: list[Asserted]) -> dict[int, list[Asserted]]:
    """Doses, strengths and volumes by the word their drug starts at."""
    bound: dict[int, list[Asserted]] = {}
    for kinds in AMOUNTS:
        values = [v for v in reading.of("quantity") if v.mention.id in kinds]
        for row in _rows(reading, drugs, values):
            for value, drug in pair_row(row, lambda d, v, used: _price(reading, d, v, used), Toll(1.0, FAR)):
                bound.setdefault(drug.mention.start, []).append(value)
    return bound


def _rows(reading: Reading, drugs: list[Asserted], values: list[Asserted]) -> Iterator[list[tuple[Asserted, bool]]]:
    """Drugs and values of one kind with no end of sentence and no long talk between."""
    row: list[tuple[Asserted, bool]] = []
    members = [*((d, True) for d in drugs), *((v, False) for v in values)]
    for item, noun in sorted(members, key=lambda m: (m[0].mention.start, m[0].mention.end)):
        if row and _parted(reading, row[-1][0].mention, item.mention):
            yield row
            row = []
        row.append((item, noun))
    if row:
        yield row


def _parted(reading: Reading, first: Mention, second: Mention) -> bool:
    sentences = {reading.annotation.sentence_of(first.start), reading.annotation.sentence_of(second.start)}
    return len(sentences) > 1 or second.start - first.end > 2 * ROUTE_FAR


def _price(reading: Reading, drug: Asserted, value: Asserted, used: bool) -> float | None:
    far = _between(reading, drug.mention, value.mention)
    if far > FAR:
        return None
    return far + (SECOND if used else 0.0)


def _between(reading: Reading, drug: Mention, value: Mention) -> float:
    """What the words between a drug and a value cost; amounts of the drug itself hardly count."""
    first, second = (drug, value) if drug.start < value.start else (value, drug)
    if second.start < first.end:
        return 0.0
    inside = [a.mention for a in reading.between(first.end, second.start)]
    light = {i for m in inside if m.kind in ("quantity", "route") for i in range(m.start, m.end)}
    far = sum(BARRIER for m in inside if m.kind in BARRIERS)
    for i in range(first.end, second.start):
        if i not in reading.dead_words:
            word = reading.words[i]
            far += TOLLS.get(word, 0.3 if i in light else 1.0)
    return far * BEFORE if value.start < drug.start and second.start - first.end <= 4 else far


def bind_routes(reading: Reading, drugs: list[Asserted]) -> dict[int, Asserted]:
    """The route of each drug, by the word the drug starts at."""
    told = _told(reading)
    routes: dict[int, Asserted] = {}
    for row in _rows(reading, drugs, told):
        paired = pair_row(row, lambda d, v, used: _route_price(reading, d, v, used), Toll(2.0, ROUTE_FAR))
        for route, drug in paired:
            routes.setdefault(drug.mention.start, route)
        _share(reading, [item for item, noun in row if noun], routes)
    for drug in drugs:
        found = _block(reading, drug, told) or routes.get(drug.mention.start) or _other(reading, drug)
        if found is not None:
            routes[drug.mention.start] = found
    for before, drug in pairwise(drugs):
        same = routes.get(before.mention.start)
        if same is not None and drug.mention.start not in routes and _allows(drug, same) and _likewise(reading, drug):
            routes[drug.mention.start] = same
    return routes


def _likewise(reading: Reading, drug: Asserted) -> bool:
    """ "Dexamethasone 4 mg the same way": by the route of the drug before."""
    first, last = reading.sentence(drug.mention.start)
    near = reading.words[max(first, drug.mention.start - 6) : min(last, drug.mention.end + 9)]
    return "likewise" in near or any(near[i : i + 2] in SAME for i in range(len(near)))


def _told(reading: Reading) -> list[Asserted]:
    """Routes, and kinds of anesthesia that are one; words that are both count as a route."""
    told = {a.mention.start: a for a in reading.of("anesthesia") if a.mention.id in BLOCKS}
    told |= {a.mention.start: a for a in reading.of("anesthesia") if _by_vein(reading, a.mention)}
    told |= {a.mention.start: a for a in reading.of("route")}
    named = (told[start] for start in sorted(told))
    return [
        Asserted(replace(a.mention, kind="route", id="intravenous"), a.status, a.cue)
        if _by_vein(reading, a.mention)
        else a
        for a in named
    ]


def _by_vein(reading: Reading, mention: Mention) -> bool:
    """ "Intravenous sedation" is a kind of anesthesia and a route in one."""
    words = reading.words[mention.start : mention.end]
    return mention.key == "anesthesia:sedation" and not {"intravenous", "iv"}.isdisjoint(words)


def _route_price(reading: Reading, drug: Asserted, route: Asserted, used: bool) -> float | None:
    if not _may_be_led(drug, route) or _only_talk(drug, route):
        return None
    far = _between(reading, drug.mention, route.mention)
    if far > ROUTE_FAR:
        return None
    if route.mention.start > drug.mention.start and _closed_between(reading, drug.mention, route.mention):
        return None
    if route.mention.start < drug.mention.start:
        if route.mention.id not in DEEP and _has_own(reading, drug, route):
            return None
        far += CLOSED if _closes(reading, route.mention) else 0.0
        far += BY_ROUTE if _ends_clause(reading, route.mention) else 0.0
    return far + (SECOND if used else 0.0)


def _closed_between(reading: Reading, drug: Mention, route: Mention) -> bool:
    """ "Cefuroxime no stitches shield on | drops …": the drops of afterwards are not how it was given."""
    inside = reading.between(drug.end, route.start)
    return route.id == "topical" and any(a.mention.kind in ("step", "suture_material") for a in inside)


def _has_own(reading: Reading, drug: Asserted, route: Asserted) -> bool:
    """ "Topical with lidocaine intracameral": another route stands right behind a drug or its amounts."""
    at = drug.mention.end
    for asserted in reading.between(at, at + OWN_REACH):
        mention = asserted.mention
        if mention.kind == "route" and mention.start == at and mention.id != route.mention.id:
            behind = [a for a in reading.between(mention.end, mention.end + 2) if a.mention.kind == "drug"]
            return _allows(drug, asserted) and not any(_may_be_led(a, asserted) for a in behind)
        if mention.kind == "drug":
            return False
        if mention.kind == "quantity":
            at = max(at, mention.end)
    return False


def _may_be_led(drug: Asserted, route: Asserted) -> bool:
    """Whether a route may be that of a drug behind it; an antiseptic is told without one."""
    antiseptic = drug.mention.term is not None and "antiseptic" in drug.mention.term.classes
    return _allows(drug, route) and not (antiseptic and route.mention.id != "topical")


def _allows(drug: Asserted, route: Asserted) -> bool:
    term = drug.mention.term
    classes = set(term.classes) if term else set()
    if route.mention.kind == "anesthesia" and not classes & BLOCK_CLASSES and drug.mention.kind == "drug":
        return False
    return term is None or not term.routes or route.mention.id in term.routes


def _only_talk(drug: Asserted, route: Asserted) -> bool:
    """ "Lidocaine into the chamber, I'd usually do a sub-Tenon's": a block that was not done is not how a drug went."""
    named = route.mention.kind == "anesthesia" or route.mention.id in DEEP
    return drug.status is Status.DONE and (route.status in ELSEWHERE or (named and route.status in TALK))


def _closes(reading: Reading, route: Mention) -> bool:
    """Whether a drug or its dose stands right before a route."""
    before = [a.mention for a in reading.between(max(0, route.start - 6), route.start)]
    return any(m.end == route.start and (m.kind == "drug" or m.id in MASSES | STRENGTHS) for m in before)


def _ends_clause(reading: Reading, route: Mention) -> bool:
    """ "A and B were given by subconjunctival injection, and C …": it closes what was given, behind its verb."""
    if reading.words[max(0, route.start - 1) : route.start] not in (("by",), ("via",)):
        return False
    clause = reading.clause(route.start)
    return any(a.mention.kind in ("drug", "action") for a in reading.between(clause.start, route.start))


def _share(reading: Reading, drugs: list[Asserted], routes: dict[int, Asserted]) -> None:
    """Drugs strung together ("lidocaine and bupivacaine") share the route that one of them has."""
    backward = list(reversed(drugs))
    shared = {d.mention.start for d in drugs if _under_route(reading, d.mention, routes.get(d.mention.start))}
    for known, other in [*pairwise(drugs), *pairwise(backward)]:
        route = routes.get(known.mention.start)
        if route is None or other.mention.start in routes or not _allows(other, route):
            continue
        listed = known.mention.start in shared and _listed(reading, known.mention, other.mention)
        if listed or _strung(reading, known.mention, other.mention):
            routes[other.mention.start] = route
            shared.add(other.mention.start)


def _under_route(reading: Reading, drug: Mention, route: Asserted | None) -> bool:
    """ "Subconj: gentamicin 20 mg, betamethasone 4 mg": the route stands over a list like a label."""
    if route is None or route.mention.end >= drug.start:
        return False
    return reading.gap(route.mention.end, drug.start)[:1] == (":",)


def _listed(reading: Reading, one: Mention, two: Mention) -> bool:
    """Whether nothing but amounts and a comma stand between two drugs."""
    first, second = (one, two) if one.start < two.start else (two, one)
    amounts = {
        i
        for a in reading.between(first.end, second.start)
        if a.mention.kind == "quantity"
        for i in range(a.mention.start, a.mention.end)
    }
    return [w for i, w in enumerate(reading.gap(first.end, second.start), first.end) if i not in amounts] == [","]


def _strung(reading: Reading, one: Mention, two: Mention) -> bool:
    first, second = (one, two) if one.start < two.start else (two, one)
    amounts = {
        i
        for a in reading.between(first.end, second.start)
        if a.mention.kind == "quantity" or a.mention.key in ("drug_class:enzyme",)
        for i in range(a.mention.start, a.mention.end)
    }
    gap = [w for i, w in enumerate(reading.gap(first.end, second.start), first.end) if i not in amounts]
    return bool(gap) and set(gap) <= JOINS | {"a", "the", ",", "little", "some", "bit"} and gap != [","]


def _block(reading: Reading, drug: Asserted, told: list[Asserted]) -> Asserted | None:
    """The one deep block of the sentence, for what goes into a block mixture."""
    classes = set(drug.mention.term.classes) if drug.mention.term else set()
    if not classes & BLOCK_CLASSES:
        return None
    first, last = reading.sentence(drug.mention.start)
    if last - first > LONG:
        first, last = max(first, drug.mention.start - BLOCK_REACH), min(last, drug.mention.end + BLOCK_REACH)
    blocks = [
        a for a in around(told, drug.mention.start, LONG) if first <= a.mention.start < last and a.mention.id in DEEP
    ]
    named = [b for b in blocks if _allows(drug, b) and not _only_talk(drug, b)]
    if not blocks and first:
        named = [b for b in _block_before(reading, first, told) if _allows(drug, b)]
    return named[0] if len({b.mention.id for b in named}) == 1 else None


def _block_before(reading: Reading, first: int, told: list[Asserted]) -> list[Asserted]:
    """ "The block was peribulbar. I used …": the block that ends the sentence before, which names no drug."""
    start, end = reading.sentence(first - 1)
    if end - start > LONG or any(a.mention.kind == "drug" for a in reading.between(start, end)):
        return []
    closing = [a for a in around(told, end, LONG) if start <= a.mention.start and end - 2 <= a.mention.end <= end]
    return [a for a in closing if a.mention.id in DEEP and a.status is Status.DONE]


def _on_the_eye(reading: Reading, drug: Mention) -> Mention | None:
    """ "A drop of atropine", "atropine was placed on the eye": words that say it was put on the surface."""
    words = reading.words
    if words[max(0, drug.start - 2) : drug.start] in (("drop", "of"), ("drops", "of")):
        return Mention(drug.start - 2, drug.start, "route", "topical")
    last = reading.clause(drug.start).end
    for i in range(drug.end, min(last - 2, drug.end + 8)):
        if words[i] in ("on", "onto", "to") and words[i + 1] == "the" and words[i + 2] in SURFACE:
            return Mention(i, i + 3, "route", "topical")
    return None


def _inside(reading: Reading, drug: Mention) -> Mention | None:
    """ "Acetylcholine inside to bring the pupil down", "lidocaine 1 % inside the eye": in the chamber."""
    amounts = {
        i
        for a in reading.between(drug.end, drug.end + 8)
        if a.mention.kind == "quantity"
        for i in range(a.mention.start, a.mention.end)
    }
    at = drug.end
    while at in amounts or reading.words[at : at + 1] in (("placed",), ("put",), ("went",), ("injected",), ("was",)):
        at += 1
    if reading.words[at : at + 1] != ("inside",):
        return None
    behind = reading.words[at + 1 : at + 3]
    if behind[:1] == ("the",) and behind[1:] and behind[1] in INSIDE:
        return Mention(at, at + 3, "route", "intracameral")
    closed = not behind or behind[0] in LEADS_ON
    closed = closed or any(a.mention.kind in ("drug", "route") for a in reading.between(at + 1, at + 2))
    return Mention(at, at + 1, "route", "intracameral") if closed else None


def _other(reading: Reading, drug: Asserted) -> Asserted | None:
    """ "The chamber was filled with lidocaine", "tetracaine was instilled": the route by what was done.

    An anesthetic that is made as eye drops alone names its route itself.
    """
    allowed = set(drug.mention.term.routes) if drug.mention.term else set()
    place = _on_the_eye(reading, drug.mention) if not allowed or "topical" in allowed else None
    if place is not None:
        return Asserted(place, drug.status, drug.cue)
    if allowed == {"topical"} and drug.mention.term and BLOCK_CLASSES & set(drug.mention.term.classes):
        return Asserted(replace(drug.mention, kind="route", id="topical"), drug.status, drug.cue)
    inside = reading.in_clause(drug.mention)
    chamber = next((a for a in inside if a.mention.key == "thing:anterior_chamber"), None)
    filled = any(a.mention.key in ("action:inject", "action:place", "action:insert") for a in inside)
    if filled and chamber is not None and (not allowed or "intracameral" in allowed):
        return Asserted(replace(chamber.mention, kind="route", id="intracameral"), chamber.status, chamber.cue)
    inner = _inside(reading, drug.mention) if not allowed or "intracameral" in allowed else None
    if inner is not None:
        return Asserted(inner, drug.status, drug.cue)
    for i in range(max(0, drug.mention.start - 4), min(len(reading.words), drug.mention.end + 4)):
        instilled = reading.words[i] in INSTILLED and reading.clause(i) == reading.clause(drug.mention.start)
        if instilled and (not allowed or "topical" in allowed):
            return Asserted(Mention(i, i + 1, "route", "topical"), drug.status, drug.cue)
    return None

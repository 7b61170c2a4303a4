"""Power, cylinder, axis and target of a lens: by the field that names them, else the power by what stands beside it."""

from bisect import bisect_left
from collections.abc import Callable, Iterator, Sequence

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.eye_measures import as_target, of_cornea, of_refraction
from zonule.binding.found import Found, found
from zonule.binding.lens_fates import prefix_of
from zonule.binding.lens_models import code_at, is_signed
from zonule.binding.lens_passages import WENT_IN
from zonule.binding.openings import MAIN
from zonule.binding.reading import Reading
from zonule.binding.runs import Toll, pair_row
from zonule.binding.sections import Section, section_at
from zonule.vocabulary import Status

UNIT = {"power_d": "diopter", "cylinder_d": "diopter", "axis_deg": "degrees", "target_refraction_d": "diopter"}
BOUNDS = {
    "power_d": (-20.0, 45.0),
    "cylinder_d": (0.25, 15.0),
    "axis_deg": (0.0, 180.0),
    "target_refraction_d": (-10.0, 10.0),
}
"""What each can be at all, in its unit; lenses are made in steps of a quarter. Common practice, no source."""
WEAKEST = 4.0
"""Diopters; a weaker lens is told with its sign."""
BARE = (5.0, 36.0)
"""Diopters that a number without sign, point or unit may mean right beside a lens."""
FAR = 6.0
LENS_TOLD = 40
"""Words before "the 21 went in" within which a lens is told of."""
ANCHOR_REACH = 14
BEHIND_REACH = 5
BARE_REACH = 3
TURN_REACH = 10
WOUND_REACH = 14
BARE_GAP = 3
PLANO_REACH = 4
CORRECTED = 16
"""Words between a field and the number said instead of its first one."""
TOLLS = {",": 1.5, ".": 7.0, ";": 5.0, "\n": 2.0, "and": 1.5, ":": 0.2, "-": 0.2, "(": 0.2}
LIGHT = frozenset(
    {
        "of", "is", "was", "a", "an", "the", "at", "to", "be", "by", "plus", "sphere", "set", "on", "in", "about", ":",
        ",", "(",
    }
)  # fmt: skip
FIELDS = frozenset({"model", "manufacturer", "serial_number", "lot_number", "cylinder_d"})
CALCULATED = frozenset({"calculated", "calculation", "biometry", "formula"})
GAVE = frozenset({"had", "for", "gave", "said", "says", "suggested", "recommended", "wanted", "predicted", "asked"})
"""Words of a clause that tells which power was calculated."""
LEAST_OF = 6.0
"""Diopters up to which "3 of cylinder" needs no unit."""
TORIC = "toric"
RELAXING = frozenset({"step:relaxing_incision", "procedure:corneal_relaxing_incisions"})
ARC = ("of", "arc")
"""Words behind the degrees that a cut is long."""


def bind_numbers(reading: Reading, sections: list[Section], named: frozenset[int]) -> Iterator[Found]:
    """The numbers of each lens; the slot is `lens.FIELD`, or the one of its fate. `named` are words of names."""
    values = [
        v
        for v in reading.of("quantity")
        if named.isdisjoint(range(v.mention.start, v.mention.end)) and _is_candidate(reading, v, sections)
    ]
    yield from _plano(reading)
    toric = _speaks_of_toric(reading)
    bound = dict(_by_field(reading, values, named, toric=toric))
    turned = _turned(reading, values) if toric else {}
    finals = [at for at, head in bound.items() if head.mention.id == "axis_deg" and _is_final(reading, head.mention)]
    turned = {at: turn for at, turn in turned.items() if not any(final > at for final in finals)}
    bound |= turned
    marked = _marked(reading, bound, turned) | _calculated(reading, values)
    for value in values:
        if value.mention.start in marked:
            value = Asserted(value.mention, Status.PLANNED)
        head = bound.get(value.mention.start)
        slot = head.mention.id if head is not None else ""
        slot = "axis_deg" if value.mention.start in turned else slot
        if head is None:
            slot, head = "power_d", _by_anchor(reading, value.mention) or _by_name(reading, value.mention, named)
            head = head or _by_going_in(reading, value.mention)
        quantity = value.mention.quantity
        if head is not None and quantity is not None and isinstance(quantity.value, float | int):
            corrected = _replaced(reading, head.mention.end, value.mention.start)
            of = head.mention if corrected else value.mention
            if value.mention.id == "diopter" or is_signed(reading, value.mention):
                value, head = as_target(value, head), as_target(head, head)
            yield found(f"{prefix_of(reading, of)}.{slot}", float(quantity.value), value, head)


def _plano(reading: Reading) -> Iterator[Found]:
    """ "Target plano": a refraction of zero, where no diopters follow ("plano minus a quarter")."""
    plano = [m for m in reading.annotation.mentions if m.key == "word:plano"]
    for word in plano:
        near = reading.between(max(0, word.start - PLANO_REACH), word.start)
        targets = [a for a in near if a.mention.key == "lens_field:target_refraction_d"]
        gap = reading.gap(targets[-1].mention.end, word.start) if targets else ()
        told = any(a.mention.kind == "quantity" for a in reading.between(word.end, word.end + 2))
        if targets and not told and set(gap) <= LIGHT | {"for"}:
            said = Asserted(word, targets[-1].status, targets[-1].cue)
            yield found(f"{prefix_of(reading, word)}.target_refraction_d", 0.0, said, targets[-1])


def _is_candidate(reading: Reading, value: Asserted, sections: list[Section]) -> bool:
    quantity = value.mention.quantity
    if quantity is None or not isinstance(quantity.value, float | int) or quantity.limit == "range":
        return False
    if value.mention.id not in ("diopter", "degrees", "number") or _in_code(reading, quantity.start):
        return False
    if of_refraction(reading, value.mention) and not _fielded(reading, value.mention):
        return False
    if reading.words[value.mention.end : value.mention.end + 2] == ARC:
        return False
    section = section_at(sections, value.mention.start)
    return section is None or section.field != "plan"


def _in_code(reading: Reading, at: int) -> bool:
    """Whether digits are the tail of an identifier ("4471-B-09")."""
    text = reading.annotation.aligned.text
    return at > 1 and (text[at - 1].isalnum() or (text[at - 1] in "-/" and text[at - 2].isalnum()))


def _fielded(reading: Reading, value: Mention) -> bool:
    """Whether a field of the lens stands right before a value."""
    near = reading.between(max(0, value.start - 3), value.start)
    return any(a.mention.kind == "lens_field" and a.mention.id in UNIT for a in near)


def _by_field(
    reading: Reading, values: Sequence[Asserted], named: frozenset[int], *, toric: bool
) -> Iterator[tuple[int, Asserted]]:
    fields = [a for a in reading.of("lens_field") if a.mention.id in UNIT]
    fields = [f for f in fields if f.mention.id != "axis_deg" or toric or _beside_lens(reading, f.mention)]
    fields = [f for f in fields if not _of_wound(reading, f.mention) and not of_cornea(reading, f.mention)]
    fields = [f for f in fields if f.mention.start not in named]
    row: list[tuple[Asserted, bool]] = []
    members = [*((f, True) for f in fields), *((v, False) for v in values)]
    for item, noun in sorted(members, key=lambda m: (m[0].mention.start, m[0].mention.end)):
        if row and item.mention.start - row[-1][0].mention.end > 4 * FAR:
            yield from _paired(reading, row)
            row = []
        row.append((item, noun))
    yield from _paired(reading, row)


def _paired(reading: Reading, row: list[tuple[Asserted, bool]]) -> Iterator[tuple[int, Asserted]]:
    def cost(field: Asserted, value: Asserted, used: bool) -> float | None:
        price = _price(reading, field.mention, value.mention)
        return None if price is None else price + (FAR if used else 0.0)

    for value, field in pair_row(row, cost, Toll(0.5, FAR + 1)):
        yield value.mention.start, field


def _price(reading: Reading, field: Mention, value: Mention) -> float | None:
    if value.id not in (UNIT[field.id], "number") or not _possible(field.id, value):
        return None
    if value.start < field.start:
        gap = reading.gap(value.end, field.start)
        near = len(gap) <= 1 and set(gap) <= LIGHT - {",", ":", "("} and value.id != "number"
        near = near or (gap == ("of",) and field.id == "cylinder_d" and _is_small(value))
        return 0.5 + len(gap) if near and field.id != "target_refraction_d" else None
    if _replaced(reading, field.end, value.start):
        return 1.0
    gap = tuple(reading.words[i] for i in range(field.end, value.start) if i not in reading.dead_words)
    if value.id == "number" and (len(gap) > BARE_GAP or (field.id == "power_d" and _of_machine(reading, field))):
        return None
    if value.id == "number" and field.id == "cylinder_d" and not LIGHT.issuperset(gap):
        return None
    if len(gap) > 4 * FAR:
        return None
    if field.id == "target_refraction_d" and value.id == "number" and not _of_refraction(reading, value):
        return None
    far = sum(TOLLS.get(word, 0.3 if word in LIGHT else 1.0) for word in gap)
    return far if far <= FAR else None


def _replaced(reading: Reading, start: int, end: int) -> bool:
    """Whether the value at `end` takes the place of one taken back behind `start`."""
    if end - start > CORRECTED or reading.taken_back.isdisjoint(range(start, end)):
        return False
    at = bisect_left(reading.corrections, start, key=lambda cue: cue.start)
    return at < len(reading.corrections) and reading.corrections[at].start < end


def _of_refraction(reading: Reading, value: Mention) -> bool:
    """A target has a sign or a part behind its point, or is zero; "aiming for five" may be anything."""
    amount = value.quantity.value if value.quantity is not None else 1
    return is_signed(reading, value) or not isinstance(amount, float | int) or amount == 0 or amount % 1 != 0


def _possible(field: str, value: Mention) -> bool:
    """Whether a number can be the value of a field."""
    amount = value.quantity.value if value.quantity is not None else None
    if not isinstance(amount, float | int):
        return False
    low, high = BOUNDS[field]
    return low <= amount <= high and (
        field in ("axis_deg", "target_refraction_d") or (amount * 4) % 1 == 0 or value.id == "diopter"
    )


def _of_machine(reading: Reading, power: Mention) -> bool:
    """Whether "power" stands among the settings of the machine."""
    near = reading.between(max(0, power.start - 7), power.end + 7)
    return any(a.mention.kind in ("parameter", "phase") and a.mention.start != power.start for a in near)


def _speaks_of_toric(reading: Reading) -> bool:
    """Whether the dictation tells of a toric lens, so that an axis may be the lens's."""
    return any(a.mention.id == TORIC for a in reading.of("lens_type")) or any(
        a.mention.id == "cylinder_d" for a in reading.of("lens_field")
    )


def _of_wound(reading: Reading, field: Mention) -> bool:
    """ "Main wound clear corneal 2.2 at the five degree meridian": where the wound was made, and no axis of a lens."""
    if "meridian" not in reading.words[field.start : field.end]:
        return False
    first, _ = reading.sentence(field.start)
    near = [a.mention for a in reading.between(max(first, field.start - WOUND_REACH), field.start)]
    wounds = [m.start for m in near if m.key in MAIN | RELAXING or m.kind == "incision_kind"]
    lenses = [m.start for m in near if m.key in ("thing:lens", "lens_field:cylinder_d") or m.kind == "lens_type"]
    return bool(wounds) and max(wounds) > max(lenses, default=-1)


def _is_small(value: Mention) -> bool:
    """ "3.0 of cylinder": what can only be the cylinder of a lens."""
    amount = value.quantity.value if value.quantity is not None else None
    return isinstance(amount, float | int) and amount <= LEAST_OF


def _beside_lens(reading: Reading, field: Mention) -> bool:
    return any(a.mention.key == "thing:lens" for a in reading.between(*reading.sentence(field.start)))


def _by_anchor(reading: Reading, value: Mention) -> Asserted | None:
    """What of a lens stands beside a power that is told without the word."""
    if value.id == "degrees" or not _possible("power_d", value):
        return None
    amount = float(value.quantity.value) if value.quantity is not None else 0.0
    old = reading.instead.get(value.start)
    signed = is_signed(reading, value) or (old is not None and is_signed(reading, old))
    if value.id == "diopter" or signed:
        if abs(amount) < WEAKEST and not signed:
            return None
        at = reading.placed(Asserted(value, Status.DONE)).mention
        return _anchor(reading, at, ANCHOR_REACH, lambda gap: "." not in gap and ";" not in gap)
    pointed = reading.is_pointed(value)
    if not BARE[0] <= amount <= BARE[1] or (amount * 2) % 1:
        return None
    if _of_machine(reading, value) and not _behind_lens(reading, value):
        return None
    if not pointed and not _placed(reading, value):
        return None
    anchor = _anchor(reading, value, BARE_REACH, lambda gap: set(gap) <= LIGHT)
    named = anchor is not None and anchor.mention.kind != "lens_field"
    return anchor if named else None


def _by_name(reading: Reading, value: Mention, named: frozenset[int]) -> Asserted | None:
    """ "Model Fern 6, 21.5, serial …": a number with its point right behind the name of the lens or "same model"."""
    amount = value.quantity.value if value.quantity is not None else None
    if value.id != "number" or not isinstance(amount, float | int) or not reading.is_pointed(value):
        return None
    if not BARE[0] <= amount <= BARE[1] or (amount * 4) % 1 or reading.words[value.start - 1] not in (",", "of"):
        return None
    at = value.start - 2
    label = any(
        a.mention.key == "lens_field:model" and a.mention.end == at + 1 for a in reading.between(at - 1, at + 1)
    )
    if at not in named and not label:
        return None
    name = Mention(at, at + 1, "word", "model")
    return Asserted(name, reading.status_at(name))


def _by_going_in(reading: Reading, value: Mention) -> Asserted | None:
    """ "… was put aside unused, and the 21 went in": a lens by its power alone."""
    amount = value.quantity.value if value.quantity is not None else None
    if value.id != "number" or not isinstance(amount, float | int) or not BARE[0] <= amount <= BARE[1]:
        return None
    if (
        reading.words[value.start - 1 : value.start] != ("the",)
        or reading.words[value.end : value.end + 2] not in WENT_IN
    ):
        return None
    near = reading.between(max(0, value.start - LENS_TOLD), value.start)
    lenses = [a for a in near if a.mention.key == "thing:lens" or a.mention.kind == "lens_type"]
    told = Mention(value.end, value.end + 2, "word", "lens_head_in")
    return Asserted(told, reading.status_at(told)) if lenses else None


def _behind_lens(reading: Reading, value: Mention) -> bool:
    """ "Cortex out. The lens was a 21.5": right behind the lens, whatever of the machine was told before it."""
    named = any(
        (a.mention.key == "thing:lens" or a.mention.kind == "lens_type")
        and set(reading.gap(a.mention.end, value.start)) <= LIGHT
        for a in reading.between(max(0, value.start - BARE_REACH - 3), value.start)
        if a.mention.end > value.start - BARE_REACH - 1
    )
    return named or (value.start > 0 and code_at(reading, value.start - 1) is not None)


def _turned(reading: Reading, values: Sequence[Asserted]) -> dict[int, Asserted]:
    """Where a toric lens was turned to; when it was turned again, the last place."""
    turns = [(v, turn) for v in values if (turn := _turned_to(reading, v.mention)) is not None]
    done = [(v, turn) for v, turn in turns if v.status is turn.status is Status.DONE]
    return {v.mention.start: turn for v, turn in done[-1:]}


def _marked(reading: Reading, bound: dict[int, Asserted], turned: dict[int, Asserted]) -> frozenset[int]:
    """The axes that were marked beforehand, and the one planned, where the lens was turned to another."""
    axes = [(at, head) for at, head in bound.items() if at not in turned and head.mention.id == "axis_deg"]
    final = any(_is_final(reading, head.mention) for _, head in axes)
    return frozenset(
        at for at, head in axes if _is_reference(reading, at) or ((turned or final) and _is_mark(reading, head.mention))
    )


def _is_reference(reading: Reading, at: int) -> bool:
    """ "Marked the axis at zero and one eighty": both ends of the horizontal, which no lens is turned to."""
    near = [a.mention for a in reading.between(at, at + 6) if a.mention.quantity is not None]
    values = [m.quantity.value for m in near[:2] if m.quantity is not None]
    said = reading.words[at : at + 6]
    return values[:2] == [0, 180] or (values[:1] == [0] and "eighty" in said)


def _calculated(reading: Reading, values: Sequence[Asserted]) -> frozenset[int]:
    """Powers that were calculated for another aim than the one told ("27.0 had been calculated for emmetropia")."""
    found_at = []
    for value in values:
        clause = reading.clause(value.mention.start)
        words = reading.words[clause.start : clause.end]
        if CALCULATED & set(words) and GAVE & set(words) and len(values) > 1:
            found_at.append(value.mention.start)
    return frozenset(found_at)


def _is_final(reading: Reading, field: Mention) -> bool:
    """ "Final axis 96": where the lens came to lie in the end."""
    return "final" in reading.words[max(0, field.start - 1) : field.end]


def _is_mark(reading: Reading, field: Mention) -> bool:
    return any(a.mention.key == "action:mark" for a in reading.in_clause(field))


def _turned_to(reading: Reading, value: Mention) -> Asserted | None:
    """ "Rotated to 171 degrees": what turned a toric lens to an axis; "by ten degrees" is no axis."""
    if value.id not in ("degrees", "number") or not _possible("axis_deg", value) or is_signed(reading, value):
        return None
    value = reading.placed(Asserted(value, Status.DONE)).mention
    before = reading.words[max(0, value.start - 1)]
    if (before not in ("to", "at", "on", "onto") and before != "aligned") or reading.is_pointed(value):
        return None
    first, _ = reading.sentence(value.start)
    near = reading.between(max(first, value.start - TURN_REACH), value.start)
    turns = [a for a in near if a.mention.key == "action:rotate"]
    other = [a for a in near if a.mention.kind in ("step", "incision_kind") or a.mention.key == "thing:axis"]
    return turns[-1] if turns and not any(o.mention.start > turns[-1].mention.start for o in other) else None


def _placed(reading: Reading, value: Mention) -> bool:
    """Whether the place or the number of a lens stands right behind a bare number ("lens 21 in the bag")."""
    before = [a.mention for a in reading.between(max(0, value.start - 6), value.start)]
    if any(m.kind == "implant" or (m.key == "lens_field:model" and m.end + 2 >= value.start) for m in before):
        return False
    behind = reading.between(value.end, value.end + 3)
    return any(a.mention.kind in ("lens_location", "lens_field") for a in behind)


def _anchor(reading: Reading, value: Mention, reach: int, allows: Callable[[tuple[str, ...]], bool]) -> Asserted | None:
    """What of a lens stands nearest to a value: the lens, its type, model, place or number."""
    anchors = _anchors(reading, value, reach)
    before = [a for a in anchors if a.mention.end <= value.start and value.start - a.mention.end <= reach]
    behind = [a for a in anchors if value.end <= a.mention.start <= value.end + min(reach, BEHIND_REACH)]
    if behind and _nearer(reading, value, behind[0].mention, before[-1].mention if before else None):
        return behind[0]
    if before and allows(_live_gap(reading, before[-1].mention.end, value.start)):
        return before[-1]
    gap = reading.gap(value.end, behind[0].mention.start) if behind else ()
    if behind and not {".", ";"} & set(gap) and (reach > BARE_REACH or allows(gap)):
        return behind[0]
    return None


def _live_gap(reading: Reading, start: int, end: int) -> tuple[str, ...]:
    """The words between two places, up to a value that the one at `end` takes the place of."""
    if _replaced(reading, start, end):
        end = next(i for i in range(start, end) if i in reading.taken_back)
    return reading.gap(start, end)


def _nearer(reading: Reading, value: Mention, behind: Mention, before: Mention | None) -> bool:
    """ "… never went in | a 22 diopter lens": right before its noun, and the lens before in another clause."""
    if before is None or behind.start - value.end > 1:
        return False
    clauses = reading.annotation.clause_of
    return clauses[before.start] != clauses[value.start] == clauses[behind.start]


def _anchors(reading: Reading, value: Mention, reach: int) -> list[Asserted]:
    named = [
        a
        for a in reading.between(max(0, value.start - reach - 6), value.end + BEHIND_REACH + 1)
        if a.mention.kind in ("lens_type", "lens_location", "lens_material")
        or a.mention.key in ("thing:lens", "procedure:intraocular_lens_insertion")
        or (a.mention.kind == "lens_field" and a.mention.id in FIELDS)
    ]
    codes = (code_at(reading, i) for i in range(max(0, value.start - 4), value.start))
    coded = [Asserted(code, Status.DONE) for code in codes if code is not None]
    return sorted([*named, *coded], key=lambda a: (a.mention.start, a.mention.end))

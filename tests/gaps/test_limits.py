"""Ranges, doses, orders and allergies are data: each entry is at work, and one taken out is noticed."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

import pytest
from drafts import COMPLETE, Draft, build

from zonule.case_data import CaseData
from zonule.consistency import find_inconsistencies
from zonule.consistency.amounts import Amount, Strength, as_amount, as_volume, parse_strength
from zonule.consistency.doses import as_given
from zonule.gap_report import check
from zonule.lexicon import Lexicon, Range, load_lexicon
from zonule.record import DrugGiven, Gap
from zonule.record.slots import format_number
from zonule.requirements import DoseRange, Requirements, ValueRange, load_requirements
from zonule.settings import lexicon_folder

SHIPPED = load_requirements(lexicon_folder())
LEXICON = load_lexicon(lexicon_folder())
BARE = Lexicon(
    terms=(), actions=(), frames=(), cues=(), corrections=(), marks=(), mishearings=(), shorthands=(), irregular={}
)  # fmt: skip
"""A lexicon without ranges of its own: those of the requirement files hold."""
NUMBERS = [r for r in SHIPPED.ranges if r.id not in ("operation.duration", "patient.age", "blood_loss")]


def drafted(slot: str, value: float) -> Draft:
    if slot.startswith("settings."):
        return replace(Draft(), slots={"settings": [f"* {slot.partition('.')[2]} {format_number(value)}"]})
    return replace(Draft(), slots={slot: [format_number(value)]})


def found(draft: Draft, requirements: Requirements, lexicon: Lexicon = BARE) -> list[str]:
    gaps = find_inconsistencies(build(draft), lexicon, requirements)
    return [f"{gap.id} {gap.severity.value}" for gap in gaps]


@pytest.mark.parametrize("bounds", NUMBERS, ids=lambda r: r.id)
def test_every_range_is_at_work(bounds: ValueRange) -> None:
    """Above and below: questioned; impossible: must; inside, at both ends: silent; taken out: silent."""
    above = round(bounds.possible.high * 1.5 + 1)
    assert found(drafted(bounds.id, above), SHIPPED) == [f"{bounds.id} must"]
    for inside in (bounds.usual.low, bounds.usual.high):
        if not bounds.id.startswith("settings."):
            assert found(drafted(bounds.id, inside), SHIPPED) == []
    left = SHIPPED.model_copy(update={"ranges": tuple(r for r in SHIPPED.ranges if r is not bounds)})
    assert found(drafted(bounds.id, above), left) == []


@pytest.mark.parametrize("bounds", [r for r in NUMBERS if r.usual.high < r.possible.high], ids=lambda r: r.id)
def test_between_usual_and_possible_a_value_should_be_confirmed(bounds: ValueRange) -> None:
    between = bounds.possible.high if bounds.id != "lens.power_d" else 40.0
    assert found(drafted(bounds.id, between), SHIPPED) == [f"{bounds.id} should"]


def test_a_term_of_the_lexicon_goes_before_the_requirement_files() -> None:
    """The lexicon calls an infusion pressure of 150 mmHg possible at most; a clinic narrows it to 80."""
    term = LEXICON.by_key[("parameter", "infusion_pressure_mmhg")]
    narrow = term.model_copy(update={"possible": Range(low=0, high=80, source="a clinic's own")})
    lexicon = Lexicon.model_validate({**BARE.model_dump(), "terms": (narrow,)})
    draft = drafted("settings.infusion_pressure_mmhg", 90)
    assert found(draft, SHIPPED, lexicon) == ["settings.infusion_pressure_mmhg must"]
    assert found(draft, SHIPPED) == []


def test_ranges_of_lexicon_and_requirement_files_do_not_contradict() -> None:
    """A usual range that lies outside the possible one would never be silent."""
    pairs = [(r.usual, r.possible) for r in SHIPPED.ranges]
    pairs += [(t.usual, t.possible) for t in LEXICON.terms if t.usual and t.possible]
    assert [(u, p) for u, p in pairs if u.low < p.low or u.high > p.high] == []


@pytest.mark.parametrize(
    ("slot", "said", "meant"),
    [
        ("lens.power_d", 215, "Is it 21.5 D, with its decimal point lost?"),
        ("lens.power_d", 2150, "Is it 21.5 D, with its decimal point lost?"),
        ("lens.power_d", 2.15, "Is it 21.5 D, with its decimal point misplaced?"),
        ("main_incision.width_mm", 24, "Is it 2.4 mm, with its decimal point lost?"),
        ("main_incision.width_mm", 275, "Is it 2.75 mm, with its decimal point lost?"),
        ("capsulorhexis.diameter_mm", 50, "Is it 5 mm, with its decimal point lost?"),
        ("lens.cylinder_d", 22.5, "Is it 2.25 D, with its decimal point lost?"),
        ("settings.vacuum_mmhg", 5000, "Is it 500 mmHg, with its decimal point lost?"),
    ],
)
def test_a_lost_decimal_point_is_named(slot: str, said: float, meant: str) -> None:
    gaps = find_inconsistencies(build(drafted(slot, said)), BARE, SHIPPED)
    assert [meant in gap.question for gap in gaps if gap.id == slot] == [True]


def test_an_axis_is_not_taken_for_a_lost_point() -> None:
    (gap,) = find_inconsistencies(build(drafted("lens.axis_deg", 185)), BARE, SHIPPED)
    assert "decimal" not in gap.question


# ---- doses ----------------------------------------------------------------------------------------------------------
def test_an_incoherent_dose_range_would_be_noticed() -> None:
    for bounds in SHIPPED.doses:
        pairs: list[tuple[Range | None, Range | None]] = [
            (bounds.usual, bounds.possible),
            (bounds.strength, bounds.possible_strength),
            (bounds.volume_ml, bounds.possible_volume_ml),
        ]
        assert all(p.low <= u.low and u.high <= p.high for u, p in pairs if u and p), bounds.id
        assert any(u for u, _ in pairs) or bounds.caution, bounds.id


def test_dose_ranges_are_of_known_drugs() -> None:
    assert [d.id for d in SHIPPED.doses if ("drug", d.drug) not in LEXICON.by_key] == []
    named = {drug for group in SHIPPED.allergies for drug in group.drugs}
    assert sorted(drug for drug in named if ("drug", drug) not in LEXICON.by_key) == []


def given(bounds: DoseRange) -> DrugGiven:
    """The drug in an amount outside the first range that the entry has."""
    drug = DrugGiven(drug=bounds.drug, route=bounds.route)
    if bounds.usual:
        return drug.model_copy(update={"dose": bounds.usual.high * 50, "dose_unit": bounds.unit})
    if bounds.strength:
        too_strong = format_number(bounds.strength.high * 1.6)
        return drug.model_copy(update={"strength": f"{too_strong} {bounds.strength_unit}"})
    return drug


@pytest.mark.parametrize("bounds", SHIPPED.doses, ids=lambda d: d.id)
def test_every_dose_range_is_at_work(bounds: DoseRange) -> None:
    drug = given(bounds)
    said = f"{drug.drug}{f' {drug.route}' if drug.route else ''}"
    said += f" {format_number(drug.dose)} {drug.dose_unit}" if drug.dose is not None else ""
    said += f" @ {drug.strength}" if drug.strength else ""
    draft = replace(Draft(), slots={"drugs": [said]})
    left = SHIPPED.model_copy(update={"doses": tuple(d for d in SHIPPED.doses if d is not bounds)})
    assert set(found(draft, left)) < set(found(draft, SHIPPED))


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("cefuroxime intracameral 10 mg x 0.1 mL", "Is it 1 mg, tenfold apart?"),
        ("cefuroxime intracameral 0.01 mg", "Is it 1 mg, a hundredfold apart?"),
        ("trypan_blue intracameral @ 0.6 %", "Is it 0.06 %, tenfold apart?"),
        ("lidocaine sub_tenon @ 2 % x 40 mL", "Is it 4 mL, tenfold apart?"),
        ("cefuroxime intracameral 1 mg @ 10 mg/mL x 1 mL", "is 10 mg tenfold apart."),
        ("moxifloxacin intracameral 0.5 micrograms @ 0.5 % x 0.1 mL", "is 0.5 mg a thousandfold apart."),
    ],
)
def test_a_slip_is_named(said: str, words: str) -> None:
    gaps = find_inconsistencies(build(replace(Draft(), slots={"drugs": [said]})), BARE, SHIPPED)
    assert any(words in gap.question for gap in gaps), [gap.question for gap in gaps]


def test_questions_about_drugs_defer_to_the_formulary_and_advise_nothing() -> None:
    asked: Iterable[Gap] = find_inconsistencies(
        build(replace(Draft(), slots={"drugs": ["cefuroxime intracameral 9 mg @ 10 mg/mL x 0.1 mL"]})), BARE, SHIPPED
    )
    for gap in asked:
        assert "doses defer to the local formulary" in gap.question
        assert "should be given" not in gap.question


@pytest.mark.parametrize(
    ("said", "strength"),
    [
        ("10 mg/mL", Strength(Amount(10, "mg"))),
        ("0.5 %", Strength(Amount(5, "mg"))),  # x % is 10 x mg/mL: definition
        ("0.5%", Strength(Amount(5, "mg"))),
        ("1:10000", Strength(Amount(0.1, "mg"))),  # 1 g in 10000 mL: definition
        ("1:10,000", Strength(Amount(0.1, "mg"))),
        ("1 in 1000", Strength(Amount(1, "mg"))),
        ("1 mg in 0.1 mL", Strength(Amount(10, "mg"), 0.1)),
        ("1 mg/0.1 mL", Strength(Amount(10, "mg"))),
        ("500 micrograms in 0.1 mL", Strength(Amount(5, "mg"), 0.1)),
        ("100 micrograms/mL", Strength(Amount(0.1, "mg"))),
        ("150 IU/mL", Strength(Amount(150, "IU"))),
        ("15 units per mL", Strength(Amount(15, "IU"))),
        ("dilute", None),
        ("10 mg", None),
        ("1:0", None),
        ("5 mg/0 mL", None),
        ("5 mg/kg", None),
        ("", None),
    ],
)
def test_strengths(said: str, strength: Strength | None) -> None:
    read = parse_strength(said)
    if strength is None or read is None:
        assert read == strength
    else:
        assert (read.per_ml.value, read.per_ml.measure) == pytest.approx(
            (strength.per_ml.value, strength.per_ml.measure)
        )
        assert read.volume_ml == strength.volume_ml


def test_amounts_of_every_unit() -> None:
    assert as_amount(2, "g") == Amount(2000, "mg")
    assert as_amount(250, "micrograms") == Amount(0.25, "mg")
    assert as_amount(150, "IU") == Amount(150, "IU")
    assert as_amount(2, "drops") is None
    assert as_volume(100, "µL") == pytest.approx(0.1)
    assert as_volume(1, "cc") == 1
    assert as_volume(1, "mg") is None


def test_a_volume_may_stand_in_the_strength_or_the_dose() -> None:
    held = as_given(DrugGiven(drug="cefuroxime", strength="1 mg in 0.1 mL"))
    assert held.computed == Amount(1.0, "mg")
    held = as_given(DrugGiven(drug="cefuroxime", dose=0.1, dose_unit="mL", strength="10 mg/mL"))
    assert (held.dose, held.computed) == (None, Amount(1.0, "mg"))


# ---- orders and allergies -------------------------------------------------------------------------------------------
def test_every_order_taken_out_is_noticed() -> None:
    for order in SHIPPED.orders:
        draft = replace(Draft(), slots={"steps": ["speculum", order.later, order.earlier]})
        left = SHIPPED.model_copy(update={"orders": tuple(o for o in SHIPPED.orders if o is not order)})
        assert len(found(draft, left)) == len(found(draft, SHIPPED)) - 1, order.id


def test_orders_are_of_known_steps() -> None:
    steps = {term.id for term in LEXICON.of_kind("step")}
    assert [o.id for o in SHIPPED.orders if not {o.earlier, o.later} <= steps] == []


def test_every_allergy_group_taken_out_is_noticed() -> None:
    for group in SHIPPED.allergies:
        drug = next(iter(group.drugs), "lidocaine" if "local_anesthetic" in group.classes else "ketorolac")
        record = build(replace(Draft(), slots={"drugs": [drug]}))
        case = CaseData(allergies=(group.forms[0],))
        left = SHIPPED.model_copy(update={"allergies": tuple(a for a in SHIPPED.allergies if a is not group)})
        asked = [find_inconsistencies(record, BARE, which, case) for which in (SHIPPED, left)]
        by_name = group.forms[0] in drug.split("_")
        if group.classes:
            continue
        assert [len(gaps) for gaps in asked] == [1, 1 if by_name else 0], group.id


# ---- data ------------------------------------------------------------------------------------------------------------
def test_the_antibiotics_that_count_as_prophylaxis_are_all_of_the_lexicon() -> None:
    """The condition lists them, because a record knows no drug classes."""
    (condition,) = [c for c in SHIPPED.conditions if c.id == "antibiotic_given"]
    inside = {"intracameral", "subconjunctival", "sub_tenon", "intravitreal"}
    wanted = {t.id for t in LEXICON.of_kind("drug") if "antibiotic" in t.classes and inside & set(t.routes)}
    assert sorted(drug for drug in wanted if f"'{drug}'" not in condition.path) == []


def test_nothing_is_called_future_without_a_day() -> None:
    draft = Draft({**COMPLETE, "operation.date": ["2199-01-01"], "patient.date_of_birth": ["2150-01-01"]})
    slots = {slot: values for slot, values in draft.slots.items() if slot != "lens.expiry_date"}
    record = build(replace(draft, slots=slots))
    assert check(record, SHIPPED, LEXICON).gaps == ()
    assert [g.id for g in check(record, SHIPPED, LEXICON, today=date(2026, 3, 5)).gaps] == ["operation.in_future"]


def test_a_phase_whose_settings_are_read_out_is_no_step_out_of_order() -> None:
    """The words that name the phase are words of the setting too."""
    steps = ["speculum", "cortex_removal", "nucleus_removal"]
    slots = {"steps": steps, "findings": ["dense_nucleus"], "settings": ["cortex vacuum_mmhg 500"]}
    record = build(replace(Draft(), slots=slots))
    read_out = record.steps[1].model_copy(update={"evidence": record.settings[0].evidence})
    told = record.model_copy(update={"steps": (record.steps[0], read_out, record.steps[2])})
    assert [gap.id for gap in find_inconsistencies(record, BARE, SHIPPED)] == ["steps.order"]
    assert [gap.id for gap in find_inconsistencies(told, BARE, SHIPPED)] == []

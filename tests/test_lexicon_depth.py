"""The clinical part of the lexicon: complete against the record contract, unambiguous, sourced, able to be matched."""

import re
import tomllib
from collections import defaultdict
from pathlib import Path

import pytest

from zonule.annotation.forms import collect_forms
from zonule.lexicon import Lexicon, Term, load_lexicon

ROOT = Path(__file__).parents[1]
LEXICON = ROOT / "lexicon"
COMMON = ("drugs", "trade_names", "anesthesia", "sites", "closure", "urgency", "plan", "specimens_and_counts")
CATARACT = (
    "techniques", "settings", "lenses", "implants", "viscoelastics", "complications", "diagnoses", "findings",
    "instruments", "procedures", "incisions", "anatomy",
)  # fmt: skip
FILES = [
    *(LEXICON / "common" / f"{name}.toml" for name in COMMON),
    *(LEXICON / "operations" / "cataract" / f"{name}.toml" for name in CATARACT),
]
SNAKE = re.compile(r"[a-z0-9]+(_[a-z0-9]+)*|[a-z0-9_]+__[a-z0-9_]+")

CONTRACT: dict[str, str] = {
    "procedure": "phacoemulsification intraocular_lens_insertion extracapsular_extraction small_incision_extraction "
    "laser_assisted_cataract_surgery intraocular_lens_exchange secondary_lens_insertion anterior_vitrectomy "
    "pars_plana_vitrectomy trabeculectomy angle_stent_insertion capsular_tension_ring_insertion "
    "corneal_relaxing_incisions",
    "diagnosis": "nuclear_sclerotic_cataract cortical_cataract posterior_subcapsular_cataract mature_cataract "
    "brunescent_cataract traumatic_cataract uveitic_cataract congenital_cataract cataract dislocated_lens aphakia "
    "glaucoma",
    "anesthesia": "topical intracameral sub_tenon peribulbar retrobulbar subconjunctival general sedation facial_block",
    "incision_kind": "clear_corneal limbal scleral_tunnel",
    "site": "temporal nasal superior inferior superotemporal superonasal inferotemporal inferonasal steep_meridian",
    "technique": "divide_and_conquer stop_and_chop horizontal_chop vertical_chop prechop flip bowl aspiration_only",
    "phase": "sculpt chop segment_removal epinucleus cortex viscoelastic_removal vitrectomy",
    "parameter": "ultrasound_power_pct torsional_amplitude_pct vacuum_mmhg aspiration_flow_ml_min bottle_height_cm "
    "infusion_pressure_mmhg pulse_rate_pps duty_cycle_pct cut_rate_cpm cumulative_dissipated_energy phaco_time_s "
    "average_power_pct effective_phaco_time_s",
    "lens_field": "manufacturer model power_d cylinder_d axis_deg serial_number lot_number expiry_date "
    "target_refraction_d udi",
    "lens_location": "capsular_bag sulcus anterior_chamber iris_fixated scleral_fixated",
    "implant": "capsular_tension_ring iris_hooks pupil_ring stent",
    "viscoelastic": "cohesive dispersive viscoadaptive",
    "route": "topical intracameral subconjunctival sub_tenon peribulbar retrobulbar intravitreal oral intravenous",
    "complication": "posterior_capsule_rupture vitreous_loss zonular_dialysis dropped_nucleus anterior_capsule_tear "
    "iris_prolapse iris_trauma iris_bleeding floppy_iris descemet_detachment wound_burn suprachoroidal_hemorrhage "
    "hyphema retained_lens_matter lens_damage intraoperative_miosis",
    "urgency": "elective urgent emergency",
    "drug": "cefuroxime moxifloxacin gentamicin povidone_iodine neomycin_polymyxin_b_dexamethasone "
    "tobramycin_dexamethasone",
    "suture_material": "nylon polypropylene silk polyglactin",
}
"""Ids that the record contract names, version 1, section 2 and the examples of section 5."""

TEMPORARY = {"iris_hooks", "capsule_hooks", "pupil_ring", "anterior_chamber_maintainer"}
"""Implants that are taken out before the end (record contract, section 2)."""

UNRESOLVED = frozenset({"word", "action", "cue", "correction", "field", "step", "thing"})
"""Kinds whose forms may mean several concepts: what they are is decided by the words around."""


@pytest.fixture(scope="module")
def lexicon() -> Lexicon:
    return load_lexicon(LEXICON)


def _terms(path: Path) -> list[Term]:
    data = tomllib.loads(path.read_text("utf-8"))
    terms = [Term.model_validate(entry) for entry in data["term"]]
    return [term.model_copy(update={"kind": term.kind or data.get("kind", "word")}) for term in terms]


TERMS = [(path, term) for path in FILES for term in _terms(path)]


def test_every_id_of_the_contract_is_in_the_lexicon(lexicon: Lexicon) -> None:
    named = [(kind, id_) for kind, ids in CONTRACT.items() for id_ in ids.split()]
    assert [key for key in named if key not in lexicon.by_key] == []


def test_ids_are_snake_case() -> None:
    assert [term.id for _, term in TERMS if not SNAKE.fullmatch(term.id)] == []


def test_a_form_names_one_concept_of_its_kind_unless_declared(lexicon: Lexicon) -> None:
    declared = [{f"{t.kind}:{t.id}", *t.also} for t in lexicon.terms if t.also]
    undeclared = {}
    for words, senses in collect_forms(lexicon).items():
        by_kind: dict[str, set[str]] = defaultdict(set)
        for sense in senses:
            by_kind[sense.kind].add(f"{sense.kind}:{sense.id}")
        for kind, keys in by_kind.items():
            if len(keys) > 1 and kind not in UNRESOLVED and not any(keys <= group for group in declared):
                undeclared[" ".join(words)] = keys
    assert undeclared == {}


def test_no_form_stands_twice_in_an_entry() -> None:
    assert [(t.id, f) for _, t in TERMS for f in t.forms if [x.lower() for x in t.forms].count(f.lower()) > 1] == []


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_every_file_and_every_range_has_its_source(path: Path) -> None:
    data = tomllib.loads(path.read_text("utf-8"))
    assert data["source"].strip()
    ranges = [entry[name] for entry in data["term"] for name in ("usual", "possible") if name in entry]
    assert [r for r in ranges if not r["source"].strip()] == []


def test_a_usual_range_lies_within_the_possible_one() -> None:
    both = [(t.id, t.usual, t.possible) for _, t in TERMS if t.usual and t.possible]
    assert both
    assert [i for i, usual, possible in both if not possible.low <= usual.low < usual.high <= possible.high] == []


def test_every_setting_takes_a_dimension_and_has_both_ranges(lexicon: Lexicon) -> None:
    assert [t.id for t in lexicon.of_kind("parameter") if not (t.classes and t.usual and t.possible)] == []


def test_every_drug_has_a_class_and_a_route(lexicon: Lexicon) -> None:
    assert [t.id for t in lexicon.of_kind("drug") if not (t.classes and t.routes)] == []


def test_trade_names_add_to_concepts_that_stand_elsewhere() -> None:
    elsewhere = {(t.kind, t.id) for path, t in TERMS if path.stem != "trade_names"}
    named = [(t.kind, t.id) for path, t in TERMS if path.stem == "trade_names" and t.kind != "word"]
    assert [key for key in named if key not in elsewhere] == []


def test_references_name_concepts_that_exist(lexicon: Lexicon) -> None:
    known = {f"{kind}:{id_}" for kind, id_ in lexicon.by_key} | {f"{kind}:*" for kind, _ in lexicon.by_key}
    known |= {f"action:{action.id}" for action in lexicon.actions}
    named = {key for _, term in TERMS for key in (*term.also, *term.near)}
    assert sorted(named - known) == []


def test_only_what_is_taken_out_again_is_temporary() -> None:
    assert {t.id for _, t in TERMS if t.temporary} == TEMPORARY


def test_every_form_is_found_as_its_concept(lexicon: Lexicon) -> None:
    forms = collect_forms(lexicon)
    found = {(s.kind, s.id) for senses in forms.values() for s in senses}
    assert [(t.kind, t.id) for _, t in TERMS if (t.kind, t.id) not in found] == []


def test_a_name_that_holds_a_step_shields_it(lexicon: Lexicon) -> None:
    forms = collect_forms(lexicon)
    names = ("capsulotomy needle", "capsulorhexis forceps", "hydrodissection cannula", "cortex removal cannula",
             "phaco tip", "lens glide", "vitrectomy cutter", "nucleus rotator", "bandage contact lens")  # fmt: skip
    for name in names:
        assert "step" not in {s.kind for s in forms[tuple(name.split())]}, name


def test_words_that_say_kind_and_step_have_both(lexicon: Lexicon) -> None:
    forms = collect_forms(lexicon)
    step = next(t for t in lexicon.of_kind("step") if t.id == "main_incision")
    for form in step.forms:
        words = tuple(form.lower().replace("-", " ").split())
        if "clear" in words and words in forms and "near" not in words:
            held = {f"{s.kind}:{s.id}" for s in forms[words]}
            inside = {f"{s.kind}:{s.id}" for s in forms.get(words[:2], ())}
            assert "incision_kind:clear_corneal" in held | inside, form


def test_the_catalog_holds_lenses_with_a_maker_a_model_and_a_range() -> None:
    data = tomllib.loads((LEXICON / "catalog" / "lenses.toml").read_text("utf-8"))
    lenses = data["lens"]
    assert len(lenses) >= 5
    assert [x["model"] for x in lenses if not (x["manufacturer"] and x["power"]["low"] < x["power"]["high"])] == []
    materials = {t.id for path, t in TERMS if path.stem == "lenses" and t.kind == "lens_material"}
    assert {x["material"] for x in lenses} <= materials

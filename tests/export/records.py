"""Records for the document tests, built by hand from invented dictations, so that the documents are tested alone.

People, unit and lenses are invented.
"""

from datetime import date
from typing import TypeVar

from zonule.record import (
    Capsulorhexis,
    Complications,
    DrugGiven,
    Evidence,
    Fact,
    Gap,
    GapReport,
    Implant,
    Lens,
    MainIncision,
    Nucleus,
    Operation,
    OperationRecord,
    Paracentesis,
    Patient,
    Plan,
    Setting,
    SutureUse,
    Team,
    Ultrasound,
    Unclear,
    Viscoelastic,
)
from zonule.vocabulary import (
    ComplicationStatement,
    Eye,
    GapKind,
    LensStatus,
    Limit,
    Origin,
    Severity,
    Status,
    Urgency,
)

T = TypeVar("T")

DICTATION = (
    "Harrowmere list, patient Odile Fennimarch, hospital number 53 90 216, born third of May 1941, right eye, "
    "elective, Doctor Aldous Penhallow operating, assistant Bryony Tarrow, nuclear sclerotic cataract, "
    "phaco and lens, topical and intracameral, "
    "povidone iodine prep, draped, speculum in, paracentesis at 10 and 2, cohesive visco, "
    "clear corneal incision two point two at 9 o'clock, rhexis five millimetres complete, hydrodissection, "
    "nucleus rotated, divide and conquer, cracked, sculpt vacuum 65 flow 26 power max 45, segment vacuum 420 flow 32, "
    "cortex vacuum 500 flow 5 to 40, CDE 6.4, phaco time 48 seconds, "
    "cortex out, capsule polished, Merrowlens ZX40 plus 21.5 in the bag, serial 77-3105-2, expiry November 2028, "
    "viscoelastic out, wounds hydrated, watertight, no sutures, cefuroxime 1 milligram, lidocaine intracameral, "
    "shield, no complications, dexamethasone drops, see in one week and at four weeks, no heavy lifting"
)


def heard(words: str, value: T, *, status: Status = Status.DONE, time_s: float | None = None) -> Fact[T]:
    """A dictated fact whose evidence is the first place of `words` in DICTATION."""
    start = DICTATION.index(words)
    evidence = Evidence(start=start, end=start + len(words), text=words)
    return Fact(value=value, status=status, evidence=(evidence,), time_s=time_s)


def labelled(value: T) -> Fact[T]:
    """A fact read from the lens label."""
    return Fact(value=value, origin=Origin.LABEL)


STEPS = (
    ("skin_preparation", "povidone iodine prep"),
    ("draping", "draped"),
    ("speculum", "speculum in"),
    ("paracentesis", "paracentesis"),
    ("viscoelastic_injection", "visco"),
    ("main_incision", "clear corneal incision"),
    ("capsulorhexis", "rhexis"),
    ("hydrodissection", "hydrodissection"),
    ("nucleus_rotation", "nucleus rotated"),
    ("nucleus_sculpting", "sculpt"),
    ("nucleus_cracking", "cracked"),
    ("cortex_removal", "cortex out"),
    ("capsule_polishing", "capsule polished"),
    ("lens_insertion", "in the bag"),
    ("viscoelastic_removal", "viscoelastic out"),
    ("wound_hydration", "wounds hydrated"),
    ("leak_check", "watertight"),
    ("intracameral_antibiotic", "cefuroxime"),
    ("dressing", "shield"),
)

SETTINGS = (
    ("vacuum 65", Setting(phase="sculpt", parameter="vacuum_mmhg", value=65)),
    ("flow 26", Setting(phase="sculpt", parameter="aspiration_flow_ml_min", value=26)),
    ("power max 45", Setting(phase="sculpt", parameter="ultrasound_power_pct", limit=Limit.MAXIMUM, value=45)),
    ("vacuum 420", Setting(phase="segment_removal", parameter="vacuum_mmhg", value=420)),
    ("flow 32", Setting(phase="segment_removal", parameter="aspiration_flow_ml_min", value=32)),
    ("vacuum 500", Setting(phase="cortex", parameter="vacuum_mmhg", value=500)),
    ("flow 5 to 40", Setting(phase="cortex", parameter="aspiration_flow_ml_min", limit=Limit.RANGE, low=5, high=40)),
)


def routine_lens() -> Lens:
    """The lens of the routine case, its serial number and expiry read from the label."""
    return Lens(
        status=LensStatus.IMPLANTED,
        manufacturer=heard("Merrowlens", "Merrowlens"),
        model=heard("ZX40", "ZX40"),
        power_d=heard("plus 21.5", 21.5),
        serial_number=labelled("77-3105-2"),
        expiry_date=heard("November 2028", "2028-11"),
        location=heard("in the bag", "capsular_bag"),
    )


def routine() -> OperationRecord:
    """A routine right eye, everything stated but the times, the blood loss and the specimens."""
    return OperationRecord(
        operation=Operation(
            eye=heard("right eye", Eye.RIGHT),
            date=Fact(value=date(2026, 11, 25), origin=Origin.WORKLIST),
            urgency=heard("elective", Urgency.ELECTIVE),
            procedures=(heard("phaco", "phacoemulsification"), heard("lens", "intraocular_lens_insertion")),
            preoperative_diagnosis=(heard("nuclear sclerotic cataract", "nuclear_sclerotic_cataract"),),
        ),
        patient=Patient(
            name=heard("Odile Fennimarch", "Odile Fennimarch"),
            hospital_number=heard("53 90 216", "5390216"),
            date_of_birth=heard("third of May 1941", date(1941, 5, 3)),
        ),
        team=Team(
            surgeon=heard("Aldous Penhallow", "Aldous Penhallow"), assistant=heard("Bryony Tarrow", "Bryony Tarrow")
        ),
        anesthesia=(heard("topical", "topical"), heard("intracameral", "intracameral")),
        steps=tuple(heard(said, step) for step, said in STEPS),
        main_incision=MainIncision(
            kind=heard("clear corneal", "clear_corneal"),
            width_mm=heard("two point two", 2.2),
            site=heard("9 o'clock", "9 o'clock"),
        ),
        paracentesis=Paracentesis(clock_hours=(heard("10 and 2", 10.0), heard("2,", 2.0))),
        capsulorhexis=Capsulorhexis(diameter_mm=heard("five millimetres", 5.0), complete=heard("complete", True)),
        nucleus=Nucleus(technique=(heard("divide and conquer", "divide_and_conquer"),)),
        settings=tuple(heard(said, setting) for said, setting in SETTINGS),
        ultrasound=Ultrasound(
            cumulative_dissipated_energy=heard("CDE 6.4", 6.4), phaco_time_s=heard("phaco time 48 seconds", 48.0)
        ),
        lenses=(routine_lens(),),
        viscoelastic=Viscoelastic(kinds=(heard("cohesive", "cohesive"),), removed=heard("viscoelastic out", True)),
        drugs=(
            heard("povidone iodine", DrugGiven(drug="povidone_iodine")),
            heard("lidocaine intracameral", DrugGiven(drug="lidocaine", route="intracameral")),
            heard(
                "cefuroxime 1 milligram",
                DrugGiven(drug="cefuroxime", route="intracameral", dose=1, dose_unit="mg"),
            ),
        ),
        sutures=(heard("no sutures", SutureUse(material="none")),),
        complications=Complications(
            statement=ComplicationStatement.NONE,
            statement_fact=heard("no complications", ComplicationStatement.NONE),
        ),
        antibiotic_prophylaxis=(heard("cefuroxime", "cefuroxime"),),
        plan=Plan(
            drops=(heard("dexamethasone drops", "dexamethasone"),),
            follow_up_days=(heard("one week", 7.0), heard("four weeks", 28.0)),
            instructions=(heard("no heavy lifting", "no_heavy_lifting"),),
        ),
    )


def typed(value: T) -> Fact[T]:
    """A fact that a person typed in."""
    return Fact(value=value, origin=Origin.PERSON)


def complicated() -> OperationRecord:
    """A left eye, toric, with a capsule break, a lens opened and not implanted, and a sutured scleral tunnel."""
    toric = Lens(
        status=LensStatus.IMPLANTED,
        model=typed("TQ7"),
        power_d=typed(-1.25),
        cylinder_d=typed(2.25),
        axis_deg=typed(75.0),
        lot_number=typed("L-204"),
        location=typed("sulcus"),
        target_refraction_d=typed(-0.5),
    )
    refused = Lens(status=LensStatus.OPENED_NOT_IMPLANTED, model=typed("TQ7"), serial_number=typed("990-1"))
    return OperationRecord(
        operation=Operation(
            eye=typed(Eye.LEFT),
            procedures=(typed("phacoemulsification"), typed("anterior_vitrectomy")),
            start_time=typed("09:05"),
            end_time=typed("09:50"),
        ),
        patient=Patient(name=typed("Tobias <Grelling> & Son")),
        anesthesia=(typed("sub_tenon"),),
        steps=tuple(
            typed(step)
            for step in (
                "time_out",
                "main_incision",
                "dye_staining",
                "viscoelastic_injection",
                "capsulorhexis",
                "nucleus_chopping",
                "nucleus_removal",
                "anterior_vitrectomy",
                "lens_insertion",
                "lens_rotation",
                "suture",
                "subconjunctival_injection",
                "conjunctival_autograft",
            )
        ),
        main_incision=MainIncision(kind=typed("scleral_tunnel"), width_mm=typed(5.5), site=typed("superotemporal")),
        paracentesis=Paracentesis(clock_hours=(typed(1.5), typed(14.0))),
        capsulorhexis=Capsulorhexis(complete=typed(False)),
        nucleus=Nucleus(technique=(typed("stop_and_chop"),), grade=typed("NS 4")),
        settings=(typed(Setting(parameter="vacuum_mmhg", value=350, foot_position=3, memory=2)),),
        lenses=(refused, toric),
        other_implants=(typed(Implant(kind="capsular_tension_ring", identifier="CT1207")),),
        viscoelastic=Viscoelastic(kinds=(typed("dispersive"), typed("cohesive"))),
        drugs=(
            typed(DrugGiven(drug="trypan_blue", route="intracameral", strength="0.06 %")),
            typed(DrugGiven(drug="gentamicin", route="subconjunctival", dose=20, dose_unit="mg", volume_ml=0.5)),
            Fact(value=DrugGiven(drug="moxifloxacin"), status=Status.NOT_DONE, origin=Origin.PERSON),
        ),
        sutures=(typed(SutureUse(size="10-0", material="nylon", count=3)),),
        complications=Complications(
            statement=ComplicationStatement.PRESENT,
            statement_fact=typed(ComplicationStatement.NONE),
            events=(typed("posterior_capsule_rupture"), typed("vitreous_loss")),
        ),
        findings=(typed("pseudoexfoliation"),),
        specimens=(typed("none"),),
        blood_loss=typed("none"),
        unclear=(
            Unclear(
                id="unplaced", evidence=(Evidence(start=0, end=10, text="Harrowmere"),), detail="could_not_be_placed"
            ),
        ),
    )


def complicated_gaps() -> GapReport:
    """What the complicated case lacks and what it contradicts."""
    words = Evidence(start=4, end=20, text="no complications")
    return GapReport(
        gaps=(
            Gap(kind=GapKind.MISSING, id="plan", severity=Severity.SHOULD, question="What is the plan?"),
            Gap(kind=GapKind.MISSING, id="operation.date", severity=Severity.MUST, question="On what date?"),
            Gap(
                kind=GapKind.CONFLICT,
                id="complications",
                severity=Severity.MUST,
                question="A capsule rupture is stated beside no complications: which holds?",
                evidence=(words,),
            ),
        )
    )


def empty() -> OperationRecord:
    """A record of a dictation that says nothing."""
    return OperationRecord()


def gaps() -> GapReport:
    """What the routine case lacks."""
    return GapReport(
        gaps=(
            Gap(
                kind=GapKind.MISSING, id="operation.start_time", severity=Severity.SHOULD, question="When did it start?"
            ),
            Gap(kind=GapKind.MISSING, id="blood_loss", severity=Severity.NOTE, question="What was the blood loss?"),
            Gap(
                kind=GapKind.REVIEW,
                id="misheard_term",
                severity=Severity.NOTE,
                question="Was “rhexis” meant as capsulorhexis?",
                evidence=(heard("rhexis", 1.0).evidence[0],),
            ),
        )
    )

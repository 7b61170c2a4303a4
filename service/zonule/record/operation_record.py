"""The record of one operation on one eye (record contract, section 2)."""

import datetime
from typing import Literal

from pydantic import Field

from zonule.record.facts import Evidence, Fact, Frozen, ReadAs
from zonule.vocabulary import ComplicationStatement, Eye, LensStatus, Limit, Status, Urgency

Text = Fact[str]
Number = Fact[float]


class Operation(Frozen):
    """What was done, when, to which eye. Times are ISO 8601 `HH:MM`."""

    eye: Fact[Eye] | None = None
    date: Fact[datetime.date] | None = None
    start_time: Text | None = None
    end_time: Text | None = None
    urgency: Fact[Urgency] | None = None
    procedures: tuple[Text, ...] = ()
    preoperative_diagnosis: tuple[Text, ...] = ()
    postoperative_diagnosis: tuple[Text, ...] = ()


class Patient(Frozen):
    """Who was operated on."""

    name: Text | None = None
    hospital_number: Text | None = None
    date_of_birth: Fact[datetime.date] | None = None


class Team(Frozen):
    """Names as said, without title."""

    surgeon: Text | None = None
    assistant: Text | None = None
    supervisor: Text | None = None
    anesthetist: Text | None = None
    scrub: Text | None = None


class MainIncision(Frozen):
    """The main wound; the last stated width counts when it was enlarged. Width in mm."""

    kind: Text | None = None
    width_mm: Number | None = None
    site: Text | None = None


class Paracentesis(Frozen):
    """Side ports: clock hours as charted (7.5 is half past seven)."""

    clock_hours: tuple[Number, ...] = ()
    count: Number | None = None


class Capsulorhexis(Frozen):
    """Diameter in mm; complete when said to be continuous or complete."""

    diameter_mm: Number | None = None
    complete: Fact[bool] | None = None


class Nucleus(Frozen):
    """How the nucleus was taken apart and how dense it was called."""

    technique: tuple[Text, ...] = ()
    grade: Text | None = None


class Setting(Frozen):
    """One machine setting, in the unit of the parameter: `value` if fixed or maximum, `low` and `high` of a range."""

    phase: str | None = None
    parameter: str
    limit: Limit = Limit.FIXED
    value: float | None = None
    low: float | None = None
    high: float | None = None
    foot_position: int | None = None
    memory: int | None = None


class Ultrasound(Frozen):
    """What the machine counted. Times in seconds, power in percent."""

    cumulative_dissipated_energy: Number | None = None
    phaco_time_s: Number | None = None
    average_power_pct: Number | None = None
    effective_phaco_time_s: Number | None = None


class Lens(Frozen):
    """An intraocular lens and what became of it. Powers in diopters, axis in degrees (0-180)."""

    status: LensStatus
    manufacturer: Text | None = None
    model: Text | None = None
    power_d: Number | None = None
    cylinder_d: Number | None = None
    axis_deg: Number | None = None
    serial_number: Text | None = None
    lot_number: Text | None = None
    expiry_date: Text | None = None
    location: Text | None = None
    material: Text | None = None
    target_refraction_d: Number | None = None
    udi: Text | None = None


class Implant(Frozen):
    """Anything implanted besides the lens; `identifier` is its serial or lot number."""

    kind: str
    identifier: str | None = None
    temporary: bool = False


class DrugGiven(Frozen):
    """A drug as given or withheld. `strength` as said, normalized (`5 mg/mL`, `0.5 %`, `1:10000`); volume in mL."""

    drug: str
    route: str | None = None
    dose: float | None = None
    dose_unit: str | None = None
    strength: str | None = None
    volume_ml: float | None = None


class SutureUse(Frozen):
    """A suture that stays: size, material, count; `material` is `none` when it was said that none was used."""

    material: str
    size: str | None = None
    count: int | None = None


class Viscoelastic(Frozen):
    """Which kinds were used, and whether its removal was said."""

    kinds: tuple[Text, ...] = ()
    removed: Fact[bool] | None = None


class Complications(Frozen):
    """The statement and the events; what was done about an event stands among the steps."""

    statement: ComplicationStatement = ComplicationStatement.NOT_STATED
    statement_fact: Fact[ComplicationStatement] | None = None
    events: tuple[Text, ...] = ()


class Plan(Frozen):
    """After the operation. A week is 7 days, a month 28."""

    drops: tuple[Text, ...] = ()
    follow_up_days: tuple[Number, ...] = ()
    instructions: tuple[Text, ...] = ()


class Remark(Frozen):
    """Something said that fills no slot: a habit, a possibility, a plan, a history, the other eye, a thing not done."""

    slot: str
    value: str
    status: Status
    evidence: tuple[Evidence, ...]
    cue: Evidence | None = None
    time_s: float | None = None


class Retraction(Frozen):
    """Words the speaker took back, and the words that took them back."""

    value: str
    evidence: Evidence
    cue: Evidence


class Repair(Frozen):
    """A misheard term and its reading, for review; can be refused by its `heard`."""

    evidence: Evidence
    reading: ReadAs


UNREAD_NUMBER = "unread_number"
"""The id of words with a number that is part of nothing that was read."""


class Unclear(Frozen):
    """Words that look like content but could not be placed, or that contradict each other."""

    id: str
    evidence: tuple[Evidence, ...]
    detail: str


class OperationRecord(Frozen):
    """Everything that one dictation says of one operation on one eye."""

    contract_version: Literal[1] = 1
    is_operation_note: bool = True
    operation: Operation = Operation()
    patient: Patient = Patient()
    team: Team = Team()
    anesthesia: tuple[Text, ...] = ()
    steps: tuple[Text, ...] = ()
    main_incision: MainIncision = MainIncision()
    paracentesis: Paracentesis = Paracentesis()
    capsulorhexis: Capsulorhexis = Capsulorhexis()
    nucleus: Nucleus = Nucleus()
    settings: tuple[Fact[Setting], ...] = ()
    ultrasound: Ultrasound = Ultrasound()
    lenses: tuple[Lens, ...] = ()
    other_implants: tuple[Fact[Implant], ...] = ()
    viscoelastic: Viscoelastic = Viscoelastic()
    drugs: tuple[Fact[DrugGiven], ...] = ()
    sutures: tuple[Fact[SutureUse], ...] = ()
    complications: Complications = Complications()
    findings: tuple[Text, ...] = ()
    specimens: tuple[Text, ...] = ()
    blood_loss: Text | None = None
    counts: Text | None = None
    antibiotic_prophylaxis: tuple[Text, ...] = ()
    plan: Plan = Plan()
    remarks: tuple[Remark, ...] = ()
    retracted: tuple[Retraction, ...] = ()
    repairs: tuple[Repair, ...] = ()
    conflicts: tuple[Unclear, ...] = Field(default=(), description="values that contradict each other")
    unclear: tuple[Unclear, ...] = ()

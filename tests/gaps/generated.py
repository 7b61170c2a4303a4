"""Varied complete notes from a seeded builder, and what each of their items is asked for by when it is taken out."""

import random
from collections.abc import Mapping, Sequence
from dataclasses import replace

from drafts import COMPLETE, Draft, Slots

MEMBERS: Mapping[str, str] = {
    "operation.eye": "operation.eye",
    "operation.date": "operation.date",
    "operation.start_time": "operation.start_time",
    "operation.end_time": "operation.end_time",
    "operation.urgency": "operation.urgency",
    "operation.procedures": "operation.procedures",
    "operation.preoperative_diagnosis": "operation.preoperative_diagnosis",
    "operation.postoperative_diagnosis": "operation.postoperative_diagnosis",
    "patient.name": "patient.name",
    "patient.hospital_number": "patient.hospital_number",
    "team.surgeon": "team.surgeon",
    "team.assistant": "team.assistant",
    "team.anesthetist": "team.anesthetist",
    "anesthesia": "anesthesia",
    "main_incision": "main_incision",
    "complications": "complications.statement",
    "lens.model": "lens.model",
    "lens.power_d": "lens.power_d",
    "lens.axis_deg": "lens.axis_deg",
    "lens.identity": "lens.serial_or_lot",
    "sutures": "closure",
    "specimens": "specimens",
    "blood_loss": "blood_loss",
    "findings": "findings",
    "plan": "plan",
    "viscoelastic.removed": "viscoelastic.removed",
    "antibiotic": "antibiotic_prophylaxis",
}
"""An item of a note, and the one gap that must be reported when the note lacks it."""
SLOTS_OF: Mapping[str, Sequence[str]] = {
    "main_incision": ("main_incision.kind", "main_incision.width_mm", "main_incision.site"),
    "complications": ("complications.statement", "complications.events"),
    "lens.identity": ("lens.serial_number", "lens.lot_number"),
    "findings": ("findings", "nucleus.grade"),
    "plan": ("plan.drops", "plan.follow_up_days", "plan.instructions"),
    "antibiotic": ("antibiotic_prophylaxis",),
}
"""Items that several slots hold together."""
ANTIBIOTICS = ("cefuroxime intracameral 1 mg @ 10 mg/mL x 0.1 mL", "moxifloxacin intracameral @ 0.5 % x 0.1 mL")
STEPS = tuple(COMPLETE["steps"])


def complete_note(seed: int) -> Draft:
    """A complete note by the default set, different for each seed."""
    dice = random.Random(seed)
    slots: dict[str, Sequence[str]] = dict(COMPLETE)
    slots["operation.eye"] = [dice.choice(["left", "right"])]
    slots["operation.urgency"] = [dice.choice(["elective", "urgent"])]
    slots["operation.date"] = [f"2026-0{dice.randint(1, 9)}-{dice.randint(10, 28)}"]
    slots["patient.date_of_birth"] = [f"{dice.randint(1932, 1975)}-05-{dice.randint(10, 28)}"]
    start = dice.randint(8 * 60, 17 * 60)
    slots["operation.start_time"], slots["operation.end_time"] = [_clock(start)], [_clock(start + dice.randint(9, 70))]
    _vary_lens(dice, slots)
    _vary_course(dice, slots)
    remarks = _vary_team(dice, slots)
    words = {"team.surgeon": f"registrar {slots['team.surgeon'][0]}"} if remarks else {}
    if "capsular_tension_ring CT441" in slots.get("other_implants", ()):
        remarks.append(("operation.extra_procedure_reason", "loose zonules", "done"))
    return Draft(slots, words=words, remarks=remarks)


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02}:{minutes % 60:02}"


def _vary_lens(dice: random.Random, slots: dict[str, Sequence[str]]) -> None:
    slots["lens.power_d"] = [str(dice.choice([8, 14.5, 19, 21.5, 22.25, 27]))]
    if dice.random() < 0.4:
        slots["lens.cylinder_d"], slots["lens.axis_deg"] = (
            [dice.choice(["1.5", "2.25", "3"])],
            [str(dice.randint(1, 180))],
        )
    if dice.random() < 0.3:
        slots["lens.lot_number"] = slots.pop("lens.serial_number")
    if dice.random() < 0.3:
        slots["other_implants"] = [dice.choice(["capsular_tension_ring CT441", "iris_hooks"])]


def _vary_course(dice: random.Random, slots: dict[str, Sequence[str]]) -> None:
    """Anesthesia, drugs, closure and complications; a note with a broken capsule says what became of the vitreous."""
    block = dice.choice(["topical", "sub_tenon", "peribulbar"])
    slots["anesthesia"] = [block]
    agent = "lidocaine intracameral @ 1 % x 0.3 mL" if block == "topical" else f"lidocaine {block} @ 2 % x 4 mL"
    slots["drugs"] = [agent, *([dice.choice(ANTIBIOTICS)] if dice.random() < 0.5 else [])]
    slots["sutures"] = [dice.choice(["none", "10-0 nylon 1", "10-0 nylon 2"])]
    slots["steps"] = [step for step in STEPS if step not in ("wound_hydration", "leak_check", "viscoelastic_removal")]
    slots["blood_loss"] = [dice.choice(["none", "minimal", "1 mL"])]
    slots["specimens"] = [dice.choice(["none", "vitreous"])]
    if dice.random() < 0.5:
        slots["main_incision.site"] = [dice.choice(["superotemporal", "11 o'clock", "100 deg"])]
        del slots["main_incision.kind"]
    _vary_complications(dice, slots)


def _vary_complications(dice: random.Random, slots: dict[str, Sequence[str]]) -> None:
    chance = dice.random()
    slots["findings"] = [dice.choice(["dense_nucleus", "small_pupil", "posterior_capsule_intact"])]
    if chance < 0.2:
        del slots["complications.statement"]
        slots["complications.events"] = [dice.choice(["iris_prolapse", "anterior_capsule_tear"])]
    elif chance < 0.35:
        del slots["complications.statement"]
        slots["complications.events"] = ["posterior_capsule_rupture", "vitreous_loss"]
        slots["findings"], slots["lens.location"] = ["dense_nucleus"], ["sulcus"]


def _vary_team(dice: random.Random, slots: dict[str, Sequence[str]]) -> list[tuple[str, str, str]]:
    """A trainee operates under supervision in a third of the notes."""
    if dice.random() >= 0.33:
        return []
    slots["team.supervisor"] = ["enid stroud"]
    return [("team.tasks", "registrar all steps", "done")]


def items_of(draft: Draft) -> list[str]:
    """The items of a note that can be taken out, each on its own."""
    return [item for item in MEMBERS if any(slot in draft.slots for slot in _slots(item)) and not _is_held(item, draft)]


def without(draft: Draft, item: str) -> Draft:
    """The note without one item."""
    left: Slots = {slot: values for slot, values in draft.slots.items() if slot not in _slots(item)}
    return replace(draft, slots=left)


def _slots(item: str) -> Sequence[str]:
    return SLOTS_OF.get(item, (item,))


def _is_held(item: str, draft: Draft) -> bool:
    """Whether the note states the item twice: an antibiotic by its drug, findings by the complication."""
    if item == "antibiotic":
        return len(draft.slots["drugs"]) > 1
    return item == "findings" and "complications.events" in draft.slots

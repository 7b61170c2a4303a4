"""The lens and the procedure against what the list planned, and drugs against the allergies on it."""

import re
from collections.abc import Iterator

from zonule.consistency.finding import Checked, Found, Rule, spoken_id
from zonule.filling import facts_at
from zonule.labels import same_identifier
from zonule.lexicon import Term
from zonule.record import Fact
from zonule.record.slots import format_number

AXIS_TOLERANCE_DEG = 10.0
"""Source: common practice; about a third of the effect of a toric lens is lost at 10 degrees off axis (from memory)."""
POWER_TOLERANCE_D = 0.25
NO_ALLERGY = frozenset(
    {"none", "nil", "no", "nkda", "nka", "no known allergies", "no known drug allergies", "none known"}
)


def find_wrong_sign(checked: Checked) -> Iterator[Found]:
    """A power of the opposite sign to the plan."""
    planned = checked.case.planned_power_d if checked.case else None
    for fact in facts_at(checked.record, "lens.power_d"):
        if planned and fact.value * planned < 0:
            yield _power(fact, planned)


def find_other_power(checked: Checked) -> Iterator[Found]:
    """A power other than planned, of the same sign."""
    planned = checked.case.planned_power_d if checked.case else None
    for fact in facts_at(checked.record, "lens.power_d"):
        if planned is not None and fact.value * planned >= 0 and abs(fact.value - planned) >= POWER_TOLERANCE_D:
            yield _power(fact, planned)


def find_other_axis(checked: Checked) -> Iterator[Found]:
    """A toric axis more than 10 degrees off the planned one; 180 degrees and 0 are the same."""
    planned = checked.case.planned_axis_deg if checked.case else None
    for fact in facts_at(checked.record, "lens.axis_deg"):
        if planned is None:
            continue
        apart = abs(fact.value - planned) % 180
        if (off := min(apart, 180 - apart)) > AXIS_TOLERANCE_DEG:
            numbers = {"said": fact.value, "planned": planned, "off": off}
            yield Found((fact,), ("lens.axis_deg",), {k: format_number(v) for k, v in numbers.items()})


def find_other_model(checked: Checked) -> Iterator[Found]:
    """A model that the planned lens does not name."""
    planned = checked.case.planned_lens if checked.case else None
    for fact in facts_at(checked.record, "lens.model"):
        if planned and not _names(planned, fact.value):
            yield Found((fact,), ("lens.model",), {"said": fact.value, "planned": planned})


def find_other_procedure(checked: Checked) -> Iterator[Found]:
    """None of the procedures on the list among those done."""
    planned = checked.case.procedure if checked.case else None
    done = checked.record.operation.procedures
    if planned is None or not done:
        return
    wanted = {t.id for t in checked.lexicon.of_kind("procedure") if _is_named(t.forms, planned)}
    if wanted and not wanted & {fact.value for fact in done}:
        said = ", ".join(spoken_id(fact.value) for fact in done)
        yield Found(done, ("operation.procedures",), {"said": said, "planned": planned})


def find_allergies(checked: Checked) -> Iterator[Found]:
    """A drug that the list names an allergy to, itself or by its class."""
    for allergy in checked.case.allergies if checked.case else ():
        if allergy.casefold() not in NO_ALLERGY:
            for fact in checked.record.drugs:
                if _concerns(checked, allergy, fact.value.drug):
                    words = {"drug": spoken_id(fact.value.drug), "allergy": allergy}
                    yield Found((fact,), ("drugs",), words)


def _power(fact: Fact[float], planned: float) -> Found:
    return Found((fact,), ("lens.power_d",), {"said": f"{fact.value:+g}", "planned": f"{planned:+g}"})


def _names(planned: str, model: str) -> bool:
    """Whether a run of words of the plan is the model: `Orrinvale AQ 7` names `AQ7`."""
    words = planned.split()
    runs = (" ".join(words[i:j]) for i in range(len(words)) for j in range(i + 1, len(words) + 1))
    return any(same_identifier(run, model) for run in runs)


def _concerns(checked: Checked, allergy: str, drug: str) -> bool:
    term = checked.lexicon.by_key.get(("drug", drug))
    forms, classes = (term.forms, term.classes) if term else ((), ())
    if _is_named((spoken_id(drug), *drug.split("_"), *forms), allergy):
        return True
    if any(_is_named((spoken_id(name), *_class_forms(checked, name)), allergy) for name in classes):
        return True
    return any(
        _is_named(group.forms, allergy) and (drug in group.drugs or bool(set(group.classes) & set(classes)))
        for group in checked.requirements.allergies
    )


def _class_forms(checked: Checked, name: str) -> tuple[str, ...]:
    term: Term | None = checked.lexicon.by_key.get(("drug_class", name))
    return term.forms if term else ()


def _is_named(forms: tuple[str, ...], text: str) -> bool:
    """Whether one of the forms stands in `text` as whole words, in singular or plural."""
    words = " ".join(re.findall(r"[^\W_]+", text.casefold()))
    spoken = (" ".join(re.findall(r"[^\W_]+", form.casefold())) for form in forms)
    return any(re.search(rf"\b{re.escape(form)}s?\b", words) for form in spoken if len(form) > 2)


RULES: dict[str, Rule] = {
    "lens.power_sign_plan": find_wrong_sign,
    "lens.power_plan": find_other_power,
    "lens.axis_plan": find_other_axis,
    "lens.model_plan": find_other_model,
    "operation.procedures_plan": find_other_procedure,
    "drugs.allergy": find_allergies,
}

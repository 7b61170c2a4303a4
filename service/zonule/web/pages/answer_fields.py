"""How a question is answered on a page: the fields it shows, and the choices each of them offers."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from enum import Enum

from zonule.answers import CLOSED, DRUG_FIELD, IMPLANT_FIELD, KINDS, NOTED, apply_answers
from zonule.errors import ZonuleError
from zonule.export.wording import capitalized, label, slot_label, words
from zonule.filling import FORMS, PLACES
from zonule.lexicon import Lexicon
from zonule.record import Gap, OperationRecord
from zonule.requirements import Requirement

COMPLICATIONS = "complications.statement"
MOST_CHOICES = 4
"""Closed answers up to this number are buttons; more are suggestions behind a text field."""
ALL_AT_ONCE = ("steps", "settings")
"""Lists that are told, not typed: a question about them is answered in the dictation."""


@dataclass(frozen=True, slots=True)
class AnswerField:
    """One field under a question. `buttons` answer with one press: the value sent and the words shown."""

    slot: str
    label: str
    buttons: tuple[tuple[str, str], ...] = ()
    suggestions: tuple[str, ...] = ()
    typed: bool = True
    mode: str = "text"
    hint: str = ""

    @property
    def name(self) -> str:
        """Its name in the form."""
        return f"answer.{self.slot}"


def answer_fields(gap: Gap, item: Requirement | None, lexicon: Lexicon) -> tuple[AnswerField, ...]:
    """The fields that answer a gap; none for one that only the words themselves can settle."""
    slots = [slot for slot in gap.slots if _takes_an_answer(slot) and slot not in ALL_AT_ONCE]
    if COMPLICATIONS in slots:
        return (_statement(), _field("complications.events", False, lexicon))
    none = bool(item and item.may_be_none) or slots == ["sutures"]
    return tuple(_field(slot, none and number == 0, lexicon) for number, slot in enumerate(slots))


def with_standing(fields: tuple[AnswerField, ...], standing: Mapping[str, str]) -> tuple[AnswerField, ...]:
    """The fields of a doubt, each with a button that confirms the value that stands in its slot."""
    return tuple(
        replace(field, buttons=((held, f"It is {held}"),)) if held and not field.buttons else field
        for field, held in ((field, standing.get(field.slot)) for field in fields)
    )


def _takes_an_answer(slot: str) -> bool:
    return slot in PLACES or slot in NOTED or bool(DRUG_FIELD.fullmatch(slot) or IMPLANT_FIELD.fullmatch(slot))


def _statement() -> AnswerField:
    return AnswerField(COMPLICATIONS, label(COMPLICATIONS), buttons=(("none", "None"),), typed=False)


def _field(slot: str, none: bool, lexicon: Lexicon) -> AnswerField:
    buttons = _buttons(slot)
    return AnswerField(
        slot=slot,
        label=label(slot) if slot in NOTED else slot_label(slot),
        buttons=buttons or ((("none", "None"),) if none else ()),
        suggestions=_suggestions(slot, lexicon),
        typed=not buttons,
        mode=_mode(slot),
        hint=_hint(slot),
    )


def _buttons(slot: str) -> tuple[tuple[str, str], ...]:
    kind = PLACES[slot].value if slot in PLACES else str
    if kind is bool:
        return (("yes", "Yes"), ("no", "No"))
    if issubclass(kind, Enum):
        return tuple((str(choice.value), capitalized(words(str(choice.value)))) for choice in kind)[:MOST_CHOICES]
    return ()


def _suggestions(slot: str, lexicon: Lexicon) -> tuple[str, ...]:
    ids = (term.id for kind in KINDS.get(slot, ()) for term in lexicon.of_kind(kind))
    return tuple(sorted({words(name) for name in ids})) if slot in CLOSED or slot in KINDS else ()


def _mode(slot: str) -> str:
    kind = PLACES[slot].value if slot in PLACES else str
    if kind is date:
        return "date"
    if slot in ("operation.start_time", "operation.end_time"):
        return "time"
    return "decimal" if kind is float or slot.endswith("volume_ml") else "text"


HINTS = {
    "drugs": "drug route dose, such as: lidocaine intracameral 1 mg",
    "sutures": "size material count, such as: 10-0 nylon 1",
    "other_implants": "kind and its number",
}


def _hint(slot: str) -> str:
    if slot in HINTS:
        return HINTS[slot]
    if slot in FORMS:
        return FORMS[slot][1]
    return "several? put semicolons between them" if slot in PLACES and PLACES[slot].many else ""


def usable_answers(
    record: OperationRecord, answers: Mapping[str, str], lexicon: Lexicon
) -> tuple[dict[str, str], dict[str, str]]:
    """The answers that the record takes one by one, and for each other slot the sentence that says why not."""
    usable: dict[str, str] = {}
    refused: dict[str, str] = {}
    for slot, value in answers.items():
        try:
            record = apply_answers(record, {slot: value}, lexicon)
        except ZonuleError as fault:
            refused[slot] = str(fault)
        else:
            usable[slot] = value
    return usable, refused


def answers_in(form: Iterable[tuple[str, object]]) -> dict[str, str]:
    """The answers of a form, by slot; empty fields are no answers."""
    named = ((name.removeprefix("answer."), value) for name, value in form if name.startswith("answer."))
    return {slot: value.strip() for slot, value in named if isinstance(value, str) and value.strip()}

"""What a person typed in to complete the note: it fills slots; what stood there is kept as remark."""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from rapidfuzz import process

from zonule.errors import InputError, UnknownNameError
from zonule.filling import PLACES, ROUTES, fact_for, facts_at, parse_value, place_of, put
from zonule.lexicon import Lexicon
from zonule.lexicon.schema import Kind
from zonule.record import DrugGiven, Fact, Implant, OperationRecord, Remark
from zonule.record.slots import format_value
from zonule.vocabulary import Origin, Status

NOTED = (
    "team.tasks", "operation.indication", "operation.disposition", "operation.extra_procedure_reason",
    "dvt_prophylaxis", "vitreous.status",
)  # fmt: skip
"""Items that requirements ask for and the record contract has no slot for: their answers are kept as remarks."""
LONGEST = 500
"""Characters of one answer."""
DRUG_FIELD = re.compile(r"drugs\.(?P<name>\w+)\.(?P<field>strength|volume_ml|dose|route)")
IMPLANT_FIELD = re.compile(r"other_implants\.(?P<name>\w+)\.(?P<field>identifier)")


KINDS: Mapping[str, tuple[Kind, ...]] = {
    "anesthesia": ("anesthesia",),
    "antibiotic_prophylaxis": ("drug",),
    "complications.events": ("complication",),
    "findings": ("finding",),
    "lens.location": ("lens_location",),
    "lens.material": ("lens_material",),
    "main_incision.kind": ("incision_kind",),
    "nucleus.technique": ("technique",),
    "operation.postoperative_diagnosis": ("diagnosis",),
    "operation.preoperative_diagnosis": ("diagnosis",),
    "operation.procedures": ("procedure",),
    "plan.drops": ("drug", "drug_class"),
    "steps": ("step",),
    "viscoelastic": ("viscoelastic",),
}
"""Slots whose values are concepts of the lexicon, and of which kinds."""
CLOSED = ("anesthesia", "lens.location", "main_incision.kind", "operation.procedures", "steps", "viscoelastic")
"""Slots that take no value that the lexicon does not know."""


def apply_answers(
    record: OperationRecord, answers: Mapping[str, str], lexicon: Lexicon | None = None
) -> OperationRecord:
    """The record with `answers`: slot → value in the grammar of the slot view (record contract, section 5).

    Members of a list are separated by semicolons and replace the list; an empty value empties the slot. A drug's
    strength, volume, dose or route is `drugs.DRUG.FIELD`, an implant's number `other_implants.KIND.identifier`.
    A value repeated as it stands is confirmed and keeps its words. An answer settles the dictation's own conflict
    about its slot. With a `lexicon`, trade words are read as their concepts (`sub-Tenon` is `sub_tenon`), and a slot of
    the trade's own vocabulary takes no other. Raises UnknownNameError for a slot that does not
    exist and InputError for a value that the slot does not take.
    """
    for slot, value in answers.items():
        name, text = slot.strip(), _checked(slot, value)
        record = _apply(record, name, _as_concepts(name, text, lexicon) if lexicon else text)
    return record


def _as_concepts(slot: str, value: str, lexicon: Lexicon) -> str:
    kinds = KINDS.get(slot)
    if kinds is None:
        return value
    return "; ".join(_concept(slot, part.strip(), kinds, lexicon) for part in value.split(";") if part.strip())


def _concept(slot: str, words: str, kinds: tuple[Kind, ...], lexicon: Lexicon) -> str:
    """The id that the words name, by id or form; other words as they are, where the slot takes them."""
    terms = [term for kind in kinds for term in lexicon.of_kind(kind)]
    named = _bare(words)
    found = next((t.id for t in terms if named in {_bare(t.id), *map(_bare, t.forms)}), None)
    if found is None and slot in CLOSED and words != "none":
        near = process.extract(words, [term.id for term in terms], limit=4)
        known = ", ".join(repr(name) for name, *_ in near)
        raise InputError(f"Answer for {slot!r}: expected a word of the trade, perhaps {known}; got {words!r}.")
    return found or words


def _bare(words: str) -> str:
    return " ".join(re.findall(r"[^\W_]+", words.casefold()))


def _checked(slot: str, value: object) -> str:
    if not isinstance(value, str):
        raise InputError(f"Answer for {slot!r}: expected text, got {value!r}; put it in quotes.")
    if len(value) > LONGEST or re.search(r"[\x00-\x08\x0b-\x1f\x7f]", value):
        raise InputError(f"Answer for {slot!r}: expected at most {LONGEST} printable characters; please shorten it.")
    return value.strip()


def _apply(record: OperationRecord, slot: str, value: str) -> OperationRecord:
    if slot in NOTED:
        return _note(record, slot, value)
    for form, change in ((DRUG_FIELD, _change_drug), (IMPLANT_FIELD, _change_implant)):
        if found := form.fullmatch(slot):
            return _change_member(record, slot, found["name"], change(slot, found["field"], value))
    return _settle(_fill(record, slot, value), slot)


def _fill(record: OperationRecord, slot: str, value: str) -> OperationRecord:
    many = place_of(slot).many
    texts = [part.strip() for part in (value.split(";") if many else [value]) if part.strip()]
    held = {format_value(fact.value): fact for fact in facts_at(record, slot)}
    facts = [_fact(slot, text, held) for text in texts]
    standing = {format_value(fact.value) for fact in facts}
    replaced = [fact for text, fact in held.items() if text not in standing]
    remarks = (*record.remarks, *_earlier(slot, replaced))
    return put(record, slot, facts).model_copy(update={"remarks": remarks})


def _fact(slot: str, text: str, held: Mapping[str, Fact[Any]]) -> Fact[Any]:
    """A value that a person repeats keeps its words: it is confirmed."""
    value = parse_value(slot, text)
    known = held.get(format_value(value))
    return fact_for(slot, value, Origin.PERSON, known.evidence if known else ())


def _earlier(slot: str, facts: list[Fact[Any]]) -> Iterator[Remark]:
    for fact in facts:
        yield Remark(
            slot=slot,
            value=format_value(fact.value),
            status=Status.HISTORICAL,
            evidence=fact.evidence,
            time_s=fact.time_s,
        )


def _settle(record: OperationRecord, slot: str) -> OperationRecord:
    """Without the dictation's own conflict about the slot; those with list and label stay to be seen."""
    return record.model_copy(update={"conflicts": tuple(held for held in record.conflicts if held.id != slot)})


def _note(record: OperationRecord, slot: str, value: str) -> OperationRecord:
    others = tuple(r for r in record.remarks if not (r.slot == slot and r.status is Status.DONE))
    said = (Remark(slot=slot, value=value, status=Status.DONE, evidence=()),) if value else ()
    return record.model_copy(update={"remarks": (*others, *said)})


Change = Mapping[str, object]


def _change_drug(slot: str, field: str, value: str) -> Change:
    if field == "strength":
        return {"strength": value or None}
    if field == "route":
        if value not in ROUTES:
            raise InputError(f"Answer for {slot!r}: expected one of {', '.join(ROUTES)}, got {value!r}.")
        return {"route": value}
    number = re.fullmatch(r"(\d{1,6}(?:\.\d{1,6})?) ?(\S+)?", value)
    if not number or (field == "volume_ml" and number[2] not in (None, "mL", "ml")):
        wanted = "a number of milliliters such as 0.1" if field == "volume_ml" else "a dose such as '1 mg'"
        raise InputError(f"Answer for {slot!r}: expected {wanted}, got {value!r}.")
    if field == "volume_ml":
        return {"volume_ml": float(number[1])}
    return {"dose": float(number[1]), **({"dose_unit": number[2]} if number[2] else {})}


def _change_implant(slot: str, field: str, value: str) -> Change:
    if not value:
        raise InputError(f"Answer for {slot!r}: expected a serial or lot number, got nothing.")
    return {field: value}


def _change_member(record: OperationRecord, slot: str, name: str, change: Change) -> OperationRecord:
    """The first drug or implant of that name that lacks the field, or else the first of that name."""
    group = slot.partition(".")[0]
    members: tuple[Fact[Any], ...] = facts_at(record, group)
    named = [fact for fact in members if name in (_name(fact.value), "*")]
    if not named:
        known = ", ".join(repr(_name(fact.value)) for fact in members) or "none"
        raise UnknownNameError(f"Unknown slot {slot!r}: expected one of the {group} in the record ({known}).")
    lacking = [fact for fact in named if all(getattr(fact.value, key) is None for key in change)]
    old = (lacking or named)[0]
    new = old.model_copy(update={"value": old.value.model_copy(update=change), "origin": Origin.PERSON})
    remarks = (*record.remarks, *_earlier(group, [old]))
    changed = put(record, group, [new if fact is old else fact for fact in members])
    return changed.model_copy(update={"remarks": remarks})


def _name(value: DrugGiven | Implant) -> str:
    return value.drug if isinstance(value, DrugGiven) else value.kind


def answerable_slots() -> tuple[str, ...]:
    """Every slot that an answer may name, besides the fields of drugs and implants."""
    return (*PLACES, *NOTED)

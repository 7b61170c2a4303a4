"""All rooms of binding together: one reading → all its facts."""

from dataclasses import replace

from zonule.assertion import Asserted
from zonule.binding.aftercare import bind_aftercare
from zonule.binding.closure import bind_closure, bind_implants
from zonule.binding.concepts import bind_concepts
from zonule.binding.drugs import bind_drugs
from zonule.binding.found import Found
from zonule.binding.incisions import bind_incisions
from zonule.binding.lenses import bind_lenses
from zonule.binding.people import bind_people
from zonule.binding.reading import Reading
from zonule.binding.sections import HISTORY, Section, find_sections
from zonule.binding.settings import bind_settings
from zonule.binding.statements import bind_statements
from zonule.binding.steps import bind_steps
from zonule.binding.times import bind_times
from zonule.record.operation_record import Setting
from zonule.vocabulary import Status

ROOMS = (
    bind_concepts,
    bind_steps,
    bind_incisions,
    bind_settings,
    bind_lenses,
    bind_drugs,
    bind_closure,
    bind_implants,
    bind_people,
    bind_times,
    bind_aftercare,
    bind_statements,
)
NOTHING: tuple[object, ...] = (False, 0)
"""Values that say that there was none."""


def bind_facts(reading: Reading) -> list[Found]:
    """Every fact of a reading, with its status, in the order of the text."""
    sections = find_sections(reading)
    reading = _with_history(reading, sections)
    facts = [fact for room in ROOMS for fact in room(reading, sections)]
    facts += _fills(facts, reading)
    facts += _steps_by_slots(facts, reading)
    return sorted(facts, key=lambda f: (f.at, f.slot))


def _with_history(reading: Reading, sections: list[Section]) -> Reading:
    """What stands under "History:" was done on a former day."""
    told = [s for s in sections if s.field == HISTORY]
    if not told:
        return reading
    former = {
        id(a): Asserted(a.mention, Status.HISTORICAL, section.label)
        for section in told
        for a in reading.between(section.start, section.end)
        if a.status is Status.DONE
    }
    return replace(reading, asserted=tuple(former.get(id(a), a) for a in reading.asserted))


def _fills(facts: list[Found], reading: Reading) -> list[Found]:
    """What done steps and techniques settle besides, as the lexicon says (`fills`)."""
    filled: list[Found] = []
    kinds = {"steps": "step", "nucleus.technique": "technique", "settings": "phase"}
    for fact in facts:
        kind = kinds.get(fact.slot)
        name = fact.value.phase if isinstance(fact.value, Setting) else fact.value
        term = reading.lexicon.by_key.get((kind, str(name))) if kind else None
        if term is None or fact.status is not Status.DONE:
            continue
        filled += [Found(slot, value, fact.status, fact.mentions) for slot, value in term.fills.items()]
    return filled


def _steps_by_slots(facts: list[Found], reading: Reading) -> list[Found]:
    """Steps that nothing names as done or not but what was found out of them.

    A width told of this eye's wound tells of the cut, an hour ("usually two; here one at 7") of a side port.
    """
    named = {fact.value for fact in facts if fact.slot == "steps" and fact.status in (Status.DONE, Status.NOT_DONE)}
    kept = [f for f in reading.lexicon.frames if not {f"step:{step}" for step in named} & {f"step:{f.step}", *f.unless}]
    steps = {slot: frame.step for frame in kept for slot in frame.slots}
    done = [f for f in facts if f.slot in steps and f.status is Status.DONE and f.value not in NOTHING]
    first = {steps[f.slot]: f for f in sorted(done, key=lambda f: f.at, reverse=True)}
    return [Found("steps", step, Status.DONE, fact.mentions) for step, fact in first.items()]

"""What was stated under each label of a note: people and times, complications and closure, machine, drugs, plan."""

from collections.abc import Sequence
from datetime import date

from zonule.export import quantities
from zonule.export.blocks import AnyFact, Block, Entries, Entry, Phrase, Table, Tone
from zonule.export.settings_table import settings_table
from zonule.export.wording import NOT_STATED, capitalized, listed, name_shown, words
from zonule.record import DrugGiven, Fact, OperationRecord
from zonule.vocabulary import ComplicationStatement, Status

CLOSURE_STEPS = {
    "suture": "wound sutured",
    "wound_hydration": "wounds hydrated",
    "leak_check": "checked for leaks",
    "dressing": "dressing applied",
}


def operation_entries(record: OperationRecord) -> list[Entry]:
    """People, diagnoses, anesthesia, urgency and times."""
    operation, team = record.operation, record.team
    return _held(
        _name("Surgeon", team.surgeon),
        _name("Assistant", team.assistant),
        _name("Supervisor", team.supervisor),
        _name("Anesthetist", team.anesthetist),
        _name("Scrub", team.scrub),
        labeled("Preoperative diagnosis", operation.preoperative_diagnosis),
        labeled("Postoperative diagnosis", operation.postoperative_diagnosis),
        labeled("Nucleus grade", record.nucleus.grade),
        labeled("Anesthesia", record.anesthesia),
        labeled("Urgency", operation.urgency),
        labeled("Start", operation.start_time),
        labeled("End", operation.end_time),
    )


def outcome_entries(record: OperationRecord) -> list[Entry]:
    """Complications and closure, always; findings, specimens, blood loss and counts where stated."""
    return _held(
        complications_entry(record),
        _closure(record),
        _implants(record),
        labeled("Findings", record.findings),
        labeled("Specimens", record.specimens),
        labeled("Blood loss", record.blood_loss),
        labeled("Counts", record.counts),
    )


def complications_entry(record: OperationRecord) -> Entry:
    """The statement as a line; silence is said to be silence, and a `none` beside an event is shown with it."""
    stated = record.complications
    fact, events = stated.statement_fact, tuple(e for e in stated.events if e.status is Status.DONE)
    if events:
        phrases = [Phrase(capitalized(listed([words(event.value) for event in events])), events, Tone.ALERT)]
        if fact and fact.value is ComplicationStatement.NONE:
            phrases.append(Phrase("(also stated: none)", (fact,), Tone.ALERT))
        return Entry("Complications", tuple(phrases))
    facts = (fact,) if fact else ()
    if stated.statement is ComplicationStatement.NONE:
        return Entry("Complications", (Phrase("none", facts, Tone.STRONG),))
    if stated.statement is ComplicationStatement.PRESENT:
        return Entry("Complications", (Phrase("stated to be present, but not named", facts, Tone.ALERT),))
    return Entry("Complications", (Phrase(NOT_STATED, (), Tone.ALERT),))


def _closure(record: OperationRecord) -> Entry:
    used = tuple(f for f in record.sutures if f.status is Status.DONE)
    told = {"suture"} if any(fact.value.material != "none" for fact in used) else set()
    named = CLOSURE_STEPS.keys() - told
    steps = tuple(s for s in record.steps if s.value in named and s.status is Status.DONE)
    phrases = [quantities.sutures(fact.value) for fact in used] + [CLOSURE_STEPS[step.value] for step in steps]
    if not phrases:
        return Entry("Closure", (Phrase(NOT_STATED, (), Tone.MUTED),))
    unique = list(dict.fromkeys(phrases))
    return Entry("Closure", (Phrase(capitalized("; ".join(unique)), (*used, *steps)),))


def _implants(record: OperationRecord) -> Entry | None:
    used = tuple(f for f in record.other_implants if f.status is Status.DONE)
    texts = [
        words(f.value.kind) + (f" {f.value.identifier}" if f.value.identifier else "")
        + (" (temporary)" if f.value.temporary else "")
        for f in used
    ]  # fmt: skip
    return Entry("Other implants", (Phrase(capitalized(listed(texts)), used),)) if used else None


def machine_blocks(record: OperationRecord) -> tuple[Block, ...]:
    """The settings by phase, and what the machine counted."""
    table = settings_table(record)
    counted = record.ultrasound
    counters = _held(
        _counter("Cumulative dissipated energy", counted.cumulative_dissipated_energy, ""),
        _counter("Phaco time", counted.phaco_time_s, " s"),
        _counter("Effective phaco time", counted.effective_phaco_time_s, " s"),
        _counter("Average power", counted.average_power_pct, " %"),
    )
    tables: tuple[Block, ...] = (table,) if table else ()
    return (*tables, Entries(tuple(counters), "run_in")) if counters else tables


def _counter(label: str, fact: Fact[float] | None, unit: str) -> Entry | None:
    return Entry(label, (Phrase(f"{quantities.number(fact.value)}{unit}", (fact,)),)) if fact else None


def drug_table(record: OperationRecord) -> tuple[Table, ...]:
    """Drugs with dose and route; the column of strengths is there only when one is stated."""
    shown = [f for f in record.drugs if f.status in (Status.DONE, Status.NOT_DONE)]
    strengths = any(_strength(fact.value) for fact in shown)
    header = ("Drug", "Dose", *(["Strength and volume"] if strengths else []), "Route")
    rows = tuple(_drug_row(fact, strengths) for fact in shown)
    return (Table("Drugs given in this operation", header, rows),) if rows else ()


def _drug_row(fact: Fact[DrugGiven], strengths: bool) -> tuple[Phrase, ...]:
    drug = fact.value
    withheld = " (withheld)" if fact.status is Status.NOT_DONE else ""
    return (
        Phrase(capitalized(words(drug.drug)) + withheld, (fact,), Tone.STRONG if withheld else Tone.PLAIN),
        _cell(quantities.dose(drug), fact),
        *([_cell(_strength(drug), fact, "\N{EN DASH}")] if strengths else []),
        _cell(words(drug.route or ""), fact),
    )


def _strength(drug: DrugGiven) -> str:
    volume = f"{quantities.number(drug.volume_ml)} mL" if drug.volume_ml is not None else ""
    return ", ".join(part for part in (drug.strength or "", volume) if part)


def _cell(text: str, fact: AnyFact, empty: str = "not stated") -> Phrase:
    return Phrase(text, (fact,)) if text else Phrase(empty, (), Tone.MUTED)


def plan_entries(record: OperationRecord) -> list[Entry]:
    """Drops, follow-up and instructions."""
    plan = record.plan
    days = tuple(f for f in plan.follow_up_days if f.status is Status.DONE)
    visits = listed([quantities.follow_up(f.value) for f in days])
    return _held(
        labeled("Drops", plan.drops),
        Entry("Follow-up", (Phrase(f"In {visits}", days),)) if days else None,
        labeled("Instructions", plan.instructions),
    )


def _held(*entries: Entry | None) -> list[Entry]:
    return [entry for entry in entries if entry]


def labeled(label: str, facts: AnyFact | Sequence[AnyFact] | None) -> Entry | None:
    """The done facts under a label, in words, or nothing."""
    held = (facts,) if isinstance(facts, Fact) else tuple(facts or ())
    done = tuple(fact for fact in held if fact.status is Status.DONE)
    if not done:
        return None
    return Entry(label, (Phrase(capitalized(listed([words(shown(fact)) for fact in done])), done),))


def _name(label: str, fact: AnyFact | None) -> Entry | None:
    return Entry(label, (Phrase(name_shown(str(fact.value)), (fact,)),)) if fact else None


def shown(fact: AnyFact) -> str:
    """A fact's value as text: dates in letters, anything else as it is."""
    value = fact.value
    return quantities.day(value) if isinstance(value, date) else str(value)

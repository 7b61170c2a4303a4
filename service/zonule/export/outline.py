"""Record and gap report → the outline of the operation note, from which every renderer works."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Literal

from zonule.export import quantities
from zonule.export.blocks import (
    AnyFact,
    Block,
    Diagram,
    Entries,
    Entry,
    Identity,
    Outline,
    Paragraph,
    Phrase,
    Section,
    Signature,
    Table,
    Tone,
)
from zonule.export.end_notes import with_end_notes
from zonule.export.eye_diagram import describe_eye, eye_svg
from zonule.export.open_questions import not_stated_section, to_confirm_section
from zonule.export.options import DocumentOptions
from zonule.export.panels import eye_panel, lens_panels
from zonule.export.prose import clauses, sentence_of, sentences
from zonule.export.settings_table import settings_table
from zonule.export.wording import NOT_STATED, capitalized, listed, words
from zonule.record import DrugGiven, Fact, GapReport, OperationRecord
from zonule.vocabulary import ComplicationStatement, Status

Layout = Literal["lines", "pairs", "run_in"]
TITLE = "Operation note"
CAUTIONS = (
    "This note is a draft until its surgeon has read and signed it.",
    "Doses defer to the local formulary. Nothing here is treatment advice.",
)


def build_outline(record: OperationRecord, report: GapReport, options: DocumentOptions | None = None) -> Outline:
    """The operation note as an outline. Sections without content are left out; complications are always stated."""
    chosen = options or DocumentOptions()
    outline = Outline(
        title=TITLE,
        identity=_identity(record, chosen),
        sections=tuple(section for section in _sections(record, report, chosen) if section.blocks),
        signature=_signature(chosen),
        cautions=CAUTIONS,
    )
    return with_end_notes(outline) if chosen.evidence else outline


def _sections(record: OperationRecord, report: GapReport, options: DocumentOptions) -> Iterable[Section]:
    yield Section("eye_and_lens", "Eye and lens", _eye_and_lens(record, options))
    procedure = _entry("Procedure", record.operation.procedures)
    particulars = _entries(_operation(record), "pairs")
    yield Section("operation", "Operation", (*_entries([procedure]), *particulars))
    yield Section("description", "Description of the operation", _description(record, options))
    yield Section("outcome", "Complications and closure", _entries(_outcome(record)))
    yield Section("settings", "Machine settings", _machine(record))
    yield Section("drugs", "Drugs", _drugs(record))
    yield Section("plan", "Plan", _entries(_plan(record), "run_in"))
    if options.remarks:
        yield Section("remarks", "Said, but not part of this operation", _remarks(record))
    yield not_stated_section(report)
    yield to_confirm_section(record, report)


def _identity(record: OperationRecord, options: DocumentOptions) -> Identity:
    patient, operation = record.patient, record.operation
    eye = operation.eye
    return Identity(
        unit=options.unit_name or "",
        name=_known(patient.name, "Patient name"),
        number=_known(patient.hospital_number, "Hospital number"),
        born=_known(patient.date_of_birth, "Date of birth"),
        eye=Phrase(f"{eye.value.value} eye".upper().replace("BOTH EYE", "BOTH EYES"), (eye,), Tone.STRONG)
        if eye
        else Phrase("EYE NOT STATED", (), Tone.ALERT),
        date=_known(operation.date, "Date of operation"),
    )


def _known(fact: AnyFact | None, name: str) -> Phrase:
    return Phrase(_shown(fact), (fact,)) if fact else Phrase(f"{name} not stated", (), Tone.MUTED)


def _shown(fact: AnyFact) -> str:
    value = fact.value
    return quantities.day(value) if isinstance(value, date) else str(value)


def _signature(options: DocumentOptions) -> Signature:
    if not options.signed:
        return Signature(draft=True)
    at = quantities.moment(options.signed_at) if options.signed_at else ""
    return Signature(draft=False, by=options.signed_by or "", at=at)


def _eye_and_lens(record: OperationRecord, options: DocumentOptions) -> tuple[Block, ...]:
    view = options.diagram_view
    diagram = Diagram(eye_svg(record, view), describe_eye(record, view))
    return (eye_panel(record), diagram, *lens_panels(record))


def _entries(entries: Iterable[Entry | None], layout: Layout = "lines") -> tuple[Block, ...]:
    held = tuple(entry for entry in entries if entry)
    return (Entries(held, layout),) if held else ()


def _entry(label: str, facts: AnyFact | Sequence[AnyFact] | None) -> Entry | None:
    """The done facts under a label, in words, or nothing."""
    held = (facts,) if isinstance(facts, Fact) else tuple(facts or ())
    done = tuple(fact for fact in held if fact.status is Status.DONE)
    if not done:
        return None
    return Entry(label, (Phrase(capitalized(listed([words(_shown(fact)) for fact in done])), done),))


def _name(label: str, fact: AnyFact | None) -> Entry | None:
    return Entry(label, (Phrase(str(fact.value), (fact,)),)) if fact else None


def _operation(record: OperationRecord) -> list[Entry | None]:
    operation, team = record.operation, record.team
    return [
        _name("Surgeon", team.surgeon),
        _name("Assistant", team.assistant),
        _name("Supervisor", team.supervisor),
        _name("Anesthetist", team.anesthetist),
        _name("Scrub", team.scrub),
        _entry("Preoperative diagnosis", operation.preoperative_diagnosis),
        _entry("Postoperative diagnosis", operation.postoperative_diagnosis),
        _entry("Nucleus grade", record.nucleus.grade),
        _entry("Anesthesia", record.anesthesia),
        _entry("Urgency", operation.urgency),
        _entry("Start", operation.start_time),
        _entry("End", operation.end_time),
    ]


def _description(record: OperationRecord, options: DocumentOptions) -> tuple[Block, ...]:
    if options.steps == "list":
        told = [sentence_of(clause) for clause in clauses(record)]
        return tuple(Paragraph((Phrase(s.text, s.facts),), marker="number") for s in told)
    phrases = tuple(Phrase(sentence.text, sentence.facts) for sentence in sentences(record))
    return (Paragraph(phrases),) if phrases else ()


def _outcome(record: OperationRecord) -> list[Entry | None]:
    return [
        _complications(record),
        _closure(record),
        _implants(record),
        _entry("Findings", record.findings),
        _entry("Specimens", record.specimens),
        _entry("Blood loss", record.blood_loss),
        _entry("Counts", record.counts),
    ]


def _complications(record: OperationRecord) -> Entry:
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


CLOSURE_STEPS = {
    "suture": "wound sutured",
    "wound_hydration": "wounds hydrated",
    "leak_check": "checked for leaks",
    "dressing": "dressing applied",
}


def _implants(record: OperationRecord) -> Entry | None:
    used = tuple(f for f in record.other_implants if f.status is Status.DONE)
    texts = [
        words(f.value.kind) + (f" {f.value.identifier}" if f.value.identifier else "")
        + (" (temporary)" if f.value.temporary else "")
        for f in used
    ]  # fmt: skip
    return Entry("Other implants", (Phrase(capitalized(listed(texts)), used),)) if used else None


def _machine(record: OperationRecord) -> tuple[Block, ...]:
    table = settings_table(record)
    counted = record.ultrasound
    counters = [
        _counter("Cumulative dissipated energy", counted.cumulative_dissipated_energy, ""),
        _counter("Phaco time", counted.phaco_time_s, " s"),
        _counter("Effective phaco time", counted.effective_phaco_time_s, " s"),
        _counter("Average power", counted.average_power_pct, " %"),
    ]
    return (*((table,) if table else ()), *_entries(counters, "run_in"))


def _counter(label: str, fact: Fact[float] | None, unit: str) -> Entry | None:
    return Entry(label, (Phrase(f"{quantities.number(fact.value)}{unit}", (fact,)),)) if fact else None


def _drugs(record: OperationRecord) -> tuple[Block, ...]:
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
        *([_cell(_strength(drug), fact)] if strengths else []),
        _cell(words(drug.route or ""), fact),
    )


def _strength(drug: DrugGiven) -> str:
    volume = f"{quantities.number(drug.volume_ml)} mL" if drug.volume_ml is not None else ""
    return ", ".join(part for part in (drug.strength or "", volume) if part)


def _cell(text: str, fact: AnyFact) -> Phrase:
    return Phrase(text, (fact,)) if text else Phrase("not stated", (), Tone.MUTED)


def _plan(record: OperationRecord) -> list[Entry | None]:
    plan = record.plan
    days = tuple(f for f in plan.follow_up_days if f.status is Status.DONE)
    visits = listed([quantities.follow_up(f.value) for f in days])
    return [
        _entry("Drops", plan.drops),
        Entry("Follow-up", (Phrase(f"In {visits}", days),)) if days else None,
        _entry("Instructions", plan.instructions),
    ]


def _remarks(record: OperationRecord) -> tuple[Block, ...]:
    return tuple(
        Paragraph((Phrase(f"{capitalized(words(r.status.value))}: {_quoted(r.evidence)}"),), marker="bullet")
        for r in record.remarks
    )


def _quoted(evidence: Sequence[object]) -> str:
    return " … ".join(f"“{getattr(e, 'text', '')}”" for e in evidence)

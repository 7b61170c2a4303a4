"""Record and gap report → the outline of the operation note, from which every renderer works."""

from collections.abc import Iterable
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
    Tone,
)
from zonule.export.end_notes import with_end_notes
from zonule.export.eye_diagram import describe_eye, eye_svg
from zonule.export.open_questions import not_stated_section, quoted, to_confirm_section
from zonule.export.options import DocumentOptions
from zonule.export.panels import EYES, eye_panel, lens_panels
from zonule.export.particulars import (
    drug_table,
    labeled,
    machine_blocks,
    operation_entries,
    outcome_entries,
    plan_entries,
    shown,
)
from zonule.export.prose import clauses, sentence_of, sentences
from zonule.export.timeline import timeline_blocks
from zonule.export.wording import capitalized, name_shown, words
from zonule.record import GapReport, OperationRecord

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
        signature=_signature(report, chosen),
        cautions=CAUTIONS,
    )
    return with_end_notes(outline) if chosen.evidence else outline


def _sections(record: OperationRecord, report: GapReport, options: DocumentOptions) -> Iterable[Section]:
    yield Section("eye_and_lens", "Eye and lens", _eye_and_lens(record, options))
    procedure = labeled("Procedure", record.operation.procedures)
    particulars = _entries(operation_entries(record), "pairs")
    yield Section("operation", "Operation", (*_entries([procedure] if procedure else []), *particulars))
    yield Section("description", "Description of the operation", _description(record, options))
    yield Section("outcome", "Complications and closure", _entries(outcome_entries(record)))
    yield Section("settings", "Machine settings", machine_blocks(record))
    yield Section("drugs", "Drugs", drug_table(record))
    yield Section("plan", "Plan", _entries(plan_entries(record), "run_in"))
    if options.remarks:
        yield Section("remarks", "Said, but not part of this operation", _remarks(record))
    yield not_stated_section(report)
    yield to_confirm_section(record, report)
    if options.timeline:
        yield Section("timeline", "Timeline", timeline_blocks(record))


def _identity(record: OperationRecord, options: DocumentOptions) -> Identity:
    patient, operation = record.patient, record.operation
    eye = operation.eye
    return Identity(
        unit=options.unit_name or "",
        name=Phrase(name_shown(patient.name.value), (patient.name,)) if patient.name else _known(None, "Patient name"),
        number=_known(patient.hospital_number, "Hospital number"),
        born=_known(patient.date_of_birth, "Date of birth"),
        eye=Phrase(EYES[eye.value], (eye,), Tone.STRONG) if eye else Phrase("EYE NOT STATED", (), Tone.ALERT),
        date=_known(operation.date, "Date of operation"),
    )


def _known(fact: AnyFact | None, name: str) -> Phrase:
    return Phrase(shown(fact), (fact,)) if fact else Phrase(f"{name} not stated", (), Tone.MUTED)


def _signature(report: GapReport, options: DocumentOptions) -> Signature:
    if not options.signed(report):
        return Signature(draft=True)
    at = quantities.moment(options.signed_at) if options.signed_at else ""
    return Signature(draft=False, by=options.signed_by or "", at=at)


def _eye_and_lens(record: OperationRecord, options: DocumentOptions) -> tuple[Block, ...]:
    view = options.diagram_view
    diagram = Diagram(eye_svg(record, view), describe_eye(record, view))
    return (eye_panel(record), diagram, *lens_panels(record))


def _entries(entries: list[Entry], layout: Layout = "lines") -> tuple[Block, ...]:
    return (Entries(tuple(entries), layout),) if entries else ()


def _description(record: OperationRecord, options: DocumentOptions) -> tuple[Block, ...]:
    if options.steps == "list":
        told = [sentence_of(clause) for clause in clauses(record)]
        return tuple(Paragraph((Phrase(s.text, s.facts),), marker="number") for s in told)
    phrases = tuple(Phrase(sentence.text, sentence.facts) for sentence in sentences(record))
    return (Paragraph(phrases),) if phrases else ()


def _remarks(record: OperationRecord) -> tuple[Block, ...]:
    told = [f"{capitalized(words(remark.status.value))}: {quoted(remark.evidence)}" for remark in record.remarks]
    return tuple(Paragraph((Phrase(text),), marker="bullet") for text in told)

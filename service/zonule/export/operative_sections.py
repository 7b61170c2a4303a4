"""The sections of an operative note in exchange documents: codes, template ids and what the record says under each.

Source of codes and templates: HL7 C-CDA R2.1, Operative Note (V3); the same LOINC codes name the sections in FHIR.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from zonule.export.blocks import AnyFact, Entries, Entry, Panel, Table
from zonule.export.panels import lens_panels
from zonule.export.particulars import complications_entry, drug_table, machine_blocks, outcome_entries, plan_entries
from zonule.export.prose import sentences
from zonule.export.wording import NOT_STATED, capitalized, listed, words
from zonule.record import OperationRecord
from zonule.vocabulary import Status

CCDA = "2.16.840.1.113883.10.20"


@dataclass(frozen=True, slots=True)
class SectionKind:
    """One kind of section: its LOINC code, its C-CDA template with extension, and whether every note must have it."""

    id: str
    title: str
    loinc: str
    template: str
    extension: str
    required: bool = True


@dataclass(frozen=True, slots=True)
class OperativeSection:
    """A section with its lines; a section that nothing was stated for says exactly that."""

    kind: SectionKind
    lines: tuple[str, ...]
    stated: bool


KINDS = (
    SectionKind("preoperative_diagnosis", "Preoperative diagnosis", "10219-4", f"{CCDA}.22.2.34", "2015-08-01"),
    SectionKind("postoperative_diagnosis", "Postoperative diagnosis", "10218-6", f"{CCDA}.22.2.35", ""),
    SectionKind("surgical_procedure", "Surgical procedure", "10223-6", f"{CCDA}.7.14", "", required=False),
    SectionKind("anesthesia", "Anesthesia", "59774-0", f"{CCDA}.22.2.25", "2014-06-09"),
    SectionKind("description", "Procedure description", "29554-3", f"{CCDA}.22.2.27", ""),
    SectionKind("findings", "Procedure findings", "59776-5", f"{CCDA}.22.2.28", "2015-08-01"),
    SectionKind("complications", "Complications", "55109-3", f"{CCDA}.22.2.37", "2015-08-01"),
    SectionKind("specimens", "Procedure specimens taken", "59773-2", f"{CCDA}.22.2.31", ""),
    SectionKind("blood_loss", "Procedure estimated blood loss", "59770-8", f"{CCDA}.18.2.9", ""),
    SectionKind("implants", "Procedure implants", "59771-6", f"{CCDA}.22.2.40", "", required=False),
    SectionKind("plan", "Plan of treatment", "18776-5", f"{CCDA}.22.2.10", "2014-06-09", required=False),
)


def operative_sections(record: OperationRecord) -> tuple[OperativeSection, ...]:
    """All required sections, and the others where something was stated. Silence is said to be silence, never "none"."""
    found = ((kind, LINES[kind.id](record)) for kind in KINDS)
    return tuple(
        OperativeSection(kind, lines or (f"{kind.title}: {NOT_STATED}",), bool(lines))
        for kind, lines in found
        if lines or kind.required
    )


Lines = tuple[str, ...]


def _facts(facts: Sequence[AnyFact]) -> Lines:
    return tuple(capitalized(words(str(f.value))) for f in facts if f.status is Status.DONE)


def _procedure(record: OperationRecord) -> Lines:
    eye = record.operation.eye
    site = f", {eye.value.value} eye{'s' if eye.value.value == 'both' else ''}" if eye else ""
    names = listed([words(f.value) for f in record.operation.procedures if f.status is Status.DONE])
    return (f"{capitalized(names)}{site}",) if names else ()


def _complications(record: OperationRecord) -> Lines:
    text = entry_text(complications_entry(record))
    return () if text.endswith(NOT_STATED) else (text,)


def _description(record: OperationRecord) -> Lines:
    told = " ".join(sentence.text for sentence in sentences(record))
    times = [
        f"{name}: {fact.value}"
        for name, fact in (("Start", record.operation.start_time), ("End", record.operation.end_time))
        if fact
    ]
    closing = [entry_text(e) for e in outcome_entries(record) if e.label in {"Closure", "Counts"}]
    closing = [text for text in closing if not text.endswith(NOT_STATED)]
    return (*([told] if told else []), *times, *_machine(record), *_drugs(record), *closing)


def _machine(record: OperationRecord) -> Lines:
    lines: list[str] = []
    for block in machine_blocks(record):
        if isinstance(block, Table):
            lines += table_lines(block)
        elif isinstance(block, Entries):
            lines += [entry_text(entry) for entry in block.entries]
    return tuple(lines)


def table_lines(table: Table) -> list[str]:
    """A table as lines: `Sculpt: vacuum (mmHg) 65; aspiration flow (mL/min) 26`; empty cells are left out."""
    lines = []
    for head, *cells in table.rows:
        told = [
            f"{name[0].lower()}{name[1:]} {cell.text}"
            for name, cell in zip(table.header[1:], cells, strict=True)
            if cell.facts
        ]
        lines.append(f"{head.text}: {'; '.join(told)}" if told else head.text)
    return lines


def _drugs(record: OperationRecord) -> Lines:
    return tuple(line for table in drug_table(record) for line in table_lines(table))


def _implants(record: OperationRecord) -> Lines:
    panels = [panel for panel in lens_panels(record) if record.lenses]
    others = [entry_text(e) for e in outcome_entries(record) if e.label == "Other implants"]
    return (*(panel_text(panel) for panel in panels), *others)


def _plan(record: OperationRecord) -> Lines:
    return tuple(entry_text(entry) for entry in plan_entries(record))


def panel_text(panel: Panel) -> str:
    """A panel on one line: `Lens implanted: model ZX40; power +21.50 D`."""
    items = [f"{e.label[0].lower() if e.label != 'UDI' else 'U'}{e.label[1:]} {_text(e)}" for e in panel.entries]
    return f"{panel.title}: {'; '.join(items)}"


def entry_text(entry: Entry) -> str:
    """`Closure: No sutures`."""
    return f"{entry.label}: {_text(entry)}"


def _text(entry: Entry) -> str:
    return " ".join(phrase.text for phrase in entry.phrases)


LINES: dict[str, Callable[[OperationRecord], Lines]] = {
    "preoperative_diagnosis": lambda record: _facts(record.operation.preoperative_diagnosis),
    "postoperative_diagnosis": lambda record: _facts(record.operation.postoperative_diagnosis),
    "surgical_procedure": _procedure,
    "anesthesia": lambda record: _facts(record.anesthesia),
    "description": _description,
    "findings": lambda record: _facts(record.findings),
    "complications": _complications,
    "specimens": lambda record: _facts(record.specimens),
    "blood_loss": lambda record: _facts((record.blood_loss,) if record.blood_loss else ()),
    "implants": _implants,
    "plan": _plan,
}

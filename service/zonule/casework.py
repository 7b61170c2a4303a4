"""One case from dictation to documents: read, complete by case data, label, addenda and answers, check, show."""

import argparse
from dataclasses import dataclass
from datetime import date

from zonule.dictation import Dictation, read_file
from zonule.gap_report import check
from zonule.pipeline import Reader
from zonule.record import Evidence, Gap, GapReport, OperationRecord, gap_lines, slot_lines, slot_values
from zonule.requirements import load_requirements
from zonule.settings import lexicon_folders
from zonule.vocabulary import GapKind, Severity

NOT_A_NOTE = "this does not read as an operation note"
TITLES = {
    GapKind.MISSING: "Missing",
    GapKind.CONFLICT: "Contradictory",
    GapKind.IMPLAUSIBLE: "Implausible",
    GapKind.UNCLEAR: "Unclear",
    GapKind.REVIEW: "Read as something else, to review",
}
WIDEST = 60
"""Characters of evidence shown on a line."""


@dataclass(frozen=True)
class Casework:
    """One case: the words, what was read from them, and what is open."""

    dictation: Dictation
    record: OperationRecord
    report: GapReport

    def show(self, name: str) -> str:
        """The case in one of the formats of `zonule read`."""
        if name == "json":
            return self.record.model_dump_json(indent=2) + "\n"
        if name == "slots":
            return slot_lines(self.record)
        if name == "gaps":
            return gap_lines(self.report)
        return self.text()

    def text(self) -> str:
        """The record for reading: slots, then what filled none."""
        if not self.record.is_operation_note:
            return f"{self.dictation.name}: {NOT_A_NOTE}.\n"
        values = [(v.slot, v.text, _quote(v.fact.evidence), v.place) for v in slot_values(self.record)]
        width = max((len(f"{slot}  {text}") for slot, text, _, _ in values), default=0)
        lines = [f"{slot + '  ' + text:{min(width, 60)}}  {words} [{place}]" for slot, text, words, place in values]
        for remark in self.record.remarks:
            lines.append(f"({remark.status.value}) {remark.slot}  {remark.value}  {_quote(remark.evidence)}")
        for taken in self.record.retracted:
            lines.append(f"(retracted) {_quote((taken.evidence,))}, taken back by {_quote((taken.cue,))}")
        return "\n".join(lines) + "\n"

    def gap_list(self) -> str:
        """The gaps for the terminal, by kind, each with its words and where they stand."""
        if not self.record.is_operation_note:
            return f"{self.dictation.name}: {NOT_A_NOTE}; no note was written.\n"
        lines = []
        for kind in GapKind:
            gaps = self.report.of(kind)
            if gaps:
                lines.append(f"{TITLES[kind]} ({len(gaps)})")
                lines += [_line(gap) for gap in gaps]
        if self.report.blocks_signature:
            lines.append("Something that must be stated is open: this note can be a draft only.")
        return "\n".join([*lines, ""]) if lines else "Nothing is missing, contradictory or unclear.\n"


def read_case(reader: Reader, name: str, options: argparse.Namespace) -> Casework:
    """Reads one dictation and everything given with it."""
    dictation = read_file(name)
    record = reader.read(dictation, options.keep)
    folders = [f / "requirements" for f in lexicon_folders() if (f / "requirements").is_dir()]
    report = check(record, load_requirements(*folders), reader.lexicon, standard=options.standard, today=date.today())
    if not record.is_operation_note:
        report = _not_a_note(options.standard)
    return Casework(dictation, record, report)


def render_note(work: Casework, options: argparse.Namespace) -> bytes:
    """The operation note as DOCX."""
    from pathlib import Path

    from zonule.export.docx import render_docx
    from zonule.export.options import DocumentOptions

    chosen = DocumentOptions(
        paper=options.paper,
        steps=options.steps,
        evidence=options.evidence,
        template=Path(options.template) if options.template else None,
    )
    return render_docx(work.record, work.report, chosen)


def _not_a_note(standard: str) -> GapReport:
    gap = Gap(
        kind=GapKind.UNCLEAR,
        id="not_an_operation_note",
        severity=Severity.MUST,
        question=f"Is this the right text? {NOT_A_NOTE[0].upper()}{NOT_A_NOTE[1:]}.",
    )
    return GapReport(standard=standard, gaps=(gap,))


def _line(gap: Gap) -> str:
    words = f"  {_quote(gap.evidence)} [{gap.place}]" if gap.evidence else ""
    return f"  {gap.severity.value:6} {gap.question}{words}"


def _quote(evidence: tuple[Evidence, ...]) -> str:
    return ", ".join(f"“{_short(e.text)}”" for e in evidence[:3])


def _short(text: str) -> str:
    flat = " ".join(text.split())
    return flat if len(flat) <= WIDEST else flat[: WIDEST - 1] + "…"

"""One case from dictation to documents: read, complete by case data, label, addenda and answers, check, show."""

import argparse
from dataclasses import dataclass
from datetime import date
from itertools import product
from pathlib import Path

from zonule.addenda import merge_addendum
from zonule.answers import apply_answers
from zonule.case_data import CaseData, apply_case, choose_case, read_cases
from zonule.dictation import Dictation, read_file
from zonule.errors import InputError
from zonule.gap_report import check
from zonule.labels import LensLabel, apply_label, decode_image, parse_label
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
LONGEST_NAME = 255
"""Characters of a file name; what is longer is a code."""
URGENCIES = {
    Severity.MUST: "to settle before signing",
    Severity.SHOULD: "to state or confirm",
    Severity.NOTE: "for a look",
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
        if name == "report":
            return self.report.model_dump_json(indent=2) + "\n"
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
        """The gaps for the terminal, by severity and kind, each with its words and where they stand."""
        if not self.record.is_operation_note:
            return f"{self.dictation.name}: {NOT_A_NOTE}; no note was written.\n"
        lines = []
        for severity, kind in product(Severity, GapKind):
            gaps = [gap for gap in self.report.of(kind) if gap.severity is severity]
            if gaps:
                lines.append(f"{TITLES[kind]}, {URGENCIES[severity]} ({len(gaps)})")
                lines += [_line(gap) for gap in gaps]
        if self.report.blocks_signature:
            lines.append("Something that must be stated is open: this note can be a draft only.")
        return "\n".join([*lines, ""]) if lines else "Nothing is missing, contradictory or unclear.\n"


def read_case(reader: Reader, name: str, options: argparse.Namespace) -> Casework:
    """Reads one dictation and everything given with it."""
    folders = lexicon_folders()
    requirements = load_requirements(*[f / "requirements" for f in folders if (f / "requirements").is_dir()])
    requirements.of_set(options.standard)
    dictation = read_file(name)
    record = reader.read(dictation, options.keep)
    for addendum in getattr(options, "addendum", []):
        dictation, record = _add(reader, dictation, record, read_file(addendum), options.keep)
    case = label = None
    if record.is_operation_note:
        case, label = _case_of(record, options), _label_of(options)
        record = apply_label(record, label) if label else record
        record = apply_case(record, case) if case else record
        record = apply_answers(record, _answers(getattr(options, "answer", [])))
    report = check(
        record, requirements, reader.lexicon, standard=options.standard, case=case, label=label, today=date.today()
    )
    return Casework(dictation, record, report)


def _add(
    reader: Reader, dictation: Dictation, record: OperationRecord, addendum: Dictation, keep: list[str]
) -> tuple[Dictation, OperationRecord]:
    """The dictation with an addendum behind it, and the record that both give."""
    offset = len(dictation.text) + 1
    merged = merge_addendum(record, reader.read(addendum, keep, addendum=True), offset)
    return Dictation(f"{dictation.text}\n{addendum.text}", dictation.name), merged


def _case_of(record: OperationRecord, options: argparse.Namespace) -> CaseData | None:
    if not options.case:
        return None
    cases = read_cases(Path(options.case))
    if options.patient:
        cases = tuple(c for c in cases if c.hospital_number == options.patient)
        if not cases:
            raise InputError(f"Case data: expected a case with hospital number {options.patient!r}, got none.")
    return choose_case(cases, record)


def _label_of(options: argparse.Namespace) -> LensLabel | None:
    labels = [read_label(code) for code in options.label]
    if len(labels) > 1:
        raise InputError(f"Labels: expected one lens label for one operation, got {len(labels)}; give one.")
    return labels[0] if labels else None


def read_label(code: str) -> LensLabel:
    """The label of a code as scanned, or of a picture with the code in it."""
    if len(code) <= LONGEST_NAME and Path(code).is_file():
        return decode_image(Path(code))
    return parse_label(code)


def _answers(given: list[str]) -> dict[str, str]:
    answers = {}
    for answer in given:
        slot, sign, value = answer.partition("=")
        if not sign:
            raise InputError(f"Answer {answer!r}: expected SLOT=VALUE, such as operation.eye=left.")
        answers[slot] = value
    return answers


def _line(gap: Gap) -> str:
    words = f"  {_quote(gap.evidence)} [{gap.place}]" if gap.evidence else ""
    return f"  {gap.question}{words}"


def _quote(evidence: tuple[Evidence, ...]) -> str:
    return ", ".join(f"“{_short(e.text)}”" for e in evidence[:3])


def _short(text: str) -> str:
    flat = " ".join(text.split())
    return flat if len(flat) <= WIDEST else flat[: WIDEST - 1] + "…"

"""One case from dictation to documents: read, complete by case data, label, addenda and answers, check, show."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date
from itertools import product

from zonule.addenda import merge_addendum
from zonule.answers import apply_answers
from zonule.case_data import CaseData, apply_case, choose_case
from zonule.dictation import Dictation
from zonule.gap_report import check
from zonule.labels import LensLabel, apply_label
from zonule.pipeline import Reader
from zonule.record import Evidence, Gap, GapReport, OperationRecord, gap_lines, slot_lines, slot_values
from zonule.requirements import DEFAULT, Requirements, load_requirements
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


@dataclass(frozen=True)
class Given:
    """What is known of a case besides its dictation.

    `cases` are those of the operating list among which the case is chosen; `answers` map a slot to a value typed in;
    `keep` are heard words that must not be repaired; `standard` names the requirement set. Without `today` no date is
    called future.
    """

    addenda: tuple[Dictation, ...] = ()
    cases: tuple[CaseData, ...] = ()
    label: LensLabel | None = None
    answers: Mapping[str, str] = field(default_factory=dict)
    keep: tuple[str, ...] = ()
    standard: str = DEFAULT
    today: date | None = None


def work_case(reader: Reader, requirements: Requirements, dictation: Dictation, given: Given) -> Casework:
    """Reads one dictation and lays everything given with it over the record, then looks for gaps.

    Raises InputError for answers that their slot does not take, or a list in which no case fits, and UnknownNameError
    for a slot or requirement set that nobody defined.
    """
    requirements.of_set(given.standard)
    record = reader.read(dictation, given.keep)
    for addendum in given.addenda:
        dictation, record = _add(reader, dictation, record, addendum, given.keep)
    case = choose_case(given.cases, record) if given.cases and record.is_operation_note else None
    label = given.label if record.is_operation_note else None
    if record.is_operation_note:
        record = apply_label(record, label) if label else record
        record = apply_case(record, case) if case else record
        record = apply_answers(record, given.answers, reader.lexicon)
    report = check(
        record, requirements, reader.lexicon, standard=given.standard, case=case, label=label, today=given.today
    )
    return Casework(dictation, record, report)


def load_all_requirements() -> Requirements:
    """The requirement sets of the shipped lexicon and of the clinic's folder."""
    folders = [folder / "requirements" for folder in lexicon_folders()]
    return load_requirements(*[folder for folder in folders if folder.is_dir()])


def _add(
    reader: Reader, dictation: Dictation, record: OperationRecord, addendum: Dictation, keep: Collection[str]
) -> tuple[Dictation, OperationRecord]:
    """The dictation with an addendum behind it, and the record that both give."""
    offset = len(dictation.text) + 1
    merged = merge_addendum(record, reader.read(addendum, keep, addendum=True), offset)
    return Dictation(f"{dictation.text}\n{addendum.text}", dictation.name), merged


def _line(gap: Gap) -> str:
    words = f"  {_quote(gap.evidence)} [{gap.place}]" if gap.evidence else ""
    return f"  {gap.question}{words}"


def _quote(evidence: tuple[Evidence, ...]) -> str:
    return ", ".join(f"“{_short(e.text)}”" for e in evidence[:3])


def _short(text: str) -> str:
    flat = " ".join(text.split())
    return flat if len(flat) <= WIDEST else flat[: WIDEST - 1] + "…"

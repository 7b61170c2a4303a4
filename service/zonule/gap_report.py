"""Everything that a note lacks, contradicts or leaves unclear, in one report."""

from collections.abc import Iterable
from datetime import date

from zonule.case_data import CaseData
from zonule.completeness import find_missing
from zonule.consistency import find_inconsistencies
from zonule.labels import LensLabel
from zonule.lexicon import Lexicon
from zonule.record import Gap, GapReport, OperationRecord
from zonule.requirements import DEFAULT, Requirements
from zonule.vocabulary import GapKind, Severity

KINDS = tuple(GapKind)
SEVERITIES = tuple(Severity)
NOT_A_NOTE = Gap(
    kind=GapKind.UNCLEAR,
    id="not_an_operation_note",
    severity=Severity.MUST,
    question="Is this the right text? It does not read as an operation note.",
    why="Nothing is read from a text that is no operation note.",
    sources=("common practice, no source",),
)


def check(
    record: OperationRecord,
    requirements: Requirements,
    lexicon: Lexicon,
    *,
    standard: str = DEFAULT,
    case: CaseData | None = None,
    label: LensLabel | None = None,
    today: date | None = None,
) -> GapReport:
    """The gap report of one record; `standard` names the requirement set.

    Raises UnknownNameError for a set that nobody defined. Without `today` no date is called future.
    """
    chosen = requirements.of_set(standard)
    if not record.is_operation_note:
        return GapReport(standard=standard, gaps=(NOT_A_NOTE,))
    contradicted = find_inconsistencies(record, lexicon, requirements, case, label, today)
    missing = _not_in_conflict(find_missing(record, chosen), contradicted)
    return GapReport(standard=standard, gaps=_ordered([*missing, *contradicted]))


def _not_in_conflict(missing: Iterable[Gap], contradicted: Iterable[Gap]) -> list[Gap]:
    """A slot left empty because two values contradict each other is asked for once, as a conflict."""
    asked = {gap.id for gap in contradicted if gap.kind is GapKind.CONFLICT}
    return [gap for gap in missing if gap.id not in asked]


def _ordered(gaps: Iterable[Gap]) -> tuple[Gap, ...]:
    """By kind, severity, position and id; the same finding of the same words stands once."""
    distinct = {(gap.kind, gap.id, gap.evidence, gap.question): gap for gap in gaps}
    return tuple(sorted(distinct.values(), key=_order))


def _order(gap: Gap) -> tuple[int, int, int, str, str]:
    start = gap.evidence[0].start if gap.evidence else -1
    return KINDS.index(gap.kind), SEVERITIES.index(gap.severity), start, gap.id, gap.question

"""Everything that a note lacks, contradicts or leaves unclear, in one report."""

from datetime import date

from zonule.completeness import find_missing
from zonule.lexicon import Lexicon
from zonule.record import Gap, GapReport, OperationRecord
from zonule.requirements import DEFAULT, Requirements
from zonule.vocabulary import GapKind, Severity

KINDS = tuple(GapKind)
SEVERITIES = tuple(Severity)


def check(
    record: OperationRecord,
    requirements: Requirements,
    lexicon: Lexicon,
    *,
    standard: str = DEFAULT,
    today: date | None = None,
) -> GapReport:
    """The gap report of one record; `standard` names the requirement set.

    Raises UnknownNameError for a set that nobody defined. Without `today` no date is called future.
    """
    chosen = requirements.of_set(standard)
    gaps = find_missing(record, chosen)
    return GapReport(standard=standard, gaps=tuple(sorted(set(gaps), key=_order)))


def _order(gap: Gap) -> tuple[int, int, int, str, str]:
    start = gap.evidence[0].start if gap.evidence else -1
    return KINDS.index(gap.kind), SEVERITIES.index(gap.severity), start, gap.id, gap.question

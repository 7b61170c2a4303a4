"""The gap report: what a record lacks, contradicts or leaves unclear."""

from pydantic import Field

from zonule.record.facts import Evidence, Frozen
from zonule.vocabulary import GapKind, Severity


class Gap(Frozen):
    """One thing to ask or to confirm.

    `question` is what to ask the surgeon, `why` one sentence on why it matters, `sources` the published texts that ask
    for it (or "common practice, no source"). `evidence` are the words concerned; a missing item has none. `slots` name
    what an answer would fill.
    """

    kind: GapKind
    id: str
    severity: Severity
    question: str
    why: str = ""
    evidence: tuple[Evidence, ...] = ()
    slots: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()

    @property
    def place(self) -> str:
        """`start-end` of the first evidence, or `-`."""
        return f"{self.evidence[0].start}-{self.evidence[0].end}" if self.evidence else "-"


class GapReport(Frozen):
    """All gaps of one record, in the order: kind, severity, position, id. `standard` names the requirement set."""

    standard: str = "default"
    gaps: tuple[Gap, ...] = Field(default=())

    def of(self, kind: GapKind) -> tuple[Gap, ...]:
        """The gaps of one kind."""
        return tuple(gap for gap in self.gaps if gap.kind is kind)

    @property
    def blocks_signature(self) -> bool:
        """Whether a `must` gap is open."""
        return any(gap.severity is Severity.MUST for gap in self.gaps)


def gap_lines(report: GapReport) -> str:
    """The gap view (record contract, section 5): tab-separated kind, id, severity, `start-end` or `-`."""
    return "".join(f"{g.kind.value}\t{g.id}\t{g.severity.value}\t{g.place}\n" for g in report.gaps)

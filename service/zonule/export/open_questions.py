"""What the note still lacks, what its surgeon should confirm: sections that exist only while they hold something."""

from zonule.export.blocks import Block, Paragraph, Phrase, Section, Tone
from zonule.export.wording import capitalized, label, words
from zonule.record import Evidence, Gap, GapReport, OperationRecord, Unclear
from zonule.vocabulary import GapKind, Severity

CONFIRMED_FIRST = (GapKind.CONFLICT, GapKind.IMPLAUSIBLE, GapKind.UNCLEAR, GapKind.REVIEW)


def not_stated_section(report: GapReport) -> Section:
    """The missing items in running text: what a signature needs first and in bold, then in a line below the others."""
    missing = report.of(GapKind.MISSING)
    needed = [gap for gap in missing if gap.severity is Severity.MUST]
    others = [gap for gap in missing if gap.severity is not Severity.MUST]
    lead = [Paragraph((Phrase(f"Needed before signing: {_items(needed)}", (), Tone.ALERT),))] if needed else []
    also = "Also not stated: " if needed else ""
    rest = [Paragraph((Phrase(f"{also}{_items(others)}"),))] if others else []
    return Section("not_stated", "Not stated in the dictation", (*lead, *rest))


def _items(gaps: list[Gap]) -> str:
    """The items by name; one that is asked of several things is named once, with the words that each is asked of."""
    asked: dict[str, list[str]] = {}
    for gap in gaps:
        words_of = asked.setdefault(label(gap.id), [])
        words_of += [quoted(gap.evidence[:1])] if gap.evidence else []
    return "; ".join(f"{name} ({', '.join(of)})" if of else name for name, of in asked.items()) + "."


def to_confirm_section(record: OperationRecord, report: GapReport) -> Section:
    """One line for each doubt, with its words; doubts of the record that the report has not taken up come last."""
    asked = [gap for kind in CONFIRMED_FIRST for gap in report.of(kind)]
    covered = {evidence for gap in asked for evidence in gap.evidence}
    left = [u for u in (*record.conflicts, *record.unclear) if not covered & set(u.evidence)]
    blocks: tuple[Block, ...] = (*map(_question, asked), *map(_doubt, left))
    return Section("to_confirm", "To confirm", blocks)


def _question(gap: Gap) -> Paragraph:
    tone = Tone.ALERT if gap.severity is Severity.MUST else Tone.PLAIN
    shown = [e for e in gap.evidence if e.text not in gap.question]
    phrases = [Phrase(capitalized(gap.question), (), tone)]
    if shown:
        phrases.append(Phrase(f"Said: {quoted(shown)}", (), Tone.MUTED))
    return Paragraph(tuple(phrases), marker="bullet")


def _doubt(unclear: Unclear) -> Paragraph:
    text = f"{capitalized(words(unclear.detail))}: {quoted(unclear.evidence)}"
    return Paragraph((Phrase(text),), marker="bullet")


def quoted(evidence: tuple[Evidence, ...] | list[Evidence]) -> str:
    """The words of some evidence, in quotation marks, white space joined."""
    return " … ".join(f"“{' '.join(e.text.split())}”" for e in evidence)

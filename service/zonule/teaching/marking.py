"""What a full note holds, and one note marked against it."""

from collections.abc import Sequence
from dataclasses import dataclass

from zonule.completeness import Mention, Told, find_missing, mention_of, told_by
from zonule.export.blocks import AnyFact, Entries, Entry, Outline, Paragraph, Phrase, Section, Table, Tone
from zonule.export.end_notes import SOURCES
from zonule.export.open_questions import quoted
from zonule.export.outline import CAUTIONS
from zonule.export.wording import label
from zonule.record import Evidence, Gap, OperationRecord, SlotValue, slot_values
from zonule.requirements import DEFAULT, Requirement, Requirements, compile_path
from zonule.vocabulary import Severity

GUIDE_TITLE = "What a full operation note holds"
MARK_TITLE = "An operation note, marked"
CAUTION = "Marks tell what a note holds, not how the operation went."
GROUPS = {
    Severity.MUST: "Needed before signing",
    Severity.SHOULD: "Asked for when it is missing",
    Severity.NOTE: "Shown, not asked for",
}
SAID = {Mention.STATED: "stated", Mention.STATED_NONE: "stated: none", Mention.NOT_MENTIONED: "not stated"}
MOST_WORDS = 4
"""How many facts are quoted for one item."""
MOST_PIECES = 2
"""How many pieces of a fact's words are quoted."""


@dataclass(frozen=True, slots=True)
class Mark:
    """One item of a requirement set in one note: whether it was stated, in which facts, or what to ask."""

    item: Requirement
    severity: Severity
    mention: Mention
    facts: tuple[AnyFact, ...]
    questions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Marking:
    """All marks of one note against one requirement set, in the order of the set."""

    standard: str
    title: str
    marks: tuple[Mark, ...]

    @property
    def stated(self) -> int:
        """How many items were stated, "none" included."""
        return sum(mark.mention is not Mention.NOT_MENTIONED for mark in self.marks)


def guide(requirements: Requirements, standard: str = DEFAULT) -> Outline:
    """What a note must hold by one requirement set: item, reason, an example of how to say it, and who asks for it.

    Raises UnknownNameError for a set that nobody defined.
    """
    chosen = requirements.of_set(standard)
    used = next(s for s in requirements.sets if s.id == standard)
    lead = Section("set", used.title, (Paragraph((Phrase(f"Source: {used.source}."),)),))
    groups = [_guide_section(chosen, severity) for severity in Severity]
    sections = (lead, *(section for section in groups if section.blocks))
    return Outline(GUIDE_TITLE, None, sections, None, CAUTIONS[1:])


def _guide_section(chosen: Requirements, severity: Severity) -> Section:
    rows = tuple(_guide_row(item) for item in chosen.items if item.severity is severity)
    header = ("Item", "Why", "For example", "Asked for by")
    table = Table(GROUPS[severity], header, rows, shares=(4, 5, 5, 7))
    return Section(severity.value, GROUPS[severity], (table,) if rows else ())


def _guide_row(item: Requirement) -> tuple[Phrase, ...]:
    where = " (where it applies)" if item.when else ""
    none = " There may be none: say so." if item.may_be_none else ""
    return (
        Phrase(f"{label(item.id)}{where}", tone=Tone.STRONG),
        Phrase(f"{item.why}{none}"),
        Phrase(f"“{item.example}”"),
        Phrase("; ".join(item.sources)),
    )


def mark(record: OperationRecord, requirements: Requirements, standard: str = DEFAULT) -> Marking:
    """The note against one requirement set, item by item; items that do not apply to the operation are left out.

    Raises UnknownNameError for a set that nobody defined.
    """
    chosen = requirements.of_set(standard)
    title = next(s.title for s in requirements.sets if s.id == standard)
    told = told_by(record, requirements.conditions)
    missing, values = find_missing(record, chosen), slot_values(record)
    applying = [item for item in chosen.items if _applies(item, told)]
    return Marking(standard, title, tuple(_mark(item, values, told, missing) for item in applying))


def _applies(item: Requirement, told: Told) -> bool:
    """Whether the circumstances ask for it; an item asked of single facts applies while one of them lacks it."""
    if item.when and not compile_path(item.when).search(told.document):
        return False
    return item.lacking is None or bool(compile_path(item.lacking).search(told.document))


def _mark(item: Requirement, values: Sequence[SlotValue], told: Told, missing: tuple[Gap, ...]) -> Mark:
    ours = [gap for gap in missing if gap.id == item.id]
    facts = tuple(value.fact for value in values if value.slot in item.slots)
    if ours:
        questions = tuple(dict.fromkeys(gap.question for gap in ours))
        return Mark(item, ours[0].severity, Mention.NOT_MENTIONED, facts, questions)
    return Mark(item, item.severity, mention_of(item, told), facts)


def marked_note(marking: Marking, name: str = "") -> Outline:
    """The marking as a document: how much was stated, then each item with its words or the question to ask.

    `name` says whose note it is or which dictation.
    """
    groups = [_mark_section(marking, severity) for severity in Severity]
    sections = (_summary(marking, name), *(section for section in groups if section.blocks))
    return Outline(MARK_TITLE, None, sections, None, (CAUTION, *CAUTIONS[1:]))


def _summary(marking: Marking, name: str) -> Section:
    open_items = [m for m in marking.marks if m.mention is Mention.NOT_MENTIONED and m.severity is Severity.MUST]
    entries = [
        *([Entry("Note", (Phrase(name),))] if name else []),
        Entry("Held against", (Phrase(marking.title),)),
        Entry("Stated", (Phrase(f"{marking.stated} of {len(marking.marks)} items", tone=Tone.STRONG),)),
    ]
    if open_items:
        names = "; ".join(label(m.item.id) for m in open_items)
        entries.append(Entry("Needed before signing", (Phrase(names, tone=Tone.ALERT),)))
    return Section("summary", "Summary", (Entries(tuple(entries)),))


def _mark_section(marking: Marking, severity: Severity) -> Section:
    rows = tuple(_mark_row(m) for m in marking.marks if m.severity is severity)
    table = Table(
        GROUPS[severity], ("Item", "In this note", "Words, or what to ask", "Asked for by"), rows, (4, 2, 6, 7)
    )
    return Section(severity.value, GROUPS[severity], (table,) if rows else ())


def _mark_row(marked: Mark) -> tuple[Phrase, ...]:
    silent = marked.mention is Mention.NOT_MENTIONED
    told = " ".join(marked.questions) if silent else _said(marked.facts)
    return (
        Phrase(label(marked.item.id), tone=Tone.STRONG),
        Phrase(SAID[marked.mention], marked.facts, Tone.ALERT if silent else Tone.PLAIN),
        Phrase(told, marked.facts),
        Phrase("; ".join(marked.item.sources)),
    )


def _spoken(fact: AnyFact) -> list[Evidence]:
    """The first pieces of its words, value before context, in the order of speaking."""
    return sorted(fact.evidence[:MOST_PIECES], key=lambda evidence: (evidence.start, evidence.end))


def _said(facts: tuple[AnyFact, ...]) -> str:
    """The words of the first few facts, or where else they are from."""
    found = [quoted(_spoken(fact)) if fact.evidence else f"({SOURCES[fact.origin]})" for fact in facts]
    return " … ".join(list(dict.fromkeys(found))[:MOST_WORDS])

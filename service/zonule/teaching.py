"""For those who learn to dictate: what a full note holds, a note marked against it, two notes side by side.

Every function gives an outline, which `export` writes as DOCX, HTML or plain text. The marks are about what a note
holds, not about how the operation went.
"""

from dataclasses import dataclass

from zonule.completeness import Mention, Told, find_missing, mention_of, told_by
from zonule.export.blocks import AnyFact, Entries, Entry, Outline, Paragraph, Phrase, Section, Table, Tone
from zonule.export.end_notes import SOURCES
from zonule.export.open_questions import quoted
from zonule.export.outline import CAUTIONS
from zonule.export.quantities import setting_amount
from zonule.export.settings_table import parameter_label
from zonule.export.wording import label, slot_label, words
from zonule.record import Gap, OperationRecord, Setting, SlotValue, slot_values
from zonule.record.slots import LENS_PREFIX
from zonule.requirements import DEFAULT, Requirement, Requirements, compile_path
from zonule.vocabulary import Severity

GUIDE_TITLE = "What a full operation note holds"
MARK_TITLE = "An operation note, marked"
COMPARISON_TITLE = "Two operation notes side by side"
CAUTION = "Marks tell what a note holds, not how the operation went."
GROUPS = {
    Severity.MUST: "Needed before signing",
    Severity.SHOULD: "Asked for when it is missing",
    Severity.NOTE: "Shown, not asked for",
}
SAID = {Mention.STATED: "stated", Mention.STATED_NONE: "stated: none", Mention.NOT_MENTIONED: "not stated"}
MOST_WORDS = 4
"""How many facts are quoted for one item."""
SAME, DIFFERENT, FIRST_ONLY, SECOND_ONLY = "same", "different", "only in the first", "only in the second"


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


@dataclass(frozen=True, slots=True)
class Difference:
    """The values of one slot in two notes, in words, in the order of the slot view."""

    slot: str
    first: tuple[str, ...]
    second: tuple[str, ...]

    @property
    def kind(self) -> str:
        """`same`, `different`, or in which of the two alone it stands."""
        if self.first == self.second:
            return SAME
        return DIFFERENT if self.first and self.second else FIRST_ONLY if self.first else SECOND_ONLY


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
    missing = find_missing(record, chosen)
    applying = [item for item in chosen.items if _applies(item, told)]
    return Marking(standard, title, tuple(_mark(item, record, told, missing) for item in applying))


def _applies(item: Requirement, told: Told) -> bool:
    """Whether the circumstances ask for it; an item asked of single facts applies while one of them lacks it."""
    if item.when and not compile_path(item.when).search(told.document):
        return False
    return item.lacking is None or bool(compile_path(item.lacking).search(told.document))


def _mark(item: Requirement, record: OperationRecord, told: Told, missing: tuple[Gap, ...]) -> Mark:
    ours = [gap for gap in missing if gap.id == item.id]
    facts = tuple(value.fact for value in slot_values(record) if value.slot in item.slots)
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


def _said(facts: tuple[AnyFact, ...]) -> str:
    """The first words of each of the first few facts, or where else they are from."""
    found = [quoted(fact.evidence[:1]) if fact.evidence else f"({SOURCES[fact.origin]})" for fact in facts]
    return " … ".join(list(dict.fromkeys(found))[:MOST_WORDS])


def compare(first: OperationRecord, second: OperationRecord) -> tuple[Difference, ...]:
    """Slot by slot, what two notes say; slots in which neither says anything are left out."""
    ours, theirs = _by_slot(first), _by_slot(second)
    slots = sorted(ours.keys() | theirs.keys())
    return tuple(Difference(slot, ours.get(slot, ()), theirs.get(slot, ())) for slot in slots)


def _by_slot(record: OperationRecord) -> dict[str, tuple[str, ...]]:
    found: dict[str, list[str]] = {}
    for value in slot_values(record):
        found.setdefault(value.slot, []).append(_worded(value))
    return {slot: tuple(texts) for slot, texts in found.items()}


def _worded(value: SlotValue) -> str:
    held = value.fact.value
    if isinstance(held, Setting):
        phase = f"{words(held.phase)}: " if held.phase else ""
        return f"{phase}{parameter_label(held.parameter)} {setting_amount(held)}"
    if isinstance(held, bool):
        return "yes" if held else "no"
    return " ".join(words(part) for part in value.text.split(" "))


def comparison(differences: tuple[Difference, ...], names: tuple[str, str] = ("First", "Second")) -> Outline:
    """The differences as a document: what differs first, then what stands in one alone, then what is the same."""
    only = {FIRST_ONLY: f"Only in: {names[0]}", SECOND_ONLY: f"Only in: {names[1]}"}
    titles = {DIFFERENT: "Different", **only, SAME: "Same"}
    sections = tuple(
        Section(kind.replace(" ", "_"), f"{title} ({len(held)})", (_difference_table(title, held, names),))
        for kind, title in titles.items()
        if (held := [d for d in differences if d.kind == kind])
    )
    return Outline(COMPARISON_TITLE, None, sections, None, (CAUTION, *CAUTIONS[1:]))


def _difference_table(title: str, held: list[Difference], names: tuple[str, str]) -> Table:
    rows = tuple((Phrase(_slot_label(d.slot)), _values(d.first), _values(d.second)) for d in held)
    return Table(title, ("Item", *names), rows)


def _values(texts: tuple[str, ...]) -> Phrase:
    if not texts:
        return Phrase("not stated", (), Tone.MUTED)
    return Phrase("; ".join(texts))


def _slot_label(slot: str) -> str:
    prefixes = {prefix: status.value for status, prefix in LENS_PREFIX.items()}
    head, _, field = slot.partition(".")
    return f"Lens {words(prefixes[head])}: {slot_label(field)}" if head in prefixes else slot_label(slot)

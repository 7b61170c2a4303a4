"""Several dictations in the order given: how coverage changes, by requirement set, and habits told among the facts."""

from dataclasses import dataclass

from zonule.completeness import Mention
from zonule.export.blocks import Block, Diagram, Entries, Entry, Outline, Paragraph, Phrase, Section, Table, Tone
from zonule.export.open_questions import quoted
from zonule.export.outline import CAUTIONS
from zonule.export.wording import capitalized, words
from zonule.record import Evidence, OperationRecord, Remark
from zonule.requirements import DEFAULT, Requirements
from zonule.teaching.coverage_plot import Line, coverage_svg, describe_coverage
from zonule.teaching.marking import CAUTION, Marking, mark
from zonule.vocabulary import Severity, Status

PROGRESS_TITLE = "Progress over several dictations"
HABITS_TITLE = "Habits told among the facts"
NO_HABITS = "No dictation told what is usually done."


@dataclass(frozen=True, slots=True)
class Coverage:
    """One dictation: its marks against every requirement set, the chosen one first, and the words of its habits."""

    name: str
    markings: tuple[Marking, ...]
    habits: tuple[str, ...]


def cover(name: str, record: OperationRecord, requirements: Requirements, standard: str = DEFAULT) -> Coverage:
    """The coverage of one dictation. Raises UnknownNameError for a set that nobody defined."""
    others = [known.id for known in requirements.sets if known.id != standard]
    markings = tuple(mark(record, requirements, chosen) for chosen in (standard, *others))
    habits = dict.fromkeys(_spoken(remark) for remark in record.remarks if remark.status is Status.HABITUAL)
    return Coverage(name, markings, tuple(map(quoted, habits)))


def progress(coverages: tuple[Coverage, ...]) -> Outline:
    """Coverage of the dictations in the order given, as a plot and as tables, and the words of their habits."""
    sections = (
        Section("coverage", "Coverage", (_plot(coverages), _coverage_table(coverages))),
        Section("sets", "Coverage by requirement set", (_set_table(coverages), _set_titles(coverages))),
        Section("habits", HABITS_TITLE, _habits(coverages)),
    )
    return Outline(PROGRESS_TITLE, None, sections, None, (CAUTION, *CAUTIONS[1:]))


def share_pct(marking: Marking) -> float:
    """How much of what applies is stated, in percent; 100 where nothing is asked for."""
    return 100 * marking.stated / len(marking.marks) if marking.marks else 100.0


def _plot(coverages: tuple[Coverage, ...]) -> Diagram:
    sets = [marking.standard for marking in coverages[0].markings] if coverages else []
    lines = tuple(
        Line(_set_name(chosen), tuple(share_pct(coverage.markings[at]) for coverage in coverages))
        for at, chosen in enumerate(sets)
    )
    return Diagram(coverage_svg(lines), describe_coverage(lines), "Coverage of the dictations", whole_width=True)


def _coverage_table(coverages: tuple[Coverage, ...]) -> Table:
    header = ("Dictation", "Stated", "Needed before signing and not stated", HABITS_TITLE)
    rows = tuple(_coverage_row(number, coverage) for number, coverage in enumerate(coverages, start=1))
    return Table("Coverage by dictation, in the order given", header, rows, shares=(6, 4, 4, 4))


def _coverage_row(number: int, coverage: Coverage) -> tuple[Phrase, ...]:
    chosen = coverage.markings[0]
    silent = [m for m in chosen.marks if m.mention is Mention.NOT_MENTIONED and m.severity is Severity.MUST]
    return (
        _numbered(number, coverage),
        Phrase(f"{chosen.stated} of {len(chosen.marks)} ({share_pct(chosen):.0f} %)"),
        Phrase(str(len(silent)), tone=Tone.ALERT if silent else Tone.PLAIN),
        Phrase(str(len(coverage.habits))),
    )


def _set_table(coverages: tuple[Coverage, ...]) -> Table:
    sets = [marking.standard for marking in coverages[0].markings] if coverages else []
    rows = tuple(_set_row(number, coverage) for number, coverage in enumerate(coverages, start=1))
    header = ("Dictation", *map(_set_name, sets))
    return Table("Items stated of those that apply, by requirement set", header, rows, (5, *[3] * len(sets)))


def _set_row(number: int, coverage: Coverage) -> tuple[Phrase, ...]:
    shares = [Phrase(f"{marking.stated} of {len(marking.marks)}") for marking in coverage.markings]
    return (_numbered(number, coverage), *shares)


def _set_titles(coverages: tuple[Coverage, ...]) -> Entries:
    markings = coverages[0].markings if coverages else ()
    return Entries(tuple(Entry(_set_name(m.standard), (Phrase(m.title),)) for m in markings))


def _habits(coverages: tuple[Coverage, ...]) -> tuple[Block, ...]:
    """The words of each habit beside the dictation; a habit is no fact of the operation, so it fills nothing."""
    told = [(number, coverage) for number, coverage in enumerate(coverages, start=1) if coverage.habits]
    if not told:
        return (Paragraph((Phrase(NO_HABITS),)),)
    rows = tuple((_numbered(number, coverage), Phrase("; ".join(coverage.habits))) for number, coverage in told)
    return (Table("What is usually done, in the words of each dictation", ("Dictation", "Words"), rows, (1, 3)),)


def _spoken(remark: Remark) -> tuple[Evidence, ...]:
    """Its words with the word that makes it a habit, in the order of speaking: what was said once counts once."""
    spoken = {*remark.evidence, *([remark.cue] if remark.cue else [])}
    return tuple(sorted(spoken, key=lambda evidence: (evidence.start, evidence.end)))


def _numbered(number: int, coverage: Coverage) -> Phrase:
    return Phrase(f"{number}. {coverage.name}", tone=Tone.STRONG)


def _set_name(standard: str) -> str:
    return "All sets" if standard == DEFAULT else capitalized(words(standard))

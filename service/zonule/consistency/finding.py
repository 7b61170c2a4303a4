"""What a consistency rule looks at, what it yields, and how that becomes a gap."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from zonule.case_data import CaseData
from zonule.labels import LensLabel
from zonule.lexicon import Lexicon
from zonule.record import Evidence, Fact, Gap, OperationRecord
from zonule.requirements import Finding, Requirements
from zonule.vocabulary import Origin, Severity

UNITS = ("_ml_min", "_mmhg", "_pct", "_cm", "_mm", "_ml", "_pps", "_cpm", "_deg", "_days", "_d", "_s")
"""Units that slot names end in (record contract, section 1)."""


@dataclass(frozen=True, slots=True)
class Checked:
    """Everything that is checked together. Without `today` no date is called future."""

    record: OperationRecord
    lexicon: Lexicon
    requirements: Requirements
    case: CaseData | None = None
    label: LensLabel | None = None
    today: date | None = None

    @property
    def operation_date(self) -> date | None:
        """The day of the operation, where it is known."""
        return self.record.operation.date.value if self.record.operation.date else None


@dataclass(frozen=True, slots=True)
class Found:
    """One violation: the facts concerned, the slots an answer would fill, and the words for the question's braces.

    `id` and `severity` are given where they differ from the rule's, `evidence` where the words are others than those of
    the facts; a word `source` goes before the rule's sources. What a person has typed in to settle the matter is shown
    again, but as a note.
    """

    facts: tuple[Fact[Any], ...] = ()
    slots: tuple[str, ...] = ()
    words: Mapping[str, str] = field(default_factory=dict)
    id: str | None = None
    severity: Severity | None = None
    evidence: tuple[Evidence, ...] = ()

    @property
    def settled(self) -> bool:
        """Whether a person has typed in every value concerned."""
        return bool(self.facts) and all(fact.origin is Origin.PERSON for fact in self.facts)


Rule = Callable[[Checked], Iterator[Found]]


def as_gap(rule: Finding, found: Found) -> Gap:
    """The gap of one violation, in the wording of its rule."""
    spoken = found.evidence or tuple(e for fact in found.facts for e in fact.evidence)
    evidence = tuple(sorted(dict.fromkeys(spoken), key=lambda e: (e.start, e.end)))
    question = rule.question.format_map(found.words)
    return Gap(
        kind=rule.kind,
        id=found.id or rule.id,
        severity=Severity.NOTE if found.settled else found.severity or rule.severity,
        question=question[:1].upper() + question[1:],
        why=rule.why,
        evidence=evidence,
        slots=found.slots,
        sources=(found.words["source"],) if "source" in found.words else rule.sources,
    )


def spoken_name(slot: str) -> str:
    """A slot in words: `lens.power_d` is `lens power`."""
    unit = next((u for u in UNITS if slot.endswith(u)), "")
    return slot.removesuffix(unit).removeprefix("operation.").replace(".", " ").replace("_", " ")


def spoken_id(name: str) -> str:
    """An id in words."""
    return name.replace("_", " ")


def present(facts: Iterable[Fact[Any] | None]) -> tuple[Fact[Any], ...]:
    """The facts that are there."""
    return tuple(fact for fact in facts if fact is not None)


def first_of(facts: Iterable[Fact[str]], *values: str) -> Fact[str] | None:
    """The first fact with one of these values."""
    return next((fact for fact in facts if fact.value in values), None)

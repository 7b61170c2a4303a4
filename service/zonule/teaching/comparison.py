"""Two notes slot by slot."""

from dataclasses import dataclass

from zonule.export.blocks import Outline, Phrase, Section, Table, Tone
from zonule.export.outline import CAUTIONS
from zonule.export.quantities import setting_amount
from zonule.export.settings_table import parameter_label
from zonule.export.wording import slot_label, words
from zonule.record import OperationRecord, Setting, SlotValue, slot_values
from zonule.record.slots import LENS_PREFIX
from zonule.teaching.marking import CAUTION

COMPARISON_TITLE = "Two operation notes side by side"
SAME, DIFFERENT, FIRST_ONLY, SECOND_ONLY = "same", "different", "only in the first", "only in the second"


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

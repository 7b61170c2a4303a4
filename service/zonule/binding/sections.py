"""Which labeled part of the dictation a word stands in: after "Procedure:", "plan", "complications" and the like."""

from dataclasses import dataclass

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.reading import PUNCTUATION, Reading

MARKS = frozenset({":", "-", "="})
SAYS = frozenset({"is", "was", "are", "were", ":", "-", "=", "of", "the", "a", "an", "this", "no", "number", ","})
FITS: dict[str, frozenset[str]] = {
    "operation.eye": frozenset({"eye"}),
    "operation.procedures": frozenset({"procedure", "eye", "step", "action"}),
    "operation.preoperative_diagnosis": frozenset({"diagnosis", "eye", "finding", "nucleus_grade", "thing"}),
    "operation.postoperative_diagnosis": frozenset({"diagnosis", "eye", "finding", "nucleus_grade", "thing"}),
    "anesthesia": frozenset({"anesthesia", "drug", "route", "drug_class"}),
    "complications.statement": frozenset({"complication"}),
    "specimens": frozenset({"specimen"}),
    "findings": frozenset({"finding", "diagnosis", "complication", "quantity"}),
}
"""What a value of the label looks like; other labels accept whatever follows."""
SHORT = frozenset({"operation.procedures", "operation.preoperative_diagnosis", "operation.postoperative_diagnosis"})
"""Labeled parts that end where something of another kind begins, even without punctuation."""
OPEN = frozenset({"plan", "description", "implant"})
"""Labeled parts that reach to the next label."""
NOTHING = frozenset({"none", "nil", "no", "zero", "same", "uneventful", "not", "minimal", "negligible"})
AFTER_EYE = frozenset({"right", "left", "both"})


@dataclass(frozen=True, slots=True)
class Section:
    """From the label on: `start` is the first word behind it, `end` the last of its reach (half-open)."""

    field: str
    label: Mention
    start: int
    end: int


def find_sections(reading: Reading) -> list[Section]:
    """The labeled parts of a dictation, in order."""
    labels = [a.mention for a in reading.of("field") if is_label(reading, a.mention)]
    sections = []
    for label, following in zip(labels, [*labels[1:], None], strict=True):
        limit = following.start if following is not None else len(reading.words)
        start = label.end
        while start < limit and reading.words[start] in SAYS - {"no"}:
            start += 1
        sections.append(Section(label.id, label, start, _end(reading, label, start, limit)))
    return sections


def section_at(sections: list[Section], word: int) -> Section | None:
    """The labeled part that holds a word, None outside all."""
    for section in reversed(sections):
        if section.label.start <= word:
            return section if word < section.end else None
    return None


def is_label(reading: Reading, field: Mention) -> bool:
    """Whether a field's words introduce a value rather than speak of the thing ("the procedure was completed")."""
    words, end = reading.words, field.end
    following = words[end] if end < len(words) else ""
    if following in MARKS or (following == "\n" and _opens(reading, field)):
        return True
    before = words[field.start - 1] if field.start else "\n"
    if before in ("no", "any", "without", "further", "these", "such"):
        return False
    if field.id in OPEN:
        return _opens(reading, field) or (field.id == "plan" and before not in reading.grammar.determiner)
    if field.end - field.start > 1 or field.id.startswith(("team", "patient.hospital", "patient.date")):
        return True
    if before in reading.grammar.preposition or (before in reading.grammar.determiner and field.id != "patient.name"):
        return following in ("is", "was") and _fits(reading, field, end + 1)
    return _fits(reading, field, end)


def _opens(reading: Reading, field: Mention) -> bool:
    return field.start == 0 or reading.words[field.start - 1] in PUNCTUATION


def _fits(reading: Reading, field: Mention, start: int) -> bool:
    words = reading.words
    nearby = words[start : start + 2]
    if any(word in NOTHING for word in nearby):
        return True
    if field.id == "operation.eye":
        return any(word in AFTER_EYE for word in nearby) or any(a.mention.kind == "eye" for a in _next(reading, start))
    if field.id not in FITS:
        return bool(nearby) and nearby[0] not in reading.grammar.auxiliary and nearby[0] not in reading.grammar.preposition
    return any(a.mention.kind in FITS[field.id] for a in _next(reading, start))


def _next(reading: Reading, start: int) -> list[Asserted]:
    return reading.between(start, start + 3)


def _end(reading: Reading, label: Mention, start: int, limit: int) -> int:
    if label.id in OPEN:
        return limit
    if start >= limit:
        return limit
    end = min(limit, reading.sentence(start)[1])
    if label.id not in SHORT:
        return end
    for asserted in reading.between(start, end):
        mention = asserted.mention
        told = reading.clause(mention.start).tense in ("past", "modal") and mention.kind == "action"
        if told or mention.kind in ("title", "instrument", "parameter", "suture_material"):
            return reading.clause(mention.start).start if reading.clause(mention.start).start > start else mention.start
    return end

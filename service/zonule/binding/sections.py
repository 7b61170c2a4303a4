"""Which labeled part of the dictation a word stands in: after "Procedure:", "plan", "complications" and the like."""

from bisect import bisect_right
from dataclasses import dataclass

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.names import full_name
from zonule.binding.reading import PUNCTUATION, Reading

MARKS = frozenset({":", "-", "="})
SAYS = frozenset({"is", "was", "are", "were", ":", "-", "=", "of", "the", "a", "an", "this", "no", "number", ","})
FITS: dict[str, frozenset[str]] = {
    "operation.eye": frozenset({"eye"}),
    "operation.procedures": frozenset({"procedure", "eye", "step", "action", "thing", "lens_type", "implant"}),
    "operation.preoperative_diagnosis": frozenset({"diagnosis", "eye", "finding", "nucleus_grade", "thing"}),
    "operation.postoperative_diagnosis": frozenset({"diagnosis", "eye", "finding", "nucleus_grade", "thing"}),
    "anesthesia": frozenset({"anesthesia", "drug", "route", "drug_class"}),
    "complications.statement": frozenset({"complication"}),
    "specimens": frozenset({"specimen"}),
    "findings": frozenset({"finding", "diagnosis", "complication", "quantity"}),
}
"""What a value of the label looks like; other labels accept whatever follows."""
NEUTRAL = frozenset({"quantity", "site", "urgency", "anatomy", "lens_location"})
"""Kinds that may stand within any labeled part."""
LONG_SENTENCE = 45
REACH = 6
"""Words that a label without a known kind of value holds in text without punctuation: a name, a number."""
FARTHEST = 22
OPEN = frozenset({"plan", "description", "implant"})
"""Labeled parts that reach to the next label."""
HISTORY = "history"
"""The labeled part that tells of former days; it reaches to the end of its paragraph."""
NOT_A_PLAN = frozenset({"different", "original", "initial", "first", "same", "new", "previous"})
ARRANGED = frozenset(
    {
        "tomorrow", "today", "tonight", "clinic", "week", "weeks", "day", "days", "month", "months", "morning", "back",
        "again", "monday", "tuesday", "wednesday", "thursday", "friday", "home", "outpatients", "office", "rooms",
    }
)  # fmt: skip
"""Words behind "to be seen" that make it an appointment ("there was no tear to be seen" is none)."""
ARRANGED_WITHIN = 8
NOTHING = frozenset({"none", "nil", "no", "zero", "same", "uneventful", "not", "minimal", "negligible"})
ABOUT = frozenset({"for", "on", "about", "regarding", "concerning"})
"""Before "patient" and a name: whom the dictation is about."""
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
    for label, following in zip(labels, [*labels[1:], None], strict=False):
        limit = following.start if following is not None else len(reading.words)
        start = label.end
        while start < limit and reading.words[start] in SAYS - {"no"}:
            start += 1
        sections.append(Section(label.id, label, start, _end(reading, label, start, limit)))
    return sections


def section_at(sections: list[Section], word: int) -> Section | None:
    """The labeled part that holds a word, None outside all."""
    if not sections or word < sections[0].label.start:
        return None
    at = bisect_right(sections, word, key=lambda section: section.label.start) - 1
    return sections[at] if at >= 0 and word < sections[at].end else None


def is_label(reading: Reading, field: Mention) -> bool:
    """Whether a field's words introduce a value rather than speak of the thing ("the procedure was completed")."""
    words, end = reading.words, field.end
    following = words[end] if end < len(words) else ""
    if following in MARKS or (following == "\n" and _opens(reading, field)):
        return True
    if field.id == HISTORY or (field.end - field.start == 1 and len(words[field.start]) == 1):
        return False
    before = words[field.start - 1] if field.start else "\n"
    if before in ("no", "any", "without", "further", "these", "such"):
        return False
    if field.id == "plan" and following in reading.grammar.auxiliary_past:
        return False
    if field.id in OPEN:
        return _opens(reading, field) or (field.id == "plan" and _orders(reading, field))
    if field.end - field.start > 1 or field.id.startswith(("team", "patient.hospital", "patient.date")):
        return True
    if field.id == "patient.name" and following == "is":
        return _starts_name(reading, end + 1)
    if field.id == "patient.name" and not _leads_to_name(reading, field):
        return False
    if field.id == "patient.name" and before in ABOUT:
        return reading.cased or full_name(reading, end) is not None
    if before in reading.grammar.preposition or (before in reading.grammar.determiner and field.id != "patient.name"):
        return following in ("is", "was") and _fits(reading, field, end + 1)
    return _fits(reading, field, end)


def _orders(reading: Reading, field: Mention) -> bool:
    """Whether an order for afterwards follows a word of the plan in running text."""
    before = reading.words[field.start - 1]
    if before in reading.grammar.determiner or before in reading.grammar.preposition or before in NOT_A_PLAN:
        return False
    near = reading.between(field.end, field.end + 7)
    ordered = any(
        a.mention.kind in ("drug", "drug_class", "instruction") or a.mention.id == "duration_days" for a in near
    )
    if ordered or (field.end - field.start > 1 and reading.words[field.start] not in ("plan", "to")):
        return True
    behind = reading.words[field.end : field.end + ARRANGED_WITHIN]
    return reading.words[field.start] == "to" and not ARRANGED.isdisjoint(behind)


def _starts_name(reading: Reading, i: int) -> bool:
    """A title, or a capital letter."""
    text = reading.annotation.aligned.text
    titled = any(a.mention.kind == "title" for a in reading.between(i, i + 1))
    return titled or (i < len(reading.words) and text[reading.annotation.starts[i]].isupper())


def _leads_to_name(reading: Reading, patient: Mention) -> bool:
    """Whether a name may follow at once; none does in "with the patient seated"."""
    if reading.cased:
        return _starts_name(reading, patient.end)
    told = reading.words[patient.start - 1 : patient.start] in (("the",), ("this",), ("our",))
    return not told or patient.end - patient.start > 1 or full_name(reading, patient.end) is not None


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
        return (
            bool(nearby) and nearby[0] not in reading.grammar.auxiliary and nearby[0] not in reading.grammar.preposition
        )
    return any(a.mention.kind in FITS[field.id] for a in _next(reading, start))


def _next(reading: Reading, start: int) -> list[Asserted]:
    return reading.between(start, start + 3)


def _numbers_item(reading: Reading, i: int) -> bool:
    """Whether an item of a numbered list begins at a word ("1. Cataract")."""
    return reading.words[i].isdigit() and reading.words[i + 1 : i + 2] in ((".",), (")",))


def _end(reading: Reading, label: Mention, start: int, limit: int) -> int:
    """Where a labeled part ends: at its sentence, or in raw text at the first thing that is no value of it."""
    if label.id == HISTORY:
        return next((i for i in range(start, limit) if reading.words[i] == "\n"), limit)
    if label.id in OPEN or start >= limit:
        return limit
    first, last = reading.sentence(start)
    end = min(limit, last)
    if _numbers_item(reading, start):
        while end < limit and _numbers_item(reading, end):
            end = min(limit, reading.sentence(end)[1])
        return end
    if last - first <= LONG_SENTENCE:
        return end
    if label.id not in FITS:
        return min(end, start + REACH)
    fits = FITS[label.id] | NEUTRAL
    for asserted in reading.between(start, end):
        mention = asserted.mention
        told = mention.kind == "action" and reading.clause(mention.start).tense in ("past", "modal")
        if mention.kind not in fits or told or mention.start - start > FARTHEST:
            clause = reading.clause(mention.start).start
            return clause if told and clause > start else mention.start
    return end

"""Statements of a note: complications none, specimens, blood loss, counts."""

from collections.abc import Iterator

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.reading import Reading
from zonule.binding.sections import Section
from zonule.record.slots import format_number
from zonule.vocabulary import ComplicationStatement, Status

NONE_WORDS = frozenset({"none", "nil", "no", "zero", "0"})
SLIGHT = frozenset({"minimal", "negligible", "insignificant", "trivial", "scant"})
RIGHT = frozenset({"correct", "complete", "right", "verified"})
SENT = frozenset({"sent", "histology", "pathology", "lab", "laboratory", "specimen", "specimens", "culture"})
COUNTED = frozenset(
    {
        "swabs",
        "swab",
        "needles",
        "needle",
        "sharps",
        "sponges",
        "sponge",
        "instruments",
        "instrument",
        "counts",
        "count",
    }
)
LINKS = frozenset({"and", "+", "/", "&", ",", "were", "was", "is", "are", "all", "both", "the"})
WHOLE = frozenset({"case", "operation", "procedure", "surgery"})
LINKING = frozenset({"was", "is", "entirely", "completely", "totally", "quite", "been", "remained", "went"})
FREE = frozenset({"uncomplicated"})
OWN_PLAN = 4
"""Words behind a plan within which "no complications" may be what is planned."""
STATING = frozenset({"without", "nothing", "uneventful"})
"""First words of what says so with more words."""


def bind_statements(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """What was said to be none, or what it was."""
    yield from _no_complications(reading)
    for section in sections:
        word = _said(reading, section)
        if word is None:
            continue
        told = Asserted(word, Status.DONE)
        label = Asserted(section.label, Status.DONE)
        if section.field == "complications.statement" and word.id in NONE_WORDS:
            yield found("complications.statement", ComplicationStatement.NONE, label, told)
        elif section.field == "specimens" and word.id in NONE_WORDS:
            yield found("specimens", "none", told, label)
        elif section.field == "blood_loss" and word.id in NONE_WORDS | SLIGHT:
            yield found("blood_loss", "none" if word.id in NONE_WORDS else "minimal", told, label)
        elif section.field == "counts" and word.id in RIGHT:
            yield found("counts", "correct", told, label)
    yield from _specimens(reading)
    yield from _counted(reading)
    yield from _before_label(reading)
    yield from _measured(reading, sections)


def _said(reading: Reading, section: Section) -> Mention | None:
    """The word behind a label that settles it."""
    for i in range(section.start, min(section.start + 4, len(reading.words))):
        word = reading.words[i]
        if word in NONE_WORDS | SLIGHT | RIGHT:
            return Mention(i, i + 1, "word", word)
        if word in ".;\n":
            return None
    return None


def _no_complications(reading: Reading) -> Iterator[Found]:
    words = reading.words
    for field in reading.of("field"):
        if field.mention.id == "complications.statement" and field.status is Status.NOT_DONE and field.cue is not None:
            if (
                "further" in words[field.cue.start : field.mention.start]
                or "other" in words[field.cue.start : field.mention.start]
            ):
                continue
            cue = Asserted(field.cue, Status.DONE)
            yield found(
                "complications.statement", ComplicationStatement.NONE, Asserted(field.mention, Status.DONE), cue
            )
        elif field.mention.id == "complications.statement" and _denied_beside(reading, field):
            denied = Asserted(Mention(field.mention.start - 1, field.mention.end, "word", "none"), Status.DONE)
            yield found("complications.statement", ComplicationStatement.NONE, denied)
    for i in reading.where(FREE | STATING):
        word = words[i]
        phrase = words[i : i + 2] in (("without", "complication"), ("without", "complications"))
        phrase = phrase or _uneventful(words, i)
        if (word in FREE and words[i - 1 : i] != ("not",)) or phrase:
            said = Mention(i, i + (2 if phrase and word != "uneventful" else 1), "word", "uncomplicated")
            status = next((a.status for a in reading.in_clause(said)), Status.DONE)
            kept = status if status in (Status.OTHER_EYE, Status.HISTORICAL, Status.HABITUAL) else Status.DONE
            yield found("complications.statement", ComplicationStatement.NONE, Asserted(said, kept))


def _denied_beside(reading: Reading, field: Asserted) -> bool:
    """ "No complications he'll use drops": a plan told behind it, or well before it, in text without marks."""
    if field.cue is None or field.status is not Status.PLANNED or reading.words[field.mention.start - 1] != "no":
        return False
    return field.cue.start >= field.mention.end or field.mention.start - field.cue.end > OWN_PLAN


def _uneventful(words: tuple[str, ...], i: int) -> bool:
    """ "The operation was uneventful", "nothing untoward happened"; "otherwise uneventful" tells of an event."""
    if words[i : i + 2] == ("nothing", "untoward"):
        return True
    if words[i] != "uneventful" or words[i - 1] in ("otherwise", "not", "mostly", "largely"):
        return False
    return not WHOLE.isdisjoint(words[max(0, i - 4) : i]) and words[i - 1] in LINKING


def _specimens(reading: Reading) -> Iterator[Found]:
    """ "Nothing sent to the lab"; and what was sent, when the sentence says that it was."""
    for specimen in reading.of("specimen"):
        mention = specimen.mention
        if mention.id == "none":
            yield found("specimens", "none", specimen)
        elif not SENT.isdisjoint(reading.words[max(0, mention.start - 6) : mention.end + 6]):
            yield found("specimens", mention.id, specimen)


def _counted(reading: Reading) -> Iterator[Found]:
    """ "Swabs + needles correct", "sharps and instrument counts were correct"."""
    words = reading.words
    for i, word in enumerate(words):
        if word not in COUNTED or (i and words[i - 1] in COUNTED | {"and", "+", "/", "&"}):
            continue
        at = i + 1
        while at < len(words) and at < i + 8 and words[at] in COUNTED | LINKS:
            at += 1
        if words[at : at + 1] == ("correct",):
            yield found("counts", "correct", Asserted(Mention(i, at + 1, "word", "correct"), Status.DONE))


def _before_label(reading: Reading) -> Iterator[Found]:
    """ "No specimens were taken", "no blood loss"."""
    for field in reading.of("field"):
        if (
            field.status is Status.NOT_DONE
            and field.cue is not None
            and field.mention.id in ("specimens", "blood_loss")
            and NONE_WORDS.union(SLIGHT).isdisjoint(reading.words[field.mention.end : field.mention.end + 2])
        ):
            yield found(
                field.mention.id, "none", Asserted(field.mention, Status.DONE), Asserted(field.cue, Status.DONE)
            )
        elif field.mention.id in ("blood_loss", "counts") and field.mention.start:
            before = reading.words[field.mention.start - 1]
            if before in SLIGHT or before == "correct":
                word = Mention(field.mention.start - 1, field.mention.end, "word", before)
                value = "correct" if before == "correct" else "minimal"
                yield found(field.mention.id, value, Asserted(word, Status.DONE))


def _measured(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    for section in sections:
        if section.field != "blood_loss":
            continue
        for value in reading.between(section.start, section.start + 4):
            quantity = value.mention.quantity
            if value.mention.id == "volume_ml" and quantity is not None and isinstance(quantity.value, float | int):
                yield found("blood_loss", format_number(quantity.value), value)

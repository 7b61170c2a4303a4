"""Names and numbers of patient and team, taken from the words behind their labels."""

import re
from bisect import bisect_left
from collections.abc import Iterator

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.reading import Reading
from zonule.binding.sections import SAYS, Section
from zonule.vocabulary import Status

PARTICLES = frozenset({"de", "van", "von", "der", "den", "la", "le", "al", "bin", "ap", "del", "di", "da", "o'", "mac"})
NOBODY = frozenset(
    {"none", "nil", "no", "myself", "me", "same", "as", "not", "unknown", "x", "self", "nobody", "alone"}
)
LAY = frozenset({"mr", "mrs", "ms", "miss", "mister", "missus", "master"})
HEAD = 9
"""Words at the head within which "dictation for NAME" names the patient."""
OPENING = 40
"""Words at the head of a dictation in which a name with a lay title is the patient's."""
LONGEST = 4
LONGEST_RAW = 2
"""Words of a name in text without capitals, where nothing shows its end: given name and surname."""


def bind_people(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """Names of people, and the hospital number."""
    for section in sections:
        if section.field.startswith("team.") or section.field == "patient.name":
            name = _name(reading, section)
            if name is not None:
                yield found(section.field, _said(reading, name), Asserted(name, Status.DONE))
        elif section.field == "patient.hospital_number":
            number = _number(reading, section)
            if number is not None:
                text = re.sub(r"\s+", "", _said(reading, number))
                yield found(section.field, text, Asserted(number, Status.DONE))
    if not any(s.field == "patient.name" and _name(reading, s) for s in sections):
        yield from _unlabeled(reading, sections)


def _unlabeled(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """The patient's name without a label: right before the hospital number, or with a lay title at the head."""
    for section in sections:
        if section.field in ("patient.hospital_number", "patient.date_of_birth"):
            name = _name_before(reading, section.label.start)
            if name is not None:
                yield found("patient.name", _said(reading, name), Asserted(name, Status.DONE))
                return
    head = [i for i, word in enumerate(reading.words[:HEAD]) if word in ("for", "on") and _is_cased(reading)]
    for i in head:
        name = _name_from(reading, i + 1, 2)
        if name is not None and reading.words[name.end : name.end + 1] in ((",",), (".",), (":",)):
            yield found("patient.name", _said(reading, name), Asserted(name, Status.DONE))
            return
    for title in reading.of("title"):
        start, end = title.mention.start, title.mention.end
        if start > OPENING or reading.words[start] not in LAY or _not_patient(reading, sections, start):
            continue
        name = _up_to_label(reading, sections, end) or _name_from(reading, end, 2)
        if name is not None and "dictating" not in reading.words[name.end : name.end + 3]:
            yield found("patient.name", _said(reading, name), Asserted(name, Status.DONE))
            return


def _up_to_label(reading: Reading, sections: list[Section], start: int) -> Mention | None:
    """All words between a title and the next label of the patient, when they can be a name."""
    for section in sections:
        end = section.label.start
        if section.field.startswith("patient.") and 2 <= end - start <= LONGEST:
            inside = all(_is_name(reading, start, i, False) for i in range(start, end))
            return Mention(start, end, "word", "patient.name") if inside else None
    return None


def _not_patient(reading: Reading, sections: list[Section], start: int) -> bool:
    before = reading.words[max(0, start - 2) : start]
    if set(before) & {"by", "list", "under", "with", "surgeon", "assistant", "supervised", "from"}:
        return True
    return any(s.field.startswith("team.") and s.start <= start < s.start + 2 for s in sections)


def _name_before(reading: Reading, label: int) -> Mention | None:
    """Capitalized words that end right before a label."""
    end = label
    while end > 0 and reading.words[end - 1] in (",", "(", "-", ".", "\n"):
        end -= 1
    start = end
    capitals = _is_cased(reading)
    while (
        start > 0
        and end - start < (LONGEST if capitals else LONGEST_RAW)
        and (_is_name(reading, end, start - 1, capitals))
    ):
        start -= 1
    if not capitals and reading.words[max(0, start - 1)] not in ("for", "patient", "is", "on"):
        return None
    return Mention(start, end, "word", "patient.name") if end - start >= 2 else None


def _name_from(reading: Reading, start: int, least: int) -> Mention | None:
    while start < len(reading.words) and reading.words[start] == ".":
        start += 1
    capitals = _is_cased(reading)
    end = start
    while (
        end < len(reading.words)
        and end - start < (LONGEST if capitals else LONGEST_RAW)
        and (_is_name(reading, start, end, capitals))
    ):
        end += 1
    return Mention(start, end, "word", "patient.name") if end - start >= least else None


def _name(reading: Reading, section: Section) -> Mention | None:
    start = _after_retraction(reading, section)
    words = reading.words
    titles = {a.mention.start: a.mention.end for a in reading.of("title")}
    titled = False
    while start < len(words) and (start in titles or words[start] in SAYS | {".", "by", "me", "myself"}):
        titled = titled or start in titles
        start = titles.get(start, start + 1)
    if start >= len(words) or words[start] in NOBODY:
        return None
    end = start
    capitals = _is_cased(reading)
    while (
        end < len(words)
        and end - start < (LONGEST if capitals else LONGEST_RAW)
        and _is_name(reading, start, end, capitals)
    ):
        end += 1
    while end > start and words[end - 1] in PARTICLES:
        end -= 1
    if end == start or (section.field == "patient.name" and not titled and not capitals and end - start < 2):
        return None
    return Mention(start, end, "word", section.field)


def _after_retraction(reading: Reading, section: Section) -> int:
    """Behind the label, or behind the wording that takes the first value back ("618, correction, 681204")."""
    start = section.start
    first = bisect_left(reading.corrections, start, key=lambda cue: cue.start)
    for cue in reading.corrections[first : first + 6]:
        if not start <= cue.start <= start + 8:
            continue
        taken = any(i in reading.taken_back for i in range(start, cue.start))
        named = section.field.startswith(("team.", "patient.name")) and _strong(cue)
        if (taken or named) and cue.start <= min(start + LONGEST + 3, section.end + 1):
            start = cue.end
    while start < len(reading.words) and reading.words[start] in (",", "the", "it", "was", "is", "number"):
        start += 1
    return start


def _strong(cue: Mention) -> bool:
    return cue.correction is not None and not cue.correction.weak


def _is_cased(reading: Reading) -> bool:
    return reading.cased


def _is_name(reading: Reading, start: int, i: int, capitals: bool) -> bool:
    word = reading.words[i]
    raw = reading.annotation.aligned.text[reading.annotation.starts[i] : reading.annotation.ends[i]]
    if len(raw) == 1 and raw.isupper() and reading.words[i + 1 : i + 2] == (".",):
        return True
    if not raw[0].isalpha() or (len(raw) == 1 and i > start and not raw.isupper()):
        return raw == "." and i > start and len(reading.words[i - 1]) == 1
    if word in PARTICLES:
        return True
    grammar = reading.grammar
    function = grammar.determiner | grammar.preposition | grammar.conjunction | grammar.auxiliary | grammar.subject
    if word in function or word in grammar.adverb:
        return False
    if capitals and not raw[0].isupper():
        return False
    here = [a.mention for a in reading.between(i, i + 1) if a.mention.kind != "action"]
    if capitals and i > start and raw[0].isupper() and not raw.isupper():
        here = [m for m in here if m.kind in ("field", "title", "anesthesia", "procedure", "diagnosis", "eye")]
    return not here or (i == start and capitals and not any(m.kind in ("field", "title", "eye") for m in here))


def _said(reading: Reading, mention: Mention) -> str:
    text = reading.annotation.aligned.text
    return text[reading.annotation.starts[mention.start] : reading.annotation.ends[mention.end - 1]]


def _number(reading: Reading, section: Section) -> Mention | None:
    start = _after_retraction(reading, section)
    while start < len(reading.words) and reading.words[start] in SAYS | {"#", ".", ","}:
        start += 1
    end = start
    while end < len(reading.words) and end - start < 6 and _continues(reading, start, end):
        end += 1
    said = Mention(start, end, "word", section.field) if end > start else None
    return said if said is not None and any(c.isdigit() for c in _said(reading, said)) else None


def _continues(reading: Reading, start: int, i: int) -> bool:
    word = reading.words[i]
    if i == start:
        return word.isalnum() or word[0].isdigit()
    text = reading.annotation.aligned.text
    gap = text[reading.annotation.ends[i - 1] : reading.annotation.starts[i]]
    if gap in ("", "-", "/"):
        return word[0].isalnum() or word in "/-"
    return gap == " " and word[0].isdigit() and reading.words[i - 1].isdigit()

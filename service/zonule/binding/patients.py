"""The patient's name where no label gives it: before a number, behind the eye or the case, or with a lay title."""

from collections.abc import Iterator

from zonule.annotation.mentions import Mention
from zonule.binding.names import ACTS, LONGEST, full_name, is_name, is_personal, name_before, name_from
from zonule.binding.reading import Reading
from zonule.binding.role_words import BY_ACT, LAY
from zonule.binding.sections import Section

ACTING = frozenset(BY_ACT) | {"speaking", "here"}
OTHERS = frozenset(
    {
        "by", "list", "under", "with", "from", "to", "surgeon", "assistant", "supervised", "husband", "wife",
        "daughter", "son", "mother", "father", "partner", "brother", "sister", "niece", "nephew", "carer", "gp",
        "optometrist", "optician", "colleague", "consultant", "registrar", "fellow", "trainee", "boss", "nurse",
        "anaesthetist", "anesthetist", "attending", "resident",
        "see", "sees", "seen", "ask", "asked", "call", "called", "thank",
    }
)  # fmt: skip
"""Words before a title that make the person somebody else than the patient."""
OPENING = 40
"""Words at the head of a dictation in which a name with a lay title is the patient's."""
HEAD = 60
"""Words at the head of a dictation within which "the left eye of NAME" names the patient."""
OPERATED = frozenset(
    {
        "eye", "case", "cataract", "operation", "surgery", "phaco", "note", "dictation", "dictating", "dictate",
        "report", "live", "record", "procedure", "lens", "iol", "implant", "letter", "le", "re", "od", "os", "combined",
    }
)  # fmt: skip
"""Before "of", "on" or "for": whose eye, note or operation it is."""
OPERATES = frozenset({"operating", "operated", "working", "doing"})
"""Before "on", not before "for": to operate for somebody is to do so on that person's list."""
ABOUT = frozenset({"of", "on", "for", "about", "regarding", "re", "concerning", "is"})
LISTED = frozenset({"case", "number", "patient", "next", "one", "up", "today", "now", "name", "it's", "listed"})
"""Before "is", or before a number or a comma: who is next on the list."""
FEW = 2
"""Digits of a place on the list."""
LONG = 4
"""Characters of the first part of a number that may follow the name at once."""
NUMBERS = frozenset({"one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"})
THINGS = frozenset({"eye", "procedure", "implant", "lens_type", "diagnosis", "anesthesia"})
"""Kinds of words that may stand before "of", "on" or "for" and the patient."""
PRESENTED = frozenset({"number", "right", "left", "hospital", "born", "aged", "mrn", "record", "chart", "unit", "dob"})
"""Behind two words that may be a name, these make it the patient's."""
SPOKEN_OF = frozenset({"she", "he", "she's", "he's", "her", "his"})
SIGNS = frozenset({"left", "right", "born", "aged", "age", "od", "os", "le", "re", "l", "r", "phaco", "year", "who"})
"""Behind a name, these make it the patient's."""


def unlabeled_patient(reading: Reading, sections: list[Section], team: frozenset[int]) -> Mention | None:
    """The patient's name without a label, by the surest sign first; `team` are the places of the team's names."""
    for name in _candidates(reading, sections):
        if name.start not in team:
            return name
    return None


def _candidates(reading: Reading, sections: list[Section]) -> Iterator[Mention]:
    yield from _before_number(reading, sections)
    yield from _behind_case(reading)
    yield from _with_lay_title(reading, sections)
    if not reading.cased:
        yield from _presented(reading)
    if reading.cased:
        yield from _alone(reading, sections)


def _presented(reading: Reading) -> Iterator[Mention]:
    """ "This is NAME number seven zero …", "this is NAME left eye" in raw text: two words and a sign of the patient."""
    words = reading.words
    for i in range(2, min(HEAD, len(words) - 2)):
        shown = words[i - 2 : i] == ("this", "is") and words[i + 2] in PRESENTED
        if shown and is_name(reading, i, i) and is_name(reading, i, i + 1):
            yield Mention(i, i + 2, "word", "patient.name")


def _before_number(reading: Reading, sections: list[Section]) -> Iterator[Mention]:
    """ "Edwin Marlow, hospital number 74-11": the name right before a label of the patient."""
    for section in sections:
        if section.field in ("patient.hospital_number", "patient.date_of_birth"):
            name = name_before(reading, section.label.start) or _lay_surname(reading, section.label.start)
            if name is not None:
                yield name


def _lay_surname(reading: Reading, end: int) -> Mention | None:
    """ "Mr Stope, hospital number": a surname alone."""
    end -= reading.words[end - 1 : end] == (",",)
    lay = end > 1 and reading.words[end - 2] in LAY and is_name(reading, end - 1, end - 1)
    return Mention(end - 1, end, "word", "patient.name") if lay else None


def _behind_case(reading: Reading) -> Iterator[Mention]:
    """ "The left eye of NAME", "dictating for NAME", "number five is NAME", "an urgent case, NAME", "NAME's eye"."""
    words = reading.words
    for i in range(min(HEAD, len(words))):
        name = _named_at(reading, i)
        if name is None:
            continue
        if words[name.end : name.end + 1] in (("'s",), ("’s",)):
            if SIGNS & set(words[name.end + 1 : name.end + 2]):
                yield name
            continue
        if ACTING & set(words[name.end : name.end + 2]):
            continue
        if i > 0 and _leads_to_patient(reading, i):
            yield name


def _named_at(reading: Reading, i: int) -> Mention | None:
    if reading.words[i] in LAY and any(a.mention.kind == "title" for a in reading.between(i, i + 1)):
        return name_from(reading, i + 1, 2)
    return full_name(reading, i)


def _leads_to_patient(reading: Reading, i: int) -> bool:
    """Whether the words before `i` say that the patient is named there."""
    words = reading.words
    before = words[i - 1]
    at = i - 1
    if before in (",", ":", "-", "."):
        at -= 1
        if at >= 0 and words[at] == "case" and words[i - 1] != ".":
            return True
        return at >= 1 and (_is_listed(words, at) or (words[at] in LISTED - {"now", "one", "today"} and at <= 6))
    if before == "is":
        return _is_listed(words, at - 1) or words[at - 1] in LISTED
    if before in ABOUT:
        operates = before == "on" and words[at - 1] in OPERATES
        return operates or words[at - 1] in OPERATED or _ends_thing(reading, at)
    return _is_listed(words, at)


def _is_listed(words: tuple[str, ...], at: int) -> bool:
    """ "Case two", "number five": a place on the list ends at the word at `at`."""
    counted = (words[at].isdigit() and len(words[at]) <= FEW) or words[at] in NUMBERS
    return counted and words[at - 1 : at] in (("case",), ("number",), ("patient",)) and at < OPENING


def _ends_thing(reading: Reading, at: int) -> bool:
    """Whether the eye, the operation or the lens ends before the word at `at`."""
    return any(a.mention.end == at and a.mention.kind in THINGS for a in reading.between(max(0, at - 5), at))


def _with_lay_title(reading: Reading, sections: list[Section]) -> Iterator[Mention]:
    for title in reading.of("title"):
        start, end = title.mention.start, title.mention.end
        if start > OPENING or reading.words[start] not in LAY or _not_patient(reading, sections, start):
            continue
        name = _up_to_label(reading, sections, end) or name_from(reading, end, 2)
        if name is not None and not ACTS & set(reading.words[name.end : name.end + 3]):
            yield name


def _up_to_label(reading: Reading, sections: list[Section], start: int) -> Mention | None:
    """All words between a title and the next label of the patient, when they can be a name."""
    for section in sections:
        end = section.label.start
        if section.field.startswith("patient.") and 2 <= end - start <= LONGEST:
            inside = not reading.cased and all(is_name(reading, start, i) for i in range(start, end))
            return Mention(start, end, "word", "patient.name") if inside else None
    return None


def _not_patient(reading: Reading, sections: list[Section], start: int) -> bool:
    before = reading.words[max(0, start - 2) : start]
    if OTHERS & set(before):
        return True
    return any(s.field.startswith("team.") and s.start <= start < s.start + 2 for s in sections)


def _alone(reading: Reading, sections: list[Section]) -> Iterator[Mention]:
    """ "Desmond Pike, right eye": a name between two stops at the head, and a sign of the patient right behind."""
    words = reading.words
    for i in range(min(OPENING, len(words))):
        presented = words[i - 2 : i] == ("this", "is")
        opens = i == 0 or words[i - 1] in (".", ",", "\n", ":", ";") or presented
        name = full_name(reading, i) if opens else None
        behind = words[name.end : name.end + 4] if name is not None else ()
        sided = presented and behind[:1] in (("right",), ("left",))
        pause = behind[:1] and behind[0] in (",", ".", ":", "-", "\n", "(")
        if name is None or not behind or not (pause or sided or len(behind[0]) >= LONG):
            continue
        if i > 1 and words[i - 1] in (",", ".") and behind[0] in (",", ".") and _ends_with(reading, i - 1, "eye"):
            yield name
            continue
        if presented and _is_spoken_of(behind):
            yield name
            continue
        if not is_personal(words[i]) or (behind[0] == "." and not any(c.isdigit() for c in "".join(behind[1:2]))):
            continue
        if _is_signed(behind if behind[0][0].isdigit() else behind[1:]) and not _not_patient(reading, sections, i):
            yield name


def _is_spoken_of(behind: tuple[str, ...]) -> bool:
    """ "This is NAME, she's had glaucoma for years", "this is NAME left eye": who is spoken of is the patient."""
    return behind[0] in ("right", "left") or (behind[0] == "," and not SPOKEN_OF.isdisjoint(behind[1:2]))


def _ends_with(reading: Reading, end: int, kind: str) -> bool:
    return any(a.mention.end == end and a.mention.kind == kind for a in reading.between(max(0, end - 5), end))


def _is_signed(behind: tuple[str, ...]) -> bool:
    """A side, an age or a number."""
    aged = behind[:1] in (("a",), ("an",), ("aged",)) and any(word[0].isdigit() for word in behind)
    short = behind[:1] in (("no",), ("nr",), ("#",)) and any(word[0].isdigit() for word in behind)
    numbered = short or behind[:1] == ("number",) or (bool(behind) and behind[0].isdigit())
    return aged or numbered or bool(SIGNS & set(behind[:2]))

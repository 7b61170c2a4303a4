"""Who dictates, named at the head without a part in the team, where the patient is somebody else: the surgeon."""

from zonule.annotation.mentions import Mention
from zonule.binding.names import full_name, name_before, name_from
from zonule.binding.patients import OTHERS, SIGNS
from zonule.binding.reading import Reading
from zonule.binding.role_words import LAY
from zonule.binding.sections import Section

OPENING = 8
"""Words at the head of a dictation within which the speaker says the own name."""
HEAD = 60
"""Words within which the patient is named then."""
GREETINGS = frozenset(
    {
        "hello", "hi", "morning", "afternoon", "evening", "g'day", "right", "okay", "ok", "so", "yes", "hey",
        "everyone", "all", "again", "day",
    }
)  # fmt: skip
"""Before a comma and the speaker's name."""
PAPERS = frozenset({"report", "note", "dictation", "notes", "record"})
"""Before a comma or stop and the titled name of who dictates."""
NEAR = 4
"""Words behind a name within which the signs of a patient make it the patient's."""
STOPS = frozenset({".", ",", "\n"})


def find_speaker(reading: Reading, sections: list[Section]) -> Mention | None:
    """ "Right, this is NAME.", "Morning, NAME, first case", "Op report, Dr NAME.": None where it may be the patient.

    Text without capitals shows no name that could be sure enough.
    """
    if not reading.cased:
        return None
    words = reading.words
    for i in range(1, min(OPENING, len(words) - 1)):
        name = _named(reading, i)
        if name is not None and words[name.end : name.end + 1] and words[name.end] in STOPS:
            sure = not _is_patient(reading, sections, name) and _other_patient(reading, sections, name)
            return name if sure else None
    return None


def _named(reading: Reading, i: int) -> Mention | None:
    words = reading.words
    if words[i - 1] in (",", ".") and words[i - 2 : i - 1] and words[i - 2] in PAPERS and words[i] not in LAY:
        titles = [a.mention for a in reading.between(i, i + 1) if a.mention.kind == "title"]
        at = titles[0].end if titles else i
        return name_from(reading, at + (words[at : at + 1] == (".",)), 2) if titles else None
    greeted = words[i - 1] == "," and words[i - 2 : i - 1] and words[i - 2] in GREETINGS
    if words[max(0, i - 2) : i] == ("this", "is") or greeted:
        return full_name(reading, i)
    return None


def _is_patient(reading: Reading, sections: list[Section], name: Mention) -> bool:
    """ "This is NAME, unit number 118 403", "…, right eye", "…, aged 70": the signs of a patient right behind."""
    near = range(name.end, name.end + NEAR)
    if any(s.field.startswith("patient.") and s.label.start in near and s.field != "patient.name" for s in sections):
        return True
    words = reading.words[name.end : name.end + NEAR]
    return any(word in SIGNS or word[0].isdigit() for word in words)


def _other_patient(reading: Reading, sections: list[Section], speaker: Mention) -> bool:
    """Whether a label, a lay title or a number behind it names a patient who is not the speaker."""
    for section in sections:
        if section.label.start < speaker.end:
            continue
        if section.field == "patient.name" and name_from(reading, section.start) is not None:
            return True
        if section.field in ("patient.hospital_number", "patient.date_of_birth"):
            named = name_before(reading, section.label.start)
            if named is not None and named.start >= speaker.end:
                return True
    return any(
        speaker.end <= title.mention.start <= HEAD
        and reading.words[title.mention.start] in LAY
        and OTHERS.isdisjoint(reading.words[max(0, title.mention.start - 2) : title.mention.start])
        and name_from(reading, title.mention.end, 2) is not None
        for title in reading.of("title")
    )

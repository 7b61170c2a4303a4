"""Names and numbers of patient and team, taken from the words behind their labels or from what is said of them."""

import re
from bisect import bisect_left
from collections.abc import Iterator

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.names import LONGEST, NOBODY, SURNAMES, full_name, is_name, name_from
from zonule.binding.patients import unlabeled_patient
from zonule.binding.reading import Reading
from zonule.binding.role_words import LEADS
from zonule.binding.roles import find_roles, is_act, slot_by_act
from zonule.binding.sections import SAYS, Section
from zonule.binding.speakers import find_speaker
from zonule.vocabulary import Status

NEAR = 12
"""Words behind a label within which titles stand before the name."""
HEAD = 40
"""Words at the head of a dictation within which a long number is the patient's."""
LEAST_NUMBER = 5
"""Characters of the shortest number that is the patient's where the label may mean a place on the list."""


ABBREVIATED = frozenset({("sup", ","), ("s", ",")})
"""Short labels that a comma shows to be something else: "2.75 sup, PC x2"."""
REPLACED_REACH = 4
"""Words between a name and the wording that takes it back; stops count."""
RANKS = frozenset({"major", "captain", "colonel", "lieutenant", "commander", "corporal", "sergeant", "brigadier"})
BEFORE = SAYS | RANKS | {".", "by", "me", "myself", "today", "morning", "afternoon", "evening", "tonight"}
"""Words between a label and the name."""
UNSURE = frozenset({"case", "her", "his", "him"})
"""Words of labels that may count something else: "case number 12 on the list"."""


def bind_people(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """Names of people, and the hospital number."""
    named: set[str] = set()
    patient: Mention | None = None
    roles = list(find_roles(reading, sections))
    acts = {role.act for role in roles}
    told = {role.person.mention.start: role.slot for role in roles if role.act is not None}
    labeled: list[tuple[str, Mention]] = []
    for section in sections:
        if section.label.start in acts or is_act(reading, section):
            continue
        if section.field.startswith("team.") or section.field == "patient.name":
            name = _name(reading, section)
            if name is not None and told.get(name.start, section.field) == section.field:
                supervised = section.field == LEADS and slot_by_act(reading, name) == "team.supervisor"
                labeled.append(("team.supervisor" if supervised else section.field, name))
        elif section.field == "patient.hospital_number":
            number = _number(reading, section)
            if number is not None and not reading.taken_back.issuperset(range(number.start, number.end)):
                yield _as_number(reading, number)
        elif section.field == "anesthesia":
            name = _anesthetist(reading, section)
            if name is not None:
                named.add("team.anesthetist")
                yield found("team.anesthetist", _said(reading, name), Asserted(name, Status.DONE))
    for at, (field, name) in enumerate(labeled):
        if _replaced(reading, name) and any(later == field for later, _ in labeled[at + 1 :]):
            continue
        named.add(field)
        patient = name if field == "patient.name" else patient
        yield found(field, _said(reading, name), Asserted(name, Status.DONE))
    operator = _abbreviated_operator(reading, sections)
    if operator is not None and LEADS not in named:
        named.add(LEADS)
        yield found(LEADS, _said(reading, operator), Asserted(operator, Status.DONE))
    for role in roles:
        if role.slot not in named:
            yield found(role.slot, _said(reading, role.person.mention), role.person)
    team = {role.person.mention.start for role in roles}
    if LEADS not in named and all(role.slot != LEADS for role in roles):
        speaker = find_speaker(reading, sections)
        if speaker is not None and speaker.start not in team and speaker.start not in {n.start for _, n in labeled}:
            team.add(speaker.start)
            said = Mention(speaker.start, speaker.end, "word", LEADS)
            yield found(LEADS, _said(reading, said), Asserted(said, Status.DONE))
    if patient is None:
        patient = unlabeled_patient(reading, sections, frozenset(team))
        if patient is not None:
            yield found("patient.name", _said(reading, patient), Asserted(patient, Status.DONE))
    if not any(s.field == "patient.hospital_number" for s in sections):
        number = _bare_number(reading, patient.end) if patient is not None else None
        number = number or _numbered_at_head(reading)
        if number is not None:
            yield _as_number(reading, number)


def _replaced(reading: Reading, name: Mention) -> bool:
    """ "Assistant Dr Gupta, sorry, not Gupta": taken back behind the name; another label gives the right one."""
    first = bisect_left(reading.corrections, name.end, key=lambda cue: cue.start)
    return any(cue.start - name.end <= REPLACED_REACH for cue in reading.corrections[first : first + 1])


def _abbreviated_operator(reading: Reading, sections: list[Section]) -> Mention | None:
    """ "Op: Ciara Dunne": a name where the operation could stand."""
    for section in sections:
        label = reading.words[section.label.start : section.label.end]
        name = full_name(reading, section.start) if label == ("op",) and reading.cased else None
        if name is not None and reading.words[name.end : name.end + 1] in ((".",), (",",), (";",), ("\n",), ()):
            return Mention(name.start, name.end, "word", LEADS)
    return None


def _as_number(reading: Reading, number: Mention) -> Found:
    text = re.sub(r"\s+", "", _said(reading, number))
    return found("patient.hospital_number", text, Asserted(number, Status.DONE))


def _name(reading: Reading, section: Section) -> Mention | None:
    start = _after_retraction(reading, section)
    words = reading.words
    near = reading.between(start, start + NEAR)
    skipped = {a.mention.start: a.mention.end for a in near if a.mention.kind == "title"}
    titled = False
    if section.field == "team.scrub":
        skipped |= {a.mention.start: a.mention.end for a in near if a.mention.key == "lens_field:serial_number"}
    while start < len(words) and (start in skipped or words[start] in BEFORE):
        titled = titled or start in skipped
        start = skipped.get(start, start + 1)
    name = name_from(reading, start)
    if reading.gap(section.label.start, section.label.end + 1) in ABBREVIATED:
        return None
    if {"a", "an"} & set(reading.gap(section.label.end, start)):
        return None  # "carried by the patient, this was a NAME lens"
    if name is None or words[start] in NOBODY or (words[start] in SURNAMES and not titled and not reading.cased):
        return None
    least = 2 if section.field == "patient.name" and not titled and not reading.cased else 1
    owned = reading.words[section.label.start - 1 : section.label.start] in (("my",), ("our",), ("the",))
    if owned and start == section.label.end and not titled and not reading.cased:
        least = 2  # "my assistant fills the chamber"
    whole = _surname_first(reading, name) if section.field == "patient.name" else name
    if whole.end - whole.start < least:
        return None
    return Mention(whole.start, whole.end, "word", section.field)


def _surname_first(reading: Reading, name: Mention) -> Mention:
    """ "BRIGHTWATER, Ellen": the given name behind the comma, when nothing of the trade stands there."""
    at = name.end + 1
    lettered = reading.cased or _said(reading, name).isupper()
    given = name_from(reading, at) if reading.words[name.end : at] == (",",) and lettered else None
    if given is None or name.end - name.start > 1 or reading.between(at, at + 1):
        return name
    closed = reading.words[given.end : given.end + 1] in ((), (".",), (",",), (";",), ("(",), ("\n",))
    return Mention(name.start, given.end, "word", name.id) if closed else name


def _anesthetist(reading: Reading, section: Section) -> Mention | None:
    """ "Anes: P. Wetherene MD": a name with its degree instead of a kind of anesthesia."""
    name = name_from(reading, section.start) if reading.cased else None
    if name is None or any(a.mention.kind == "anesthesia" for a in reading.between(name.start, name.end)):
        return None
    degree = name.end + (reading.words[name.end : name.end + 1] == (",",))
    titled = any(a.mention.kind == "title" for a in reading.between(degree, degree + 1))
    full = full_name(reading, section.start)
    alone = full is not None and reading.words[full.end : full.end + 1] in ((".",), (";",), ("\n",), ())
    return Mention(name.start, name.end, "word", "team.anesthetist") if titled or alone else None


def _after_retraction(reading: Reading, section: Section) -> int:
    """Behind the label, or behind the wording that takes the first value back ("618, correction, 681204")."""
    start = section.start
    first = bisect_left(reading.corrections, start, key=lambda cue: cue.start)
    for cue in reading.corrections[first : first + 6]:
        if not start <= cue.start <= start + 8:
            continue
        taken = any(i in reading.taken_back for i in range(start, cue.start))
        if section.field.startswith(("team.", "patient.name")):
            named = _name_at(reading, cue.end) or _labeled_again(reading, section, cue.end)
            said_again = _titled(reading, cue.end) or ((taken or _strong(cue)) and named)
        elif section.field == "patient.hospital_number":
            said_again = _digits_at(reading, cue.end)
        else:
            said_again = taken
        if said_again and cue.start <= min(start + LONGEST + 3, section.end + 1):
            start = cue.end
    while start < len(reading.words) and reading.words[start] in (",", "the", "it", "was", "is", "number"):
        start += 1
    return start


def _strong(cue: Mention) -> bool:
    return cue.correction is not None and not cue.correction.weak


def _name_at(reading: Reading, i: int) -> bool:
    while i < len(reading.words) and reading.words[i] in (",", "the", "it", "was", "is"):
        i += 1
    return i < len(reading.words) and is_name(reading, i, i)


def _labeled_again(reading: Reading, section: Section, i: int) -> bool:
    """ "Assistant Wrenfield, correction, the assistant was Harkaway": the second label gives the name."""
    return any(a.mention.key == f"field:{section.field}" for a in reading.between(i, i + 3))


def _titled(reading: Reading, i: int) -> bool:
    return any(a.mention.kind == "title" for a in reading.between(i, i + 1))


def _digits_at(reading: Reading, i: int) -> bool:
    """Whether a number follows at once, with no unit behind."""
    while i < len(reading.words) and reading.words[i] in (",", "it", "is", "number"):
        i += 1
    measured = any(a.mention.kind == "quantity" and a.mention.id != "number" for a in reading.between(i, i + 1))
    return i < len(reading.words) and any(c.isdigit() for c in reading.words[i]) and not measured


def _said(reading: Reading, mention: Mention) -> str:
    text = reading.annotation.aligned.text
    return text[reading.annotation.starts[mention.start] : reading.annotation.ends[mention.end - 1]]


def _number(reading: Reading, section: Section) -> Mention | None:
    start = _after_retraction(reading, section)
    while start < len(reading.words) and reading.words[start] in SAYS | {"#", ".", ",", "for", "her", "him", "his"}:
        start += 1
    if reading.words[start + 1 : start + 2] == ("number",) and not any(c.isdigit() for c in reading.words[start]):
        start += 2  # "hospital number is the camp number 30118"
    number = _number_at(reading, start)
    if number is None:
        return None
    listed = UNSURE & set(reading.words[section.label.start : section.label.end])
    return None if listed and len(_said(reading, number)) < LEAST_NUMBER else number


def _number_at(reading: Reading, start: int) -> Mention | None:
    end = start
    while end < len(reading.words) and end - start < 6 and _continues(reading, start, end):
        end += 1
    said = Mention(start, end, "word", "patient.hospital_number") if end > start else None
    return said if said is not None and any(c.isdigit() for c in _said(reading, said)) else None


def _bare_number(reading: Reading, i: int) -> Mention | None:
    """ "Mrs Pinnock, number 774092", "Mrs Pinnock 77-4092": the number right behind the patient's name."""
    while reading.words[i : i + 1] in (("number",), ("no",), (",",), ("(",), ("is",)):
        i += 1
    number = _number_at(reading, i)
    return number if number is not None and len(_said(reading, number)) >= LEAST_NUMBER else None


def _numbered_at_head(reading: Reading) -> Mention | None:
    """ "Dictating number 905-6621", "DOB 3 May 1949. No. 290 117 3": at the head a long number is the patient's."""
    labels = {s for s in range(min(HEAD, len(reading.words))) if reading.words[s] in ("number", "no", "no.")}
    for i in sorted(labels):
        if any(a.mention.kind in ("lens_field", "field", "parameter") for a in reading.between(max(0, i - 1), i)):
            continue
        number = _number_at(reading, i + 1 + (reading.words[i + 1 : i + 2] == (".",)))
        if number is not None and len(_said(reading, number)) >= LEAST_NUMBER:
            return number
    return None


def _continues(reading: Reading, start: int, i: int) -> bool:
    word = reading.words[i]
    if any(a.mention.kind == "quantity" and a.mention.id != "number" for a in reading.between(i, i + 1)):
        return False
    if i == start:
        return word.isalnum() or word[0].isdigit()
    text = reading.annotation.aligned.text
    gap = text[reading.annotation.ends[i - 1] : reading.annotation.starts[i]]
    if gap in ("", "-", "/"):
        return word[0].isalnum() or word in "/-"
    before = text[reading.annotation.starts[i - 1] : reading.annotation.ends[i - 1]]
    return gap == " " and word[0].isdigit() and (before.isdigit() or (i - 1 == start and before.isupper()))

"""Concepts that fill a slot by being named: eye, diagnoses, procedures, anesthesia, technique, complications."""

import re
from collections.abc import Iterator

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.reading import Reading
from zonule.binding.sections import Section, section_at
from zonule.record.slots import format_number
from zonule.vocabulary import Eye, Status, Urgency

PREOPERATIVE = "operation.preoperative_diagnosis"
POSTOPERATIVE = "operation.postoperative_diagnosis"
PROCEDURES = "operation.procedures"
PARTS = frozenset({"iris_excision"})
"""Procedures that are a step of another one unless the heading of procedures lists them."""
UNSPECIFIED = "cataract"
"""The diagnosis that says no kind; a named kind of cataract beside it replaces it."""
VITRECTOMIZED = "vitrectomized_eye"
FORMER_REACH = 9
"""Words before "for" and a diagnosis within which an earlier operation is told of."""
SCLEROSIS = "nuclear_sclerotic_cataract"
HARDEST = 5
"""The hardest grade of a nucleus that is told with a plus; common practice, no source."""
TOPICAL = "anesthesia:topical"
INTRACAMERAL = "anesthesia:intracameral"
STRINGS = (("and",), ("plus",), ("+",), ("&",), ("with",))
BLOCKS = frozenset({"anesthesia:sub_tenon", "anesthesia:peribulbar", "anesthesia:retrobulbar"})
HEAD = 120
"""Words at the head of a dictation within which it is told what is wrong."""
CATARACT_OF = frozenset(
    {
        "surgery", "surgeries", "extraction", "operation", "operations", "op", "list", "removal", "patient", "patients",
        "case", "cases", "clinic", "procedure", "lens", "knife", "incision", "surgeon", "service", "unit", "pack",
        "aspiration", "delivery", "done", "was", "out", "removed", "operated", "in", "theatre", "theater", "lists",
    }
)  # fmt: skip
"""Words right behind "cataract" that make it part of another name, or that tell of it."""
LEADS_DIAGNOSIS = frozenset({
    "ordinary", "has", "had", "with", "for", "of", "a", "are", "is", "that's", "'s", "plain", "simple", "routine",
    "and",
})  # fmt: skip
ARTICLES = (("a",), ("the",), ("my",), ("her",), ("his",))
OUTCOME = frozenset({"left", "remains", "remained", "leaving"})
UNTIL_LATER = (("for", "now"), ("at", "present"), ("until", "then"))
"""Before and behind a diagnosis that the operation ended with."""
BLEEDING = "bleeding"
SLIGHT_BLEEDING = "slight_bleeding"
SLIGHT = frozenset({
    "slight", "slightly", "minimal", "minimally", "trivial", "little", "minor", "drop", "drops", "trickle", "touch",
    "negligible", "spot", "self-limiting", "insignificant",
})  # fmt: skip
"""Words that say a bleeding was what any wound does."""
SLIGHT_REACH = 6
PAUSES = frozenset(",.;:)?!\n")
SLOT_OF = {
    "anesthesia": "anesthesia",
    "technique": "nucleus.technique",
    "complication": "complications.events",
    "finding": "findings",
    "viscoelastic": "viscoelastic.kinds",
    "incision_kind": "main_incision.kind",
}


def bind_concepts(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """Facts from concepts named, with their status."""
    yield from _bind_eye(reading, sections)
    yield from _bind_diagnoses(reading, sections)
    yield from _bind_same(reading, sections)
    for asserted in reading.of("procedure"):
        section = section_at(sections, asserted.mention.start)
        planned = section is not None and section.field == "plan" and asserted.status is Status.DONE
        told = Asserted(asserted.mention, Status.PLANNED, section.label) if planned and section else asserted
        if asserted.mention.id in PARTS and (section is None or section.field != PROCEDURES):
            continue
        yield found(PROCEDURES, asserted.mention.id, told)
    for kind in ("anesthesia", "technique", "complication", "finding"):
        for asserted in reading.of(kind):
            section = section_at(sections, asserted.mention.start)
            near = _near_enough(reading, asserted.mention) or _is_block(reading, asserted.mention)
            if not near or (section and section.field == "plan"):
                continue
            if asserted.mention.id == BLEEDING and _is_slight(reading, asserted.mention):
                yield found("findings", SLIGHT_BLEEDING, asserted)
                continue
            yield found(SLOT_OF[kind], asserted.mention.id, _told_after(asserted, section))
    yield from _bind_grade(reading)
    for asserted in reading.of("viscoelastic"):
        yield found("viscoelastic.kinds", asserted.mention.id, asserted)
    for asserted in reading.of("urgency"):
        if asserted.mention.id in set(Urgency):
            yield found("operation.urgency", Urgency(asserted.mention.id), asserted)


def _is_slight(reading: Reading, bleeding: Mention) -> bool:
    """ "The bleeding from the sclera was only a drop": what every wound does is no complication."""
    clause = reading.clause(bleeding.start)
    start, end = max(clause.start, bleeding.start - SLIGHT_REACH), min(clause.end, bleeding.end + SLIGHT_REACH)
    words = reading.words[start:end]
    return not SLIGHT.isdisjoint(words)


def _told_after(event: Asserted, section: Section | None) -> Asserted:
    """ "Complication: posterior capsular rent, the family was told": what happened, told to somebody afterwards."""
    cue = event.cue
    labeled = section is not None and section.field == "complications.statement"
    told = cue is not None and cue.id == "consent" and cue.start >= event.mention.end
    return Asserted(event.mention, Status.DONE) if labeled and told else event


def _bind_grade(reading: Reading) -> Iterator[Found]:
    """ "Grade 2", "nuclear sclerosis 3+": the number behind the word, with its plus."""
    for grade in reading.of("nucleus_grade"):
        end = grade.mention.end
        anew = {new for new, old in reading.instead.items() if end <= old.start < end + 2}
        said = [a for a in reading.of("quantity") if a.mention.start in anew] if anew else reading.between(end, end + 2)
        for value in said:
            quantity = value.mention.quantity
            if value.mention.id == "number" and quantity is not None and isinstance(quantity.value, float | int):
                if _one_of_two(reading, value.mention):
                    break
                sign = "+" if reading.words[value.mention.end - 1] in ("+", "plus") else ""
                yield found("nucleus.grade", format_number(quantity.value) + sign, value, grade)
                break
    for sclerosis in reading.of("diagnosis"):
        if sclerosis.mention.id == SCLEROSIS:
            yield from _grade_beside(reading, sclerosis)


def _grade_beside(reading: Reading, sclerosis: Asserted) -> Iterator[Found]:
    """ "Nuclear sclerosis two plus", "2+ nuclear sclerosis": a grade with its plus, and no word for it."""
    mention = sclerosis.mention
    behind = reading.between(mention.end, mention.end + 1)
    before = [
        a
        for a in reading.between(mention.start - 2, mention.start)
        if a.mention.end in range(mention.start - 1, mention.start + 1)
    ]
    for value in (*behind, *before):
        quantity = value.mention.quantity
        plus = reading.words[value.mention.end - 1 : value.mention.end + 1]
        if value.mention.id != "number" or quantity is None or not isinstance(quantity.value, float | int):
            continue
        if 1 <= quantity.value <= HARDEST and not {"+", "plus"}.isdisjoint(plus):
            yield found("nucleus.grade", f"{format_number(quantity.value)}+", value, sclerosis)
            return


def _one_of_two(reading: Reading, value: Mention) -> bool:
    """ "Grade three or four": which one is not said."""
    following = reading.words[value.end : value.end + 2]
    return following[:1] == ("or",) and following[1:] != () and following[1].isdigit()


def _near_enough(reading: Reading, mention: Mention) -> bool:
    """Whether a term that counts only beside another concept has it in its clause or sentence."""
    term = mention.term
    if term is None or not term.near:
        return True
    start, end = reading.sentence(mention.start)
    start, end = max(start, mention.start - 12), min(end, mention.end + 12)
    keys = {
        k for a in reading.between(start, end) for k in (a.mention.key, f"{a.mention.kind}:*") if a.mention != mention
    }
    return bool(keys & set(term.near))


def _is_block(reading: Reading, mention: Mention) -> bool:
    """ "Had a sub-Tenon's, so she is comfortable", "under topical", "Topical.": the kind by its place alone.

    With an article and no noun behind, behind "under", as a sentence of its own, or strung to "topical".
    """
    words = reading.words
    before, behind = words[max(0, mention.start - 1) : mention.start], words[mention.end : mention.end + 1]
    if mention.key == INTRACAMERAL and before in STRINGS and words[mention.start - 2] == "topical":
        return not behind or behind[0] in PAUSES
    if mention.key not in BLOCKS | {TOPICAL}:
        return False
    first, last = reading.sentence(mention.start)
    if before == ("under",) or (first == mention.start and mention.end >= last - 1):
        return True
    paused = not behind or behind[0] in PAUSES | reading.grammar.conjunction | reading.grammar.preposition
    return mention.key in BLOCKS and before in ARTICLES and paused


def _bind_eye(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    for asserted in reading.of("eye"):
        section = section_at(sections, asserted.mention.start)
        if section is not None and section.field == "plan":
            continue
        if asserted.mention.id == Eye.BOTH and (section is None or not section.field.startswith("operation.")):
            continue
        yield found("operation.eye", Eye(asserted.mention.id), asserted)


def _bind_diagnoses(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    labeled = {s.field for s in sections}
    for asserted in reading.of("diagnosis"):
        if not _near_enough(reading, asserted.mention):
            continue
        section = section_at(sections, asserted.mention.start)
        if section is not None and section.field in (PREOPERATIVE, POSTOPERATIVE):
            labeled_so = _labeled(asserted)
            yield found(section.field, asserted.mention.id, labeled_so)
            if _both_diagnoses(reading, section):
                yield found(POSTOPERATIVE, asserted.mention.id, labeled_so)
        elif (
            PREOPERATIVE not in labeled
            and (asserted.mention.id != UNSPECIFIED or _is_bare_cataract(reading, asserted))
            and not _outcome(reading, asserted.mention)
            and (section is None or section.field not in ("plan",))
        ):
            former = _as_history(asserted)
            if former.status is Status.DONE and _of_former(reading, asserted.mention):
                former = Asserted(asserted.mention, Status.HISTORICAL)
            yield found(PREOPERATIVE, asserted.mention.id, former)


def _of_former(reading: Reading, mention: Mention) -> bool:
    """ "Previous vitrectomy in this eye for a macular hole": what an earlier operation was done for."""
    led = reading.words[max(0, mention.start - 2) : mention.start]
    if led[-1:] != ("for",) and led not in (("for", "a"), ("for", "an")):
        return False
    first, _ = reading.sentence(mention.start)
    near = reading.between(max(first, mention.start - FORMER_REACH), mention.start)
    former = (a for a in near if a.status is Status.HISTORICAL and a.mention.kind in ("procedure", "step"))
    return any(former) or any(a.mention.id == VITRECTOMIZED for a in near)


def _as_history(named: Asserted) -> Asserted:
    """ "Previous LASIK": what was done to an eye before is no reason for an operation, unless a label says so."""
    term = named.mention.term
    before = named.status is Status.DONE and term is not None and "history" in term.classes
    return Asserted(named.mention, Status.HISTORICAL) if before else named


def _is_bare_cataract(reading: Reading, named: Asserted) -> bool:
    """ "Right eye, cataract", "cataract and glaucoma": named at the head as what is wrong, and no kind of it anywhere.

    "Cataract surgery", "cataract list" name no diagnosis.
    """
    mention = named.mention
    if named.status is not Status.DONE or mention.start > HEAD or CATARACT_OF & {*reading.words[mention.end :][:1]}:
        return False
    if any(a.mention.start < mention.start for a in reading.done("step")):
        return False
    before = reading.words[mention.start - 1] if mention.start else "\n"
    told = before in PAUSES | LEADS_DIAGNOSIS or reading.words[max(0, mention.start - 2) : mention.start] == (
        "in",
        "for",
    )
    sided = any(
        a.mention.end == mention.start and a.mention.kind == "eye"
        for a in reading.between(mention.start - 3, mention.start)
    )
    of_kind = any(a.mention.id.endswith("_cataract") for a in reading.done("diagnosis"))
    return (told or sided) and not of_kind


def _labeled(diagnosis: Asserted) -> Asserted:
    """Under its label a diagnosis is this eye's ("Indication: a cataract in an eye with …"), no habit.

    Nor is it a mere possibility where the talk of risks comes behind it ("… cataract consent covered infection").
    """
    habit = diagnosis.status is Status.HABITUAL
    behind = diagnosis.cue is not None and diagnosis.cue.start >= diagnosis.mention.end
    doubt = diagnosis.status is Status.HYPOTHETICAL and behind
    return Asserted(diagnosis.mention, Status.DONE) if habit or doubt else diagnosis


def _outcome(reading: Reading, mention: Mention) -> bool:
    """ "Left aphakic", "she is aphakic for now" tell how the operation ended, not why it was done."""
    sided = {i for a in reading.of("eye") for i in range(a.mention.start, a.mention.end)}
    before = {reading.words[i] for i in range(max(0, mention.start - 2), mention.start + 1) if i not in sided}
    return not OUTCOME.isdisjoint(before) or reading.words[mention.end : mention.end + 2] in UNTIL_LATER


def _both_diagnoses(reading: Reading, section: Section) -> bool:
    """ "Pre- and postoperative diagnosis" speaks of both."""
    label = " ".join(reading.words[max(0, section.label.start - 3) : section.label.end])
    return section.field == PREOPERATIVE and bool(re.search(r"\bpost ?(op|operative)", label))


def _bind_same(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """ "Postoperative diagnosis: same" repeats the diagnosis before it."""
    for section in sections:
        if section.field != POSTOPERATIVE or "same" not in reading.words[section.start : section.start + 2]:
            continue
        at = reading.words.index("same", section.start)
        word = Mention(at, at + 1, "word", "same")
        for asserted in reading.of("diagnosis"):
            other = section_at(sections, asserted.mention.start)
            if other is not None and other.field == PREOPERATIVE and _near_enough(reading, asserted.mention):
                yield Found(POSTOPERATIVE, asserted.mention.id, asserted.status, (word, asserted.mention), asserted.cue)

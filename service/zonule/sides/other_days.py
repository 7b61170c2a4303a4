"""Whether talk of an eye is of another day or operation, or of this one by a label or "today"."""

from bisect import bisect_left
from collections.abc import Sequence

from zonule.annotation.mentions import Annotation, Clause, Mention
from zonule.assertion import Asserted
from zonule.sides.words import (
    AGO,
    ALSO,
    APART,
    DETERMINERS,
    DONE,
    HAVING,
    OPERATIONS,
    OWNERS,
    STATED,
    YEARS,
)
from zonule.vocabulary import Status


def was_planned(annotation: Annotation, cue: Mention) -> bool:
    """ "Right eye, it was planned as a phaco": what was to be done to the operated eye."""
    planned = cue.cue is not None and cue.cue.status is Status.PLANNED
    return planned and "was" in annotation.words[cue.start : cue.end]


def _is_year(annotation: Annotation, mention: Mention) -> bool:
    """ "In 2017", "phaco 2023"."""
    value = mention.quantity.value if mention.quantity is not None else None
    if mention.id != "number" or not isinstance(value, float | int) or not YEARS[0] <= value <= YEARS[1]:
        return False
    return mention.end - mention.start == 1 and len(annotation.words[mention.start]) == 4


def is_owned(annotation: Annotation, side: Mention) -> bool:
    return annotation.words[max(0, side.start - 1) : side.start] in OWNERS


def is_anchored(annotation: Annotation, side: Mention, *, procedures: bool = True) -> bool:
    """Whether a label, "today" or (with `procedures`) an operation beside an eye says that it is the operated one."""
    clause = annotation.clause_of[side.start]
    if procedures and any(m.kind == "procedure" for m in annotation.mentions_between(side.end, side.end + 2)):
        return True
    start = max(0, side.start - 14)
    for mention in annotation.mentions_between(start, side.end + 8):
        same = annotation.clause_of[mention.start] == clause
        if same and mention.cue is not None and mention.cue.anchor and not _ends_before(annotation, mention, side):
            return True
        near = mention.start <= side.start and side.start - mention.end <= 12
        near = near and not _told_between(annotation, mention, side)
        labels = mention.kind == "field" and (same or _ends_its_line(annotation, mention, side))
        if (
            near
            and (
                labels
                or (
                    procedures
                    and mention.kind == "procedure"
                    and same
                    and not _of_eye_before(annotation, mention, side)
                )
            )
            and mention.id.startswith(OPERATIONS)
        ):
            return True
    return False


def _told_between(annotation: Annotation, label: Mention, side: Mention) -> bool:
    """Whether the course of the operation is told between a label and an eye: the label is not that of the eye."""
    held = annotation.mentions_between(label.end, side.start)
    steps = (m.term.fills if m.term is not None else {} for m in held if m.kind == "step")
    return any("operation.procedures" not in fills for fills in steps)


def _ends_before(annotation: Annotation, anchor: Mention, side: Mention) -> bool:
    """ "31 mm in this eye | the right retina detached": talk of this eye ends where another one is named at once."""
    between = annotation.words[anchor.end : side.start]
    return anchor.end <= side.start and set(between) <= DETERMINERS and annotation.words[anchor.end - 1] == "eye"


def _of_eye_before(annotation: Annotation, procedure: Mention, side: Mention) -> bool:
    """ "Left eye phaco … | the right eye had": the operation is not that of an eye with a statement of its own."""
    words = annotation.words
    states = words[side.start - 1] in DETERMINERS and words[side.end : side.end + 1] in STATED
    before = annotation.mentions_between(max(0, procedure.start - 2), procedure.start)
    return states or any(m.kind == "eye" for m in before)


def _ends_its_line(annotation: Annotation, label: Mention, side: Mention) -> bool:
    """Whether a label stands in the sentence of an eye, or alone before it, with no eye between."""
    held = annotation.mentions_between(label.end, side.start)
    if any(m.kind == "eye" for m in held):
        return False
    apart = annotation.sentence_of(label.start) != annotation.sentence_of(side.start)
    return not apart or not any(word.isalnum() for word in annotation.words[label.end : side.start])


def told_apart(annotation: Annotation, side: Mention, asserted: Sequence[Asserted]) -> bool:
    """Whether talk of the other side says that it is of another day or another operation.

    Without such words both sides are named for one operation, which is a contradiction and must be asked about.
    """
    if not ALSO.isdisjoint(annotation.words[side.end : side.end + 3]):
        return True
    clause = annotation.clauses[annotation.clause_of[side.start]]
    start, end = max(clause.start - 3, side.start - 8, 0), min(_end_of(annotation, clause) + 3, side.end + 12)
    if "which" in annotation.words[side.end : side.end + 2]:
        end = side.end + (12 if is_owned(annotation, side) else 0)
    sentence = annotation.sentence_of(side.start)
    if is_anchored(annotation, side):
        start, end = side.start, min(_end_of(annotation, clause), side.end + 6)
    others = [m.start for m in annotation.mentions_between(side.end, end) if m.kind == "eye" and m.id != side.id]
    end = min(end, *others) if others else end
    for mention in annotation.mentions_between(start, end):
        if annotation.sentence_of(mention.start) != sentence:
            continue
        if mention.key == "word:another_day" or _long_ago(annotation, mention):
            return True
        if _of_another_day(mention) and not was_planned(annotation, mention):
            return True
        if _is_done_before(annotation, side, mention):
            return True
        if _is_year(annotation, mention):
            return True
    at = bisect_left(asserted, side.start, key=lambda a: a.mention.start)
    own = [a for a in asserted[at : at + 6] if a.mention.start == side.start and a.mention.kind == "eye"]
    return any(a.status in APART for a in own) or annotation.words[side.end : side.end + 1] == ("one",)


def _of_another_day(cue: Mention) -> bool:
    """Whether wording tells of another day or eye; what speaks of drugs alone ("has been on tamsulosin") does not."""
    return cue.cue is not None and cue.cue.status in APART and not cue.cue.kinds


def _end_of(annotation: Annotation, clause: Clause) -> int:
    """Where a clause ends; "the right eye had" ends with what it had done."""
    if annotation.words[clause.end - 1] in HAVING and clause.end < len(annotation.words):
        return annotation.clauses[annotation.clause_of[clause.end]].end
    return clause.end


def _is_done_before(annotation: Annotation, side: Mention, date: Mention) -> bool:
    """ "OD done 1/26/26": a date behind an eye, with the word that it was done."""
    if date.kind != "quantity" or not date.id.startswith("date") or date.start < side.end:
        return False
    return not DONE.isdisjoint(annotation.words[side.end : date.start])


def _long_ago(annotation: Annotation, mention: Mention) -> bool:
    """ "Three years ago", "in December 2024"; an age is no time."""
    if mention.kind != "quantity":
        return False
    behind = annotation.words[mention.end : mention.end + 1]
    before = annotation.words[max(0, mention.start - 1) : mention.start]
    if mention.id.startswith("duration") and before == ("in",) and behind in ((",",), (".",)):
        return True
    return (mention.id.startswith("duration") and bool(AGO & set(behind))) or (
        mention.id == "month" and before == ("in",)
    )

"""What was said of the other eye: once the operated side is known, talk of the other one is told apart."""

from collections.abc import Collection, Iterator, Sequence

from zonule.annotation.mentions import Annotation, Clause, Mention
from zonule.assertion import Asserted
from zonule.sides.other_days import is_anchored, is_owned, told_apart, was_planned
from zonule.sides.words import (
    ACTS,
    APART,
    GOVERNING,
    HEAD,
    IDLE,
    IDLE_REACH,
    LATER,
    LONG_SENTENCE,
    MOST,
    NAMES,
    NOT_HERE,
    NOT_HERE_REACH,
    OPERATED,
    OPPOSITE,
    OWNERS,
    PATCHED,
    REACH_BACK,
    SAYS,
    STATED,
    TELLING,
)
from zonule.vocabulary import Status


def identify_eyes(annotation: Annotation, asserted: Sequence[Asserted]) -> list[Asserted]:
    """The eye is what it is, whatever habit or doubt its clause tells of; and a head like "Right eye, …" names it."""
    return [_identified(annotation, a) if a.mention.kind == "eye" else a for a in asserted]


def _identified(annotation: Annotation, eye: Asserted) -> Asserted:
    if eye.status in (Status.HABITUAL, Status.HYPOTHETICAL, Status.NOT_DONE):
        return Asserted(eye.mention, Status.DONE)
    was = eye.cue is not None and was_planned(annotation, eye.cue)
    if eye.status is Status.PLANNED and (was or is_anchored(annotation, eye.mention, procedures=False)):
        return Asserted(eye.mention, Status.DONE)
    clause = annotation.clauses[annotation.clause_of[eye.mention.start]]
    heads = eye.mention.start == clause.start and annotation.words[eye.mention.end : eye.mention.end + 1] in (
        (",",),
        (".",),
    )
    return Asserted(eye.mention, Status.DONE) if heads and eye.status is Status.HISTORICAL else eye


def tell_sides_apart(
    annotation: Annotation, asserted: Sequence[Asserted], corrected: Collection[int] = ()
) -> list[Asserted]:
    """The same mentions; those told of the eye on the other side get the status `other_eye`.

    `corrected` are the words at which an eye begins that was said in place of another.
    """
    asserted = identify_eyes(annotation, asserted)
    sides = _sides(annotation, asserted)
    told = {a.mention.start for a in asserted if a.status is Status.DONE and a.mention.kind == "eye"}
    apart = {m.start for m in sides if told_apart(annotation, m, asserted)}
    today = [m for m in sides if m.start in told and m.start not in apart]
    acts = _act_clauses(annotation, asserted)
    acted_on = {m.id for m in today if annotation.clause_of[m.start] in acts or is_anchored(annotation, m)}
    alert = [m for m in today if not _rests(annotation, m)]
    awake = {m.id for m in alert}
    acted_on = acted_on & awake if awake else acted_on
    meant = {m.id for m in sides if m.start in corrected}
    late = _told_last(annotation, sides, asserted)
    settled = (
        (meant.pop() if len(meant) == 1 else "")
        or _under_label(annotation, alert)
        or _named_first(annotation, sides, apart | late)
        or _named_alone(annotation, alert, acted_on)
    )
    operated = settled or (acted_on.pop() if len(acted_on) == 1 else _operated(today))
    if not operated and len(awake) == 1:
        operated = next(iter(awake))
    other = OPPOSITE.get(operated)
    if other is None:
        return list(asserted)
    named = [m for m in sides if m.id == other]
    marked: dict[int, Mention] = {}
    owned = {m.start for m in named if settled and is_owned(annotation, m) and _in_passing(annotation, m)}
    if other not in acted_on:
        owned |= {m.start for m in named if annotation.words[m.end : m.end + 1] in STATED}
    for mention in [m for m in named if m.start in apart | owned][:MOST]:
        for clause in _reach(annotation, mention, sides):
            marked.setdefault(clause, mention)
    passing = {m.start for m in named if settled and (m.start in late or _in_passing(annotation, m))}
    idle = passing | {m.start for m in named if m.start in apart or other not in acted_on}
    found = [_marked(annotation, a, marked.get(annotation.clause_of[a.mention.start]), operated) for a in asserted]
    return [_idle(a) if a.mention.kind == "eye" and a.mention.start in idle else a for a in found]


def _named_first(annotation: Annotation, sides: Sequence[Mention], apart: Collection[int]) -> str:
    """The side that is named first in a dictation, where the other one is only named in passing; "" where it is not."""
    first = next((m for m in sides if m.start < HEAD), None)
    if first is None or first.start in apart or _in_passing(annotation, first):
        return ""
    others = [m for m in sides if m.id != first.id]
    passing = all(m.start in apart or _in_passing(annotation, m) for m in others)
    return first.id if passing else ""


def _told_last(annotation: Annotation, sides: Sequence[Mention], asserted: Sequence[Asserted]) -> set[int]:
    """Where an eye is spoken of when every step is told ("… no leak. The left eye, she's got the same iris")."""
    steps = [a.mention.start for a in asserted if a.mention.kind == "step" and a.status is Status.DONE]
    words = annotation.words
    late = [m for m in sides if steps and m.start > max(steps)]
    behind = {m.start: m.end + (words[m.end : m.end + 1] == (",",)) for m in late}
    return {start for start, at in behind.items() if words[at : at + 1] in LATER}


def _named_alone(annotation: Annotation, sides: Sequence[Mention], acted_on: Collection[str]) -> str:
    """The one side that is a sentence by itself at the beginning ("Right eye."), where none is acted on but it."""
    alone = {m.id for m in sides if m.start < HEAD and _is_sentence(annotation, m)}
    side = alone.pop() if len(alone) == 1 else ""
    return side if set(acted_on) <= {side} else ""


def _is_sentence(annotation: Annotation, side: Mention) -> bool:
    first, last = annotation.sentences[annotation.sentence_of(side.start)]
    held = annotation.words[annotation.clauses[first].start : annotation.clauses[last].end]
    return sum(word.isalnum() for word in held) == side.end - side.start


def _in_passing(annotation: Annotation, side: Mention) -> bool:
    """Whether a side is the patient's other one ("her right eye had …"), or one that nothing is done to."""
    words = annotation.words
    before = set(words[max(0, side.start - 3) : side.start])
    if _rests(annotation, side) or _not_here(annotation, side) or PATCHED & before or _of_another(annotation, side):
        return True
    return is_owned(annotation, side) and (words[max(0, side.start - 2)] not in SAYS or "that" in before)


def _not_here(annotation: Annotation, side: Mention) -> bool:
    """ "In the right eye I'd had to use a hook; not here": what is told of an eye that is not this one."""
    behind = annotation.words[side.end : side.end + NOT_HERE_REACH]
    return any(behind[i : i + 2] in NOT_HERE for i in range(len(behind)))


def _of_another(annotation: Annotation, side: Mention) -> bool:
    """Whether words before an eye in its sentence speak of what is to come, of before, or of somebody else."""
    first, _ = annotation.sentences[annotation.sentence_of(side.start)]
    start = max(annotation.clauses[first].start, side.start - REACH_BACK)
    cues = (m for m in annotation.mentions_between(start, side.start) if m.cue is not None)
    return any(m.cue is not None and (m.cue.status in APART or m.id == "told_of") for m in cues)


def _rests(annotation: Annotation, side: Mention) -> bool:
    """Whether it is said right behind an eye, in its sentence, that nothing is done to it."""
    _, last = annotation.sentences[annotation.sentence_of(side.start)]
    end = min(side.end + IDLE_REACH, annotation.clauses[last].end)
    return not IDLE.isdisjoint(annotation.words[side.end : end])


def _idle(eye: Asserted) -> Asserted:
    """The other eye, named without anything done to it; its name alone says so, and is asked about."""
    return Asserted(eye.mention, Status.OTHER_EYE, eye.mention)


def _act_clauses(annotation: Annotation, asserted: Sequence[Asserted]) -> frozenset[int]:
    """The clauses in which an eye is operated on: something was done, and not to cover it."""
    acts = {
        annotation.clause_of[a.mention.start]
        for a in asserted
        if a.status is Status.DONE
        and (
            a.mention.kind == "procedure"
            or (a.mention.kind == "step" and a.mention.id != "dressing")
            or (a.mention.kind == "action" and a.mention.tense == "past" and a.mention.id in ACTS)
        )
    }
    told = (annotation.clause_of[i] for i, word in enumerate(annotation.words) if word in OPERATED)
    clauses = annotation.clauses
    return frozenset(c for c in acts | set(told) if not IDLE & set(annotation.words[clauses[c].start : clauses[c].end]))


def _marked(annotation: Annotation, asserted: Asserted, mention: Mention | None, operated: str) -> Asserted:
    if mention is None or asserted.mention.key == f"eye:{operated}":
        return asserted
    if asserted.mention.end <= mention.start and _begins_anew(annotation, mention):
        return asserted
    return Asserted(asserted.mention, Status.OTHER_EYE, mention)


def _sides(annotation: Annotation, asserted: Sequence[Asserted]) -> list[Mention]:
    """Eyes named in full, and bare sides that stand for an eye."""
    named = [a.mention for a in asserted if a.mention.kind == "eye" and a.mention.id in OPPOSITE]
    held = {i for m in named for i in range(m.start, m.end)}
    words = annotation.words
    bare = [
        Mention(i, i + 1, "eye", word)
        for i, word in enumerate(words)
        if word in OPPOSITE and i not in held and _stands_for_eye(words, i)
    ]
    return sorted([*named, *bare], key=lambda m: m.start)


def _stands_for_eye(words: Sequence[str], i: int) -> bool:
    """ "The right was done last year", "her left in spring", "with him it's the right"."""
    before, behind = words[max(0, i - 1) : i], words[i + 1 : i + 2]
    if tuple(before) in (("the",), *OWNERS) and behind and behind[0] in NAMES:
        return True
    owned = tuple(before) in OWNERS and bool(behind) and behind[0] == "in"
    told = tuple(before) == ("the",) and tuple(words[max(0, i - 2) : i - 1]) in TELLING
    return owned or (told and (not behind or behind[0] in ".,;!"))


def _under_label(annotation: Annotation, sides: Sequence[Mention]) -> str:
    """The one side that stands under a label or "today"; "" when there is none or more than one."""
    anchored = {m.id for m in sides if is_anchored(annotation, m)}
    return anchored.pop() if len(anchored) == 1 else ""


def _operated(sides: Sequence[Mention]) -> str:
    """The only side; "" when in doubt: how often an eye is named says nothing of which was operated on."""
    named = {m.id for m in sides}
    return named.pop() if len(named) == 1 else ""


def _reach(annotation: Annotation, side: Mention, sides: Sequence[Mention]) -> list[int]:
    """The clause of a side, and those that go on about it ("that one", "it") in the same sentence."""
    first = annotation.clause_of[side.start]
    if any(m.id != side.id and annotation.clause_of[m.start] == first for m in sides):
        return []
    reach = [first]
    sentence = annotation.clauses[first].sentence
    length = annotation.sentence_length(side.start)
    sided = {annotation.clause_of[m.start] for m in sides}
    for number in range(first + 1, min(first + 6, len(annotation.clauses))):
        clause = annotation.clauses[number]
        words = annotation.words[clause.start : clause.end]
        anchored = any(
            m.cue is not None and m.cue.anchor for m in annotation.mentions_between(clause.start, clause.end)
        )
        if clause.sentence != sentence or anchored or number in sided or _leaves(annotation, clause):
            break
        told_on = words[:1] == ("and",) and not {"i", "we"} & set(words[:4])
        fronted = number == first + 1 and annotation.clauses[first].end == side.end and {"we", "i"} & set(words[:1])
        goes_on = fronted or {"that", "it", "which"} & set(words[:3]) or clause.tense == "none" or told_on
        if not goes_on and (length > LONG_SENTENCE or {"today", "here", "but", "so"} & set(words[:3])):
            break
        reach.append(number)
    return [*reach, *_that_eye(annotation, reach[-1] + 1, sided)]


def _that_eye(annotation: Annotation, number: int, sided: Collection[int]) -> Iterator[int]:
    """The clauses of the next sentence that goes on about an eye ("That eye lost vitreous and ended up with …")."""
    clauses = annotation.clauses
    if number >= len(clauses) or clauses[number - 1].sentence == clauses[number].sentence:
        return
    if annotation.words[clauses[number].start : clauses[number].start + 2] != ("that", "eye"):
        return
    _, last = annotation.sentences[clauses[number].sentence]
    yield from (at for at in range(number, last + 1) if at not in sided)


def _begins_anew(annotation: Annotation, side: Mention) -> bool:
    """Whether raw text turns to the other eye at its name ("… no complications | his right eye in March took a 21")."""
    words = annotation.words
    led = words[max(0, side.start - 1) : side.start] in (*OWNERS, ("the",))
    before = words[max(0, side.start - 2)] if side.start > 1 else ","
    return led and before not in GOVERNING and annotation.sentence_length(side.start) > LONG_SENTENCE


def _leaves(annotation: Annotation, clause: Clause) -> bool:
    """Whether a clause leaves what was said of the other eye: under a label, or with "so" or "but" and what we did."""
    labeled = any(
        m.kind == "field" and m.id.startswith(("operation.procedures", "anesthesia", "operation.pre"))
        for m in annotation.mentions_between(clause.start, clause.end)
    )
    words = annotation.words[clause.start : clause.start + 3]
    return labeled or (words[:1] in (("so",), ("but",)) and bool({"i", "we"} & set(words)))

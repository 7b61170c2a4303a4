"""How far a cue reaches that speaks of its sentence: to where talk turns back to this eye. Pure word-range logic."""

from itertools import pairwise

from zonule.annotation.mentions import Annotation, Clause, Mention
from zonule.vocabulary import Status

LONG_SENTENCE = 45
"""Words; in a longer one (raw text) a sentence-wide cue reaches only to the next clause that tells the past."""
UNBROKEN = 14
"""Words; a longer sentence without any punctuation inside is raw text too."""
FAR = 12
"""Clauses that a sentence-wide cue may reach over in raw text."""
PERSONS = frozenset({"i", "we", "you", "they"})
RELATIVES = frozenset({"where", "which", "who", "whose"})
"""Words that begin a clause about what the one before tells of."""
PAUSES = frozenset(".,:;!?")
SILENT_KINDS = frozenset({"cue", "word", "correction"})


def status_of(cue: Mention) -> Status:
    """What a cue says of what it reaches; done where it has no status."""
    return cue.cue.status if cue.cue is not None and cue.cue.status is not None else Status.DONE


def is_long(annotation: Annotation, mention: Mention) -> bool:
    """Whether a sentence is raw text: very long, or without any mark inside."""
    length = annotation.sentence_length(mention.start)
    first, last = annotation.sentences[annotation.sentence_of(mention.start)]
    start, end = annotation.clauses[first].start, annotation.clauses[last].end
    return length > LONG_SENTENCE or (length > UNBROKEN and not PAUSES & set(annotation.words[start:end]))


def sentence_reach(annotation: Annotation, mention: Mention) -> tuple[int, int]:
    """The words of the sentence that a cue speaks of, which end where the talk turns back to this eye."""
    at = annotation.clause_of[mention.start]
    clauses = annotation.clauses
    first, last = annotation.sentences[clauses[at].sentence]
    raw = is_long(annotation, mention)
    reach = at
    while reach < (min(last, at + FAR) if raw else last):
        following = clauses[reach + 1]
        told = _is_told_of(annotation, following) or (
            status_of(mention) is Status.HISTORICAL and following.tense != "modal"
        )
        relative = annotation.words[following.start] in RELATIVES
        if (raw and told and not relative) or _turns_back(annotation, mention, following):
            break
        reach += 1
    return clauses[at if raw else _back(annotation, at, first)].start, clauses[reach].end


def _is_told_of(annotation: Annotation, clause: Clause) -> bool:
    """Whether raw text tells in a clause what was done; "we pack it" has a verb of its own, in the present."""
    if clause.tense != "none" or clause.subject not in PERSONS:
        return clause.tense in ("past", "none")
    words = annotation.words[clause.start : clause.end]
    return any(verb.endswith("ed") for who, verb in pairwise(words) if who == clause.subject)


def _turns_back(annotation: Annotation, cue: Mention, clause: Clause) -> bool:
    """Whether a clause behind a cue is of this eye again: "… today", or after a doubt or consent what was done."""
    held = annotation.mentions_between(clause.start, clause.end)
    if any(m.cue is not None and m.cue.anchor for m in held):
        return True
    if status_of(cue) is Status.HYPOTHETICAL and _plans_anew(annotation, cue, clause):
        return True
    if status_of(cue) is not Status.HYPOTHETICAL or clause.tense != "past":
        return False
    explained = cue.cue is not None and cue.cue.direction == "both"
    return annotation.words[clause.start] in ("but", "so") or (explained and any(m.kind == "step" for m in held))


def _plans_anew(annotation: Annotation, cue: Mention, clause: Clause) -> bool:
    """ "A tablet tonight if the pressure is up, and I will see him in a week": what follows hangs on no condition.

    The condition must stand behind what hangs on it.
    """
    opening = annotation.clauses[annotation.clause_of[cue.start]].start
    before = annotation.mentions_between(opening, cue.start)
    words = annotation.words[clause.start : clause.start + 3]
    led = words[:1] == ("and",) and annotation.words[clause.start - 1] == ","
    wills = words[1:2] in (("i'll",), ("we'll",)) or words[1:] in (("i", "will"), ("we", "will"))
    return led and wills and any(m.kind not in SILENT_KINDS for m in before)


def _back(annotation: Annotation, at: int, first: int) -> int:
    """The first clause of the sentence that a cue in a later one still speaks of: none that tells of this eye."""
    while at > first:
        before = annotation.clauses[at - 1]
        if any(m.cue is not None and m.cue.anchor for m in annotation.mentions_between(before.start, before.end)):
            break
        at -= 1
    return at

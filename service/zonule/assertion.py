"""Was it done? Every mention's status, with the cue that decided. Pure word-range logic."""

from collections.abc import Sequence
from dataclasses import dataclass

from zonule.annotation.mentions import Annotation, Clause, Mention
from zonule.vocabulary import Status

PRECEDENCE = (
    Status.OTHER_EYE, Status.HISTORICAL, Status.HYPOTHETICAL, Status.HABITUAL, Status.PLANNED, Status.NOT_DONE,
)  # fmt: skip
TEACHING_CUES = 2
"""Habit cues from which a dictation counts as a teaching talk, where the present tense tells what one does."""
LONG_SENTENCE = 45
"""Words; in a longer one (raw text) a sentence-wide cue reaches only to the next clause that tells the past."""
UNBROKEN = 14
"""Words; a longer sentence without any punctuation inside is raw text too."""
FAR = 12
"""Clauses that a sentence-wide cue may reach over in raw text."""
REACH = 60
"""Words over which a list of denials is followed."""
NEAR = 4
"""Words behind a denial within which the thing stands that it denies."""
LEAD = 5
"""Words; in raw text a sentence-wide cue that stands later in its clause speaks only of what came before it."""
SILENT_KINDS = frozenset({"cue", "word", "correction"})
YEARS = (1940, 2035)
DATED = frozenset({"procedure", "step", "action", "complication", "implant", "anesthesia", "thing"})
"""Kinds of what was done in a year that is said."""
STATES = frozenset({"diagnosis", "nucleus_grade", "finding", "eye", "title"})
"""Kinds of which the present tense tells how this eye is, in a teaching talk too."""
PRONOUNS = frozenset({"that", "this", "it", "which", "these", "those", "they"})
LEADING = frozenset({
    "but", "and", "i", "we", "he", "she", "had", "have", "them", "since", "as", "because", "was", "were", "then",
    "so", "though", "both", "one", "also", "in", "the", "end",
})  # fmt: skip
"""Words that may stand before a denial that has no thing of its own."""
OPENED = frozenset({",", "a", "an", "the"})
PAUSES = frozenset(".,:;!?")
LINKS = frozenset({",", "or", "and", "nor", "a", "an", "any", "the", "further", "other", "of", "&", "/", "no"})


@dataclass(frozen=True, slots=True)
class Asserted:
    """A mention with its status; `cue` is the wording that decided, None for done."""

    mention: Mention
    status: Status
    cue: Mention | None = None


def assert_mentions(annotation: Annotation) -> list[Asserted]:
    """The status of every mention that names something, in order."""
    cues = _live_cues(annotation)
    found = _by_scope(annotation, cues)
    frames = _frames(annotation, cues)
    years = _years(annotation)
    asserted = []
    for mention in annotation.mentions:
        if mention.kind in SILENT_KINDS:
            continue
        hits = found.get(mention.start, ()) or found.get(mention.end - 1, ())
        hits = tuple(h for h in hits if h.cue is None or not h.cue.kinds or mention.kind in h.cue.kinds)
        frame, by_tense = frames[annotation.clause_of[mention.start]]
        if (
            frame is not None
            and not (by_tense and mention.kind in STATES)
            and not any(_status(h) is Status.OTHER_EYE for h in hits)
        ):
            hits = (*hits, frame)
        decided = _decide(mention, hits)
        year = years.get(annotation.clause_of[mention.start])
        if year is not None and decided.status is Status.DONE and mention.kind in DATED:
            decided = Asserted(mention, Status.HISTORICAL, year)
        asserted.append(decided)
    return asserted


def _years(annotation: Annotation) -> dict[int, Mention]:
    """The clauses that tell of a former year ("she had a trabeculectomy in 1998"), with its number."""
    found = {}
    for mention in annotation.mentions:
        value = mention.quantity.value if mention.id == "number" and mention.quantity is not None else None
        clause = annotation.clause_of[mention.start]
        said = annotation.words[max(0, mention.start - 1) : mention.end]
        if (
            isinstance(value, float | int)
            and YEARS[0] <= value <= YEARS[1]
            and said[0] in ("in", "since")
            and len(said) == 2
            and annotation.clauses[clause].tense == "past"
        ):
            found[clause] = mention
    return found


def _status(cue: Mention) -> Status:
    return cue.cue.status if cue.cue is not None and cue.cue.status is not None else Status.DONE


def _decide(mention: Mention, hits: Sequence[Mention]) -> Asserted:
    for status in PRECEDENCE:
        for hit in hits:
            if _status(hit) is status:
                return Asserted(mention, status, hit)
    return Asserted(mention, Status.DONE)


def _live_cues(annotation: Annotation) -> list[Mention]:
    return [
        m
        for m in annotation.mentions
        if m.cue is not None
        and m.cue.status is not None
        and not _of_today(annotation, m)
        and (not m.cue.tenses or annotation.clauses[annotation.clause_of[m.start]].tense in m.cue.tenses)
    ]


def _of_today(annotation: Annotation, cue: Mention) -> bool:
    """ "Ten minutes ago" is no history."""
    if annotation.words[cue.start : cue.end] != ("ago",):
        return False
    before = annotation.mentions_between(max(0, cue.start - 4), cue.start)
    return any(m.id == "duration_s" and m.end == cue.start for m in before) or annotation.words[
        max(0, cue.start - 1)
    ] in ("minutes", "minute", "hour", "hours", "moment")


def _by_scope(annotation: Annotation, cues: Sequence[Mention]) -> dict[int, tuple[Mention, ...]]:
    """For each word, the cues whose scope holds it."""
    found: dict[int, tuple[Mention, ...]] = {}
    for cue in cues:
        for word in _scope(annotation, cue):
            found[word] = (*found.get(word, ()), cue)
    return found


def _scope(annotation: Annotation, mention: Mention) -> Sequence[int]:
    cue = mention.cue
    if cue is None:
        return ()
    clause = annotation.clauses[annotation.clause_of[mention.start]]
    if cue.scope == "list":
        return (_list_before if cue.direction == "backward" else _list_after)(annotation, mention)
    start, end = clause.start, clause.end
    if cue.scope == "sentence":
        start, end = _sentence_reach(annotation, mention)
        if cue.direction == "both" and mention.start - clause.start > LEAD and _is_long(annotation, mention):
            end = mention.start
    if cue.direction == "forward":
        start = mention.end
    elif cue.direction == "backward":
        end = mention.start
        start = _spoken_of(annotation, mention, start) if cue.window is None else start
        start = max(start, _denied_before(annotation, start, mention))
    if cue.direction == "forward" and cue.scope == "clause":
        end = next((i for i in range(start, end) if annotation.words[i] == "but"), end)
    if cue.window is not None:
        start, end = max(start, mention.start - cue.window), min(end, mention.end + cue.window)
    return range(start, end)


def _denied_before(annotation: Annotation, start: int, cue: Mention) -> int:
    """Where the denial before ends ("tears none, bleeding not seen"): what stands before it was denied or not by it."""
    denials = (
        m.end
        for m in annotation.mentions_between(start, cue.start)
        if m.cue is not None and m.end <= cue.start and m.cue.direction == "backward" and _status(m) is Status.NOT_DONE
    )
    return max(denials, default=start)


def _is_long(annotation: Annotation, mention: Mention) -> bool:
    """Whether a sentence is raw text: very long, or without any mark inside."""
    length = annotation.sentence_length(mention.start)
    first, last = annotation.sentences[annotation.sentence_of(mention.start)]
    start, end = annotation.clauses[first].start, annotation.clauses[last].end
    return length > LONG_SENTENCE or (length > UNBROKEN and not PAUSES & set(annotation.words[start:end]))


def _spoken_of(annotation: Annotation, cue: Mention, start: int) -> int:
    """ "That was not used", "but not given": without a thing of its own a denial reaches back to the clause before."""
    words = annotation.words[start : cue.start]
    if not set(words) <= PRONOUNS | LEADING or len(words) > 4:
        return start
    at = annotation.clause_of[start]
    behind = min(annotation.clauses[at].end, cue.end + NEAR)
    named = (*annotation.mentions_between(start, cue.start), *annotation.mentions_between(cue.end, behind))
    if at == 0 or any(m.kind not in SILENT_KINDS for m in named):
        return start
    before = annotation.clauses[at - 1]
    same = before.sentence == annotation.clauses[at].sentence
    return (
        before.start if same or PRONOUNS & set(words) or "neither" in annotation.words[cue.start : cue.end] else start
    )


def _is_told(annotation: Annotation, mention: Mention) -> bool:
    """Whether something is said of a thing ("instead of a ring, hooks were placed"): it closes no list."""
    return annotation.words[mention.end : mention.end + 1] in (("was",), ("were",))


def _list_before(annotation: Annotation, cue: Mention) -> list[int]:
    """What "none" or "nil" behind it denies: the thing right before, and the list that it closes."""
    window = cue.cue.window if cue.cue is not None and cue.cue.window else 3
    start = annotation.clauses[annotation.clause_of[cue.start]].start
    before = annotation.mentions_between(max(start, cue.start - REACH), cue.start)
    denied: list[int] = []
    at = cue.start
    for mention in reversed([m for m in before if m.kind not in SILENT_KINDS]):
        gap = set(annotation.words[mention.end : at])
        if denied and mention.end <= at and not (gap and gap <= LINKS):
            break
        if not denied and cue.start - mention.end >= window:
            break
        denied.extend(range(mention.start, mention.end))
        at = min(at, mention.start)
    return denied


def _anchored(annotation: Annotation) -> frozenset[int]:
    """The clauses that speak of this eye."""
    cued = (m for m in annotation.mentions if m.cue is not None and m.cue.anchor)
    return frozenset(annotation.clause_of[m.start] for m in cued)


def _sentence_reach(annotation: Annotation, mention: Mention) -> tuple[int, int]:
    """The words of the sentence that a cue speaks of, which end where the talk turns back to this eye."""
    at = annotation.clause_of[mention.start]
    clauses = annotation.clauses
    first, last = annotation.sentences[clauses[at].sentence]
    raw = _is_long(annotation, mention)
    reach = at
    while reach < (min(last, at + FAR) if raw else last):
        following = clauses[reach + 1]
        told = following.tense in ("past", "none") or (
            _status(mention) is Status.HISTORICAL and following.tense != "modal"
        )
        if (raw and told) or _turns_back(annotation, mention, following):
            break
        reach += 1
    return clauses[at if raw else _back(annotation, at, first)].start, clauses[reach].end


def _turns_back(annotation: Annotation, cue: Mention, clause: Clause) -> bool:
    """Whether a clause behind a cue is of this eye again: "… today", or after a doubt or consent what was done."""
    held = annotation.mentions_between(clause.start, clause.end)
    if any(m.cue is not None and m.cue.anchor for m in held):
        return True
    if _status(cue) is not Status.HYPOTHETICAL or clause.tense != "past":
        return False
    explained = cue.cue is not None and cue.cue.direction == "both"
    return annotation.words[clause.start] in ("but", "so") or (explained and any(m.kind == "step" for m in held))


def _back(annotation: Annotation, at: int, first: int) -> int:
    """The first clause of the sentence that a cue in a later one still speaks of: none that tells of this eye."""
    while at > first:
        before = annotation.clauses[at - 1]
        if any(m.cue is not None and m.cue.anchor for m in annotation.mentions_between(before.start, before.end)):
            break
        at -= 1
    return at


def _list_after(annotation: Annotation, cue: Mention) -> list[int]:
    """What "no" or "without" denies: the first thing named after it, and the list that it opens."""
    window = cue.cue.window if cue.cue is not None and cue.cue.window else 14
    clause_end = annotation.clauses[annotation.clause_of[cue.end - 1]].end
    verbal = annotation.words[cue.end - 1] == "to"
    denied: list[int] = []
    strung: list[int] = []
    kind = ""
    at = cue.end
    near = annotation.mentions_between(cue.end, cue.end + REACH)
    for mention in (m for m in near if m.kind not in SILENT_KINDS):
        gap = {annotation.words[i] for i in range(at, mention.start)}
        inside = range(mention.start, mention.end)
        if mention.start < at:
            (strung or denied).extend(inside)
            kind = "" if verbal and mention.kind == "action" and not strung else kind
        elif not kind:
            far = mention.start >= min(clause_end, cue.end + window)
            if PAUSES & gap or (not (gap and gap <= LINKS) if denied else far):
                break
            kind = "" if verbal and mention.kind == "action" else mention.kind
            denied.extend(inside)
        elif (
            not gap <= LINKS
            or not (gap or mention.kind == kind)
            or ("," in gap <= OPENED and _is_told(annotation, mention))
        ):
            break
        elif {"or", "nor"} & gap or (mention.kind == kind and not strung):
            denied, strung = [*denied, *strung, *inside], []
        else:
            strung.extend(inside)
        at = max(at, mention.end)
    return denied


def _frames(annotation: Annotation, cues: Sequence[Mention]) -> list[tuple[Mention | None, bool]]:
    """For each clause, the habit frame it stands in: opened by a habit cue, closed by "in this eye" or a past tense.

    With it, whether only the present tense of a teaching talk tells so.
    """
    habits: dict[int, Mention] = {}
    for mention in cues:
        if mention.cue is not None and mention.cue.scope == "frame":
            habits.setdefault(annotation.clause_of[mention.start], mention)
    anchors = _anchored(annotation)
    fields = {annotation.clause_of[m.start] for m in annotation.mentions if m.kind == "field"}
    teaching = len(habits) >= TEACHING_CUES
    latest = next(iter(habits.values()), None)
    frames: list[tuple[Mention | None, bool]] = []
    mode = "neutral"
    for at, clause in enumerate(annotation.clauses):
        if at in habits:
            latest = habits[at]
        opens = at == 0 or annotation.clauses[at - 1].sentence != clause.sentence
        mode = _next_mode(mode, clause, opens, at in habits, at in anchors, at in fields)
        told = mode == "habit" or (
            teaching
            and mode == "neutral"
            and clause.tense in ("present", "imperative", "modal")
            and at not in anchors
            and at not in fields
        )
        frames.append((latest if told else None, mode != "habit"))
    return frames


def _next_mode(mode: str, clause: Clause, opens: bool, habit: bool, anchor: bool, field: bool) -> str:
    """A habit frame also ends at a new sentence without a verb: telegraphic statements tell what was done."""
    if habit:
        return "habit"
    if anchor:
        return "case"
    if clause.tense == "past" or field or (opens and clause.tense == "none"):
        return "neutral" if mode == "habit" else mode
    return mode

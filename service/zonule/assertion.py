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
FAR = 12
"""Clauses that a sentence-wide cue may reach over in raw text."""
REACH = 60
"""Words over which a list of denials is followed."""
LEAD = 5
"""Words; in raw text a sentence-wide cue that stands later in its clause speaks only of what came before it."""
SILENT_KINDS = frozenset({"cue", "word", "correction"})
PRONOUNS = frozenset({"that", "this", "it", "which", "these", "those", "they"})
LEADING = frozenset(
    {
        "but",
        "and",
        "i",
        "we",
        "he",
        "she",
        "had",
        "have",
        "them",
        "since",
        "as",
        "because",
        "was",
        "were",
        "then",
        "so",
        "though",
        "both",
        "one",
        "also",
        "in",
        "the",
        "end",
    }
)
"""Words that may stand before a denial that has no thing of its own."""
LINKS = frozenset({",", "or", "and", "nor", "a", "an", "any", "the", "further", "other", "of", "&", "/", "no"})


@dataclass(frozen=True, slots=True)
class Asserted:
    """A mention with its status; `cue` is the wording that decided, None for done."""

    mention: Mention
    status: Status
    cue: Mention | None = None


def assert_mentions(annotation: Annotation) -> list[Asserted]:
    """The status of every mention that names something, in order."""
    found = _by_scope(annotation, _live_cues(annotation))
    frames = _frames(annotation)
    asserted = []
    for mention in annotation.mentions:
        if mention.kind in SILENT_KINDS:
            continue
        hits = found.get(mention.start, ()) or found.get(mention.end - 1, ())
        hits = tuple(h for h in hits if h.cue is None or not h.cue.kinds or mention.kind in h.cue.kinds)
        frame = frames[annotation.clause_of[mention.start]]
        if frame is not None and not any(_status(h) is Status.OTHER_EYE for h in hits):
            hits = (*hits, frame)
        asserted.append(_decide(mention, hits))
    return asserted


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
        return _list_after(annotation, mention)
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
    if cue.window is not None:
        start, end = max(start, mention.start - cue.window), min(end, mention.end + cue.window)
    return range(start, end)


def _is_long(annotation: Annotation, mention: Mention) -> bool:
    return annotation.sentence_length(mention.start) > LONG_SENTENCE


def _spoken_of(annotation: Annotation, cue: Mention, start: int) -> int:
    """ "That was not used", "but not given": without a thing of its own a denial reaches back to the clause before."""
    words = annotation.words[start : cue.start]
    if not set(words) <= PRONOUNS | LEADING or len(words) > 4:
        return start
    if any(m.kind not in SILENT_KINDS for m in annotation.mentions_between(start, cue.start)):
        return start
    at = annotation.clause_of[start]
    return annotation.clauses[at - 1].start if at else start


def _sentence_reach(annotation: Annotation, mention: Mention) -> tuple[int, int]:
    at = annotation.clause_of[mention.start]
    clauses = annotation.clauses
    first, last = annotation.sentences[clauses[at].sentence]
    if clauses[last].end - clauses[first].start <= LONG_SENTENCE:
        return clauses[first].start, clauses[last].end
    reach = at
    while reach < min(last, at + FAR) and clauses[reach + 1].tense not in ("past", "none"):
        reach += 1
    return clauses[at].start, clauses[reach].end


def _list_after(annotation: Annotation, cue: Mention) -> list[int]:
    """What "no" or "without" denies: the first thing named after it, and the list that it opens."""
    window = cue.cue.window if cue.cue is not None and cue.cue.window else 14
    clause_end = annotation.clauses[annotation.clause_of[cue.end - 1]].end
    denied: list[int] = []
    kind = ""
    at = cue.end
    near = annotation.mentions_between(cue.end, cue.end + REACH)
    for mention in (m for m in near if m.kind not in SILENT_KINDS):
        gap = [annotation.words[i] for i in range(at, mention.start)]
        if not denied and (mention.start >= min(clause_end, cue.end + window) or "," in gap or "." in gap):
            break
        linked = mention.kind == kind or "nor" in gap
        if denied and mention.start >= at and not (set(gap) <= LINKS and linked):
            break
        if not denied:
            kind = mention.kind
        denied.extend(range(mention.start, mention.end))
        at = max(at, mention.end)
    return denied


def _frames(annotation: Annotation) -> list[Mention | None]:
    """For each clause, the habit frame it stands in: opened by a habit cue, closed by "in this eye" or a past tense."""
    habits: dict[int, Mention] = {}
    anchors: set[int] = set()
    for mention in annotation.mentions:
        if mention.cue is not None:
            at = annotation.clause_of[mention.start]
            if mention.cue.anchor:
                anchors.add(at)
            elif mention.cue.scope == "frame":
                habits.setdefault(at, mention)
    fields = {annotation.clause_of[m.start] for m in annotation.mentions if m.kind == "field"}
    teaching = len(habits) >= TEACHING_CUES
    latest = next(iter(habits.values()), None)
    frames: list[Mention | None] = []
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
        frames.append(latest if told else None)
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

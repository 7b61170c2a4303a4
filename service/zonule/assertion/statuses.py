"""Was it done? Every mention's status, with the cue that decided. Pure word-range logic."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from zonule.annotation.clauses import UNMARKED
from zonule.annotation.mentions import Annotation, Mention
from zonule.assertion.frames import find_frames
from zonule.assertion.scopes import reach_of
from zonule.assertion.sentence_reach import SILENT_KINDS, status_of
from zonule.vocabulary import Status

PRECEDENCE = (
    Status.OTHER_EYE, Status.HISTORICAL, Status.HYPOTHETICAL, Status.HABITUAL, Status.PLANNED, Status.NOT_DONE,
)  # fmt: skip
NEXT, HEAD, LONG = "next_patient", 20, 60
"""Within so many words of the beginning of a dictation, "the next one" is the patient dictated on."""
ATTEMPTED, BUT_REACH = "attempted", 12
"""Words behind what was attempted within which it is said that it failed."""
TURNED = frozenset({"but", "however", "though", "although"})
FAILED = frozenset({"failed", "unsuccessful", "unsuccessfully", "abandoned", "impossible"})
IN_VAIN = (("without", "success"), ("no", "success"), ("in", "vain"), ("gave", "up"), ("given", "up"))
THEN = 40
"""Words before "at that time" within which a former time is told of."""
YEARS = (1940, 2035)
ADVICE = frozenset((who, *do) for who in ("i", "we") for do in (("don't",), ("do", "not")))
DATED = frozenset(
    {
        "drug",
        "drug_class",
        "lens_location",
        "procedure",
        "step",
        "action",
        "complication",
        "implant",
        "anesthesia",
        "thing",
    }
)
"""Kinds of what was done in a year that is said."""
STATES = frozenset({"diagnosis", "nucleus_grade", "finding", "eye", "title"})
"""Kinds of which the present tense tells how this eye is, in a teaching talk too."""
OTHERS = frozenset({"somebody", "someone", "they", "others"})
"""Who did what was done in a former year."""
INTENDED = frozenset({Status.HABITUAL, Status.PLANNED, Status.HYPOTHETICAL})
"""What was done after all where it is said so ("he asked me to divide and conquer, which I did")."""
CLOSING = (
    (), (",",), (".",), (";",), ("\n",), ("too",), ("here",), ("today",), ("then",), ("until",), ("for",), ("in",),
)  # fmt: skip
"""Behind "and so I did" and its like: nothing more that was done."""


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
    frames = find_frames(annotation, cues)
    years = _years(annotation)
    asserted = []
    for mention in annotation.mentions:
        if mention.kind in SILENT_KINDS:
            continue
        clause = annotation.clause_of[mention.start]
        hits = found.get(mention.start, ()) or found.get(mention.end - 1, ())
        if hits:
            hits = tuple(h for h in hits if _concerns(h, mention))
        frame, by_tense = frames[clause]
        if (
            frame is not None
            and not (by_tense and mention.kind in STATES)
            and not any(status_of(h) is Status.OTHER_EYE for h in hits)
        ):
            hits = (*hits, frame)
        if any(h.cue is not None and h.cue.status is Status.DONE for h in hits):
            hits = tuple(h for h in hits if status_of(h) not in INTENDED)
        decided = _decide(mention, hits)
        year = years.get(clause) if years else None
        if year is not None and decided.status is Status.DONE and mention.kind in DATED:
            decided = Asserted(mention, Status.HISTORICAL, year)
        asserted.append(decided)
    return asserted


def _concerns(cue: Mention, mention: Mention) -> bool:
    """Whether a cue speaks of concepts like this one at all."""
    if cue.cue is None:
        return True
    classes = mention.term.classes if mention.term is not None else ()
    spared = any(name in cue.cue.spares for name in classes)
    return not spared and (not cue.cue.kinds or mention.kind in cue.cue.kinds)


def _years(annotation: Annotation) -> dict[int, Mention]:
    """The clauses that tell of a former year ("she had a trabeculectomy in 1998"), with its number."""
    found: dict[int, Mention] = {}
    words = annotation.words
    for i in range(1, len(words)):
        if words[i - 1] in ("in", "since") and len(words[i]) == 4 and words[i].isdigit():
            clause = annotation.clause_of[i]
            if YEARS[0] <= int(words[i]) <= YEARS[1] and annotation.clauses[clause].tense == "past":
                told = Mention(i, i + 1, "quantity", "number")
                found |= dict.fromkeys((clause, *_by_others(annotation, clause)), told)
    return found


def _by_others(annotation: Annotation, clause: int) -> Iterator[int]:
    """The clauses behind a former year that go on with what others did then ("… somebody sewed it up | and took …")."""
    first = annotation.clauses[clause]
    led = not OTHERS.isdisjoint(annotation.words[first.start : first.end])
    for number in range(clause + 1, len(annotation.clauses)):
        opening = annotation.words[annotation.clauses[number].start]
        led = led or opening in OTHERS
        goes_on = opening in OTHERS or (led and opening == "and")
        if annotation.clauses[number].sentence != annotation.clauses[clause].sentence or not goes_on:
            return
        yield number


def _decide(mention: Mention, hits: Sequence[Mention]) -> Asserted:
    if not hits:
        return Asserted(mention, Status.DONE)
    for status in PRECEDENCE:
        for hit in hits:
            if status_of(hit) is status:
                return Asserted(mention, status, hit)
    return Asserted(mention, Status.DONE)


def _live_cues(annotation: Annotation) -> list[Mention]:
    return [
        m
        for m in annotation.mentions
        if m.cue is not None
        and m.cue.status is not None
        and not _of_today(annotation, m)
        and not _of_manner(annotation, m)
        and not _of_this_time(annotation, m)
        and not _of_speaker(annotation, m)
        and not _of_trainee(annotation, m)
        and not _went_on(annotation, m)
        and not _goes_on(annotation, m)
        and not (m.id == NEXT and m.start < HEAD and len(annotation.words) > LONG)
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


def _of_this_time(annotation: Annotation, cue: Mention) -> bool:
    """ "At that time the iris prolapsed": a former time only where one was told of shortly before."""
    if annotation.words[cue.start : cue.end] not in (("at", "that", "time"), ("at", "the", "time")):
        return False
    before = annotation.mentions_between(max(0, cue.start - THEN), cue.start)
    former = any(m.cue is not None and m.cue.status is Status.HISTORICAL for m in before)
    return not former and not any(_is_year(m) for m in before)


def _goes_on(annotation: Annotation, cue: Mention) -> bool:
    """ "And I did an iridectomy" does not say that what stands before was done; "and I did." does."""
    if cue.cue is None or cue.cue.status is not Status.DONE:
        return False
    return annotation.words[cue.end : cue.end + 1] not in CLOSING


def _of_speaker(annotation: Annotation, cue: Mention) -> bool:
    """ "I don't" denies; only "don't" to somebody is advice."""
    said = annotation.words[max(0, cue.start - 1) : cue.end]
    return status_of(cue) is Status.HABITUAL and said in ADVICE


def _of_trainee(annotation: Annotation, cue: Mention) -> bool:
    """ "You made the main incision" tells what a trainee did; "you put it at 12" may be what one does."""
    if annotation.words[cue.start : cue.end] != ("you",):
        return False
    verbs = (m for m in annotation.mentions_between(cue.end, cue.end + 2) if m.kind == "action" and m.tense == "past")
    return any(annotation.words[verb.start] not in UNMARKED for verb in verbs)


def _went_on(annotation: Annotation, cue: Mention) -> bool:
    """ "I attempted a horizontal chop" was done unless a "but" follows, or that it failed."""
    if cue.id != ATTEMPTED:
        return False
    _, last = annotation.sentences[annotation.sentence_of(cue.start)]
    words = annotation.words[cue.end : cue.end + BUT_REACH]
    own = words[: annotation.clauses[last].end - cue.end]
    failed = not FAILED.isdisjoint(words) or any(words[i : i + 2] in IN_VAIN for i in range(len(words)))
    return not failed and TURNED.isdisjoint(own)


def _is_year(mention: Mention) -> bool:
    value = mention.quantity.value if mention.id == "number" and mention.quantity is not None else None
    return isinstance(value, float | int) and YEARS[0] <= value <= YEARS[1]


def _of_manner(annotation: Annotation, cue: Mention) -> bool:
    """ "Stripped tangentially, never radially" tells how it was done."""
    following = annotation.words[cue.end : cue.end + 1]
    return annotation.words[cue.start : cue.end] == ("never",) and bool(following) and following[0].endswith("ly")


def _by_scope(annotation: Annotation, cues: Sequence[Mention]) -> dict[int, tuple[Mention, ...]]:
    """For each word, the cues whose scope holds it."""
    found: dict[int, tuple[Mention, ...]] = {}
    for cue in cues:
        for word in reach_of(annotation, cue):
            found[word] = (*found.get(word, ()), cue)
    return found

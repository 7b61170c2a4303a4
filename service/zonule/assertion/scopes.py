"""How far a cue reaches: the words that it speaks of."""

from collections.abc import Sequence

from zonule.annotation.mentions import Annotation, Clause, Mention
from zonule.assertion.sentence_reach import PAUSES, SILENT_KINDS, is_long, sentence_reach, status_of
from zonule.vocabulary import Status

REACH = 60
"""Words over which a list of denials is followed."""
NEAR = 4
"""Words behind a denial within which the thing stands that it denies."""
LEAD = 5
"""Words; in raw text a sentence-wide cue that stands later in its clause speaks only of what came before it."""
ARTICLES = frozenset({"a", "an", "the", "any"})
"""Right behind a denial: what is denied is a thing and no deed ("it is not a hyphema")."""
DENYING = frozenset({"neither", "none"})
"""Denials that are a pronoun themselves ("Then hooks, or adrenaline. None was opened.")."""
GOING_ON = (("under",), ("with",), ("by",), ("at",))
"""Right behind a time or place of long ago: how and where it was done then."""
STILL_THEN = (("and", "had"), ("and", "was"), ("which", "was"), ("but", "had"))
"""How a clause begins that still tells of it."""
AGO_LEAD = 3
"""Words of the time itself before "ago"."""
PRONOUNS = frozenset({"that", "this", "it", "which", "these", "those", "they"})
LEADING = frozenset({
    "but", "and", "i", "we", "he", "she", "had", "have", "them", "since", "as", "because", "was", "were", "then",
    "so", "though", "both", "one", "also", "in", "the", "end",
})  # fmt: skip
"""Words that may stand before a denial that has no thing of its own."""
OPENED = frozenset({",", "a", "an", "the"})
CLOSING = frozenset({"then", "needed", "required", "necessary", "used"})
"""Behind what a denial names: it reaches no further."""
DRUGS = frozenset({"drug", "drug_class"})
LYING = frozenset({"was", "were", "is", "are", "stood", "lay", "stayed", "left", "kept"})
"""Verbs that say where a thing was that was not used."""
REASONS = frozenset({"because", "since", "although", "though", "whereas"})
BARE = frozenset({"not", "don't", "didn't", "doesn't", "haven't", "hadn't", "wasn't", "weren't", "wouldn't"})
"""Denials that may stand without their verb."""
NOUN_ENDINGS = ("ction", "ation", "ision", "exis", "esis")
OBJECTS = frozenset({"it", "them", "that", "this"})
CONTRASTED = frozenset({
    "quantity", "eye", "site", "drug", "lens_location", "implant", "viscoelastic", "anesthesia", "technique",
    "incision_kind", "lens_type", "lens_material",
})  # fmt: skip
ADJECTIVES = frozenset({"nuclear", "capsular", "zonular", "corneal", "vitreous", "iris", "lens", "retinal"})
"""Words before a noun that are a thing of their own ("no nuclear fragment was dropped")."""
WANTING = frozenset({"apply", "inject", "insert", "place", "make"})
"""Actions that say nothing without what they are done with ("nobody to give sedation")."""
TYING = frozenset({
    ",", "or", "and", "nor", "a", "an", "any", "the", "of", "for", "in", "on", "to", "with", "under", "into", "no",
    "at",
    "these", "such", "this", "that", "cases", "eyes",
})  # fmt: skip
"""Words that tie the things of one denial in raw text."""
TURNS = frozenset({"no", "sorry", "wait", "well"})
LINKS = frozenset({",", "or", "and", "nor", "a", "an", "any", "the", "further", "other", "of", "&", "/", "no"})


def reach_of(annotation: Annotation, mention: Mention) -> Sequence[int]:
    """The words that a cue speaks of, by its direction, scope and window."""
    cue = mention.cue
    if cue is None:
        return ()
    clause = annotation.clauses[annotation.clause_of[mention.start if cue.direction != "forward" else mention.end - 1]]
    if cue.status is Status.DONE:
        return range(_intended_before(annotation, mention), mention.start)
    if cue.scope == "list":
        return (_list_before if cue.direction == "backward" else _list_after)(annotation, mention)
    if _contrasts(annotation, mention):
        return _list_after(annotation, mention)
    start, end = clause.start, clause.end
    if _dates_before(annotation, mention, clause):
        return range(annotation.clauses[annotation.clause_of[mention.start] - 1].start, mention.end)
    if cue.scope == "sentence":
        start, end = sentence_reach(annotation, mention)
        if annotation.words[mention.start : mention.end] == ("?",):
            start = _doubted(annotation, mention, start)
        if cue.direction == "both" and mention.start - clause.start > LEAD and is_long(annotation, mention):
            end = _gone_on(annotation, mention)
    if cue.direction == "both" and cue.scope == "clause":
        start = _behind_reason(annotation, mention, start)
        end = _behind_object(annotation, mention, end)
        if status_of(mention) is Status.NOT_DONE:
            start = _before_ellipsis(annotation, mention, start)
            listed = "," in annotation.words[start : mention.start] and clause.tense == "none"
            if _says_where(annotation, mention) and (listed or is_long(annotation, mention)):
                start = max(start, _subject_before(annotation, start, mention))
        elif set(cue.kinds) == DRUGS and is_long(annotation, mention):
            start = max(start, _drugs_before(annotation, start, mention))
    if cue.direction == "forward":
        start = mention.end
    elif cue.direction == "backward":
        end = mention.start
        start = _spoken_of(annotation, mention, start) if cue.window is None else start
        start = max(start, _denied_before(annotation, start, mention))
        if cue.scope == "sentence":
            start = max(start, _corrected_before(annotation, start, mention))
        elif is_long(annotation, mention):
            start = max(start, _subject_before(annotation, start, mention))
    if cue.scope == "clause" and end == clause.end and status_of(mention) in (Status.PLANNED, Status.HYPOTHETICAL):
        end = _strung_behind(annotation, mention, end)
    if cue.direction == "forward" and cue.scope == "clause":
        end = next((i for i in range(start, end) if annotation.words[i] == "but"), end)
    if cue.window is not None:
        start, end = max(start, mention.start - cue.window), min(end, mention.end + cue.window)
    return range(start, end)


def _doubted(annotation: Annotation, mark: Mention, start: int) -> int:
    """Where the item of a list begins that a question mark doubts ("lens +21 D, lot Z889, in sulcus?")."""
    at = annotation.clause_of[mark.start]
    if annotation.clauses[at].tense != "none":
        return start
    commas = (i + 1 for i in range(mark.start - 1, annotation.clauses[at].start, -1) if annotation.words[i] == ",")
    return max(start, next(commas, start))


def _says_where(annotation: Annotation, cue: Mention) -> bool:
    """ "… another one at 10 | phenylephrine was on the tray": a cue that is said of the thing right before it."""
    return not LYING.isdisjoint(annotation.words[max(0, cue.start - 1) : cue.start + 1])


def _gone_on(annotation: Annotation, cue: Mention) -> int:
    """In raw text, where a cue behind what it speaks of is over: right there, unless its phrase goes on.

    "She had phaco two years ago at another unit under topical and had a tear | now …".
    """
    at = annotation.clause_of[cue.start]
    phrase = annotation.words[cue.end : cue.end + 1]
    if status_of(cue) is not Status.HISTORICAL or phrase not in GOING_ON:
        return cue.start
    last = annotation.sentences[annotation.clauses[at].sentence][1]
    while at < last:
        start = annotation.clauses[at + 1].start
        if annotation.words[start : start + 2] not in STILL_THEN:
            break
        at += 1
    return annotation.clauses[at].end


def _intended_before(annotation: Annotation, cue: Mention) -> int:
    """Where what was intended begins that "which I did" says was done: the nearest clause that names a thing."""
    at = annotation.clause_of[cue.start]
    first, _ = annotation.sentences[annotation.clauses[at].sentence]
    while at > first:
        held = annotation.mentions_between(annotation.clauses[at].start, cue.start)
        if any(m.kind not in SILENT_KINDS for m in held):
            break
        at -= 1
    return annotation.clauses[at].start


def _dates_before(annotation: Annotation, cue: Mention, clause: Clause) -> bool:
    """ "… quiet since its operation | two years ago surgeon …": in raw text, a time that closes the clause before."""
    led = cue.start - clause.start <= AGO_LEAD and clause.start > 0 and clause.tense == "none"
    if not led or annotation.words[cue.end - 1] != "ago" or not is_long(annotation, cue):
        return False
    return annotation.clauses[annotation.clause_of[cue.start] - 1].sentence == clause.sentence


def _behind_reason(annotation: Annotation, cue: Mention, start: int) -> int:
    """Where the reason or circumstance begins in which a cue stands.

    "… five mL because he could still move the eye", "hydrodissection gently, with the chamber not overfull".
    """
    words = annotation.words
    circumstance = range(max(start, cue.start - NEAR), cue.start)
    begins = [i for i in circumstance if words[i] == "with" and words[i + 1] in ARTICLES]
    begins += [i for i in range(start, cue.start) if words[i] in REASONS]
    return max(begins, default=start)


def _before_ellipsis(annotation: Annotation, cue: Mention, start: int) -> int:
    """Where the sentence begins that a bare "I don't" denies ("I do an iridectomy with those. Here I didn't.")."""
    words = annotation.words
    sentence = annotation.sentence_of(cue.start)
    if words[cue.end - 1] not in BARE or words[cue.end : cue.end + 1] not in ((".",), (",",), (";",)):
        return start
    first, last = annotation.sentences[sentence]
    held = annotation.mentions_between(annotation.clauses[first].start, annotation.clauses[last].end)
    named = any(m.kind not in SILENT_KINDS and m.kind != "eye" for m in held)
    mixed = any(m.start < cue.start and status_of(m) not in (Status.NOT_DONE, Status.DONE) for m in held)
    if first == 0 or named or mixed:
        return start
    return annotation.clauses[annotation.sentences[sentence - 1][0]].start


def _behind_object(annotation: Annotation, cue: Mention, end: int) -> int:
    """Where a denial with its object is over ("I didn't trust it after the prolapse | shield on")."""
    if status_of(cue) is not Status.NOT_DONE:
        return end
    if annotation.words[cue.end - 1] in BARE and is_long(annotation, cue) and _names_step(annotation, cue.end):
        return cue.end
    objects = (i + 1 for i in range(cue.end, min(end, cue.end + 3)) if annotation.words[i] in OBJECTS)
    return next(objects, _behind_verb(annotation, cue, end))


def _names_step(annotation: Annotation, i: int) -> bool:
    """ "I thought of staining it and didn't | hydrodissection": a step by its noun, which no denial stands before."""
    steps = (m for m in annotation.mentions_between(i, i + 1) if m.kind == "step")
    return any(annotation.words[m.end - 1].endswith(NOUN_ENDINGS) for m in steps)


def _behind_verb(annotation: Annotation, cue: Mention, end: int) -> int:
    """In raw text, where "it did not tear" is over: no word ties what is named behind to it ("… | cortex out")."""
    words = annotation.words
    if words[cue.end - 1] not in BARE or words[cue.start - 1 : cue.start] != ("it",) or not is_long(annotation, cue):
        return end
    tied = cue.end + 1 >= end or words[cue.end] in ARTICLES or words[cue.end + 1] in TYING | PAUSES
    return end if tied else cue.end + 1


def _strung_behind(annotation: Annotation, cue: Mention, end: int) -> int:
    """ "He'll do a vitrectomy and put the lens in": the clause behind "and" that has its mood from the one before."""
    number = annotation.clause_of[cue.start] + 1
    if number >= len(annotation.clauses):
        return end
    following = annotation.clauses[number]
    words = annotation.words[following.start : following.start + 2]
    led = words[:1] in (("and",), ("or",)) and not following.subject
    would_have = "have" in annotation.words[cue.start : end]
    bare = led and (following.tense == "modal" or (would_have and following.tense == "past"))
    return following.end if bare and following.sentence == annotation.clauses[number - 1].sentence else end


def _contrasts(annotation: Annotation, cue: Mention) -> bool:
    """ "2.2, not 2.4 as on the sheet": what stands right behind is denied and nothing else."""
    words = annotation.words
    if words[cue.start : cue.end] != ("not",):
        return False
    at = cue.end + (words[cue.end : cue.end + 1] in (("a",), ("the",), ("in",)))
    behind = [m.kind for m in annotation.mentions_between(at, at + 1) if m.start == at]
    paused = words[max(0, cue.start - 1) : cue.start] == (",",)
    return "quantity" in behind or (paused and not CONTRASTED.isdisjoint(behind))


def _denied_before(annotation: Annotation, start: int, cue: Mention) -> int:
    """Where the denial before ends ("tears none, bleeding not seen"): what stands before it was denied or not by it."""
    denials = (
        m.end
        for m in annotation.mentions_between(start, cue.start)
        if m.cue is not None
        and m.end <= cue.start
        and m.cue.direction == "backward"
        and status_of(m) is Status.NOT_DONE
    )
    return max(denials, default=start)


def _subject_before(annotation: Annotation, start: int, cue: Mention) -> int:
    """In raw text, where the things begin that a denial behind them speaks of: the last one, and what is tied to it.

    "… 2.2 mm | phenylephrine was not given" denies the drug alone.
    """
    first, named = cue.start, False
    for mention in reversed(annotation.mentions_between(start, cue.start)):
        if mention.kind in SILENT_KINDS:
            continue
        if not named or mention.end > first:
            first, named = min(first, mention.start), named or mention.kind not in ("action", "quantity")
            continue
        gap = set(annotation.words[mention.end : first])
        if not (gap <= TYING if gap else mention.kind in ("route", "action")):
            return first
        first = mention.start
    return start


def _drugs_before(annotation: Annotation, start: int, cue: Mention) -> int:
    """In raw text, where the drugs begin that are told right before a cue of drugs.

    "Cefuroxime in the chamber shield on no complications | dexamethasone drops four times a day at home".
    """
    first = cue.start
    for mention in reversed(annotation.mentions_between(start, cue.start)):
        if mention.kind in DRUGS:
            first = mention.start
        elif mention.kind not in (*SILENT_KINDS, "quantity", "route", "action"):
            return first if first < cue.start else start
    return start


def _corrected_before(annotation: Annotation, start: int, cue: Mention) -> int:
    """Where the speaker turned back last ("2.2 mm, no, what did you open, the 2.4?"): what stood before was told."""
    words = annotation.words
    turns = (
        i + 1 for i in range(start + 1, cue.start - 1) if words[i] in TURNS and words[i - 1] == words[i + 1] == ","
    )
    return max(turns, default=start)


def _spoken_of(annotation: Annotation, cue: Mention, start: int) -> int:
    """ "That was not used", "but not given": without a thing of its own a denial reaches back to the clause before."""
    words = annotation.words[start : cue.start]
    if not set(words) <= PRONOUNS | LEADING or len(words) > 4:
        return start
    at = annotation.clause_of[start]
    if words[:1] == ("which",) and at and not _names(annotation, at - 1):
        return start
    behind = min(annotation.clauses[at].end, cue.end + NEAR)
    named = (*annotation.mentions_between(start, cue.start), *annotation.mentions_between(cue.end, behind))
    if at == 0 or any(m.kind not in SILENT_KINDS for m in named):
        return start
    number, before = at - 1, annotation.clauses[at - 1]
    same = before.sentence == annotation.clauses[at].sentence
    if not (same or PRONOUNS & set(words) or DENYING & set(annotation.words[cue.start : cue.end])):
        return start
    far = bool(PRONOUNS & set(words)) and not is_long(annotation, cue)
    while far and number and not _names(annotation, number):
        if annotation.clauses[number - 1].sentence != before.sentence:
            break
        number -= 1
    return annotation.clauses[number].start


def _names(annotation: Annotation, number: int) -> bool:
    """Whether a clause names anything of the trade."""
    clause = annotation.clauses[number]
    held = annotation.mentions_between(clause.start, clause.end)
    return any(m.kind not in SILENT_KINDS and m.kind not in ("action", "quantity") for m in held)


def _is_told(annotation: Annotation, mention: Mention) -> bool:
    """Whether something is said of a thing ("instead of a ring, hooks were placed"): it closes no list."""
    return annotation.words[mention.end : mention.end + 1] in (("was",), ("were",))


def _list_before(annotation: Annotation, cue: Mention) -> list[int]:
    """What "none" or "nil" behind it denies: the thing right before, and the list that it closes."""
    window = cue.cue.window if cue.cue is not None and cue.cue.window else 3
    number = annotation.clause_of[cue.start]
    start = annotation.clauses[number].start
    if start == cue.start and number and annotation.clauses[number - 1].sentence == annotation.clauses[number].sentence:
        start = annotation.clauses[number - 1].start
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


def _list_after(annotation: Annotation, cue: Mention) -> list[int]:
    """What "no" or "without" denies: the first thing named after it, and the list that it opens."""
    window = cue.cue.window if cue.cue is not None and cue.cue.window else 14
    clause_end = annotation.clauses[annotation.clause_of[cue.end - 1]].end
    verbal = annotation.words[cue.end - 1] == "to"
    wanting = False
    denied: list[int] = []
    strung: list[int] = []
    kind = ""
    at = cue.end
    near = annotation.mentions_between(cue.end, cue.end + REACH)
    for mention in (m for m in near if m.kind not in SILENT_KINDS):
        gap = {annotation.words[i] for i in range(at, mention.start)}
        if not denied and not strung and gap & CLOSING:
            break  # "no block | then povidone iodine", "no ring needed | rhexis fine"
        inside = range(mention.start, mention.end)
        wanting = wanting or mention.id in WANTING
        if mention.start < at:
            (strung or denied).extend(inside)
            kind = "" if verbal and mention.kind == "action" and not strung else kind
        elif (
            kind
            and not gap
            and annotation.words[at - 1] in ADJECTIVES
            and annotation.words[mention.start] not in ADJECTIVES
        ):
            denied.extend(inside)
            kind = mention.kind
        elif not kind:
            far = mention.start >= min(clause_end, cue.end + window)
            apart = not gap <= LINKS or not (gap or (verbal and wanting))
            if PAUSES & gap or (apart if denied else far):
                break
            kind = "" if verbal and mention.kind == "action" else mention.kind
            denied.extend(inside)
        elif (
            not gap <= LINKS
            or not (gap or mention.kind == kind)
            or (not gap and mention.tense == "past")
            or ("," in gap <= OPENED and _is_told(annotation, mention))
        ):
            break
        elif {"or", "nor"} & gap or (mention.kind == kind and not strung):
            denied, strung = [*denied, *strung, *inside], []
        else:
            strung.extend(inside)
        at = max(at, mention.end)
    return denied

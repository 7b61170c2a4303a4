"""Steps: by their own name, or as an action done to a thing (`lexicon` frames)."""

from collections.abc import Collection, Iterator

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.reading import Reading
from zonule.binding.sections import Section, section_at
from zonule.lexicon import Frame
from zonule.vocabulary import Status

NOT_TOLD = frozenset(
    {
        "operation.procedures",
        "operation.preoperative_diagnosis",
        "operation.postoperative_diagnosis",
        "plan",
        "patient.name",
        "anesthesia",
    }
)
"""Labeled parts that tell no steps."""
ASIDE = frozenset(
    {
        "under",
        "behind",
        "in",
        "into",
        "onto",
        "over",
        "from",
        "beneath",
        "through",
        "within",
        "on",
        "at",
        "to",
        "around",
        "against",
        "before",
        "after",
        "between",
        "near",
        "above",
        "below",
        "across",
        "beside",
        "toward",
        "towards",
        "along",
        "inside",
        "outside",
        "during",
        "via",
        "anterior to",
        "posterior to",
        "for",
        "until",
    }
)
"""Prepositions whose noun is not what the action is done to."""
TIME_OUT = "time_out"
TURNING = frozenset({"rotate", "flip"})
FREEING = frozenset({"hydrodissection", "hydrodelineation"})
"""Steps after which the nucleus turns, told by its verb alone ("Hydrodissection x3, turns freely")."""
TYING = frozenset({",", "and", "the", "a", "an", "all", "both", "any", "then", "&", "+", "/", "remaining", "its", "of"})
"""Words between the things of one list."""
THROUGHOUT = ("t", "/", "o")
SUBJECTS = frozenset({"thing", "drug", "viscoelastic", "implant"})
"""Kinds of what a pronoun goes on about."""
POINTING = frozenset({"it", "them", "that", "those", "these"})
"""Objects that say what was named before."""
UNUSED = frozenset({Status.HYPOTHETICAL, Status.NOT_DONE, Status.PLANNED})
"""What was thought of or left out does nothing ("hooks were considered but the pupil stretched enough")."""
PAUSES = frozenset({",", ".", ";", "\n", "then", "next", "and", "&", "+"})
PARTICLES = frozenset({"out", "off", "away", "gone"})
"""Short speech for what was done to what is named right before ("came with the last bit | cortex out")."""
MEANS = frozenset({"with", "using", "by"})
SERVING = frozenset({"for", "with"})
"""Prepositions of a thing that what stands by tells of ("bimanual for the cortex", "chamber formed with visco")."""
GOVERNING = ASIDE | MEANS
"""Prepositions that make what stands behind them no object."""


def bind_steps(reading: Reading, sections: list[Section]) -> list[Found]:
    """Every step said, done or not, with the words that said it."""
    framed = list(_framed(reading, sections))
    told = [*_named(reading, sections), *(f for f, frame in framed if not (frame.before or frame.after))]
    told += [f for f, frame in framed if (frame.before or frame.after) and _in_order(reading, f, frame, told)]
    told.sort(key=lambda f: f.at)
    return told


def _in_order(reading: Reading, step: Found, frame: Frame, told: list[Found]) -> bool:
    """Whether a frame that depends on another step stands on the right side of it."""
    done = [f.at for f in told if f.value == (frame.before or frame.after) and f.status is Status.DONE]
    if (frame.before or frame.after) == "lens_insertion":
        done += [a.mention.start for a in reading.done("lens_location")]
    if frame.before:
        return not done or step.at < min(done)
    return bool(done) and step.at > min(done)


def _named(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    for step in reading.of("step"):
        if reading.words[max(0, step.mention.start - 1) : step.mention.start] == ("model",):
            continue  # "model PI Soft 60"
        if not _outside(sections, step.mention) or _says_throughout(reading, step.mention):
            continue
        yield found("steps", step.mention.id, step)


def _says_throughout(reading: Reading, mention: Mention) -> bool:
    """ "Bottle 90 t/o": right behind a number the letters of the time-out say throughout."""
    if mention.id != TIME_OUT or reading.words[mention.start : mention.end] != THROUGHOUT:
        return False
    return any(
        a.mention.end == mention.start
        for a in reading.between(mention.start - 3, mention.start)
        if a.mention.kind == "quantity"
    )


def _outside(sections: list[Section], mention: Mention) -> bool:
    section = section_at(sections, mention.start)
    return section is None or section.field not in NOT_TOLD


def _framed(reading: Reading, sections: list[Section]) -> Iterator[tuple[Found, Frame]]:
    frames: dict[str, list[Frame]] = {}
    for frame in reading.lexicon.frames:
        for name in frame.actions:
            frames.setdefault(name, []).append(frame)
    used: set[int] = set()
    for action in reading.of("action"):
        if action.mention.id not in frames or not _outside(sections, action.mention):
            continue
        objects = _objects(reading, action, frames[action.mention.id])
        for frame, thing in objects:
            if _fits_where(reading, action.mention, frame):
                if action.status is Status.DONE or thing.mention.start >= reading.clause(action.mention.start).start:
                    used.add(thing.mention.start)
                yield from _tell(frame, action, thing)
        if not objects and _tells_alone(reading, action.mention):
            free = [f for f in frames[action.mention.id] if _needs_no_thing(reading, action.mention, f)]
            yield from _alone(action, free)
    yield from _named_things(reading, sections, used)


def _tells_alone(reading: Reading, action: Mention) -> bool:
    """Whether no other thing is named that an action was done to ("epinuclear bowl manipulated, flipped into …")."""
    if _has_subject(reading, action, reading.in_clause(action)):
        return False
    strung = reading.words[action.start - 1 : action.start] == (",",)
    if not strung or reading.clause(action.start).start != action.start:
        return True
    other = _subject_carried(reading, action, frozenset())
    return other is None or other.mention.kind != "thing"


def _needs_no_thing(reading: Reading, action: Mention, frame: Frame) -> bool:
    """Whether an action alone tells the step of a frame ("then chopped")."""
    allowed = frame.alone and (not frame.tenses or action.tense in frame.tenses)
    return allowed and _fits_where(reading, action, frame)


def _tell(frame: Frame, *parts: Asserted) -> Iterator[tuple[Found, Frame]]:
    if frame.step is not None:
        yield found("steps", frame.step, *parts), frame
    for slot, value in frame.fills.items():
        yield found(slot, value, *parts), frame


def _named_things(reading: Reading, sections: list[Section], used: set[int]) -> Iterator[tuple[Found, Frame]]:
    """Things that tell a step by being named, where no action was done to them."""
    telling: dict[str, list[Frame]] = {}
    for frame in reading.lexicon.frames:
        for thing in frame.things if not frame.actions else ():
            telling.setdefault(thing, []).append(frame)
    for asserted in reading.asserted:
        mention = asserted.mention
        if mention.id not in telling or mention.start in used or not _outside(sections, mention):
            continue
        inside = reading.preposition_before(mention)
        if _acted_on(reading, mention):
            continue
        for frame in telling[mention.id]:
            if inside in GOVERNING and inside != "under" and not (inside in SERVING and frame.where):
                continue
            if _fits_where(reading, mention, frame) and (not frame.bare or _stands_bare(reading, mention)):
                yield from _tell(frame, asserted)
                break


def _stands_bare(reading: Reading, mention: Mention) -> bool:
    """Whether a thing is all that is said between two pauses."""
    before = reading.words[mention.start - 1] if mention.start else "."
    behind = reading.words[mention.end] if mention.end < len(reading.words) else "."
    return before in PAUSES and behind in PAUSES


def _acted_on(reading: Reading, mention: Mention) -> bool:
    """Whether the word right behind takes the thing away ("visco out")."""
    return bool(
        {"out", "washout", "removed", "removal", "aspirated"} & set(reading.words[mention.end : mention.end + 2])
    )


def _alone(action: Asserted, frames: list[Frame]) -> Iterator[tuple[Found, Frame]]:
    for frame in frames:
        if frame.alone:
            yield from _tell(frame, action)


def _fits_where(reading: Reading, action: Mention, frame: Frame) -> bool:
    if not frame.where and not frame.unless:
        return True
    start, end = reading.sentence(action.start)
    clause = reading.clause(action.start)
    start, end = max(start, clause.start - 12), min(end, clause.end + 12)
    near = reading.annotation.mentions_between(start, end)
    keys = {key for m in near for key in (m.key, f"{m.kind}:*")}
    if keys & set(frame.unless):
        return False
    implants = (a for a in reading.between(start, end) if a.mention.kind == "implant")
    unused = {a.mention.start for a in implants if a.status in UNUSED}
    used = {key for m in near if m.start not in unused for key in (m.key, f"{m.kind}:*")}
    return not frame.where or bool(used & set(frame.where))


def _objects(reading: Reading, action: Asserted, frames: list[Frame]) -> list[tuple[Frame, Asserted]]:
    """The things an action is done to, each with the frame it completes."""
    by_thing: dict[str, list[Frame]] = {}
    for frame in frames:
        for thing in frame.things:
            by_thing.setdefault(thing, []).append(frame)
    inside = [a for a in reading.in_clause(action.mention) if a.mention.kind not in ("action", "quantity", "field")]
    named = [a for a in inside if a.mention.id in by_thing]
    chosen = _choose(reading, action.mention, named)
    if not chosen and not _has_subject(reading, action.mention, inside):
        carried = _subject_carried(reading, action.mention, by_thing.keys())
        chosen = [carried] if carried is not None and carried.mention.id in by_thing else []
    return [(frame, a) for a in chosen for frame in by_thing[a.mention.id]]


def _choose(reading: Reading, action: Mention, named: list[Asserted]) -> list[Asserted]:
    before = [a for a in named if a.mention.end <= action.start]
    before = [a for a in before if not _other_subject(reading, a.mention, action)]
    after = [
        a for a in named if a.mention.start >= action.end and "then" not in reading.gap(action.end, a.mention.start)
    ]
    sides = (before, after) if _passive(reading, action) else (after, before)
    for allowed in (frozenset[str](), MEANS):
        for side in sides:
            direct = [a for a in side if _governs(reading, a.mention, action, allowed)]
            if direct:
                return _tied(reading, direct) if side is before else direct
    return []


def _other_subject(reading: Reading, thing: Mention, action: Mention) -> bool:
    """ "Cohesive visco the rhexis came out at five": the act is that of the step named right before."""
    between = [a.mention for a in reading.between(thing.end, action.start)]
    steps = [m for m in between if m.kind == "step" and reading.words[m.start - 1] in ("the", "my")]
    return bool(steps) and steps[-1].end == action.start


def _tied(reading: Reading, things: list[Asserted]) -> list[Asserted]:
    """The last thing before an action and the list that it closes: "dispersive over the hole, | segments taken out"."""
    kept = [things[-1]]
    for thing in reversed(things[:-1]):
        first = min(a.mention.start for a in kept)
        if thing.mention.end <= first and not set(reading.gap(thing.mention.end, first)) <= TYING:
            break
        kept.append(thing)
    return kept[::-1]


def _governs(reading: Reading, mention: Mention, action: Mention, allowed: frozenset[str]) -> bool:
    if mention.end == action.start and reading.words[action.start] in PARTICLES:
        return True
    preposition = reading.preposition_before(mention)
    return preposition not in ASIDE and (preposition not in MEANS or preposition in allowed)


def _passive(reading: Reading, action: Mention) -> bool:
    if action.tense == "noun":
        return action.end >= len(reading.words) or reading.words[action.end] != "of"
    if action.tense != "past":
        return False
    for i in range(action.start - 1, max(-1, action.start - 5), -1):
        word = reading.words[i]
        if word in reading.grammar.auxiliary_past or word in reading.grammar.auxiliary_present:
            return word not in ("had", "have", "has")
        if word in reading.grammar.subject:
            return False
        if word not in reading.grammar.adverb:
            break
    return True


def _has_subject(reading: Reading, action: Mention, inside: list[Asserted]) -> bool:
    """Whether the clause names something else that the action is done to."""
    return any(
        a.mention.end <= action.start
        and not (action.id in TURNING and a.mention.id in FREEING)
        and a.mention.kind in ("thing", "instrument", "drug", "step", "implant", "viscoelastic", "anatomy")
        and reading.preposition_before(a.mention) not in GOVERNING
        for a in inside
    )


def _subject_carried(reading: Reading, action: Mention, wanted: Collection[str]) -> Asserted | None:
    """What an elliptic clause goes on about ("was folded, inserted and rotated"): a thing, or one of `wanted`."""
    clause = reading.clause(action.start)
    relative = "which" in reading.words[clause.start : action.start]
    if not relative and not _passive(reading, action) and not _pronoun_follows(reading, action):
        return None
    start, _ = reading.sentence(action.start)
    leads = _pronoun_leads(reading, clause.start, action.start) or _pronoun_follows(reading, action)
    for reach in (clause.start - 25, clause.start - 45):
        earlier = [
            a
            for a in reading.between(max(0, reach), clause.start)
            if a.mention.kind not in ("action", "quantity", "field", "step")
            and reading.preposition_before(a.mention) not in GOVERNING
            and (a.mention.start >= start or leads)
        ]
        subjects = [a for a in earlier if a.mention.kind in SUBJECTS or a.mention.id in wanted]
        if subjects:
            return subjects[-1]
    return None


def _pronoun_leads(reading: Reading, start: int, end: int) -> bool:
    return any(word in reading.grammar.pronoun for word in reading.words[start:end])


def _pronoun_follows(reading: Reading, action: Mention) -> bool:
    return any(word in POINTING for word in reading.words[action.end : action.end + 2])


def first_done(steps: list[Found], step: str) -> Found | None:
    """The first time a step was done."""
    return next((s for s in steps if s.value == step and s.status is Status.DONE), None)

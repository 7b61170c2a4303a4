"""The talk of habits that goes on over clauses, and what in it is told of this eye."""

from collections.abc import Collection, Sequence

from zonule.annotation.mentions import Annotation, Clause, Mention
from zonule.annotation.tenses import ANYBODY, tells_of_case
from zonule.assertion.scopes import REASONS
from zonule.assertion.sentence_reach import LONG_SENTENCE

TEACHING_CUES = 2
"""Habit cues from which a dictation counts as a teaching talk, where the present tense tells what one does."""
LIVE_CLAUSES = 2
"""Clauses in the progressive from which a talk is taken to go along with the operation."""
MEANS = frozenset({"technique", "drug", "drug_class", "viscoelastic", "implant"})
"""Kinds that are also spoken of at large ("divide and conquer is safe")."""
LABELED = frozenset({"lens_field:model", "lens_field:serial_number", "lens_field:lot_number"})
"""What stands on the box of one lens: no habit goes on there."""
COUNTED = frozenset({"parameter:phaco_time_s", "parameter:cumulative_dissipated_energy"})
"""What the machine has counted: no habit goes on there."""


def find_frames(annotation: Annotation, cues: Sequence[Mention]) -> list[tuple[Mention | None, bool]]:
    """For each clause, the habit frame it stands in: opened by a habit cue, closed by "in this eye", a past tense or
    what is going on.

    With it, whether only the present tense of a teaching talk tells so.
    """
    habits: dict[int, Mention] = {}
    for mention in cues:
        if mention.cue is not None and mention.cue.scope == "frame":
            habits.setdefault(annotation.clause_of[mention.start], mention)
    anchors = _anchored(annotation)
    fields = {
        annotation.clause_of[m.start]
        for m in annotation.mentions
        if m.key in LABELED or (m.kind == "field" and _labels(annotation, m))
    }
    teaching = len(habits) >= TEACHING_CUES
    live = _is_live(annotation, habits)
    latest = next(iter(habits.values()), None)
    frames: list[tuple[Mention | None, bool]] = []
    mode = "neutral"
    for at, clause in enumerate(annotation.clauses):
        if at in habits:
            latest = habits[at]
        opens = at == 0 or annotation.clauses[at - 1].sentence != clause.sentence
        stands = opens and _tells_of_case(annotation, clause) and not _tells_of_machine(annotation, clause)
        before = mode
        so = annotation.words[clause.start] == "so" and clause.tense == "none"
        so = so or _opens_step(annotation, clause)
        mode = _next_mode(mode, clause, opens or so, at in habits, at in anchors, at in fields or stands)
        usual = mode == "habit" or (
            teaching
            and mode == "neutral"
            and at not in anchors
            and at not in fields
            and _is_usual(annotation, clause, live)
        )
        frames.append((latest if usual else None, mode != "habit"))
        if at in habits and annotation.words[clause.start] in REASONS:
            mode = before
    return frames


def _labels(annotation: Annotation, field: Mention) -> bool:
    """Whether the name of a field stands as a label: before its clause, or before a colon or what it is.

    In raw text, where nothing shows what begins a clause, every name of a field may be one.
    """
    if annotation.sentence_length(field.start) > LONG_SENTENCE:
        return True
    opens = field.start == annotation.clauses[annotation.clause_of[field.start]].start
    return opens or annotation.words[field.end : field.end + 1] in ((":",), ("is",), ("was",), ("were",), ("are",))


def _opens_step(annotation: Annotation, clause: Clause) -> bool:
    """Whether the next step is named without a verb in raw text ("we normally have it at 65 | sculpting vacuum 50")."""
    if clause.tense != "none" or clause.subject or annotation.sentence_length(clause.start) <= LONG_SENTENCE:
        return False
    opening = annotation.mentions_between(clause.start, clause.start + 1)
    return any(m.kind in ("step", "technique") or m.key in COUNTED for m in opening)


def _is_live(annotation: Annotation, habits: Collection[int]) -> bool:
    """Whether the talk goes along with the operation ("I'm cutting the main incision … the speculum's going in")."""
    going_on = (
        at for at, clause in enumerate(annotation.clauses) if clause.tense == "progressive" and at not in habits
    )
    return sum(1 for _ in going_on) >= LIVE_CLAUSES


def _is_usual(annotation: Annotation, clause: Clause, live: bool) -> bool:
    """Whether a clause of a teaching talk tells what one does, by its tense and subject alone."""
    if clause.tense in ("modal", "imperative"):
        return True
    if clause.tense != "present" or _tells_of_case(annotation, clause):
        return False
    return not live or clause.subject in ANYBODY


def _tells_of_case(annotation: Annotation, clause: Clause) -> bool:
    if clause.tense != "present":
        return False
    held = annotation.mentions_between(clause.start, clause.end)
    means = {i for m in held if m.kind in MEANS for i in range(m.start, m.end)}
    return tells_of_case(annotation.words, clause.start, clause.end, clause.subject, means)


def _tells_of_machine(annotation: Annotation, clause: Clause) -> bool:
    """Whether a setting is told: behind a habit, "the vacuum is 400" may still be what is usual."""
    return any(m.kind == "parameter" for m in annotation.mentions_between(clause.start, clause.end))


def _next_mode(mode: str, clause: Clause, opens: bool, habit: bool, anchor: bool, told: bool) -> str:
    """A habit frame also ends at a new sentence without a finite verb: telegraphic statements tell what was done."""
    if habit:
        return "habit"
    if anchor:
        return "case"
    if clause.tense in ("past", "progressive") or told or (opens and clause.tense in ("none", "infinitive")):
        return "neutral" if mode == "habit" else mode
    return mode


def _anchored(annotation: Annotation) -> frozenset[int]:
    """The clauses that speak of this eye."""
    cued = (m for m in annotation.mentions if m.cue is not None and m.cue.anchor)
    return frozenset(annotation.clause_of[m.start] for m in cued)

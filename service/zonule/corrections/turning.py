"""Whether wording turns back at once, over an aside, or not at all."""

from dataclasses import replace

from zonule.annotation.mentions import Annotation, Mention
from zonule.corrections.standing import Live

DENIALS = (("no",), ("not",))
"""Weak wording that before a thing of the trade denies it instead of correcting."""
AMBIGUOUS = (*DENIALS, ("actually",), ("well",), ("rather",), ("wait",))
"""Weak wording that more often than not goes on instead of turning back, where it begins a sentence."""
AGAIN = frozenset({"again", "misread", "mistaken", "wrong", "glasses", "properly"})
"""Words of an aside that says why a number is said anew ("no, reading it again, 19.5")."""
FILLERS = frozenset({":", ",", "-", "at", "the", "it", "it's", "'s", "was", "is", "a"})
"""Words between wording that turns back and the new value."""
SAID_ANEW = (("it", "was"), ("it", "is"), ("it", "'s"), ("that", "was"))
"""Words before what was meant, behind an aside ("no, we were out of it, it was cefuroxime")."""
TURNING = frozenset(
    {"saying", "hang", "hold", "wait", "correction", "mistake", "wrong", "pardon", "scratch", "scrub", "strike", "lie"}
)
"""Words of which one stands in wording that turns back over more than one sentence."""
KIND_REACH = 10
"""Words before the wording within which the kind of incision stands that is corrected."""
CLOSE_EYE, FAR_EYE = 6, 40
"""Words before and behind such wording within which the two eyes stand."""
ALONE = frozenset(".,:;?!-\n")
INTERJECTED = frozenset({"lens_location", "technique", "anesthesia", "incision_kind", "viscoelastic", "drug"})
"""Kinds of which one is replaced behind a "no" that stands between pauses ("in the sulcus, no, in the bag")."""
REFUSING = (("not",), ("it", "'s", "not"), ("it", "is", "not"), ("that", "'s", "not"), ("it's", "not"), ("not", "the"))
"""Words behind wording of correction that first say the old value again ("sorry, not the bag, the sulcus")."""
REFUSED = 6
"""Words of a value that is said again so."""
SIGNS = frozenset({"+", "-", "plus", "minus"})
LAST_HOUR = 12
AGAIN_REACH = 18
"""Words behind an aside within which a number is said again."""
SAYS = frozenset({"+", "-", "plus", "minus", "says", "reads", "be", "really", "yes", "now", "actually", "sorry", "to"})
"""Words that a number said again may follow."""
CONFIRMS = (("is", "right"), ("is", "correct"), ("it", "is"), ("is", "it"), ("is", "the"), ("that", "is"))
"""Words behind a number that say it is the right one."""
TOLD = (("it", "was"), ("it", "is"), ("it", "measured"), ("came", "to"), ("that", "was"))
"""Words that a number told anew follows in raw text ("five millimetres no wait i measured it … it was 5.2")."""
COUNTED = frozenset({"thing", "implant", "instrument", "phase", "suture_material", "anatomy"})
OTHERWISE = frozenset({"step", "parameter", "phase", "lens_field", "drug", "viscoelastic", "implant", "suture_material",
                       "technique", "lens_location", "lens_type", "plan", "complication"})  # fmt: skip
"""Kinds that say a number behind them is of something else."""


def eyes_turned(live: Live, cue: Mention) -> tuple[Mention, Mention] | None:
    """ "Right eye. No, hang on, that was the list before. Left eye.": the eye given up and the one said for it.

    The new one stands alone, as what it is said with is all about the slip; a mere "no" or "sorry" is not enough.
    """
    words = live.annotation.words
    if not TURNING & set(words[cue.start : cue.end]):
        return None
    before = [
        m for m in live.between(max(0, cue.start - CLOSE_EYE), cue.start) if m.kind == "eye" and m.end <= cue.start
    ]
    after = next((m for m in live.between(cue.end, cue.end + FAR_EYE) if m.kind == "eye"), None)
    if not before or after is None or after.id == before[-1].id:
        return None
    told = words[after.start - 2 : after.start] in (("is", "the"), ("'s", "the"), ("it's", "the"))
    alone = (told or words[after.start - 1] in ALONE) and words[after.end : after.end + 1] and words[after.end] in ALONE
    return (before[-1], after) if alone else None


def turns(annotation: Annotation, cue: Mention, new: Mention) -> bool:
    """Whether weak wording ("no", "sorry") turns back at once, and is no denial of what follows it."""
    if annotation.sentence_of(cue.start) != annotation.sentence_of(new.start):
        return False
    at = behind_refusal(annotation.words, cue)
    if new.start - at > 3:
        return _turns_after_aside(annotation, cue, new)
    said = annotation.words[cue.start : cue.end]
    between = {word for word in annotation.words[at : new.start] if not word.isdigit()}
    kinds = ("quantity", "eye", "site", *INTERJECTED) if _interjected(annotation, cue) else ("quantity", "eye", "site")
    return said not in DENIALS or (new.kind in kinds and between <= FILLERS)


def _interjected(annotation: Annotation, cue: Mention) -> bool:
    """Whether wording stands between two pauses."""
    return annotation.words[cue.end : cue.end + 1] == (",",) and annotation.words[cue.start - 1] in ALONE


def behind_refusal(words: tuple[str, ...], cue: Mention) -> int:
    """Where the new value may begin: behind the wording, and behind the old value where that is refused first."""
    at = cue.end + (words[cue.end : cue.end + 1] == (",",))
    for said in REFUSING:
        if words[at : at + len(said)] == said:
            stop = range(at + len(said), min(at + len(said) + REFUSED, len(words)))
            return next((i + 1 for i in stop if words[i] in (",", "but", ".")), cue.end)
    return cue.end


def number_again(live: Live, cue: Mention) -> tuple[Mention, Mention] | None:
    """ "CDE 11.4, hang on, let me look at the screen. 14.1.": a number, an aside, and one of the same measure alone."""
    words = live.annotation.words
    before = [m for m in live.between(max(0, cue.start - AGAIN_REACH), cue.start) if m.quantity is not None]
    old = before[-1] if before else None
    if old is None or not _paused(live, old.end, cue.start):
        return None
    for new in live.between(cue.end, cue.end + AGAIN_REACH):
        if new.kind in OTHERWISE:
            return None
        if new.quantity is None or not (_same_measure(old, new) or _both_signed(live, old, new)):
            continue
        led = words[new.start - 1] in ALONE | FILLERS | SAYS or any(m.end == new.start for m in _cues(live, new.start))
        ends = new.end == len(words) or words[new.end] in ALONE or (new.id == "clock_hour" and words[new.end] == "and")
        confirmed = words[new.end : new.end + 2] in CONFIRMS
        measured = new.id == old.id != "number"
        told = words[new.start - 2 : new.start] in TOLD and not _counts(live, new)
        if confirmed or (led and ends) or ((measured or told) and "." not in words):
            return old, new
        return None
    return None


def _counts(live: Live, number: Mention) -> bool:
    """Whether a thing stands right behind a number."""
    return any(m.kind in COUNTED for m in live.between(number.end, number.end + 1))


def _paused(live: Live, start: int, end: int) -> bool:
    """Whether nothing but marks and wording of correction stands between two words."""
    held = {i for m in _cues(live, end) for i in range(m.start, m.end)}
    return all(i in held or live.annotation.words[i] in ALONE for i in range(start, end))


def _cues(live: Live, end: int) -> list[Mention]:
    near = live.annotation.mentions_between(max(0, end - AGAIN_REACH), end)
    return [m for m in near if m.correction is not None]


def _both_signed(live: Live, old: Mention, new: Mention) -> bool:
    """ "Plus 20.5. Scratch that, … this one is plus 21": powers, with or without a part behind the point."""
    signed = (not SIGNS.isdisjoint(live.annotation.words[max(0, m.start - 1) : m.start + 1]) for m in (old, new))
    numeric = (m.quantity is not None and isinstance(m.quantity.value, float | int) for m in (old, new))
    return all(signed) and all(numeric)


def _same_measure(old: Mention, new: Mention) -> bool:
    """Whether two numbers are told in one unit, or in one shape where one has none."""
    if old.quantity is None or new.quantity is None:
        return False
    first, second = old.quantity.value, new.quantity.value
    if not isinstance(first, float | int) or not isinstance(second, float | int) or first == second:
        return False
    if new.id == "clock_hour" and old.id == "number":
        return 1 <= first <= LAST_HOUR and first % 1 == 0
    if "number" not in (old.id, new.id):
        return old.id == new.id
    pointed = (first % 1 != 0) == (second % 1 != 0) or "mm" in old.id
    return pointed and new.id in (old.id, "number") and 0.2 <= abs(second) / max(abs(first), 0.01) <= 5


def _turns_after_aside(annotation: Annotation, cue: Mention, new: Mention) -> bool:
    """ "51 seconds, sorry, she's reading it again, 57 seconds": a measure again, and no other thing named between."""
    words = annotation.words
    before = words[cue.start - 1 : cue.start]
    paused = before in ((",",), (".",)) and words[cue.end : cue.end + 1] == (",",)
    between = annotation.mentions_between(cue.end, new.start)
    named = any(m.kind not in ("word", "cue", "correction", "eye") for m in between)
    if new.kind in ("drug", "anesthesia") and words[new.start - 2 : new.start] in SAID_ANEW:
        return paused and not named
    again = not AGAIN.isdisjoint(words[cue.end : new.start]) or any(m.kind == "eye" for m in between)
    looked = new.id != "number" or again
    return paused and not named and new.quantity is not None and looked and (before == (",",) or new.id == "number")


def opens_to_correct(annotation: Annotation, cue: Mention, new: Mention) -> bool:
    """Whether a sentence begins with wording that can only turn back ("Right eye. Sorry, left eye.", "No, 19.5")."""
    first = annotation.sentences[annotation.sentence_of(cue.start)][0]
    opens = not any(word.isalnum() for word in annotation.words[annotation.clauses[first].start : cue.start])
    words = annotation.words
    if opens and words[cue.start : cue.end] == ("no",) and words[cue.end : cue.end + 1] == (",",):
        told = new.quantity is not None or new.kind in INTERJECTED
        return told and (new.start == cue.end + 1 or not AGAIN.isdisjoint(words[cue.end : new.start]))
    return opens and words[cue.start : cue.end] not in AMBIGUOUS


def side_again(live: Live, cue: Mention) -> tuple[Mention, Mention] | None:
    """ "The eye is the left, pardon me, the right.": the other side alone, which is no eye by itself."""
    words = live.annotation.words
    at = next((i for i in range(cue.end, min(cue.end + 4, len(words))) if words[i] not in FILLERS), len(words))
    if at == len(words) or words[at] not in ("right", "left"):
        return None
    if at + 1 < len(words) and words[at + 1] not in ALONE and words[at + 1] != "one":
        return None
    before = [m for m in live.between(max(0, cue.start - CLOSE_EYE), cue.start) if m.kind == "eye"]
    if not before or before[-1].id == words[at] or before[-1].id not in ("right", "left"):
        return None
    if any(m.kind == "eye" and m.start <= at < m.end for m in live.between(max(0, at - 3), at + 1)):
        return None
    return before[-1], replace(before[-1], start=at, end=at + 1, id=words[at])


def limbal_again(live: Live, cue: Mention) -> tuple[Mention, Mention] | None:
    """ "A clear corneal incision, no, sorry, limbal": a kind of incision that alone is but a place."""
    words = live.annotation.words
    at = next((i for i in range(cue.end, min(cue.end + 4, len(words))) if words[i] not in FILLERS), len(words))
    if words[at : at + 1] != ("limbal",):
        return None
    before = [m for m in live.between(max(0, cue.start - KIND_REACH), cue.start) if m.kind == "incision_kind"]
    if not before or before[-1].id == "limbal":
        return None
    return before[-1], replace(before[-1], start=at, end=at + 1, id="limbal")

"""What the speaker took back: mentions that a later correction replaces, and the words that say so."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from zonule.annotation.mentions import Annotation, Mention

REACH = 14
"""Words between a corrected value and the wording that corrects it; a slip is corrected at once or not at all."""
STRETCH = 14
"""Words that "scratch that" takes back at the most, where no punctuation shows how far it reaches."""
NAMED_REACH = 60
"""Words before the wording within which a value stands that is taken back by its name."""
AHEAD = 9
"""Words after the wording within which the new value stands."""
VALUE_KINDS = frozenset(
    {
        "anesthesia", "complication", "diagnosis", "drug", "eye", "implant", "incision_kind", "lens_location",
        "lens_material", "procedure", "quantity", "route", "site", "suture_material", "technique", "viscoelastic",
        "step", "urgency", "parameter", "lens_type", "phase",
    }
)  # fmt: skip


RESTATED = frozenset({"step", "parameter", "phase", "lens_field", "incision_kind", "drug"})
"""Kinds that name what a value is of: said again behind a correction, the whole phrase is."""
DENIALS = (("no",), ("not",))
"""Weak wording that before a thing of the trade denies it instead of correcting."""
AMBIGUOUS = (*DENIALS, ("actually",), ("well",), ("rather",), ("wait",))
"""Weak wording that more often than not goes on instead of turning back, where it begins a sentence."""
ECHOING = ("did", "i", "say")
"""Wording behind which the value is said again before the new one ("in the sulcus, did I say sulcus? In the bag")."""
AGAIN = frozenset({"again", "misread", "mistaken", "wrong", "glasses", "properly"})
"""Words of an aside that says why a number is said anew ("no, reading it again, 19.5")."""
FILLERS = frozenset({":", ",", "-", "at", "the", "it", "it's", "'s", "was", "is", "a"})
"""Words between wording that turns back and the new value."""
SAID_ANEW = (("it", "was"), ("it", "is"), ("it", "'s"), ("that", "was"))
"""Words before what was meant, behind an aside ("no, we were out of it, it was cefuroxime")."""
FAR_AGAIN = 14
"""Words behind wording that turns back over an aside within which a setting is named again."""
TURNING = frozenset({"hang", "hold", "wait", "correction", "mistake", "wrong", "pardon", "scratch", "strike", "lie"})
"""Words of which one stands in wording that turns back over more than one sentence."""
CLOSE_EYE, FAR_EYE = 6, 40
"""Words before and behind such wording within which the two eyes stand."""
ALONE = frozenset(".,:;?!-\n")
CLOSE = 3
"""Words between a value that ends a sentence and the wording behind it that corrects it."""
DATELIKE = frozenset({"month", "day_month", "day_of_month"})


@dataclass(frozen=True, slots=True)
class Retracted:
    """A mention that was taken back, by which cue, and what replaced it (None where nothing did)."""

    mention: Mention
    cue: Mention
    by: Mention | None


@dataclass(frozen=True, slots=True)
class Corrected:
    """What is left of the mentions, what was taken back, and all wording of correction."""

    annotation: Annotation
    retracted: tuple[Retracted, ...]
    cues: tuple[Mention, ...] = ()


class _Live:
    """The mentions that still stand while corrections are applied in order; looked at by stretches of words."""

    def __init__(self, annotation: Annotation) -> None:
        self.annotation = annotation
        self._gone: set[int] = set()
        self._changed: dict[int, Mention] = {}

    def between(self, start: int, end: int) -> list[Mention]:
        held = self.annotation.mentions_between(start, end)
        return [self._changed.get(id(m), m) for m in held if m.correction is None and id(m) not in self._gone]

    def all(self) -> tuple[Mention, ...]:
        return tuple(self.between(0, len(self.annotation.words)))

    def take_back(self, found: Sequence[Retracted]) -> None:
        taken = {(r.mention.start, r.mention.end) for r in found}
        for start, end in taken:
            held = self.annotation.mentions_between(start, start + 1)
            self._gone.update(id(m) for m in held if m.end == end and m.correction is None)
        for retracted in found:
            self._inherit(retracted)

    def drop_denials(self, cue: Mention) -> None:
        """A "no" that turned back denies nothing ("5.5, no, 5.0")."""
        held = self.annotation.mentions_between(max(0, cue.start - 1), cue.end)
        self._gone.update(id(m) for m in held if m.cue is not None and m.end <= cue.end)

    def _inherit(self, retracted: Retracted) -> None:
        """A bare new number takes the unit of the one it replaces ("nineteen diopters, sorry, twenty")."""
        new, old = retracted.by, retracted.mention
        if new is None or new.quantity is None or old.quantity is None or new.id != "number" or old.id == "number":
            return
        quantity = replace(new.quantity, dimension=old.quantity.dimension, unit=old.quantity.unit)
        for mention in self.annotation.mentions_between(new.start, new.start + 1):
            if mention.quantity is not None:
                self._changed[id(mention)] = replace(mention, id=old.id, quantity=quantity)


def apply_corrections(annotation: Annotation) -> Corrected:
    """Take back what the speaker took back; nothing else is deleted."""
    cues = [m for m in annotation.mentions if m.correction is not None]
    if not cues:
        return Corrected(annotation, ())
    live = _Live(annotation)
    retracted: list[Retracted] = []
    counted: set[int] = set()
    for cue in cues:
        found = _taken_back(live, cue) if cue.start not in counted else []
        if found:
            counted.add(cue.start)
            live.take_back(found)
            live.drop_denials(cue)
            retracted.extend(found)
    return Corrected(replace(annotation, mentions=live.all()), tuple(retracted), tuple(cues))


def _taken_back(live: _Live, cue: Mention) -> list[Retracted]:
    takes = cue.correction.takes if cue.correction else "value"
    if takes == "named":
        return _named(live, cue)
    if takes == "sentence":
        return _stretch(live, cue, _sentence_before(live.annotation, cue))
    restated = _restated(live, cue) if takes == "clause" or _is_strong(cue) else None
    if restated is not None:
        return _stretch(live, cue, (restated, cue.start))
    new = _value_after(live, cue)
    old = _same_kind_before(live, cue, new) if new else None
    if old is not None:
        start, end = _whole(live, old)
        return [Retracted(m, cue, new) for m in live.between(start, end) if m.end <= end]
    turned = _eyes_turned(live, cue)
    if turned is not None:
        return [Retracted(turned[0], cue, turned[1])]
    if takes == "clause":
        return _stretch(live, cue, _clause_before(live.annotation, cue))
    return []


def _eyes_turned(live: _Live, cue: Mention) -> tuple[Mention, Mention] | None:
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


def _named(live: _Live, cue: Mention) -> list[Retracted]:
    """What is taken back by its name ("plus 21.5, forget the 21"): the value said again, and where it was said."""
    named = next((m for m in live.between(cue.end, cue.end + 3) if m.kind in VALUE_KINDS), None)
    if named is None:
        return []
    before = [m for m in live.between(max(0, cue.start - NAMED_REACH), cue.start) if _is_same(named, m)]
    if not before:
        return []
    instead = [m for m in live.between(max(before[-1].end, cue.start - AHEAD), cue.start) if _replaces(m, before[-1])]
    return [Retracted(m, cue, instead[-1] if instead else None) for m in (before[-1], named)]


def _is_same(named: Mention, earlier: Mention) -> bool:
    if named.quantity is not None and earlier.quantity is not None:
        return named.quantity.value == earlier.quantity.value and "number" in (named.id, earlier.id, earlier.kind)
    return named.key == earlier.key


def _is_strong(cue: Mention) -> bool:
    return cue.correction is not None and not cue.correction.weak


def _restated(live: _Live, cue: Mention) -> int | None:
    """Where the phrase begins that is said again ("chop vacuum 360, correction, chop vacuum 330")."""
    words = live.annotation.words
    turning = not TURNING.isdisjoint(words[cue.start : cue.end]) or not AGAIN.isdisjoint(words[cue.end : cue.end + 6])
    ahead = [m for m in live.between(cue.end, cue.end + (FAR_AGAIN if turning else 3)) if m.kind in RESTATED]
    if not ahead or (ahead[0].start >= cue.end + 3 and ahead[0].kind != "parameter"):
        return None
    earlier = [m for m in live.between(max(0, cue.start - REACH), cue.start) if m.key == ahead[0].key]
    return earlier[-1].start if earlier else None


def _whole(live: _Live, old: Mention) -> tuple[int, int]:
    """The words taken back: a form goes whole, with the attributes named within it; a suture size with its material."""
    if old.id == "clock_hour" or _may_be_hour(old):
        return _hours(live, old), old.end
    around = [m for m in live.between(max(0, old.start - 6), old.end) if m.end > old.start and m.kind == old.kind]
    start, end = min(m.start for m in (*around, old)), max(m.end for m in (*around, old))
    return start, max(end, _end_of_suture(live, old))


def _may_be_hour(old: Mention) -> bool:
    value = old.quantity.value if old.id == "number" and old.quantity is not None else None
    return isinstance(value, float | int) and 1 <= value <= 12 and value % 1 == 0


def _hours(live: _Live, last: Mention) -> int:
    """Where the list of hours that ends with `last` begins ("8 and 11 o'clock, correction, 7 and 11")."""
    start = last.start
    for mention in reversed(live.between(max(0, last.start - 8), last.start)):
        if mention.kind != "quantity":
            continue
        gap = set(live.annotation.words[mention.end : start])
        if (mention.id != "clock_hour" and not _may_be_hour(mention)) or not gap <= {"and", ",", "at", "o'clock"}:
            break
        start = mention.start
    return start


def _end_of_suture(live: _Live, old: Mention) -> int:
    """A size taken back takes its material with it ("two 10-0 nylon, no, one 10-0 nylon")."""
    if old.id != "suture_size":
        return old.end
    behind = live.between(old.end, old.end + 2)
    return next((m.end for m in behind if m.kind == "suture_material"), old.end)


def _stretch(live: _Live, cue: Mention, stretch: tuple[int, int]) -> list[Retracted]:
    return [Retracted(m, cue, None) for m in live.between(*stretch) if m.kind not in ("word", "cue", "field", "title")]


def _sentence_before(annotation: Annotation, cue: Mention) -> tuple[int, int]:
    """The words of the sentence that the cue follows; of its own when words stand before it there."""
    number = annotation.sentence_of(cue.start)
    first = annotation.clauses[annotation.sentences[number][0]].start
    if any(annotation.words[i].isalnum() for i in range(first, cue.start)):
        return first, cue.start
    if number - 1 not in annotation.sentences:
        return cue.start, cue.start
    before, last = annotation.sentences[number - 1]
    while annotation.words[annotation.clauses[before].start - 1] == ";" and number - 2 in annotation.sentences:
        number -= 1
        before = annotation.sentences[number - 1][0]
    return annotation.clauses[before].start, annotation.clauses[last].end


def _clause_before(annotation: Annotation, cue: Mention) -> tuple[int, int]:
    at = annotation.clause_of[cue.start]
    clause = annotation.clauses[at]
    if any(annotation.words[i].isalnum() for i in range(clause.start, cue.start)):
        return max(clause.start, cue.start - STRETCH), cue.start
    before = annotation.clauses[at - 1] if at else clause
    return max(before.start, cue.start - STRETCH), min(before.end, cue.start)


def _value_after(live: _Live, cue: Mention) -> Mention | None:
    ahead = [m for m in live.between(cue.end, cue.end + AHEAD + 1) if m.kind in VALUE_KINDS]
    if live.annotation.words[cue.start : cue.end] == ECHOING:
        ahead = [m for m in ahead if ahead[0].key != m.key or (m.quantity is not None and m is not ahead[0])]
    if len(ahead) > 1 and ahead[0].kind == "eye" and live.annotation.words[ahead[0].start - 1] in ("her", "his"):
        ahead = ahead[1:]
    while len(ahead) > 1 and ahead[0].id == "number" and _is_same(ahead[0], ahead[1]):
        ahead = ahead[1:]
    if len(ahead) > 1 and ahead[0].id == "number" and ahead[1].id == "suture_size" and ahead[1].start == ahead[0].end:
        return ahead[1]
    if len(ahead) > 1 and ahead[0].kind == "parameter" and ahead[1].kind == "quantity":
        return ahead[1]
    return ahead[0] if ahead else None


def _same_kind_before(live: _Live, cue: Mention, new: Mention) -> Mention | None:
    """The nearest earlier mention that `new` can replace; an identical one is no correction, but for its plus."""
    weak = cue.correction is not None and cue.correction.weak
    reach = REACH if not weak else REACH // 2
    annotation = live.annotation
    nearest: Mention | None = None
    again: Mention | None = None
    if weak and not _turns(annotation, cue, new):
        return None
    for mention in reversed(live.between(max(0, cue.start - 3 * reach), cue.start)):
        if mention.end > cue.start or mention.kind not in VALUE_KINDS:
            continue
        apart = annotation.sentence_of(mention.start) != annotation.sentence_of(cue.start)
        if weak and apart and not (_opens_to_correct(annotation, cue, new) and cue.start - mention.end <= CLOSE):
            return again
        if cue.start - mention.end > reach:
            return again
        if _says_again(new, mention):
            reach = cue.start - mention.start + REACH
            signed = annotation.words[mention.end - 1] in ("plus", "+")
            again = mention if signed and again is None else again
            continue
        if _replaces(new, mention):
            return mention
        if new.id == "number" and mention.id == "suture_size":
            continue
        nearest = nearest if nearest is not None else mention
        passed = mention.end <= nearest.start
        if weak and passed and (mention.kind == "quantity") == (new.kind == "quantity"):
            return again
    return again


def _says_again(new: Mention, earlier: Mention) -> bool:
    """ "The 2.4? It was the 2.4, make that 2.4": the same number corrects what stands before it."""
    if new.quantity is None or earlier.quantity is None or new.id != "number" or earlier.id != "number":
        return False
    return new.quantity.value == earlier.quantity.value


def _turns(annotation: Annotation, cue: Mention, new: Mention) -> bool:
    """Whether weak wording ("no", "sorry") turns back at once, and is no denial of what follows it."""
    if annotation.sentence_of(cue.start) != annotation.sentence_of(new.start):
        return False
    if new.start - cue.end > 3:
        return _turns_after_aside(annotation, cue, new)
    said = annotation.words[cue.start : cue.end]
    between = {word for word in annotation.words[cue.end : new.start] if not word.isdigit()}
    return said not in DENIALS or (new.kind in ("quantity", "eye", "site") and between <= FILLERS)


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


def _opens_to_correct(annotation: Annotation, cue: Mention, new: Mention) -> bool:
    """Whether a sentence begins with wording that can only turn back ("Right eye. Sorry, left eye.", "No, 19.5")."""
    first = annotation.sentences[annotation.sentence_of(cue.start)][0]
    opens = not any(word.isalnum() for word in annotation.words[annotation.clauses[first].start : cue.start])
    words = annotation.words
    if opens and words[cue.start : cue.end] == ("no",) and words[cue.end : cue.end + 1] == (",",):
        return new.quantity is not None and (
            new.start == cue.end + 1 or not AGAIN.isdisjoint(words[cue.end : new.start])
        )
    return opens and words[cue.start : cue.end] not in AMBIGUOUS


def _replaces(new: Mention, old: Mention) -> bool:
    if new.kind != old.kind:
        return False
    if new.quantity is not None and old.quantity is not None:
        numeric = isinstance(new.quantity.value, float | int) and isinstance(old.quantity.value, float | int)
        timed = {new.id, old.id} == {"clock_hour", "time_of_day"}
        dated = "date" in new.id and ("date" in old.id or old.id in DATELIKE)
        return new.id == old.id or dated or timed or (numeric and "number" in (new.id, old.id))
    return new.id != old.id

"""What the speaker took back: mentions that a later correction replaces, and the words that say so."""

from dataclasses import replace

from zonule.annotation.mentions import Annotation, Mention
from zonule.corrections.slips import (
    CLOSE,
    REACH,
    denied_again,
    denied_behind,
    is_told,
    sutures_again,
    tells_slip,
    told_of_slip,
)
from zonule.corrections.standing import VALUE_KINDS, Corrected, Live, Retracted, is_same, replaces, says_again
from zonule.corrections.turning import (
    AGAIN,
    TURNING,
    behind_refusal,
    eyes_turned,
    limbal_again,
    number_again,
    opens_to_correct,
    side_again,
    turns,
)

HOUR_JOINTS = frozenset({"and", ",", "at", "o'clock"})
"""Words between two hours of one list."""
REFUSES = (("not",), ("instead", "of"), ("rather", "than"))
"""Words behind a new value that say the old one again."""
STRETCH = 14
"""Words that "scratch that" takes back at the most, where no punctuation shows how far it reaches."""
NAMED_REACH = 60
"""Words before the wording within which a value stands that is taken back by its name."""
AHEAD = 9
"""Words after the wording within which the new value stands."""
RESTATED = frozenset({"step", "parameter", "phase", "lens_field", "incision_kind", "drug"})
"""Kinds that name what a value is of: said again behind a correction, the whole phrase is."""
LABELS = frozenset({"step", "parameter", "lens_field"})
ECHOING = ("did", "i", "say")
"""Wording behind which the value is said again before the new one ("in the sulcus, did I say sulcus? In the bag")."""
FAR_AGAIN = 14
"""Words behind wording that turns back over an aside within which a setting is named again."""


def apply_corrections(annotation: Annotation) -> Corrected:
    """Take back what the speaker took back; nothing else is deleted."""
    cues = [m for m in annotation.mentions if m.correction is not None]
    cues.sort(key=lambda m: (m.start, not _is_strong(m)))
    if not cues:
        return Corrected(annotation, ())
    live = Live(annotation)
    retracted: list[Retracted] = []
    counted: set[int] = set()
    said: tuple[int, Mention | None] = (-CLOSE, None)
    for cue in cues:
        again = cue.start - said[0] < CLOSE and said[1] is not None and said[1].start >= cue.end
        found = _taken_back(live, cue) if cue.start not in counted and not again else []
        found = [*found, *denied_again(live, cue, found)]
        if found:
            counted.add(cue.start)
            said = cue.end, found[0].by
            live.take_back(found)
            live.drop_denials(cue.start, behind_refusal(annotation.words, cue))
            told = told_of_slip(live, found)
            live.take_back(told)
            retracted.extend([*found, *told])
    return Corrected(replace(annotation, mentions=live.all()), tuple(retracted), tuple(cues))


def _taken_back(live: Live, cue: Mention) -> list[Retracted]:
    takes = cue.correction.takes if cue.correction else "value"
    if takes == "named":
        return _named(live, cue)
    if takes == "sentence":
        return _stretch(live, cue, _sentence_before(live.annotation, cue))
    if takes == "again":
        return _replaced(cue, number_again(live, cue)) or sutures_again(live, cue)
    restated = _restated(live, cue, sure=takes == "clause" or _is_strong(cue))
    if restated is not None:
        return _stretch(live, cue, restated)
    limbal = limbal_again(live, cue)
    if limbal is not None:
        live.add(limbal[1])
        return _replaced(cue, limbal)
    for new in _values_after(live, cue):
        refused = _refused(live, cue, new)
        if refused:
            return refused
        old = _same_kind_before(live, cue, new)
        if old is not None:
            start, end = _whole(live, old, new)
            return [Retracted(m, cue, new) for m in live.between(start, end) if m.end <= end]
    sided = side_again(live, cue)
    if sided is not None:
        live.add(sided[1])
    turned = sided or eyes_turned(live, cue)
    if turned is None and not TURNING.isdisjoint(live.annotation.words[cue.start : cue.end]):
        turned = number_again(live, cue)
    if turned is not None and turned[1].id == "clock_hour":
        start, end = _whole(live, *turned)
        return [Retracted(m, cue, turned[1]) for m in live.between(start, end) if m.end <= end]
    if turned is not None:
        return _replaced(cue, turned)
    if takes == "clause":
        return _stretch(live, cue, _clause_before(live.annotation, cue))
    return denied_behind(live, cue)


def _replaced(cue: Mention, pair: tuple[Mention, Mention] | None) -> list[Retracted]:
    return [Retracted(pair[0], cue, pair[1])] if pair is not None else []


def _refused(live: Live, cue: Mention, new: Mention) -> list[Retracted]:
    """ "Correction: the axis is 17 degrees, not 71": the old value told again behind the new one, and where it was."""
    words = live.annotation.words
    at = new.end + (words[new.end : new.end + 1] == (",",))
    said = next((said for said in REFUSES if words[at : at + len(said)] == said), None)
    if said is None or not _is_strong(cue):
        return []
    again = next((m for m in live.between(at + len(said), at + len(said) + 3) if m.kind == new.kind), None)
    if again is None or not replaces(new, again):
        return []
    reach = len(words) if tells_slip(again) else NAMED_REACH
    before = [m for m in live.between(max(0, cue.start - reach), cue.start) if is_told(again, m)]
    if not before:
        return []
    live.drop_denials(new.end, again.start)
    return [Retracted(m, cue, new) for m in (before[-1], again)]


def _named(live: Live, cue: Mention) -> list[Retracted]:
    """What is taken back by its name ("plus 21.5, forget the 21"): the value said again, and where it was said."""
    named = next((m for m in live.between(cue.end, cue.end + 3) if m.kind in VALUE_KINDS or m.kind == "action"), None)
    if named is None:
        return []
    before = [m for m in live.between(max(0, cue.start - NAMED_REACH), cue.start) if is_same(named, m)]
    if not before:
        return []
    instead = [m for m in live.between(max(before[-1].end, cue.start - AHEAD), cue.start) if replaces(m, before[-1])]
    return [Retracted(m, cue, instead[-1] if instead else None) for m in (before[-1], named)]


def _is_strong(cue: Mention) -> bool:
    return cue.correction is not None and not cue.correction.weak


def _restated(live: Live, cue: Mention, *, sure: bool) -> tuple[int, int] | None:
    """The phrase that is said again ("chop vacuum 360, correction, chop vacuum 330"), None if none is."""
    words = live.annotation.words
    turning = not TURNING.isdisjoint(words[cue.start : cue.end]) or not AGAIN.isdisjoint(words[cue.end : cue.end + 6])
    ahead = [m for m in live.between(cue.end, cue.end + (FAR_AGAIN if turning else 3)) if m.kind in RESTATED]
    if not ahead or (ahead[0].start >= cue.end + 3 and ahead[0].kind != "parameter"):
        return None
    label = ahead[0]
    first = next((m for m in live.between(cue.end, label.start) if m.quantity is not None), None)
    if first is not None and first.start <= cue.end + 1 and label.start - first.end <= 1:
        return None  # "vacuum 0 to 500, correction, 0 to 550, flow 30"
    earlier = [m for m in live.between(max(0, cue.start - REACH), cue.start) if m.key == label.key]
    if earlier and (sure or (turning and _has_value(live, label) and _has_value(live, earlier[-1]))):
        return earlier[-1].start, cue.start
    if not sure or label.kind not in ("parameter", "lens_field") or not _has_value(live, label):
        return None
    if not _begins_sentence(live, cue) or label.start >= cue.end + 3:
        return None
    far = [m for m in live.between(max(0, cue.start - NAMED_REACH), cue.start) if m.key == label.key]
    value = _has_value(live, far[-1]) if far else None
    return (far[-1].start, value.end) if value is not None else None


def _has_value(live: Live, label: Mention) -> Mention | None:
    """The number right behind a label."""
    return next((m for m in live.between(label.end, label.end + 3) if m.quantity is not None), None)


def _begins_sentence(live: Live, cue: Mention) -> bool:
    return cue.start == 0 or live.annotation.words[cue.start - 1] in (".", "\n", "!", "?")


def _whole(live: Live, old: Mention, new: Mention | None) -> tuple[int, int]:
    """The words taken back: a form goes whole, with the attributes named within it; a suture size with its material."""
    if old.id == "clock_hour" or _may_be_hour(old):
        return (_hours(live, old) if new is not None and _is_listed(live, new) else old.start), old.end
    around = [m for m in live.between(max(0, old.start - 6), old.end) if m.end > old.start and m.kind == old.kind]
    start, end = min(m.start for m in (*around, old)), max(m.end for m in (*around, old))
    return start, max(end, _end_of_suture(live, old))


def _may_be_hour(old: Mention) -> bool:
    value = old.quantity.value if old.id == "number" and old.quantity is not None else None
    return isinstance(value, float | int) and 1 <= value <= 12 and value % 1 == 0


def _is_listed(live: Live, new: Mention) -> bool:
    """Whether another hour follows, so that the whole list is said again."""
    joined = live.annotation.words[new.end : new.end + 1] in (("and",), (",",), ("o'clock",))
    return joined and any(
        (m.id == "clock_hour" or _may_be_hour(m)) and set(live.annotation.words[new.end : m.start]) <= HOUR_JOINTS
        for m in live.between(new.end, new.end + 5)
    )


def _hours(live: Live, last: Mention) -> int:
    """Where the list of hours that ends with `last` begins ("8 and 11 o'clock, correction, 7 and 11")."""
    start = last.start
    for mention in reversed(live.between(max(0, last.start - 8), last.start)):
        if mention.kind != "quantity":
            continue
        gap = set(live.annotation.words[mention.end : start])
        if (mention.id != "clock_hour" and not _may_be_hour(mention)) or not gap <= HOUR_JOINTS:
            break
        start = mention.start
    return start


def _end_of_suture(live: Live, old: Mention) -> int:
    """A size taken back takes its material with it ("two 10-0 nylon, no, one 10-0 nylon")."""
    if old.id != "suture_size":
        return old.end
    behind = live.between(old.end, old.end + 2)
    return next((m.end for m in behind if m.kind == "suture_material"), old.end)


def _stretch(live: Live, cue: Mention, stretch: tuple[int, int]) -> list[Retracted]:
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


def _values_after(live: Live, cue: Mention) -> list[Mention]:
    """The value behind wording of correction; several where the same words are told of in several ways."""
    new = _value_after(live, cue)
    if new is None:
        return []
    same = [m for m in live.between(new.start, new.start + 1) if m.kind in VALUE_KINDS and m.end == new.end]
    return [new, *(m for m in same if m.kind != new.kind)]


def _value_after(live: Live, cue: Mention) -> Mention | None:
    at = behind_refusal(live.annotation.words, cue)
    ahead = [m for m in live.between(at, at + AHEAD + 1) if m.kind in VALUE_KINDS]
    if live.annotation.words[cue.start : cue.end] == ECHOING:
        ahead = [m for m in ahead if ahead[0].key != m.key or (m.quantity is not None and m is not ahead[0])]
    if len(ahead) > 1 and ahead[0].kind == "eye" and live.annotation.words[ahead[0].start - 1] in ("her", "his"):
        ahead = ahead[1:]
    while len(ahead) > 1 and ahead[0].id == "number" and is_same(ahead[0], ahead[1]):
        ahead = ahead[1:]
    if len(ahead) > 1 and ahead[0].id == "number" and ahead[1].id == "suture_size" and ahead[1].start == ahead[0].end:
        return ahead[1]
    if len(ahead) > 1 and ahead[0].kind == "parameter" and ahead[1].kind == "quantity":
        return ahead[1]
    return ahead[0] if ahead else None


def _labeled_anew(live: Live, old: Mention, cue: Mention) -> bool:
    """ "Incision 2.75, the rhexis on the small side, call it 4.5": what is called so has a name of its own."""
    return old.kind == "quantity" and any(m.kind in LABELS for m in live.between(old.end, cue.start))


def _same_kind_before(live: Live, cue: Mention, new: Mention) -> Mention | None:
    """The nearest earlier mention that `new` can replace; an identical one is no correction, but for its plus."""
    weak = cue.correction is not None and cue.correction.weak
    reach = REACH if not weak else REACH // 2
    annotation = live.annotation
    nearest: Mention | None = None
    again: Mention | None = None
    if weak and not turns(annotation, cue, new):
        return None
    for mention in reversed(live.between(max(0, cue.start - 3 * reach), cue.start)):
        if mention.end > cue.start or mention.kind not in VALUE_KINDS:
            continue
        apart = annotation.sentence_of(mention.start) != annotation.sentence_of(cue.start)
        if weak and apart and not (opens_to_correct(annotation, cue, new) and cue.start - mention.end <= CLOSE):
            return again
        if cue.start - mention.end > reach:
            return again
        if says_again(new, mention):
            reach = cue.start - mention.start + REACH
            signed = annotation.words[mention.end - 1] in ("plus", "+")
            again = mention if signed and again is None else again
            continue
        if replaces(new, mention):
            return None if weak and _labeled_anew(live, mention, cue) else mention
        if new.id == "number" and mention.id == "suture_size":
            continue
        nearest = nearest if nearest is not None else mention
        passed = mention.end <= nearest.start
        if weak and passed and (mention.kind == "quantity") == (new.kind == "quantity"):
            return again
    return again

"""Which words of a dictation could have been heard for which trade form."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import takewhile

from rapidfuzz.distance import Levenshtein

from zonule.normalization.form_search import LEAST_KEY, FormSearch, Words
from zonule.normalization.hope import LEAST_SOUND, Hope, is_other_term
from zonule.normalization.likeness import (
    FARTHER,
    Likeness,
    letter_likeness,
    mistakes_between,
    most_mistakes,
    sound_likeness,
)
from zonule.normalization.ordinary_words import KEPT
from zonule.normalization.sounds import skeleton
from zonule.normalization.trade_forms import TradeForm, TradeForms, sound_of_words

PARTS = frozenset(
    {
        "bit",
        "lot",
        "lots",
        "sort",
        "kind",
        "touch",
        "hint",
        "drop",
        "spot",
        "piece",
        "couple",
        "some",
        "most",
        "all",
        "out",
    }
)
"""Before "of": what follows is what it is a part of ("a bit of a sting") and no beginning of a term."""
WINDOW = 6
"""Words that may have been heard for one form."""
WHOLE_WINDOW = 4
"""Words of the longest window that is looked up by its whole sound: slow, and not needed for longer ones."""
LONGEST_WHOLE = 3
"""Words of the longest form whose words are looked for as heard right."""
LETTERS = (4, 40)
"""Letters of such words, together."""
STEM = 4
"""Letters with which two forms of one word begin."""
ENDING = 7
"""Letters with which an English word and another term end that differ in what stands before them ("detachment")."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """The words `heard`, between `left` and `right` ("" where there is none), as heard for `read_as`.

    `odd` counts the words that a note has no use for; `before` and `after` say whether the word beside them stands
    there in a form as well; `margin` is how much better it sounds than another reading of the same words.
    """

    heard: Words
    left: str
    right: str
    read_as: Words
    like: Likeness
    odd: int
    before: bool
    after: bool
    margin: float


class CandidateSearch:
    """Finds candidates; built once."""

    def __init__(self, forms: TradeForms, hope: Hope) -> None:
        self._forms = forms
        self._search = FormSearch(forms)
        self._hope = hope
        self._may_read = lru_cache(maxsize=16384)(self._find_hope)
        self._alone = lru_cache(maxsize=4096)(self._find_alone)
        self._beside = lru_cache(maxsize=8192)(self._find_beside)
        self._compare = lru_cache(maxsize=4096)(self._compare_all)

    def windows(
        self, words: Sequence[str], joined: Sequence[bool], barred: Collection[int]
    ) -> Iterator[tuple[int, int, int]]:
        """Start, end (half-open) and count of odd words of every run of joined words that may have been misheard.

        A note has no use for an odd word. Where there is none nothing is sought; `barred` words are not touched.
        """
        strange = self._forms.at_home.lacking(frozenset(words))
        if not strange:
            return
        odd = self._odd(words, strange)
        for start, first in enumerate(words):
            if first == "and" or True not in odd[start : start + WINDOW]:
                continue
            if first == "of" and start and words[start - 1] in PARTS:
                continue
            count = letters = 0
            for end in range(start + 1, min(len(words), start + WINDOW) + 1):
                if end - 1 in barred or (end - 1 > start and not joined[end - 2]):
                    break
                count += odd[end - 1]
                letters += len(words[end - 1])
                if letters > LETTERS[1]:
                    break
                if count and letters >= LETTERS[0]:
                    yield start, end, count

    def _odd(self, words: Sequence[str], strange: Collection[str]) -> list[bool]:
        """Whether a note has no use for each word: words that make up a form were heard right, however rare."""
        odd = [word in strange for word in words]
        for at in [at for at, is_odd in enumerate(odd) if is_odd]:
            for start in range(max(0, at - LONGEST_WHOLE + 1), at + 1):
                for end in range(at + 1, min(len(words), start + LONGEST_WHOLE) + 1):
                    if end - start > 1 and self._forms.is_whole(words[start:end]):
                        odd[start:end] = [False] * (end - start)
        return odd

    def read(self, heard: Words, left: str, right: str, joined: tuple[bool, bool], odd: int) -> list[Candidate]:
        """Every reading of the words heard that sounds a little like them; `joined` to the words left and right."""
        if self._forms.is_whole(heard):
            return []
        before = self._beside(left, True, heard) if joined[0] and self._search.parts(left, True) else ()
        after = self._beside(right, False, heard) if joined[1] and self._search.parts(right, False) else ()
        if not (before or after or self._may_read(heard)):
            return []
        readings = self._alone(heard)
        if before or after:
            readings = tuple(dict.fromkeys((*readings, *before, *after)))
        return [
            Candidate(heard, left, right, read_as, like, odd, read_as in before, read_as in after, margin)
            for read_as, like, margin in (self._compare(heard, readings) if readings else ())
        ]

    def _find_alone(self, heard: Words) -> tuple[Words, ...]:
        """Forms like the words heard, all of whose words were misheard."""
        return tuple(dict.fromkeys(form.words for form in self._forms_alone(heard)))

    def _find_hope(self, heard: Words) -> bool:
        """Whether one of these forms could be believed at all."""
        return self._hope.is_left(heard, tuple(self._forms_alone(heard)), self._is_allowed)

    def _forms_alone(self, heard: Words) -> Iterator[TradeForm]:
        kept = KEPT.intersection(heard)
        consonants = skeleton(sound_of_words(heard))
        if kept and not self._search.may_find(heard, consonants, kept):
            return
        for form in self._ways(heard, consonants):
            if _is_tight(heard, form.words) and _is_kept(kept, form.words):
                yield form

    def _ways(self, heard: Words, consonants: str) -> Iterator[TradeForm]:
        yield from self._search.near_in_key(heard, consonants)
        if len(heard) <= WHOLE_WINDOW:
            yield from self._search.like(heard)
        if len(heard) > 1:
            yield from self._search.like_consonants(consonants)

    def _find_beside(self, word: str, after: bool, heard: Words) -> tuple[Words, ...]:
        """Parts of forms like the words heard that stand beside `word` in them."""
        parts = self._search.parts(word, after)
        if parts is None:
            return ()
        found = list(self._search.near_parts(parts, skeleton(sound_of_words(heard))))
        if len(heard) <= WHOLE_WINDOW:
            found.extend(self._search.like_parts(parts, heard))
        kept = KEPT.intersection(heard)
        return tuple(p for p in dict.fromkeys(found) if self._is_beside(heard, p) and _is_kept(kept, p))

    def _is_beside(self, heard: Words, part: Words) -> bool:
        """Whether a part has no end that was heard right, fillers aside: that would be what stands beside."""
        right = {a for a, b in ((heard[0], part[0]), (heard[-1], part[-1])) if a == b}
        return part != heard and all(self._search.is_filler(word) for word in right)

    def _compare_all(self, heard: Words, readings: tuple[Words, ...]) -> tuple[tuple[Words, Likeness, float], ...]:
        """The readings that sound a little like the words heard, each with its margin."""
        heard_mistakes: dict[Words, float] = {}
        for read_as in readings:
            if _has_like_key(heard, read_as) and self._is_allowed(heard, read_as):
                heard_mistakes[read_as] = mistakes_between(heard, read_as, most_mistakes(LEAST_SOUND, read_as))
        others = _Others(heard, heard_mistakes)
        return tuple(
            (
                read_as,
                Likeness(mistakes, sound, letter_likeness(heard, read_as)),
                sound - others.next_best(read_as),
            )
            for read_as, mistakes in heard_mistakes.items()
            if mistakes < FARTHER
            and (sound := sound_likeness(mistakes, read_as)) >= LEAST_SOUND
            and not _takes_too_much(heard, read_as, mistakes)
        )

    def _is_allowed(self, heard: Words, read_as: Words) -> bool:
        if read_as in (heard[1:], heard[:-1]):
            return False
        if len(heard) == 1 and (heard[0].startswith("".join(read_as)) or _lacks_its_head(heard[0], read_as)):
            return False
        if (
            len(heard) == len(read_as) == 1
            and heard[0] in self._forms.order
            and _same_end(heard[0], read_as[0]) >= ENDING
        ):
            return False
        if "".join(heard) == "".join(read_as):
            return True
        if any(word in self._forms.at_home and _is_changed(word, heard, read_as) for word in heard):
            return False
        return not any(_is_inflected(h, r, len(heard) == 1) for h in heard for r in read_as)


def _is_tight(heard: Words, meant: Words) -> bool:
    """Whether neither end was heard right: those that were are looked for as what stands beside."""
    return heard[0] != meant[0] and heard[-1] != meant[-1]


def _is_kept(kept: frozenset[str], meant: Words) -> bool:
    """Whether no word that must be kept is swallowed or put in."""
    return KEPT.intersection(meant) == kept if kept else KEPT.isdisjoint(meant)


def _has_like_key(heard: Words, meant: Words) -> bool:
    likeness = Levenshtein.normalized_similarity(sound_of_words(heard), sound_of_words(meant), score_cutoff=LEAST_KEY)
    return likeness >= LEAST_KEY


def _takes_too_much(heard: Words, meant: Words, mistakes: float) -> bool:
    """Whether the words heard are more like what was meant without the first or the last of them."""
    if "".join(heard) == "".join(meant):
        return False
    shorter = (heard[1:], heard[:-1]) if len(heard) > 1 else ()
    return any(mistakes_between(words, meant, mistakes) <= mistakes for words in shorter)


def _same_start(one: str, other: str) -> int:
    return sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(one, other, strict=False)))


def _lacks_its_head(heard: str, read_as: Words) -> bool:
    """Whether a word would be given a beginning: "floxacin" could be any of several drugs."""
    return len(read_as) == 1 and len(heard) > STEM and read_as[0].endswith(heard)


def _same_end(one: str, other: str) -> int:
    return _same_start(one[::-1], other[::-1])


def _is_changed(word: str, heard: Words, meant: Words) -> bool:
    """Whether a word heard right would only get another beginning or ending."""
    if word == heard[-1] and _same_start(word, meant[-1]) > STEM and len(heard) > 1:
        return True
    single = meant[0] if len(meant) == 1 else ""
    ending = _same_start(single, word) >= len(word) - 1 and len(single) - len(word) < STEM
    return len(word) >= STEM - 1 and (ending or (len(heard) > 1 and single.endswith(word)))


def _is_inflected(heard: str, meant: str, single: bool) -> bool:
    """Whether the two differ only in a plural ending, or a single word heard is an abbreviation of the one meant."""
    if len(heard) > 3 and (meant == heard + "s" or heard == meant + "s"):
        return True
    return single and len(heard) <= 6 and meant.startswith(heard) and len(meant) - len(heard) > 1


class _Others:
    """The readings of the same words heard, the best first, with the mistakes of each as far as they were counted."""

    def __init__(self, heard: Words, mistakes: dict[Words, float]) -> None:
        self._heard = heard
        counted = [(sound_likeness(m, read_as), read_as) for read_as, m in mistakes.items() if m < FARTHER]
        self._counted = sorted(counted, key=lambda reading: -reading[0])
        self._uncounted = [read_as for read_as, m in mistakes.items() if m == FARTHER]

    def next_best(self, read_as: Words) -> float:
        """How good the best of the other readings sounds, its own variants aside."""
        letters = "".join(read_as)
        best = next((sound for sound, other in self._counted if is_other_term(read_as, letters, other)), -1.0)
        if best >= LEAST_SOUND:
            return best
        for other in self._uncounted:
            if is_other_term(read_as, letters, other):
                best = max(best, sound_likeness(mistakes_between(self._heard, other), other))
        return best if best >= 0 else LEAST_SOUND

"""Which words of a dictation could have been heard for which trade form."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import takewhile

from rapidfuzz.distance import Levenshtein

from zonule.normalization.form_search import FormSearch, Words
from zonule.normalization.likeness import Likeness, compare
from zonule.normalization.sounds import skeleton
from zonule.normalization.trade_forms import TradeForms, sound_of_words

WINDOW = 6
"""Words that may have been heard for one form."""
WHOLE_WINDOW = 4
"""Words of the longest window that is looked up by its whole sound: slow, and not needed for longer ones."""
LONGEST_WHOLE = 3
"""Words of the longest form whose words are looked for as heard right."""
LETTERS = (4, 40)
"""Letters of such words, together."""
LEAST_KEY = 0.42
"""Least likeness of their keys, which is quicker to find than the likeness in sound."""
LEAST_SOUND = 0.45
"""Least likeness in sound worth weighing."""
STEM = 4
"""Letters with which two forms of one word begin."""
ENDING = 7
"""Letters with which an English word and another term end that differ in what stands before them ("detachment")."""
OTHER_TERM = 0.7
"""Likeness of letters of what is only another spelling or ending of a term."""
KEPT = frozenset(
    {
        "no", "not", "none", "never", "nor", "neither", "without", "left", "right", "both", "fellow", "other",
        "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
        "point", "half", "plus", "minus", "percent", "o'clock", "mg", "ml", "mcg", "mm", "cc", "units",
        "then", "with", "was", "were", "had", "has", "have",
    }
)  # fmt: skip
"""Words that turn what a note says, or are numbers, units or what holds a sentence together: no repair swallows one
unless the form has it too."""


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

    def __init__(self, forms: TradeForms) -> None:
        self._forms = forms
        self._search = FormSearch(forms)
        self._alone = lru_cache(maxsize=4096)(self._find_alone)
        self._beside = lru_cache(maxsize=8192)(self._find_beside)
        self._compare = lru_cache(maxsize=4096)(self._compare_all)

    def windows(
        self, words: Sequence[str], joined: Sequence[bool], barred: Collection[int]
    ) -> Iterator[tuple[int, int, int]]:
        """Start, end (half-open) and count of odd words of every run of joined words that may have been misheard.

        A note has no use for an odd word. Where there is none nothing is sought; `barred` words are not touched.
        """
        odd = self._odd(words)
        for start in range(len(words)):
            if True not in odd[start : start + WINDOW]:
                continue
            count = 0
            for end in range(start + 1, min(len(words), start + WINDOW) + 1):
                if end - 1 in barred or (end - 1 > start and not joined[end - 2]):
                    break
                count += odd[end - 1]
                if count:
                    yield start, end, count

    def _odd(self, words: Sequence[str]) -> list[bool]:
        """Whether a note has no use for each word: words that make up a form were heard right, however rare."""
        odd = [word not in self._forms.at_home for word in words]
        for at in [at for at, is_odd in enumerate(odd) if is_odd]:
            for start in range(max(0, at - LONGEST_WHOLE + 1), at + 1):
                for end in range(at + 1, min(len(words), start + LONGEST_WHOLE) + 1):
                    if end - start > 1 and self._forms.is_whole(words[start:end]):
                        odd[start:end] = [False] * (end - start)
        return odd

    def read(self, heard: Words, left: str, right: str, joined: tuple[bool, bool], odd: int) -> Iterator[Candidate]:
        """Every reading of the words heard that sounds a little like them; `joined` to the words left and right."""
        if not self._may_be_misheard(heard):
            return
        before = self._beside(left, True, heard) if joined[0] else ()
        after = self._beside(right, False, heard) if joined[1] else ()
        readings = tuple(dict.fromkeys((*self._alone(heard), *before, *after)))
        for read_as, like, margin in self._compare(heard, readings) if readings else ():
            yield Candidate(heard, left, right, read_as, like, odd, read_as in before, read_as in after, margin)

    def _may_be_misheard(self, heard: Words) -> bool:
        return LETTERS[0] <= sum(map(len, heard)) <= LETTERS[1] and not self._forms.is_whole(heard)

    def _find_alone(self, heard: Words) -> tuple[Words, ...]:
        """Forms like the words heard, all of whose words were misheard."""
        consonants = skeleton(sound_of_words(heard))
        found = list(self._search.near_consonants(consonants))
        if len(heard) <= WHOLE_WINDOW:
            found.extend(self._search.like(heard))
        if len(heard) > 1:
            found.extend(self._search.like_consonants(consonants))
        return tuple(form for form in dict.fromkeys(found) if _is_tight(heard, form) and _is_kept(heard, form))

    def _find_beside(self, word: str, after: bool, heard: Words) -> tuple[Words, ...]:
        """Parts of forms like the words heard that stand beside `word` in them."""
        found = list(self._search.near_parts(word, after, skeleton(sound_of_words(heard))))
        if len(heard) <= WHOLE_WINDOW:
            found.extend(self._search.like_parts(word, after, heard))
        return tuple(part for part in dict.fromkeys(found) if self._is_beside(heard, part))

    def _is_beside(self, heard: Words, part: Words) -> bool:
        """Whether a part has no end that was heard right, fillers aside: that would be what stands beside."""
        right = {a for a, b in ((heard[0], part[0]), (heard[-1], part[-1])) if a == b}
        return part != heard and all(self._search.is_filler(word) for word in right) and _is_kept(heard, part)

    def _compare_all(self, heard: Words, readings: tuple[Words, ...]) -> tuple[tuple[Words, Likeness, float], ...]:
        """The readings that sound a little like the words heard, each with its margin."""
        key = sound_of_words(heard)
        near = (r for r in readings if Levenshtein.normalized_similarity(key, sound_of_words(r)) >= LEAST_KEY)
        likes = [(read_as, compare(heard, read_as)) for read_as in near if self._is_allowed(heard, read_as)]
        return tuple(
            (read_as, like, like.sound - _next_best(read_as, likes))
            for read_as, like in likes
            if like.sound >= LEAST_SOUND and not _takes_too_much(heard, read_as, like)
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


def _is_kept(heard: Words, meant: Words) -> bool:
    """Whether no word that must be kept is swallowed or put in."""
    return heard[0] != "and" and KEPT.intersection(heard) == KEPT.intersection(meant)


def _takes_too_much(heard: Words, meant: Words, like: Likeness) -> bool:
    """Whether the words heard are more like what was meant without the first or the last of them."""
    if "".join(heard) == "".join(meant):
        return False
    shorter = (heard[1:], heard[:-1]) if len(heard) > 1 else ()
    return any(compare(words, meant).mistakes <= like.mistakes for words in shorter)


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


def _next_best(read_as: Words, likes: Sequence[tuple[Words, Likeness]]) -> float:
    """How good the best of the other readings sounds, its own variants aside."""
    letters = "".join(read_as)
    others = (like.sound for other, like in likes if other != read_as and _is_another(letters, "".join(other)))
    return max(others, default=LEAST_SOUND)


def _is_another(letters: str, other: str) -> bool:
    """Whether two readings are two terms: spellings of one begin alike, "ropivacaine" and "bupivacaine" do not."""
    if letters[0] != other[0] and letters not in other and other not in letters:
        return True
    return Levenshtein.normalized_similarity(letters, other) < OTHER_TERM

"""Mishearings that no list holds: words that are easier explained as a trade form misheard than as what they say."""

from bisect import bisect_left
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from zonule.normalization.expectation import Expectation
from zonule.normalization.likeness import Likeness, compare
from zonule.normalization.ordinary_words import COMMON
from zonule.normalization.trade_forms import TradeForms, sound_of_words

WINDOW = 4
"""Words that may have been heard for one form."""
LETTERS = (4, 40)
"""Letters of such words, together."""
NEIGHBORHOOD = 10
"""So many words away another trade word makes sense of a repair."""
SHORTEST_ALONE = 6
"""Letters of the shortest form that is found by its sound alone, no word of it heard right."""

LIKE_ENOUGH = 0.75
"""Least likeness in sound of what is found by its sound alone."""
TERM = 2.4
"""Bits that any trade form takes."""
CHOICE = 0.35
"""Bits for each doubling of the forms that could stand in its place."""
ALL_ENGLISH = 0.75
"""Least score where every word heard is English; a single English word is left as heard."""
PART_ENGLISH = 0.62
"""Least score of the others."""
RARE_ENOUGH = 0.85
"""Least score where the form is a trade name or stands only inside longer forms."""
KEPT = frozenset(
    {
        "no", "not", "none", "never", "nor", "neither", "without", "left", "right", "both", "fellow", "other",
        "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
        "point", "half", "plus", "minus", "percent", "o'clock", "mg", "ml", "mcg", "mm", "cc", "units",
        "and", "then", "with", "was", "were", "had", "has", "have",
    }
)  # fmt: skip
"""Words that turn what a note says, or are numbers, units or what holds a sentence together: no repair swallows one."""
PART_LETTERS = 4
"""Letters of the shortest word that is cut out of a longer one."""
LONELY = 1.1
"""More bits with only one other trade word nearby; with none nothing is repaired."""
RARE = 3.6
"""More bits for a form that is a trade name or stands only inside longer forms."""
SOUND = 1.02
"""Bits for each character that the sounds differ in."""
SPELLING = 5.0
"""Bits for letters that have nothing in common."""
SHORT = 0.1
"""More bits for each character that a sound is shorter than 8."""


@dataclass(frozen=True, slots=True)
class SoundRepair:
    """The words `start` to `end` of a text (half-open) read as `read_as`; `gain` is what that saves, in bits."""

    start: int
    end: int
    read_as: tuple[str, ...]
    score: float
    gain: float


class SoundSearch:
    """Finds repairs by sound; built once."""

    def __init__(self, forms: TradeForms, expectation: Expectation) -> None:
        self._forms = forms
        self._expectation = expectation
        self._order = forms.order
        self._likenesses = lru_cache(maxsize=65536)(self._compare_all)

    def find(self, words: Sequence[str], joined: Sequence[bool], barred: Collection[int]) -> list[SoundRepair]:
        """The repairs of `words` that save most, without overlap; `barred` words are not touched."""
        odd = [i for i, word in enumerate(words) if word not in self._forms.at_home and i not in barred]
        context = [i for i, word in enumerate(words) if word in self._forms.context] if odd else []
        odd = [i for i in odd if _around(context, i, i + 1)]
        found: dict[tuple[int, int, tuple[str, ...]], SoundRepair] = {}
        for start, end in sorted(_windows(odd, joined)):
            for like in self._likenesses(tuple(words[start:end])):
                repair = self._repair(words, start, like, context)
                if repair.gain > 0 and not any(i in barred for i in range(repair.start, repair.end)):
                    key = (repair.start, repair.end, repair.read_as)
                    found[key] = max(found.get(key, repair), repair, key=lambda r: r.gain)
        return _best(list(found.values()), len(words))

    def _compare_all(self, window: tuple[str, ...]) -> tuple[Likeness, ...]:
        size = sum(map(len, window))
        if not LETTERS[0] <= size <= LETTERS[1] or self._forms.is_whole(window):
            return ()
        alone = self._forms.like(sound_of_words(window), LIKE_ENOUGH, 6)
        anchored = (f for word in dict.fromkeys(window) for f in self._forms.holding(word))
        forms = dict.fromkeys((*alone, *(f for f in anchored if abs(sum(map(len, f.words)) - size) < 6)))
        likenesses = (compare(window, form) for form in forms)
        return tuple(like for like in likenesses if like is not None and self._is_allowed(window, like))

    def _is_allowed(self, window: Sequence[str], like: Likeness) -> bool:
        heard = window[like.start : like.end]
        if not self._is_credible(heard, like) or (not like.anchored and not self._is_like_enough(like)):
            return False
        if all(self._order.get(word, COMMON) < COMMON for word in like.read_as):
            return False
        if all(word in self._forms.words for word in heard):
            return False
        return not any(_is_plural_or_start(h, r, len(heard) == 1) for h in heard for r in like.read_as)

    def _is_credible(self, heard: Sequence[str], like: Likeness) -> bool:
        if not KEPT.isdisjoint(heard):
            return False
        if "".join(heard) == "".join(like.read_as):
            return len(heard) > len(like.read_as) or min(map(len, like.read_as)) >= PART_LETTERS
        if "".join(heard).startswith("".join(like.read_as)):
            return False
        if all(word in self._order for word in heard):
            if "".join(like.read_as).startswith(heard[0]) and len(heard[-1]) == 1:
                return False
            return len(heard) > 1 and like.score >= (RARE_ENOUGH if like.form.rare else ALL_ENGLISH)
        return like.score >= (RARE_ENOUGH if like.form.rare else PART_ENGLISH)

    @staticmethod
    def _is_like_enough(like: Likeness) -> bool:
        return like.sound >= LIKE_ENOUGH and sum(map(len, like.read_as)) >= SHORTEST_ALONE

    def _repair(self, words: Sequence[str], at: int, like: Likeness, context: Sequence[int]) -> SoundRepair:
        start, end = at + like.start, at + like.end
        heard = sum(self._expectation.cost(word) for word in words[start:end] if word not in like.form.words)
        around = _around(context, start, end)
        gain = heard - self._misheard(like) - (LONELY if around == 1 else 0.0)
        return SoundRepair(start, end, like.read_as, round(like.score, 2), gain if around else 0.0)

    def _misheard(self, like: Likeness) -> float:
        """Bits that it takes to believe that the form was said, and heard as it was."""
        cost = TERM + CHOICE * self._forms.choices(like.form, like.read_as) + RARE * (like.form.rare)
        cost += SOUND * (1 - like.sound) * like.size + SPELLING * (1 - like.letters)
        return cost + SHORT * max(0, 8 - like.size)


def _around(context: Sequence[int], start: int, end: int) -> int:
    """How many places of `context` are near the words `start` to `end` without being among them."""
    around = bisect_left(context, end + NEIGHBORHOOD) - bisect_left(context, start - NEIGHBORHOOD)
    return around - (bisect_left(context, end) - bisect_left(context, start))


def _windows(odd: Sequence[int], joined: Sequence[bool]) -> set[tuple[int, int]]:
    """Every run of at most WINDOW joined words that holds one of the odd ones."""
    found: set[tuple[int, int]] = set()
    for at in odd:
        first = at
        while first > max(0, at - WINDOW + 1) and joined[first - 1]:
            first -= 1
        for start in range(first, at + 1):
            end = at + 1
            while end - start <= WINDOW:
                found.add((start, end))
                if not joined[end - 1]:
                    break
                end += 1
    return found


def _is_plural_or_start(heard: str, meant: str, single: bool) -> bool:
    """Whether the two differ only in a plural ending, or a single word heard is an abbreviation of the one meant."""
    if len(heard) > 3 and (meant == heard + "s" or heard == meant + "s"):
        return True
    return single and len(heard) <= 6 and meant.startswith(heard) and len(meant) - len(heard) > 1


def _best(repairs: Sequence[SoundRepair], length: int) -> list[SoundRepair]:
    """Of overlapping repairs those that save most together."""
    by_end: dict[int, list[SoundRepair]] = {}
    for repair in repairs:
        by_end.setdefault(repair.end, []).append(repair)
    saved = [0.0] * (length + 1)
    chosen: list[SoundRepair | None] = [None] * (length + 1)
    for end in range(1, length + 1):
        saved[end] = saved[end - 1]
        for repair in by_end.get(end, ()):
            if saved[repair.start] + repair.gain > saved[end] + 1e-9:
                saved[end], chosen[end] = saved[repair.start] + repair.gain, repair
    return list(_walk_back(chosen))[::-1]


def _walk_back(chosen: Sequence[SoundRepair | None]) -> Iterator[SoundRepair]:
    end = len(chosen) - 1
    while end > 0:
        repair = chosen[end]
        if repair is None:
            end -= 1
        else:
            yield repair
            end = repair.start

"""Text → the words a repair may look at: where they stand, which follow each other without a break, which are names."""

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate, compress
from sys import intern

from zonule.lexicon import Lexicon
from zonule.lexicon.tables import WordList
from zonule.normalization.trade_forms import split_letters

WORD = re.compile(r"([^\W\d_]+(?:['’][^\W\d_]+)*)")
PLAIN_WORD = re.compile(r"([A-Za-z]+(?:'[A-Za-z]+)*)")
"""The same in ASCII, where it is found quicker."""
DIGITS = re.compile(r"[0-9_]+")
GAP = re.compile(r"[ \t\r\f\v\u00a0]+|[ \t]*[-‐‑][ \t]*|[ \t]*\n(?![ \t\r]*\n)[ \t]*")
"""What may stand between two words of one term."""
NAMED_LENS_FIELDS = frozenset({"manufacturer", "model", "serial_number", "lot_number", "udi"})
NAMED_FIELDS = ("team.", "patient.name")
"""Fields whose value is a person's name."""
BETWEEN = frozenset({"is", "was", "name", "called"})
TOUCHED = re.compile(r"[^\W\d_][\d_]|[\d_][^\W\d_]")
"""A letter beside a digit."""
SENTENCE_END = re.compile(r"[.!?:;\n]")


@dataclass(frozen=True, slots=True)
class SpokenWords:
    """The words of a text, lower case, with their places.

    `joined[i]` says that nothing but a space or a hyphen stands between word `i` and the next; `opens[i]` that word `i`
    begins a sentence or a line; `capital[i]` that it has a capital letter.
    """

    words: tuple[str, ...]
    starts: tuple[int, ...]
    ends: tuple[int, ...]
    joined: tuple[bool, ...]
    opens: tuple[bool, ...]
    capital: tuple[bool, ...]


def read_words(text: str) -> SpokenWords:
    """All words of letters in `text`; what holds a digit is no word and breaks what stands around it."""
    plain = text.isascii()
    parts = (PLAIN_WORD if plain else WORD).split(text)
    offsets = list(accumulate(map(len, parts)))
    starts, ends = offsets[:-1:2], offsets[1::2]
    gaps, heard = parts[2:-1:2], parts[1::2]
    whole = _touches_no_digit(text, starts, ends, plain)
    if whole is not None:
        starts, ends = list(compress(starts, whole)), list(compress(ends, whole))
        heard = list(compress(heard, whole))
        gaps = [text[end:start] for end, start in zip(ends, starts[1:], strict=False)]
    if not heard:
        return SpokenWords((), (), (), (), (), ())
    words = map(str.lower, heard) if plain else (word.lower().replace("’", "'") for word in heard)
    return SpokenWords(
        tuple(map(intern, words)),
        tuple(starts),
        tuple(ends),
        (*map(_joins, gaps), False),
        (True, *map(_ends_sentence, gaps)),
        tuple([word[0].isupper() for word in heard]),
    )


def _touches_no_digit(text: str, starts: list[int], ends: list[int], plain: bool) -> list[bool] | None:
    """Which words touch no digit; None where all are such."""
    if not plain:
        if not TOUCHED.search(text):
            return None
        return [not _touches_digit(text, start, end) for start, end in zip(starts, ends, strict=True)]
    touched = _beside_digits(text)
    if not touched:
        return None
    places = zip(starts, ends, strict=True)
    return [start not in touched and end - 1 not in touched for start, end in places]


def _beside_digits(text: str) -> set[int]:
    """Where a letter stands beside a digit or an underscore, in ASCII."""
    found = set()
    for match in DIGITS.finditer(text):
        start, end = match.span()
        if text[start - 1 : start].isalpha():
            found.add(start - 1)
        if text[end : end + 1].isalpha():
            found.add(end)
    return found


@lru_cache(maxsize=1024)
def _joins(gap: str) -> bool:
    return gap == " " or GAP.fullmatch(gap) is not None


@lru_cache(maxsize=1024)
def _ends_sentence(gap: str) -> bool:
    return gap != " " and SENTENCE_END.search(gap) is not None


def _touches_digit(text: str, start: int, end: int) -> bool:
    before, after = text[max(0, start - 1) : start], text[end : end + 1]
    return before.isdigit() or after.isdigit() or before == "_" or after == "_"


@dataclass(frozen=True, slots=True)
class NameLabels:
    """Words after which a name stands, and words that may stand between."""

    labels: frozenset[str]
    between: frozenset[str]
    several: Mapping[str, frozenset[str]]
    """The last word of a label of several words, with the words that stand before it ("serial no")."""


def name_labels(lexicon: Lexicon) -> NameLabels:
    """The lexicon's titles, its labels of people and of what a lens is called."""
    titles = frozenset(w for term in lexicon.of_kind("title") for form in term.forms for w in split_letters(form))
    labels = {
        split_letters(form)
        for term in lexicon.terms
        if (term.kind == "field" and term.id.startswith(NAMED_FIELDS))
        or (term.kind == "lens_field" and term.id in NAMED_LENS_FIELDS)
        for form in term.forms
    }
    single = {words[0] for words in labels if len(words) == 1}
    several: dict[str, frozenset[str]] = {}
    for words in labels:
        if len(words) > 1 and words[-1] not in single:
            several[words[-1]] = several.get(words[-1], frozenset()) | {words[-2]}
    return NameLabels(titles | single, titles | BETWEEN, several)


def find_names(spoken: SpokenWords, names: NameLabels, home: WordList) -> set[int]:
    """Words that are a name, by a capital letter inside a sentence or by a label before them."""
    found = _capitalized(spoken)
    labels = names.labels.union(names.several)
    for at, word in enumerate(spoken.words):
        if word not in labels:
            continue
        if word in names.labels or (word in names.several and spoken.words[max(0, at - 1)] in names.several[word]):
            found.update(_labelled(spoken.words, at + 1, names.between, home))
    return found


def _capitalized(spoken: SpokenWords) -> set[int]:
    """Capitalized words inside sentences, unless the text writes most of its words so."""
    places = zip(spoken.capital, spoken.opens, spoken.words, strict=True)
    capitals = {i for i, (capital, opens, word) in enumerate(places) if capital and not opens and word != "i"}
    return capitals if len(capitals) * 2 <= spoken.opens.count(False) else set()


LONGEST_NAME = 3
"""Words of a name after its label."""


def _labelled(words: Sequence[str], at: int, between: Collection[str], home: WordList) -> range:
    while at < len(words) and words[at] in between:
        at += 1
    end = at
    while end < min(len(words), at + LONGEST_NAME) and words[end] not in home:
        end += 1
    return range(at, end)

"""What counts as ordinary English, and what is at home in an operation note."""

from collections.abc import Iterable, Iterator
from functools import cache
from importlib.metadata import distribution
from pathlib import Path

COMMON = 6000
"""So many of the most frequent English words are too common to be trade words by themselves."""

FILLERS = 150
"""So many of the most frequent English words hold a sentence together."""

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


def frequency_file() -> Path:
    """Where the list of English words is; the library that carries it is not loaded."""
    return Path(str(distribution("symspellpy").locate_file("symspellpy/frequency_dictionary_en_82_765.txt")))


@cache
def load_frequency_order() -> dict[str, int]:
    """English words with their inflections → how many words are more frequent (0 for "the")."""
    text = frequency_file().read_text("utf-8-sig")
    return {word: order for order, word in enumerate(text.split()[::2])}


@cache
def load_note_words() -> frozenset[str]:
    """The words of note_words.txt with their regular endings."""
    lines = Path(__file__).with_name("note_words.txt").read_text("utf-8").splitlines()
    words = (word for line in lines if not line.startswith("#") for word in line.split())
    return frozenset(with_endings(words))


def with_endings(words: Iterable[str]) -> Iterator[str]:
    """Each word and its regular inflections; a form that is no word does no harm."""
    for word in words:
        yield word
        if len(word) > 2 and word.isalpha():
            stem = word[:-1] if word.endswith("e") else word
            yield from (word + "s", word + "'s", stem + "ed", stem + "ing")
            yield from (stem + stem[-1] + "ed", stem + stem[-1] + "ing")
            if word.endswith("y"):
                yield from (word[:-1] + "ies", word[:-1] + "ied")
            elif word.endswith(("s", "x", "z", "sh", "ch")):
                yield word + "es"

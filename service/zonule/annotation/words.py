"""Text → words: a hyphen inside a word separates like a space, so that "sub-tenon" and "sub tenon" are one thing."""

import re
from array import array
from itertools import accumulate
from sys import intern

WORD = re.compile(r"([^\W\d_]+(?:['’](?!s\b)[^\W\d_]+)*|['’]s\b|\d+(?:[.,:/-]\d+)*|\n+|[^\w\s-]|(?<![^\s])-(?=\s)|_+)")
BARE_CONTRACTIONS = {
    word.replace("'", ""): word
    for word in (
        "didn't", "doesn't", "don't", "wasn't", "weren't", "isn't", "aren't", "hadn't", "hasn't", "haven't", "wouldn't",
        "couldn't", "shouldn't", "mustn't", "i'm", "i've", "we've", "you've", "they've", "he's", "she's", "that's",
        "there's", "here's", "what's", "they're", "you're", "i'd", "they'd", "you'd", "they'll", "you'll",
    )
    if word not in ("i'd",)
}  # fmt: skip
"""Contractions as recognizers write them that leave out the mark; none of them is a word of its own."""
PLAIN_WORD = re.compile(
    r"([A-Za-z]+(?:'(?!s\b)[A-Za-z]+)*|'s\b|[0-9]+(?:[.,:/-][0-9]+)*|\n+|[^\w\s-]|(?<!\S)-(?=\s)|_+)"
)
"""The same in ASCII, where it is found quicker."""


def split_words(text: str) -> tuple[list[str], "array[int]", "array[int]"]:
    """Lower-case words, and where each starts and ends in `text`. A newline is a word, a hyphen in a word is none.

    A word that comes again is the same object, which takes less room and is found quicker.
    """
    plain = text.isascii()
    parts = (PLAIN_WORD if plain else WORD).split(text)
    offsets = array("l", accumulate(map(len, parts)))
    starts, ends = offsets[:-1:2], offsets[1::2]
    if plain:
        words = list(map(intern, map(str.lower, parts[1::2])))
    else:
        words = [intern(word.lower().replace("’", "'")) for word in parts[1::2]]
    if not BARE_CONTRACTIONS.keys().isdisjoint(words):
        words = [BARE_CONTRACTIONS.get(word, word) for word in words]
    if "\n" in text:
        words = ["\n" if word[0] == "\n" else word for word in words]
    return words, starts, ends

"""Text → words: a hyphen inside a word separates like a space, so that "sub-tenon" and "sub tenon" are one thing."""

import re
from sys import intern

WORD = re.compile(r"[^\W\d_]+(?:['’](?!s\b)[^\W\d_]+)*|['’]s\b|\d+(?:[.,:/-]\d+)*|\n+|[^\w\s-]|(?<![^\s])-(?=\s)|_+")


def split_words(text: str) -> tuple[list[str], list[int], list[int]]:
    """Lower-case words, and where each starts and ends in `text`. A newline is a word, a hyphen in a word is none.

    A word that comes again is the same object, which takes less room and is found quicker.
    """
    found = [match.span() for match in WORD.finditer(text)]
    starts = [start for start, _ in found]
    ends = [end for _, end in found]
    if text.isascii():  # here lower case changes no length
        lower = text.lower()
        words = [intern(lower[start:end]) for start, end in found]
    else:
        words = [intern(text[start:end].lower().replace("’", "'")) for start, end in found]
    if "\n" in text:
        words = ["\n" if word[0] == "\n" else word for word in words]
    return words, starts, ends

"""Text → words: a hyphen inside a word separates like a space, so that "sub-tenon" and "sub tenon" are one thing."""

import re

WORD = re.compile(r"[^\W\d_]+(?:['’](?!s\b)[^\W\d_]+)*|['’]s\b|\d+(?:[.,:/-]\d+)*|\n+|[^\w\s-]|(?<![^\s])-(?=\s)|_+")


def split_words(text: str) -> tuple[list[str], list[int], list[int]]:
    """Lower-case words, and where each starts and ends in `text`. A newline is a word, a hyphen in a word is none."""
    words: list[str] = []
    starts: list[int] = []
    ends: list[int] = []
    for match in WORD.finditer(text):
        words.append(match.group().lower().replace("’", "'") if match.group()[0] != "\n" else "\n")
        starts.append(match.start())
        ends.append(match.end())
    return words, starts, ends

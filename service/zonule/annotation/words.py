"""Text → words: a hyphen inside a word separates like a space, so that "sub-tenon" and "sub tenon" are one thing."""

import re
from array import array
from collections.abc import Sequence
from itertools import accumulate
from sys import intern

WORD = re.compile(r"([^\W\d_]+(?:['’](?!s\b)[^\W\d_]+)*|['’]s\b|\d+(?:[.,:/-]\d+)*|\n+|[^\w\s-]|(?<![^\s])-(?=\s)|_+)")
BARE_CONTRACTIONS = {
    word.replace("'", ""): word
    for word in (
        "didn't", "doesn't", "don't", "wasn't", "weren't", "isn't", "aren't", "hadn't", "hasn't", "haven't", "wouldn't",
        "couldn't", "shouldn't", "mustn't", "i'm", "i've", "we've", "you've", "they've", "he's", "she's", "that's",
        "there's", "here's", "what's", "they're", "you're", "they'd", "you'd", "they'll", "you'll",
        "can't",
    )
}  # fmt: skip
"""Contractions as recognizers write them that leave out the mark; none of them is a word of its own."""
ID_BEHIND = frozenset({
    "normally", "usually", "generally", "always", "never", "rather", "have", "like", "go", "put", "say", "give", "be",
    "use", "do", "take", "call", "prefer", "want", "had", "got", "made", "done", "been", "already", "just", "not",
    "marked", "planned", "asked", "hoped", "wanted", "thought", "left", "still", "only", "opened",
})  # fmt: skip
ITS_BEHIND = frozenset({
    "a", "an", "the", "in", "on", "not", "now", "been", "complete", "central", "centered", "centred", "stable", "well",
    "intact", "round", "dry", "just", "only", "about", "fine", "gone", "out", "quite", "very", "still", "all", "one",
    "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "clear", "closed", "sitting",
})  # fmt: skip
BARE_BEFORE = {"id": ("i'd", ID_BEHIND), "its": ("it's", ITS_BEHIND)}
"""Contractions without their mark that are words as well, by the words behind that tell them."""
MARKED = ("n't", "n’t", "'m ", "'ve ", "'ll ", "it's", "that's")
"""A text that writes one contraction with its mark writes all so."""
HAD = {"i'd": "i've", "we'd": "we've", "they'd": "they've"}
"""Before a participle these are "had", and as much of the past as "have"; else they are "would"."""
PARTICIPLES = frozenset({
    "been", "gone", "had", "done", "taken", "given", "made", "begun", "seen", "got", "gotten", "drawn", "left", "found",
    "kept", "lost", "torn", "fallen", "broken", "brought",
})  # fmt: skip
NO_PARTICIPLE = frozenset({"need", "feed", "bleed", "proceed", "exceed", "speed", "succeed", "shed", "put"})
BETWEEN = frozenset({"already", "just", "only", "since", "by", "then", "also", "always", "never", "not"})
"""Words between "I'd" and its participle."""
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
    if not BARE_BEFORE.keys().isdisjoint(words) and not any(mark in text for mark in MARKED):
        words = [_contracted(words, at) if word in BARE_BEFORE else word for at, word in enumerate(words)]
    if not HAD.keys().isdisjoint(words):
        words = [HAD[word] if word in HAD and _is_had(words, at) else word for at, word in enumerate(words)]
    if "\n" in text:
        words = ["\n" if word[0] == "\n" else word for word in words]
    return words, starts, ends


def _contracted(words: Sequence[str], at: int) -> str:
    """What "id" or "its" stands for before the word behind it."""
    whole, behind = BARE_BEFORE[words[at]]
    following = words[at + 1] if at + 1 < len(words) else ""
    return whole if following in behind or (words[at] == "its" and following[:1].isdigit()) else words[at]


def _is_had(words: Sequence[str], at: int) -> bool:
    """Whether "I'd" at a place is "I had": "I'd brought it down", "we'd already opened"."""
    following = at + 1
    while following < len(words) and words[following] in BETWEEN:
        following += 1
    verb = words[following] if following < len(words) else ""
    return verb not in NO_PARTICIPLE and (verb in PARTICIPLES or verb.endswith("ed"))

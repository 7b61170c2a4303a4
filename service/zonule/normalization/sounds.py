"""How a spelling sounds: words that a listener can take for each other get like keys.

English words sound as the CMU Pronouncing Dictionary says, all others by the rules of sounds.toml. In a key every sound
has one or two characters, so that the edit distance of two keys weighs mistakes roughly as listeners make them: a
consonant is its class and itself (`p` and `b` differ in one character, `p` and `k` in two), a vowel is one character.
"""

import re
from functools import cache, lru_cache
from pathlib import Path

import tomli as tomllib

from zonule.normalization.pronunciations import pronounce

KEYS = str.maketrans(
    {
        "p": "Pp", "b": "Pb", "f": "Ff", "v": "Fv", "t": "Tt", "d": "Td", "T": "Tf", "k": "Kk", "g": "Kg", "s": "Ss",
        "z": "Sz", "S": "Xs", "C": "Xc", "J": "Xj", "m": "Mm", "n": "Mn", "l": "Ll", "r": "Lr", "R": "r",
    }
)  # fmt: skip
"""Sounds (see sounds.toml) → their part of the key; what is not named here stands for itself."""
CLASSES = "PFTKSML"
"""Classes of consonants that nearly every listener tells apart."""
SKELETON = str.maketrans("X", "S", "abcdefghijklmnopqrstuvwxyz")


@cache
def _tables() -> tuple[re.Pattern[str], tuple[str, ...], dict[str, str]]:
    data = tomllib.loads(Path(__file__).with_name("sounds.toml").read_text("utf-8"))
    pattern = "|".join(f"({spelling})" for spelling, _ in data["rules"])
    return re.compile(pattern), tuple(sounds for _, sounds in data["rules"]), data["irregular"]


@lru_cache(maxsize=16384)
def spell_out(word: str) -> str:
    """The sounds of one lower-case word, a character each."""
    spelling, sounds, irregular = _tables()
    spoken = irregular.get(word) or pronounce(word)
    if spoken is None:
        found = ((m, sounds[(m.lastindex or 1) - 1]) for m in spelling.finditer(word))
        spoken = "".join(m.group()[0] if sound == "=" else sound for m, sound in found)
    return re.sub(r"([^aeiou])\1", r"\1", spoken)


@lru_cache(maxsize=16384)
def sound_of(word: str) -> str:
    """The key of one lower-case word."""
    return key_of(spell_out(word))


def key_of(sounds: str) -> str:
    """The key of sounds, a character each."""
    return sounds.translate(KEYS)


def skeleton(key: str) -> str:
    """The classes of the consonants of a key, in order: what nearly every listener hears right."""
    return key.translate(SKELETON)

"""How far what was heard is from what was meant, sound by sound, as listeners and recognizers mistake them.

The distance is a weighted edit distance over the sounds of sounds.toml; one consonant for a wholly other one costs 1.
The weights are phonetics from memory: voicing, place and manner, weak vowels and glides that come and go.
"""

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate, product

from rapidfuzz.distance import Levenshtein

from zonule.normalization.sounds import spell_out

VOWELS = "aeiou"
CONSONANTS = "pbtdkgfvszSCJTmnlrhRyw"
NEAR = (
    (0.2, "ae ao ei ou"),
    (0.25, "au ai"),
    (0.3, "pb td kg fv sz CJ SJ mn"),
    (0.35, "eo iu eu"),
    (0.4, "io"),
    (0.5, "fT vT sT zT sS SC tT dT tC dJ bv zJ zS fs aR eR iR oR uR ay ey iy oy uy aw ew iw ow uw"),
    (0.6, "lr lw rw yw"),
    (0.7, "pt pk tk bd dg bg pf dn bm dl nl ts dz kC gJ dr tr hk hf"),
    (0.8, " ".join(glide + other for glide, other in product("hRyw", CONSONANTS))),
)
"""What it costs to hear one sound for the other."""
FAR = 1.0
GAPS = {**dict.fromkeys(VOWELS, 0.4), "R": 0.15, "y": 0.25, "h": 0.3, "w": 0.35, "d": 0.5, "r": 0.5, "t": 0.55}
GAPS |= dict.fromkeys("Tnl", 0.6)
"""What it costs to lose one sound or to hear one too many."""
OTHER_GAP = 0.8


def _mistakes() -> dict[str, dict[str, float]]:
    sounds = VOWELS + CONSONANTS
    costs = {a: {b: 0.0 if a == b else FAR for b in sounds} for a in sounds}
    for cost, pairs in reversed(NEAR):
        for pair in pairs.split():
            a, b = pair[0], pair[1]
            if a != b:
                costs[a][b] = costs[b][a] = cost
    return costs


MISTAKES = _mistakes()


HEARD = {sound: (GAPS.get(sound, OTHER_GAP), costs) for sound, costs in MISTAKES.items()}
"""What it costs to hear one sound too many, and to hear it for each other."""
FARTHER = math.inf
"""A distance beyond what was asked for."""
SLACK = 1e-6


@lru_cache(maxsize=1024)
def _losses(meant: str) -> tuple[list[float], list[float]]:
    """What it costs to lose each of the sounds, and all up to each."""
    gaps = [GAPS.get(sound, OTHER_GAP) for sound in meant]
    return gaps, list(accumulate(gaps, initial=0.0))


def distance(heard: str, meant: str, most: float = FARTHER) -> float:
    """The least cost of the mistakes that turn the sounds `meant` into the sounds `heard`.

    `FARTHER` where it is more than `most`: no cost is negative, so that looking further is of no use.
    """
    gaps, above = _losses(meant)
    most += SLACK
    for sound in heard:
        lost, mistakes = HEARD[sound]
        before = above[0]
        cost = least = before + lost
        row = [cost]
        for other, gap, over in zip(meant, gaps, above[1:], strict=True):
            change, drop = before + mistakes[other], over + lost
            cost += gap
            if drop < cost:
                cost = drop
            if change < cost:
                cost = change
            row.append(cost)
            before = over
            if cost < least:
                least = cost
        if least > most:
            return FARTHER
        above = row
    return above[-1]


@lru_cache(maxsize=16384)
def weight(words: tuple[str, ...]) -> float:
    """What it would cost to hear nothing of the words."""
    return weight_of_sounds(sounds_of(words))


def weight_of_sounds(sounds: str) -> float:
    """What it would cost to hear none of the sounds."""
    return sum([GAPS.get(sound, OTHER_GAP) for sound in sounds])


@lru_cache(maxsize=4096)
def sounds_of(words: tuple[str, ...]) -> str:
    """The sounds of words spoken without a gap."""
    return "".join(map(spell_out, words))


@dataclass(frozen=True, slots=True)
class Likeness:
    """Words heard against words meant: `mistakes` is the distance of their sounds, the others run from 0 to 1."""

    mistakes: float
    sound: float
    letters: float


def mistakes_between(heard: tuple[str, ...], meant: tuple[str, ...], most: float = FARTHER) -> float:
    """The distance of their sounds, gaps between words aside; `FARTHER` where it is more than `most`."""
    return distance(sounds_of(heard), sounds_of(meant), most)


def sound_likeness(mistakes: float, meant: tuple[str, ...]) -> float:
    """How much of the words meant was heard."""
    return max(0.0, 1 - mistakes / max(1.0, weight(meant)))


def most_mistakes(sound: float, meant: tuple[str, ...]) -> float:
    """With more mistakes than that the likeness in sound is less."""
    return (1 - sound) * max(1.0, weight(meant))


def letter_likeness(heard: tuple[str, ...], meant: tuple[str, ...]) -> float:
    """The likeness of their letters."""
    return Levenshtein.normalized_similarity("".join(heard), "".join(meant))

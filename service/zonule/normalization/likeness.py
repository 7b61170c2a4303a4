"""How far what was heard is from what was meant, sound by sound, as listeners and recognizers mistake them.

The distance is a weighted edit distance over the sounds of sounds.toml; one consonant for a wholly other one costs 1.
The weights are phonetics from memory: voicing, place and manner, weak vowels and glides that come and go.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import product

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


def distance(heard: str, meant: str) -> float:
    """The least cost of the mistakes that turn the sounds `meant` into the sounds `heard`."""
    gaps = [GAPS.get(sound, OTHER_GAP) for sound in meant]
    above = [0.0]
    for gap in gaps:
        above.append(above[-1] + gap)
    for sound in heard:
        lost, mistakes = GAPS.get(sound, OTHER_GAP), MISTAKES[sound]
        cost = above[0] + lost
        row = [cost]
        for at, other in enumerate(meant):
            cost = min(above[at] + mistakes[other], above[at + 1] + lost, cost + gaps[at])
            row.append(cost)
        above = row
    return above[-1]


@lru_cache(maxsize=16384)
def weight(words: tuple[str, ...]) -> float:
    """What it would cost to hear nothing of the words."""
    return sum(GAPS.get(sound, OTHER_GAP) for word in words for sound in spell_out(word))


@dataclass(frozen=True, slots=True)
class Likeness:
    """Words heard against words meant: `mistakes` is the distance of their sounds, the others run from 0 to 1."""

    mistakes: float
    sound: float
    letters: float


def compare(heard: tuple[str, ...], meant: tuple[str, ...]) -> Likeness:
    """The likeness of words heard to words meant, gaps between words aside."""
    mistakes = distance("".join(map(spell_out, heard)), "".join(map(spell_out, meant)))
    sound = max(0.0, 1 - mistakes / max(1.0, weight(meant)))
    return Likeness(mistakes, sound, Levenshtein.normalized_similarity("".join(heard), "".join(meant)))

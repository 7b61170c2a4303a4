"""A bare "right" or "left" before what is operated on ("left phaco", "right cataract") names the eye."""

from collections.abc import Sequence

from zonule.annotation.mentions import Mention

LETTERS = {"r": "right", "l": "left"}
"""Sides as one capital letter."""
SIDES = frozenset({"right", "left"})
FOLLOWERS = frozenset({"procedure", "diagnosis", "technique", "anesthesia"})
FOLLOWING_THINGS = frozenset({"thing:cataract", "thing:lens", "action:emulsify", "thing:eye"})
FOLLOWING_WORDS = frozenset({"cataract", "phaco", "phakoemulsification", "iol", "lens"})
LABELS = frozenset({"eye", "side", "laterality"})
SAYS = frozenset({"is", ":", "the", "was", "-", "="})
NO_SIDE_AFTER = frozenset({"the", "to", "was", "patient", "i", "we", "were", "and", "he", "she", "be", "turn", "then"})
"""Words before "left" or "right" that make it a direction or a verb."""
NO_SIDE_BEFORE = (
    ["so"], ["then"], ["okay"], ["ok"], ["well"], ["now"], ["this"], ["we"], ["that"], ["here"], ["folks"],
    ["no"], ["in"], ["out"], ["it"], ["alone"], ["untouched"], ["open"], ["behind"],
)  # fmt: skip
"""Words behind "left" or "right" as a verb, an answer ("no strands left, no iridectomy") or an opening ("right so")."""


def name_sides(words: Sequence[str], capital: Sequence[bool], mentions: list[Mention]) -> list[Mention]:
    """The mentions with bare sides as eyes; the verb "left" gives way to the side.

    An unfilled "left/right" names none. `capital` says which words stand in capitals.
    """
    bare = [i for i, word in enumerate(words) if word in SIDES and "/" not in words[max(0, i - 1) : i + 2]]
    letters = [i for i, word in enumerate(words) if word in LETTERS and capital[i]]
    if not bare and not letters:
        return mentions
    held = {i for m in mentions if m.kind == "eye" for i in range(m.start, m.end)}
    starts: dict[int, list[Mention]] = {}
    for mention in mentions:
        starts.setdefault(mention.start, []).append(mention)
    sides = [i for i in bare if i not in held and (_labeled(words, i) or _before_operated(words, starts, i))]
    sides += [i for i in bare if i not in held and i not in sides and (_heads(words, capital, i) or _told(words, i))]
    ends = {m.end for m in mentions if m.kind in FOLLOWERS or m.key in FOLLOWING_THINGS}
    named = [i for i in letters if i not in held and (_before_operated(words, starts, i) or _closes(words, ends, i))]
    letter_sides = [Mention(i, i + 1, "eye", LETTERS[words[i]]) for i in named]
    kept = [m for m in mentions if not (m.start in sides and m.kind == "action")]
    found = [Mention(i, i + 1, "eye", words[i]) for i in sides] + letter_sides
    return sorted([*kept, *found], key=lambda m: (m.start, m.end))


def _closes(words: Sequence[str], ends: set[int], i: int) -> bool:
    """ "PSC cataract R.": the letter closes a diagnosis or a procedure."""
    return i in ends and (i + 1 == len(words) or words[i + 1] in (".", "\n", ",", ";"))


def _told(words: Sequence[str], i: int) -> bool:
    """ "With him it's the right.": a side that a sentence ends with."""
    ends = i + 1 == len(words) or words[i + 1] in ".!;\n"
    before = tuple(words[max(0, i - 2) : i])
    if before == ("on", "the") and words[i + 1 : i + 2] == ["today"]:
        return True
    return ends and before in (("is", "the"), ("'s", "the"), ("it's", "the"), ("today", "the"))


def _heads(words: Sequence[str], capital: Sequence[bool], i: int) -> bool:
    """ "RIGHT. Routine phaco": a side in capitals that is a sentence or a line of its own.

    "Left." may stand in any letters; "Right." may only open what is said next.
    """
    opens = i == 0 or words[i - 1] in ".\n"
    if words[i] == "left" and opens and words[i + 1 : i + 2] in (["."], ["\n"]):
        return True
    return capital[i] and opens and i + 1 < len(words) and words[i + 1] in ".:,\n"


def _before_operated(words: Sequence[str], starts: dict[int, list[Mention]], i: int) -> bool:
    if (i and words[i - 1] in NO_SIDE_AFTER) or words[i + 1 : i + 2] in NO_SIDE_BEFORE:
        return False
    if words[i + 1 : i + 2] and words[i + 1] in FOLLOWING_WORDS:
        return True
    following = [*starts.get(i + 1, ()), *(starts.get(i + 2, ()) if words[i + 1 : i + 2] not in ([","], ["."]) else ())]
    return any(m.kind in FOLLOWERS or m.key in FOLLOWING_THINGS for m in following)


def _labeled(words: Sequence[str], i: int) -> bool:
    at = i - 1
    while at >= 0 and words[at] in SAYS and i - at <= 2:
        at -= 1
    following = words[i + 1] if i + 1 < len(words) else "."
    return at >= 0 and words[at] in LABELS and i - at <= 3 and following not in ("the", "a", "open", "in", "with")

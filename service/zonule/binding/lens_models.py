"""Models of lenses: the name behind its label up to the next field, unit or mark; or a code beside a lens."""

import re

from zonule.annotation.mentions import Mention
from zonule.binding.lens_words import (
    ORDINARY,
    UNNAMED,
    as_said,
    closes_name,
    gap_before,
    heard,
    is_capital,
    is_function,
    is_letter,
    is_of_notes,
    mentions_at,
)
from zonule.binding.reading import PUNCTUATION, Reading

LONGEST = 6
"""Words in the name of a model."""
LONGEST_RAW = 3
"""Words before its number, in text without capitals."""
STEPS = 9
"""A number told with a plus up to here may be part of a name ("Lumen Plus 3") where the power follows."""
CODE = re.compile(r"(?=[^\d]*\d)(?=[\d]*[A-Za-z])[A-Za-z0-9][A-Za-z0-9/.-]+\Z")
"""A name of letters and digits, as models have."""
ORDINAL = re.compile(r"\d+(?:st|nd|rd|th)")
NAMED_WITH = frozenset({"number", "date", "month", "ratio", "fraction", "by", "diopter", "unreadable_number"})
"""Dimensions that digits of a name may be taken for."""
IN_NAMES = frozenset({"number", "date", "month", "ratio", "fraction", "by"})
"""Dimensions of bare digits that may be part of a name."""
IN_LABEL = 7
"""Words behind a label that its number may have."""
NUMBERS = frozenset({"serial_number", "lot_number", "manufacturer", "udi", "patient.hospital_number"})
"""Labels of numbers that are no model."""
AXES = frozenset({"lens_field:axis_deg", "thing:axis"})
NAMING = frozenset(
    {"word", "action", "finding", "device", "instrument", "anatomy", "site", "technique", "step", "thing"}
)
"""Kinds of concepts whose words are a name where they have a capital letter."""


def model_behind(reading: Reading, at: int) -> Mention | None:
    """The name of a model that starts at a word, None if none does."""
    end = at
    while end < len(reading.words) and end - at < LONGEST and _goes_on(reading, at, end):
        end += 1 + _plus_number(reading, at, end)
    if end == at or clashes(reading, at, end):
        return None
    value = Mention(at, end, "word", "model")
    if len(as_said(reading, value)) == 1 and end < len(reading.words) and reading.words[end][0].isdigit():
        return None  # "model M 121.5", a name and a power said in one go
    if not any(c.isdigit() for c in as_said(reading, value)) and not _may_be_word(reading, value):
        return None
    return value


def _may_be_word(reading: Reading, value: Mention) -> bool:
    """A name without digits is one where it has a capital letter, or where a field or mark ends it."""
    if any(is_capital(reading, i) for i in range(value.start, value.end)):
        return True
    return value.end - value.start <= LONGEST_RAW and closes_name(reading, value.end)


def _goes_on(reading: Reading, first: int, i: int) -> bool:
    """Whether a name that starts at `first` holds the word at `i`."""
    word, words = reading.words[i], reading.words
    if _closing_plus(reading, first, i):
        return True
    if i > first and gap_before(reading, i) in ("", "-", "/"):
        slashed = word == "/" and i + 1 < len(words) and words[i + 1].isdigit() and gap_before(reading, i + 1) == ""
        return slashed or (word not in PUNCTUATION and word[0].isalnum())
    if _plus_number(reading, first, i) or _plus_letter(reading, first, i):
        return True
    if not word[0].isalnum() or word in PUNCTUATION or (i > first and "\n" in gap_before(reading, i)):
        return False
    numbered = any(words[k][-1].isdigit() for k in range(first, i))
    if (i == first and _proper_field(reading, i)) or (i > first and _closing_letter(reading, i, numbered=numbered)):
        return True
    if word[0].isdigit():
        glued = (
            word.isdigit()
            and not numbered
            and i + 1 < len(words)
            and gap_before(reading, i + 1) in ("", "-")
            and words[i + 1][0].isalnum()
        )
        fresh = not words[i - 1][-1].isdigit() or i == first
        return glued or (fresh and (_is_bare(reading, i) or (i > first and _point_in_name(reading, i))))
    if _heads_code(reading, i):
        return not numbered
    if is_letter(word) or (len(word) == 1 and word.isalpha() and is_capital(reading, i)):
        return not _is_unit(reading, i) and (
            not numbered or closes_name(reading, i + 1) or is_function(reading, words[i + 1])
        )
    capital = is_capital(reading, i)
    if i == first and capital and heard(reading, i).isupper() and words[max(0, i - 1) : i] == ("model",):
        return True
    held = [m for m in mentions_at(reading, i) if m.kind != "quantity" or m.id not in IN_NAMES]
    if capital:
        held = [m for m in held if m.kind not in NAMING or m.key == "thing:lens"]
        spelled = i == first and _is_initials(reading, i) and words[i + 1 : i + 2] != () and words[i + 1].isdigit()
        named = not is_function(reading, word) or (i > first and word in ("one", "two", "three", "plus"))
        return spelled or (not held and named)
    if i == first and _plus_letter(reading, first - 1, i + 1):
        return True
    if held and i > first and all(m.kind in (*NAMING, "lens_type") for m in held) and _ends_with_power(reading, i + 1):
        return True
    if held and _named_by_label(reading, first, i):
        return True
    if held or is_function(reading, word) or numbered or word in UNNAMED or is_of_notes(word):
        return False
    if reading.cased and i > first:
        return i - first < LONGEST_RAW and i + 1 < len(words) and words[i + 1].isdigit()
    return i - first < LONGEST_RAW


def _proper_field(reading: Reading, i: int) -> bool:
    """ "Model Meridian T 30", "model meridian s f 7": a word for an axis between the label and letters or a number."""
    words = reading.words
    labelled = any(a.mention.key == "lens_field:model" and a.mention.end == i for a in reading.between(i - 2, i))
    if not labelled or words[i] == "axis" or (reading.cased and not is_capital(reading, i)):
        return False
    if not any(m.key in AXES and m.start == i and m.end == i + 1 for m in mentions_at(reading, i)):
        return False
    at = i + 1
    while at < len(words) and is_letter(words[at]):
        at += 1
    if not reading.cased and at == i + 1:
        return False
    return at < len(words) and any(c.isdigit() for c in words[at]) and not _is_unit(reading, at)


def _named_by_label(reading: Reading, first: int, i: int) -> bool:
    """ "Model iris clara power 20", "model long eye 9": in raw text, words of the trade that can only be a name.

    They stand right behind the label, and a number or the next field of the lens ends them.
    """
    words = reading.words
    if reading.cased or words[max(0, first - 1) : first] != ("model",):
        return False
    end = first
    while end < len(words) and end - first < LONGEST_RAW and words[end].isalpha() and len(words[end]) > 2:
        kinds = {m.kind for m in mentions_at(reading, end)}
        if "lens_field" in kinds or not kinds <= {*NAMING, "diagnosis"}:
            break
        if is_function(reading, words[end]) or words[end] in UNNAMED:
            return False
        end += 1
    closes = end < len(words) and (words[end][0].isdigit() or begins_power(reading, end))
    return first <= i < end and closes


def _closing_letter(reading: Reading, i: int, *, numbered: bool) -> bool:
    """ "Polder 3 S": a number and the letter behind it that a unit is written with too."""
    at = i + (not numbered)
    words = reading.words
    if not words[at - 1].isdigit() or words[at : at + 1] not in (("s",), ("l",), ("m",), ("g",), ("h",)):
        return False
    if reading.cased and not is_capital(reading, at):
        return False
    return closes_name(reading, at + 1) and not begins_power(reading, at - 1)


def _plus_number(reading: Reading, first: int, i: int) -> int:
    """1 where "plus" and a small number at `i` are part of a name: the plus has a capital, or the power follows."""
    words = reading.words
    if i == first or words[i : i + 1] != ("+",) or i + 1 >= len(words) or not words[i + 1].isdigit():
        return 0
    if not heard(reading, i)[0].isalpha():
        return 0
    behind = i + 2 + (words[i + 2 : i + 3] == (",",))
    if is_capital(reading, i) and not heard(reading, i).isupper():
        return int(int(words[i + 1]) <= STEPS or begins_power(reading, behind))
    return int(int(words[i + 1]) <= STEPS and begins_power(reading, behind))


def _closing_plus(reading: Reading, first: int, i: int) -> bool:
    """ "Rumbo T4 plus, sphere 20", "Vantis Z+, +19.5": a plus that ends a name, before a pause."""
    words = reading.words
    return i > first and words[i] in ("plus", "+") and words[i + 1 : i + 2] in ((",",), (".",), (";",), ("\n",))


def _plus_letter(reading: Reading, first: int, i: int) -> bool:
    """ "Corona plus t 42": a plus in the middle of a name, with a spelled letter and a number behind."""
    words = reading.words
    spelled = i + 2 < len(words) and words[i] == "plus" and is_letter(words[i + 1])
    return i > first and spelled and (words[i + 2].isdigit() or is_letter(words[i + 2]))


def begins_power(reading: Reading, i: int) -> bool:
    """Whether the power of a lens is told at a word."""
    for asserted in reading.between(i, i + 1):
        mention = asserted.mention
        if mention.key in ("lens_field:power_d", "quantity:diopter"):
            return True
        if mention.id == "number" and is_signed(reading, mention):
            return True
    return False


def _ends_with_power(reading: Reading, i: int) -> bool:
    """Whether a word of the trade ends a name: a number, and the power, follow ("merrow clear 4")."""
    words = reading.words
    while i + 1 < len(words) and is_letter(words[i]):
        i += 1
    return i + 1 < len(words) and words[i].isdigit() and begins_power(reading, i + 1)


def model_beside(reading: Reading, maker: Mention) -> Mention | None:
    """The model told right behind its maker without a label ("from Vale Brothers, the Crest Plus 20, 18 diopters")."""
    words, at = reading.words, maker.end
    if words[at : at + 1] == (",",) and words[at + 1 : at + 2] in (("the",), ("a",), ("an",)):
        at += 2
    if at >= len(words) or (reading.cased and not is_capital(reading, at)) or begins_power(reading, at):
        return None
    spelled = len(words[at]) > 1 and (heard(reading, at).isupper() or _numbers_follow(reading, at + 1))
    named = words[at].isalpha() and (len(words[at]) > 2 or spelled)
    model = model_behind(reading, at) if named else None
    if model is None:
        return None
    behind = _behind_kinds(reading, model.end)
    behind += words[behind : behind + 1] == (",",)
    return model if begins_power(reading, behind) else None


def _numbers_follow(reading: Reading, at: int) -> bool:
    """Whether raw text tells a number of a model at a word ("bw 60")."""
    return not reading.cased and at < len(reading.words) and reading.words[at].isdigit()


def _behind_kinds(reading: Reading, at: int) -> int:
    """Where the kind of lens is over that is told behind its model ("BW60 toric, +18.5")."""
    kinds = [a.mention for a in reading.between(at, at + 1) if a.mention.kind in ("lens_type", "lens_material")]
    return max((m.end for m in kinds), default=at)


def _is_bare(reading: Reading, i: int) -> bool:
    """Whether digits are a whole number without unit or sign."""
    if not reading.words[i].isdigit():
        return any(c.isalpha() for c in reading.words[i])
    quantities = [m for m in mentions_at(reading, i) if m.kind == "quantity"]
    return all((m.id in IN_NAMES or _is_initial(reading, m)) and not is_signed(reading, m) for m in quantities)


def _is_initial(reading: Reading, times: Mention) -> bool:
    """ "Hallow A X 31": a capital X that counts nothing."""
    return times.id == "times" and reading.words[times.start] == "x" and is_capital(reading, times.start)


def _point_in_name(reading: Reading, i: int) -> bool:
    """ "Cub 12.5, power 26.0": a number with a point that is no power, as that is told behind it."""
    words = reading.words
    plain = all(m.id == "number" and not is_signed(reading, m) for m in mentions_at(reading, i) if m.kind == "quantity")
    behind = i + 1 + (words[i + 1 : i + 2] == (",",))
    return plain and any(a.mention.key == "lens_field:power_d" for a in reading.between(behind, behind + 1))


def _is_unit(reading: Reading, i: int) -> bool:
    """Whether a word is written in a unit."""
    quantities = [m for m in mentions_at(reading, i) if m.kind == "quantity"]
    return any(m.id not in IN_NAMES and not _is_initial(reading, m) for m in quantities)


def _heads_code(reading: Reading, i: int) -> bool:
    """Letters written together with the digits behind them ("RV55")."""
    return i + 1 < len(reading.words) and gap_before(reading, i + 1) in ("", "-") and reading.words[i + 1][0].isalnum()


def is_signed(reading: Reading, mention: Mention) -> bool:
    """Whether a number has a sign of its own ("+21.5"), not the hyphen of a code ("QO-75")."""
    text = reading.annotation.aligned.text
    quantity = mention.quantity
    at = quantity.start if quantity is not None else reading.annotation.starts[mention.start]
    if text[at] not in "+-":
        at -= 1
    return at >= 0 and text[at] in "+-" and (at == 0 or text[at - 1] in " ,:\n(")


def clashes(reading: Reading, start: int, end: int) -> bool:
    """Whether digits of a name may as well belong to a number behind it, so that a person must settle both."""
    near = reading.between(max(0, start - 2), end + 1)
    return any(a.mention.id == "unreadable_number" and a.mention.start <= end < a.mention.end for a in near)


def code_at(reading: Reading, i: int) -> Mention | None:
    """A model's name at a word: letters and digits written together, or spelled letters before a number ("m 3")."""
    word = _chunk(reading, i)
    named = _named_number(reading, i)
    if named is not None:
        return named
    if ORDINAL.fullmatch(as_said(reading, word).lower()) or _counts(reading, word):
        return None
    if word.end - word.start > 1 and CODE.match(as_said(reading, word)):
        return None if _is_known(reading, word) or _in_label(reading, word.start) else _with_tail(reading, word)
    if not reading.words[i].isdigit() or i == 0 or not is_letter(reading.words[i - 1]) or _in_label(reading, i):
        return None
    start = i - 1
    while start > 0 and is_letter(reading.words[start - 1]):
        start -= 1
    return Mention(start, i + 1, "word", "model")


def _with_tail(reading: Reading, word: Mention) -> Mention:
    """A letter with a capital behind the digits belongs to them ("LX600 B")."""
    i = word.end
    tail = (
        i + 1 < len(reading.words)
        and reading.words[i - 1][-1].isdigit()
        and is_letter(reading.words[i])
        and is_capital(reading, i)
        and closes_name(reading, i + 1)
    )
    return Mention(word.start, i + 1, "word", "model") if tail else word


def _is_known(reading: Reading, word: Mention) -> bool:
    """Whether a term of the trade or a label other than a model's has the word."""
    before = reading.words[max(0, word.start - 1) : word.start]
    labels = (("number",), ("serial",), ("lot",), ("sn",), ("batch",))
    return before in labels or any(
        a.mention.kind != "quantity" and a.mention.start <= word.start and a.mention.end >= word.end
        for a in reading.between(max(0, word.start - 3), word.end)
    )


def _counts(reading: Reading, word: Mention) -> bool:
    """Whether letters and digits are a measure ("x1", "0.5mg") and no name."""
    near = reading.between(max(0, word.start - 1), word.end)
    return any(
        a.mention.kind == "quantity" and a.mention.id not in NAMED_WITH and a.mention.start <= word.start for a in near
    )


def _named_number(reading: Reading, i: int) -> Mention | None:
    """ "Nettlefold 300, 16.5 diopters": a name and a whole number, with the power or the lens right behind."""
    words = reading.words
    if not reading.cased or i < 1 or not words[i].isdigit() or len(words[i]) > 4 or not _is_name(reading, i - 1):
        return None
    end = i + 1
    if end < len(words) and is_letter(words[end]) and is_capital(reading, end) and not _is_unit(reading, end):
        end += 1
    behind = end + (words[end : end + 1] == (",",))
    following = [a.mention for a in reading.between(behind, behind + 2)]
    if not begins_power(reading, behind) and not any(
        m.key in ("thing:lens", "lens_field:power_d") or begins_power(reading, m.start) for m in following
    ):
        return None
    start = i - 1
    if start > 1 and words[start - 2] == "the" and _is_initials(reading, start - 1):
        start -= 1
    return Mention(start, end, "word", "model")


def _is_initials(reading: Reading, i: int) -> bool:
    """Whether a word is two or three capitals, as a model's name may begin with ("the TF Bright 3")."""
    said = heard(reading, i)
    return reading.cased and said.isalpha() and said.isupper() and 1 < len(said) <= 3


def _is_name(reading: Reading, i: int) -> bool:
    """Whether a word with a capital is none that the trade or the language knows."""
    word = reading.words[i]
    if not word.isalpha() or len(word) < 2 or not is_capital(reading, i) or mentions_at(reading, i):
        return False
    if len(word) < 3:
        return heard(reading, i).isupper() and heard(reading, i) == word.upper()
    return not is_function(reading, word) and word not in ORDINARY


def _in_label(reading: Reading, i: int) -> bool:
    """Whether a word is part of the value of a serial or lot number ("4471-B-09")."""
    labels = [
        a.mention
        for a in reading.between(max(0, i - IN_LABEL), i)
        if a.mention.kind in ("lens_field", "field") and a.mention.id in NUMBERS
    ]
    if not labels:
        return False
    gap = reading.gap(labels[-1].end, i)
    return i - labels[-1].start <= 3 or not {",", ".", ";", "\n"} & set(gap)


def _chunk(reading: Reading, i: int) -> Mention:
    """The word with all that is written together with it ("SN" + "60" + "WF")."""
    words = reading.words

    def joined(left: int) -> bool:
        gap = gap_before(reading, left + 1)
        return gap in ("", "-") and words[left][-1].isalnum() and words[left + 1][0].isalnum()

    start, end = i, i + 1
    while start > 0 and joined(start - 1):
        start -= 1
    while end < len(words) and joined(end - 1):
        end += 1
    return Mention(start, end, "word", "model")

"""Spoken whole numbers, decimals and fractions: "two hundred and fifty", "two point two five", "four and a half"."""

from fractions import Fraction

from zonule.normalization.number_tokens import Number, Tokens
from zonule.normalization.suture_sizes import is_suture_size

DECIMAL_DENOMINATORS = frozenset({2, 4, 5, 8, 10, 20, 100})
"""Denominators whose fractions are written as decimals."""
LONGEST_STRING = 40
"""Words in the longest string of digits or letters said one by one."""
LONGEST_TYPED = 3
"""Typed single digits in a row before a spoken one, which alone makes a string of them."""
SOUND_SCORE = 0.7
"""How sure a digit is that was heard as a word of the same sound ("two point to")."""
CYLINDERS = frozenset({"cylinder", "cyl", "astigmatism"})
"""Behind "of", what a number measures ("two and a quarter of cylinder")."""


def read_number(t: Tokens, i: int) -> Number | None:
    """The longest number that starts with the word at `i`: an integer, a decimal or a mixed fraction."""
    whole = read_integer(t, i)
    if whole is None:
        return _read_bare_decimal(t, i)
    decimal = _read_decimal_tail(t, whole.last) if t.joined(whole.last) else None
    if decimal is not None and "." not in whole.text:
        return _scaled(t, Number(f"{whole.text.lstrip('0') or '0'}.{decimal.text}", decimal.last, decimal.score))
    mixed = _read_mixed(t, whole)
    return _scaled(t, mixed) if mixed is not None else whole


def read_integer(t: Tokens, i: int) -> Number | None:
    """A whole number (or typed decimal) that starts with the word at `i`."""
    if not t.kinds[i + 1] and t.words[i + 1] not in t.vocabulary.numbers.repeats:
        return (read_small(t, i) or _read_typed(t, i)) if t.kinds[i] != "S" else _read_scales(t, i)
    return (
        _read_scales(t, i) or _read_digits(t, i) or _read_short_hundreds(t, i) or read_small(t, i) or _read_typed(t, i)
    )


def read_small(t: Tokens, i: int) -> Number | None:
    """0 to 99 in words; "oh" and its like alone are no number."""
    if i not in t.small:
        t.small[i] = _read_small(t, i)
    return t.small[i]


def _read_small(t: Tokens, i: int) -> Number | None:
    kind = t.kinds[i]
    if kind == "Y":
        if t.joined_kind(i + 1, "D") and not is_suture_size(t, i + 1):
            return Number(str(t.value(i) + t.value(i + 1)), i + 2)
        return Number(str(t.value(i)), i + 1)
    if kind in ("D", "T") or (kind == "Z" and t.words[i] not in t.vocabulary.lists.spoken_zeros):
        return Number(str(t.value(i)), i + 1)
    return None


def _read_typed(t: Tokens, i: int) -> Number | None:
    return Number(t.words[i], i + 1) if t.kinds[i] == "N" else None


def _read_scales(t: Tokens, i: int) -> Number | None:
    """Numbers with hundred, thousand or million in them; None where there is none of these."""
    if "S" not in t.kinds[i : i + 4]:
        return None
    total, ceiling, at = 0, 10**9, i
    while (group := _read_group(t, at, first=at == i)) is not None:
        value, last = group
        if value >= 1000 and at == i and not t.joined_kind(last, "S"):
            return Number(str(value), last)
        scale = t.value(last) if t.joined_kind(last, "S") and t.value(last) >= 1000 else 1
        if value * scale >= ceiling:
            break
        total, ceiling, at = total + value * scale, scale, last + (scale > 1)
        if scale == 1:
            break
        at += _skips_and(t, at)
    if at == i or not any(t.kinds[j] == "S" for j in range(i, at)):
        return None
    return Number(str(total), at - (t.words[at - 1] == "and"))


def _read_group(t: Tokens, i: int, *, first: bool) -> tuple[int, int] | None:
    """Up to 999, or as many hundreds as are said ("fifteen hundred")."""
    if not first and not t.joined(i):
        return None
    if t.kinds[i] == "S":
        if not first or t.value(i) > 1000 or not _bare_scale_counts(t, i):
            return None
        return _read_hundreds(t, i, 1, i) if t.value(i) == 100 else (t.value(i), i + 1)
    head = _read_plain(t, i)
    if head is None or not t.joined_kind(head[1], "S") or t.value(head[1]) != 100:
        return head
    return _read_hundreds(t, i, head[0], head[1])


def _read_hundreds(t: Tokens, first: int, hundreds: int, i: int) -> tuple[int, int]:
    """What "hundred" at `i` is worth with the tens and ones behind it."""
    rest = i + 1 + _skips_and(t, i + 1)
    tail = read_small(t, rest) if t.joined(rest) and not is_suture_size(t, rest) else None
    if tail is None or (t.joined_kind(tail.last, "S") and t.value(tail.last) == 100):
        return hundreds * 100, i + 1
    if rest > i + 1 and (_parts_two_values(t, first, tail.last) or _is_short_hundreds(t, rest)):
        return hundreds * 100, i + 1
    return hundreds * 100 + int(tail.text), tail.last


def _is_short_hundreds(t: Tokens, i: int) -> bool:
    """ "Between two hundred and two fifty": the second number has hundreds of its own."""
    return t.kinds[i] == "D" and t.joined_kind(i + 1, "TY") and not is_suture_size(t, i + 1)


def _read_plain(t: Tokens, i: int) -> tuple[int, int] | None:
    if t.kinds[i] == "N":
        return (t.value(i), i + 1) if t.words[i].isdigit() and len(t.words[i]) <= 3 else None
    small = read_small(t, i)
    return (int(small.text), small.last) if small is not None and int(small.text) else None


def _bare_scale_counts(t: Tokens, i: int) -> bool:
    """ "A hundred", or "hundred percent"."""
    return (t.words[i - 1] in ("a", "an") and t.joined(i)) or t.unit_at(i + 1) is not None


def _skips_and(t: Tokens, i: int) -> int:
    return int(t.words[i] == "and" and t.joined(i) and t.joined(i + 1))


def _parts_two_values(t: Tokens, first: int, last: int) -> bool:
    """ "vacuum two hundred and thirty flow": a parameter on either side parts what "and" would join.

    A parameter that has a number of its own behind it parts nothing ("three hundred and eighty flow thirty five").
    """
    parameters = t.vocabulary.lists.parameters
    if t.joined_kind(last + 1, "ZDTYSN"):
        return False
    return t.joined_word(last, parameters) and t.near_before(first, parameters, 2)


def _read_digits(t: Tokens, i: int) -> Number | None:
    """Two or more digits said one by one: "five oh nine three", "double two"."""
    parts: list[str] = []
    spoken, at = False, i
    while at < i + LONGEST_STRING and (at == i or t.joined(at)) and (part := _read_digit(t, at)) is not None:
        if at > i and (is_suture_size(t, at) or t.joined_kind(part[1], "S")):
            break
        spoken = spoken or t.kinds[at] != "N"
        if not spoken and at >= i + LONGEST_TYPED:
            return None
        parts.append(part[0])
        at = part[1]
    at = _drop_trailing_zero(t, i, at, parts)
    if sum(map(len, parts)) < 2 or not spoken or not _digits_count(t, i, at, parts):
        return None
    return Number("".join(parts), at)


def _read_digit(t: Tokens, i: int) -> tuple[str, int] | None:
    """One digit, or a doubled one."""
    kind = t.kinds[i]
    if kind == "Z" and t.words[i + 1] in t.vocabulary.dates.clock:
        return None
    if kind in ("Z", "D") or (kind == "N" and len(t.words[i]) == 1):
        return str(t.value(i)), i + 1
    times = t.vocabulary.numbers.repeats.get(t.words[i])
    if times and t.joined_kind(i + 1, "ZD"):
        return str(t.value(i + 1)) * times, i + 2
    return None


def _drop_trailing_zero(t: Tokens, first: int, last: int, parts: list[str]) -> int:
    """An "oh" at the end counts in a long string or before a unit; else it is a sigh."""
    sighs = t.vocabulary.lists.spoken_zeros
    if (
        len(parts) == 2
        and t.words[last - 1] in sighs
        and t.unit_at(last) is None
        and not t.near_before(first, t.vocabulary.lists.settings, 3)
    ):
        parts.pop()
        return last - 1
    return last


def _digits_count(t: Tokens, first: int, last: int, parts: list[str]) -> bool:
    """Whether the digits make one number, and are not two or three values in a row."""
    lists = t.vocabulary.lists
    if t.words[first] in lists.spoken_zeros and len(parts) < 3:
        return False
    if t.words[first - 1] in lists.numbered and t.kinds[first] != "Z" and len(parts) == 2 and t.joined(first):
        return False
    unit = t.unit_at(last)
    if unit is not None and unit.joins_up_to is not None and int("".join(parts)) > unit.joins_up_to:
        return False
    if t.words[last] in lists.point and t.joined(last):
        return True
    rising = len(parts) == 2 and len(parts[0]) == 1 == len(parts[1]) and int(parts[1]) == int(parts[0]) + 1
    counts = (unit is not None and unit.id in _COUNTED_UNITS) or t.words[last] in lists.counted
    return not (rising and counts)


_COUNTED_UNITS = frozenset({"day", "week", "month", "times", "times a day", "h", "o'clock", "clock hours"})


def _read_short_hundreds(t: Tokens, i: int) -> Number | None:
    """ "Three fifty", "one twenty five", "two eighty"."""
    if (t.kinds[i] == "N" and (len(t.words[i]) != 1 or t.kinds[i + 1] == "N")) or t.kinds[i] not in ("D", "N"):
        return None
    if not t.joined_kind(i + 1, "TY") or is_suture_size(t, i + 1) or t.value(i) == 0:
        return None
    lists = t.vocabulary.lists
    if t.words[i - 1] in lists.numbered or (t.words[i] == "one" and t.words[i - 1] in lists.pronoun_before):
        return None
    small = read_small(t, i + 1)
    if small is None or t.joined_kind(small.last, "STY") or t.joined_word(small.last, lists.point):
        return None
    value = t.value(i) * 100 + int(small.text)
    unit = t.unit_at(small.last)
    joins = unit is None or unit.joins_up_to is None or value <= unit.joins_up_to
    if unit is not None and unit.id == "deg" and t.near_after(small.last, lists.blades, 3):
        joins = False
    return Number(str(value), small.last) if joins else None


def _read_bare_decimal(t: Tokens, i: int) -> Number | None:
    """ "Point two five", "oh point five"."""
    lists = t.vocabulary.lists
    if t.words[i] in lists.spoken_zeros:
        tail = _read_decimal_tail(t, i + 1) if t.joined(i + 1) else None
        return _scaled(t, Number(f"0.{tail.text}", tail.last, tail.score)) if tail else None
    if t.words[i] not in lists.point or (t.joined(i) and t.kinds[i - 1] in ("Z", "D", "T", "Y", "N")):
        return None
    tail = _read_decimal_tail(t, i)
    if tail is None:
        return None
    unit = t.unit_at(tail.last)
    placed = t.words[i - 1] in lists.point_before and t.joined(i)
    pronoun = t.words[i + 1] == "one" and tail.last == i + 2 and t.words[tail.last] in lists.pronoun_after
    if (placed and (unit is None or t.words[i - 1] not in ("a", "the"))) or (unit is None and pronoun):
        return None
    return _scaled(t, Number(f"0.{tail.text}", tail.last, tail.score))


def _read_decimal_tail(t: Tokens, i: int) -> Number | None:
    """The digits behind "point", which stands at `i`."""
    if t.words[i] not in t.vocabulary.lists.point or not t.joined(i + 1):
        return None
    kind = t.kinds[i + 1]
    if kind in ("T", "Y"):
        return read_small(t, i + 1)
    if kind == "N":
        return Number(t.words[i + 1], i + 2) if t.words[i + 1].isdigit() else None
    return _read_fraction_digits(t, i + 1)


def _read_fraction_digits(t: Tokens, i: int) -> Number | None:
    """Digits one by one; the first may have been heard as a word of the same sound."""
    sounds = t.vocabulary.numbers.sounds
    digits, at, score = "", i, None
    if t.words[i] in sounds and (t.joined_kind(i + 1, "ZD") or t.unit_at(i + 1) is not None):
        digits, at, score = str(sounds[t.words[i]]), i + 1, SOUND_SCORE
    while (
        at < i + LONGEST_STRING
        and t.joined(at)
        and (part := _read_digit(t, at)) is not None
        and not is_suture_size(t, at)
    ):
        if digits and t.joined_kind(part[1], "S"):
            break
        digits, at = digits + part[0], part[1]
    return Number(digits, at, score) if digits else None


def _read_mixed(t: Tokens, whole: Number) -> Number | None:
    """ "Two and a half", "four and one quarter", "two and half"; None where no fraction follows."""
    at = whole.last
    if not (t.words[at] == "and" and t.joined(at) and t.joined(at + 1)) or not whole.text.isdigit():
        return None
    fraction = read_fraction(t, at + 1)
    if fraction is None:
        return None
    value, last = fraction
    measured = t.words[last + 1] in t.vocabulary.lists.parameters or t.words[last + 1] in CYLINDERS
    if t.words[last] == "of" and not measured and t.unit_at(last + 1 + (t.words[last + 1] in ("a", "an"))) is None:
        return None
    if value.denominator in DECIMAL_DENOMINATORS:
        return Number(decimal_text(int(whole.text) + value), last)
    return Number(f"{int(whole.text)} {value.numerator}/{value.denominator}", last)


def read_fraction(t: Tokens, i: int) -> tuple[Fraction, int] | None:
    """A fraction below one in words: "a half", "half", "three quarters", "one third"."""
    denominators = t.vocabulary.numbers.denominators
    if t.words[i] in ("half", "quarter"):
        return Fraction(1, denominators[t.words[i]]), i + 1
    below = denominators.get(t.words[i + 1]) if t.joined(i + 1) else None
    if below is None or t.words[i + 1] == "halves":
        return None
    if t.words[i] in ("a", "an"):
        return Fraction(1, below), i + 2
    above = t.value(i) if t.kinds[i] == "D" else 0
    return (Fraction(above, below), i + 2) if 0 < above < below else None


def decimal_text(value: Fraction) -> str:
    """Exact decimal digits of a fraction over a divisor of a power of ten."""
    return f"{float(value):.4f}".rstrip("0").rstrip(".")


def _scaled(t: Tokens, number: Number) -> Number:
    """ "Seven and a half thousand" is 7500."""
    if t.joined_kind(number.last, "S") and "/" not in number.text:
        value = Fraction(number.text) * t.value(number.last)
        return Number(decimal_text(value), number.last + 1, number.score)
    return number

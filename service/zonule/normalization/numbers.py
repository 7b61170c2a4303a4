"""Spoken numbers, dates, times, sizes and identifiers → digits, as edits a person can see and undo."""

from collections.abc import Callable

from zonule.normalization.acuities import read_acuity
from zonule.normalization.cardinals import DECIMAL_DENOMINATORS, decimal_text, read_fraction, read_number
from zonule.normalization.clock_times import read_dial_hour, read_time
from zonule.normalization.dates import read_date
from zonule.normalization.identifiers import (
    IDENTIFIER,
    read_digit_groups,
    read_identifier,
    read_identifier_again,
)
from zonule.normalization.lone_one import counts_as_number, zero_counts
from zonule.normalization.number_tokens import Number, Reading, Tokens
from zonule.normalization.number_words import NumberWords, load_number_words
from zonule.normalization.ratios import read_factors, read_range_of_hundreds, read_ratio
from zonule.normalization.suture_sizes import read_suture_size
from zonule.text import Edit, Span

__all__ = ["NumberWords", "find_number_edits", "load_number_words"]

LARGEST_GRADE = 4
"""Grades are said with a plus behind them up to here ("two plus nuclear sclerosis")."""
QUARTERS = {"5": "5", "25": "25", "50": "50", "75": "75"}
"""What may be said right behind the whole diopters of a lens: powers come in quarters."""
MINUTES = ("minute", "minutes", "min", "mins")
TIMED = ("phaco", "ultrasound", "us", "time", "ept", "effective")
"""What a machine's time is said of."""
FIGURES = frozenset(
    {
        "",
        "average",
        "av",
        "ave",
        "avg",
        "mean",
        "cde",
        "c",
        "cumulative",
        "ept",
        "e",
        "effective",
        "power",
        "energy",
        "and",
    }
)
"""What may follow among the machine's closing figures."""
SHORT_POWER_SCORE = 0.7
"""How sure "twenty two five diopters" is 22.5."""
ONE_THING = frozenset({
    "little", "small", "tiny", "stubborn", "last", "more", "bit", "strand", "tag", "piece", "wisp", "shred", "quadrant",
    "fragment", "stitch", "suture", "side", "port",
})  # fmt: skip
"""Words behind a "one" that begins what is told next."""


def find_number_edits(text: str, words: NumberWords) -> list[Edit]:
    """One pass from left to right over a dictation in any case, with or without punctuation; edits never overlap.

    Rules: `spoken_number`, `spoken_fraction`, `spoken_ratio`, `spoken_size`, `spoken_suture_size`,
    `spoken_clock_hour`, `spoken_time`, `spoken_date`, `spoken_month`, `spoken_year`, `spoken_acuity`,
    `spoken_identifier`. A number never crosses a correction, a unit or punctuation. The score is set where a reading
    is a guess.
    """
    t = Tokens(text, words)
    edits: list[Edit] = []
    done = 0
    for i in t.candidates:
        if i < done or _is_typed_on(t, i):
            continue
        reading = _read_alone(t, i) if _stands_alone(t, i) else _read(t, i, done)
        while reading is not None:
            done = max(reading.last, i + 1)
            span = Span(t.start(reading.first), t.end(reading.last - 1))
            if span.of(text) != reading.text:
                edits.append(Edit(span, reading.text, reading.rule, reading.score))
            reading = read_identifier_again(t, done) if reading.rule == IDENTIFIER else None
    return edits


def _is_typed_on(t: Tokens, i: int) -> bool:
    """The later digits of a typed time, date or fraction ("1:05", "14/03/2026") begin nothing of their own."""
    return t.kinds[i] == "N" == t.kinds[i - 1] and t.gap(i) in (":", "/", ".")


def _stands_alone(t: Tokens, i: int) -> bool:
    """Whether the number word at `i` cannot go on: most numbers, and so the quick way."""
    if t.kinds[i] not in ("D", "T", "Y", "N") or t.words[i - 1] in MINUTES:
        return False
    if not t.joints[i + 1]:
        return t.kinds[i] != "N" or t.gap(i + 1) not in ("", "/")
    following = t.words[i + 1]
    if t.kinds[i + 1] == "N" or (t.words[i + 2] == "and" and t.words[i + 3] in _HALVES):
        return False
    if t.kinds[i + 2] and (following == "h" or following in t.vocabulary.dates.hours):
        return False  # "14 hours 20"
    return following not in t.vocabulary.continuing or (t.kinds[i] == "N" and following == "o'clock")


_HALVES = ("a", "half", "one", "three")
"""With these a fraction begins behind a unit: "two mils and a half"."""


def _read_alone(t: Tokens, i: int) -> Reading | None:
    if t.kinds[i] == "N" or not _number_counts(t, i, Number("", i + 1)):
        return None
    return Reading(i, i + 1, str(t.value(i)), "spoken_number")


def _read(t: Tokens, i: int, done: int) -> Reading | None:
    """The first construct that starts at `i`; `done` is the first word not yet read."""
    if t.kinds[i] == "" and t.words[i] not in t.vocabulary.opening:
        return read_identifier(t, i)
    for reader in _readers_of(t, i):
        reading = reader(t, i)
        if reading is not None:
            return reading
    return _read_fraction(t, i, done) or _read_signed(t, i, done)


Reader = Callable[[Tokens, int], Reading | None]
_OF_NUMBERS: tuple[Reader, ...] = (
    read_digit_groups,
    read_date,
    read_suture_size,
    read_dial_hour,
    read_time,
    read_acuity,
    read_ratio,
    read_range_of_hundreds,
)
_OF_WORDS: tuple[Reader, ...] = (read_identifier, read_date, read_time)


def _readers_of(t: Tokens, i: int) -> tuple[Reader, ...]:
    """What may start with the word at `i`; in front of a point it is nothing but a number."""
    if t.kinds[i] == "":
        return _OF_WORDS
    return () if t.words[i + 1] in t.vocabulary.lists.point and t.joints[i + 1] else _OF_NUMBERS


def _read_fraction(t: Tokens, i: int, done: int) -> Reading | None:
    """ "Half a mil", "three quarters of a mil", "a third of the cortex"."""
    if t.words[i] not in t.vocabulary.numbers.denominators and not t.joined_word(
        i + 1, t.vocabulary.numbers.denominators
    ):
        return None
    first = i
    if (
        t.words[i] in t.vocabulary.numbers.denominators
        and t.joined(i)
        and t.words[i - 1] in ("a", "an")
        and i - 1 >= done
    ):
        first = i - 1
    found = read_fraction(t, first)
    if found is None:
        return None
    value, last = found
    with_unit = _read_unit_and_half(t, first, last, done)
    if with_unit is not None:
        return with_unit
    of = t.joined_word(last, ("of",)) and t.joined(last + 1)
    article = last + of + (t.joined_word(last + of, ("a", "an")) and (of or t.words[last - 1] == "half"))
    unit = t.unit_at(article)
    if unit is not None and unit.id not in ("s", "o'clock") and t.joined(article):
        text = (
            decimal_text(value)
            if value.denominator in DECIMAL_DENOMINATORS
            else f"{value.numerator}/{value.denominator}"
        )
        return Reading(first, article, text, "spoken_fraction")
    counted = t.words[last - 1] not in ("half", "quarter") or t.words[first] in ("a", "one")
    plural = t.words[last - 1].endswith("s") and t.words[last - 1] != "halves"
    if last - first == 2 and (of or plural) and counted:
        return Reading(first, last, f"{value.numerator}/{value.denominator}", "spoken_fraction")
    return None


def _read_unit_and_half(t: Tokens, first: int, last: int, done: int) -> Reading | None:
    """ "An hour and a half", "a mil and a half" is 1.5 of it."""
    at = first - 3
    if at < done or t.words[at] not in ("a", "an") or t.words[first - 1] != "and" or t.words[first] != "a":
        return None
    if not all(t.joined(i) for i in range(at + 1, last)) or t.unit_at(at + 1) is None or t.unit_at(last):
        return None
    return Reading(at, last, f"1.5 {t.text[t.start(at + 1) : t.end(at + 1)]}", "spoken_fraction")


def _read_signed(t: Tokens, i: int, done: int) -> Reading | None:
    """A number with its sign or its plus behind it, alone or as the first of "six by four"."""
    lists = t.vocabulary.lists
    sign = "+" if t.words[i] in lists.plus else "-" if t.words[i] in lists.minus else ""
    at = i + bool(sign)
    if sign and not (t.joined(at) and _sign_counts(t, i)):
        return None
    if sign and read_fraction(t, at) is not None:
        return _read_half(t, i, at, sign)
    number = read_number(t, at)
    if number is None or (sign and _is_finding(t, i, number)):
        return None
    if not sign and not _number_counts(t, i, number):
        return None
    number = _without_lone_one(t, i, _without_power(t, at, number))
    first = i - (t.kinds[at] == "S" and t.words[i - 1] in ("a", "an") and t.joined(i) and i - 1 >= done)
    if not sign:
        factors = read_factors(t, i, number)
        if factors is not None:
            return factors
        power = _read_short_power(t, i, number)
        if power is not None:
            return power
        if _is_seconds(t, i, number):
            return Reading(i, number.last, f"{number.text} s", "spoken_number")
        if _is_grade(t, number):
            return Reading(i, number.last + 1, f"{number.text}+", "spoken_number")
    number = _with_half(t, _with_share(t, _with_tenths(t, i, number) if sign else number))
    rule = "spoken_fraction" if "/" in number.text else "spoken_number"
    return Reading(first, number.last, sign + number.text, rule, number.score)


def _without_power(t: Tokens, i: int, number: Number) -> Number:
    """ "Model V three hundred twenty one diopters": no lens has so many, the hundreds are the end of its name."""
    unit = t.unit_at(number.last)
    if unit is None or unit.dimension != "diopter" or not number.text[:3].isdigit():
        return number
    hundred = next((j for j in range(i, number.last - 1) if t.words[j] == "hundred"), 0)
    if not hundred or t.kinds[i] not in ("D", "S") or hundred != i + 1:
        return number
    return Number(str(max(1, t.value(i)) * 100), hundred + 1, number.score)


def _without_lone_one(t: Tokens, i: int, number: Number) -> Number:
    """ "Cortex vacuum five hundred one little strand at six": a thing is told behind the setting."""
    last = number.last
    if t.words[last - 2 : last] != ["hundred", "one"] or not number.text.isdigit() or not t.joined(last):
        return number
    if t.words[last] not in ONE_THING or not t.near_before(i, t.vocabulary.lists.settings, 4):
        return number
    return Number(str(int(number.text) - 1), last - 1, number.score)


def _is_seconds(t: Tokens, i: int, number: Number) -> bool:
    """ "Phaco time two minutes ten": what is left over behind the minutes of a machine's time."""
    if t.words[i - 1] not in MINUTES or not t.joined(i) or t.kinds[i - 2] not in ("D", "T", "Y", "N"):
        return False
    if not number.text.isdigit() or int(number.text) >= 60 or t.unit_at(number.last) is not None:
        return False
    ends = not t.joined(number.last) or t.words[number.last] in FIGURES
    return ends and t.near_before(i - 2, TIMED, 5)


def _with_tenths(t: Tokens, i: int, number: Number) -> Number:
    """ "Plus twenty one zero serial", "plus twenty two five": the point of a power left out, nothing counted behind."""
    at = number.last
    if t.kinds[i + 1] not in ("T", "Y") or not number.text.isdigit() or not t.joined_kind(at, "ZDTY"):
        return number
    tenths = Number("0", at + 1) if t.kinds[at] == "Z" else read_number(t, at)
    if tenths is None or tenths.text not in (*QUARTERS, "0") or tenths.last > at + 2:
        return number
    behind = t.words[tenths.last]
    ends = behind == "" or not t.joined(tenths.last) or behind in t.vocabulary.labels
    unit = t.unit_at(tenths.last)
    if not ends and (unit is None or unit.dimension != "diopter" or len(behind) == 1):
        return number
    return Number(f"{number.text}.{tenths.text}", tenths.last, SHORT_POWER_SCORE)


def _with_share(t: Tokens, number: Number) -> Number:
    """ "Point one of a mil" is 0.1 mil."""
    at = number.last
    shared = "." in number.text and t.joined_word(at, ("of",)) and t.joined_word(at + 1, ("a", "an", "one"))
    if shared and t.joined(at + 2) and t.unit_at(at + 2) is not None:
        return number._replace(last=at + 2)
    return number


def _with_half(t: Tokens, number: Number) -> Number:
    """ "Two mils and a half" is 2.5 mils; nothing of its own follows the half."""
    at = number.last
    if not number.text.isdigit() or not t.joined(at) or not t.joined_word(at + 1, ("and",)) or not t.joined(at + 2):
        return number
    found = read_fraction(t, at + 2) if t.words[at + 2] in ("a", "one", "three", "half") else None
    if found is None or found[0].denominator not in (2, 4) or t.unit_at(at) is None or t.unit_at(found[1]):
        return number
    unit = t.text[t.start(at) : t.end(at)]
    return Number(f"{decimal_text(int(number.text) + found[0])} {unit}", found[1], number.score)


def _read_half(t: Tokens, i: int, at: int, sign: str) -> Reading | None:
    """ "Minus a half", "plus three quarters of a diopter"."""
    found = read_fraction(t, at)
    if found is None or found[0].denominator not in DECIMAL_DENOMINATORS:
        return None
    value, last = found
    of = t.joined_word(last, ("of",)) and t.joined_word(last + 1, ("a", "an"))
    if of and t.unit_at(last + 2) is None:
        return None
    return Reading(i, last + 2 * of, sign + decimal_text(value), "spoken_fraction")


def _sign_counts(t: Tokens, i: int) -> bool:
    """Not "plus or minus"."""
    return not (t.words[i - 1] in ("or", "plus") and t.joined(i))


def _is_finding(t: Tokens, i: int, number: Number) -> bool:
    """ "Positive" and "negative" are signs only of a power."""
    unit = t.unit_at(number.last)
    return (
        t.words[i] in t.vocabulary.lists.weak_signs
        and "." not in number.text
        and (unit is None or unit.dimension != "diopter")
    )


def _number_counts(t: Tokens, i: int, number: Number) -> bool:
    """Whether the words are meant as a number: no name of a kind of thing, no pronoun."""
    if number.last == i + 1 and t.joined_word(number.last, t.vocabulary.lists.kept_before) and t.kinds[i] in ("D", "T"):
        return False
    if number.last > i + 1 or (t.words[i] != "one" and t.kinds[i] != "Z"):
        return True
    return counts_as_number(t, i) if t.words[i] == "one" else zero_counts(t, i)


def _read_short_power(t: Tokens, i: int, number: Number) -> Reading | None:
    """ "Twenty two five diopters" is 22.5: the powers of lenses come in quarters."""
    if t.kinds[i] not in ("T", "Y") or "." in number.text or not t.joined_kind(number.last, "DTY"):
        return None
    behind = read_number(t, number.last)
    if behind is None or behind.text not in QUARTERS:
        return None
    unit = t.unit_at(behind.last)
    if unit is None or unit.dimension != "diopter" or len(t.words[behind.last]) == 1:
        return None
    return Reading(i, behind.last, f"{number.text}.{QUARTERS[behind.text]}", "spoken_number", SHORT_POWER_SCORE)


def _is_grade(t: Tokens, number: Number) -> bool:
    """ "Two plus nuclear sclerosis": a plus behind a small number, no number behind the plus."""
    at = number.last
    if not t.joined_word(at, ("plus",)) or not number.text.isdigit() or not 1 <= int(number.text) <= LARGEST_GRADE:
        return False
    behind = at + 1
    starts = t.kinds[behind] != "" or t.words[behind] in t.vocabulary.lists.point or t.unit_at(behind) is not None
    return not starts and t.words[behind] not in ("a", "or", "half", "minus", "one", "oh")

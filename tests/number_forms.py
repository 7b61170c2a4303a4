"""Spoken forms of numbers for the round-trip tests: those of num2words and the short ones heard in theatre.

Source of the short forms: common practice, no source.
"""

from collections.abc import Iterator

from num2words import num2words

DIGITS = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]


def long_forms(number: int) -> set[str]:
    """The full forms, American and British, with and without hyphens."""
    forms = {num2words(number, lang="en"), num2words(number, lang="en_GB")}
    forms |= {form.replace(" and ", " ") for form in forms}
    return {form.replace(",", "") for form in forms} | {form.replace(",", "").replace("-", " ") for form in forms}


def one_by_one(digits: str, zero: str = "oh") -> str:
    """Each digit by itself: "105" → "one oh five"."""
    return " ".join(zero if d == "0" else DIGITS[int(d)] for d in digits)


def short_hundreds(number: int) -> Iterator[str]:
    """ "Three fifty", "three oh five", "fifteen hundred"."""
    hundreds, rest = divmod(number, 100)
    if 1 <= hundreds <= 9 and rest >= 10:
        yield f"{DIGITS[hundreds]} {num2words(rest)}"
        yield f"{DIGITS[hundreds]} {num2words(rest)}".replace("-", " ")
    if 1 <= hundreds <= 9 and 0 < rest < 10:
        yield f"{DIGITS[hundreds]} oh {DIGITS[rest]}"
    if rest == 0 and 1 <= hundreds <= 99 and hundreds % 10:
        yield f"{num2words(hundreds)} hundred"
    if hundreds == 1:
        yield f"a hundred and {num2words(rest)}" if rest else "a hundred"


def integer_forms(number: int) -> set[str]:
    """All forms of a whole number."""
    forms = long_forms(number) | set(short_hundreds(number))
    if number >= 100:
        forms |= {one_by_one(str(number)), one_by_one(str(number), "zero")}
    if number == 0:
        forms |= {"zero", "nought"}
    return forms


def decimal_tails(digits: str) -> set[str]:
    """What is said behind "point"."""
    tails = {one_by_one(digits), one_by_one(digits, "zero")}
    if len(digits) == 2 and digits[0] != "0":
        tails |= {num2words(int(digits)), num2words(int(digits)).replace("-", " ")}
    return tails


QUARTERS = {
    "25": ["and a quarter", "and one quarter"],
    "5": ["and a half", "and one half", "and half"],
    "75": ["and three quarters", "and three-quarters"],
}


def decimal_forms(text: str) -> set[str]:
    """All forms of an unsigned decimal such as "19.75"."""
    whole, _, digits = text.partition(".")
    if not digits:
        return integer_forms(int(whole))
    wholes = long_forms(int(whole)) if whole != "0" else {"zero", "nought", "naught", "oh"}
    forms = {f"{w} point {tail}" for w in wholes for tail in decimal_tails(digits)}
    if whole == "0":
        return forms | {f"point {tail}" for tail in decimal_tails(digits)}
    return forms | {f"{w} {tail}" for w in wholes for tail in QUARTERS.get(digits, [])}

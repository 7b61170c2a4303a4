"""Spoken dates → ISO 8601: "the fourteenth of march twenty twenty six", "fourteen three twenty six" after a label."""

from collections.abc import Iterator
from typing import NamedTuple

from zonule.normalization.calendar_days import full_year, iso_date
from zonule.normalization.cardinals import read_small
from zonule.normalization.number_tokens import Reading, Tokens
from zonule.normalization.number_words import Labels, Phrase

SEPARATORS = ("slash", "dash", "hyphen", "stroke", "dot")
LABEL_REACH = 8
WRITTEN = frozenset({"of", "the", "st", "nd", "rd", "th"})


class _Part(NamedTuple):
    """A number of a date and the word after it; `digits` as it is written."""

    value: int
    last: int
    digits: str = ""


def read_date(t: Tokens, i: int) -> Reading | None:
    """The date, or month of a year, that starts with the word at `i`."""
    if _is_typed(t, i):
        return None
    if t.words[i] in t.vocabulary.months:
        found = _read_month_first(t, i)
    elif t.kinds[i] or t.words[i] in t.vocabulary.ordinals:
        found = _read_day_month(t, i) or _read_ordinal_month(t, i) or _read_numeric(t, i) or _read_lone_year(t, i)
    else:
        return None
    return found if found is not None and not _is_written(t, found) else None


def _is_typed(t: Tokens, i: int) -> bool:
    """The quick way out of most written dates: "14 March 2026", "March 2026"."""
    months = t.vocabulary.months
    first, second = t.words[i] in months, t.words[i + 1] in months
    if not ((first and t.kinds[i + 1] == "N") or (second and t.kinds[i] == "N")):
        return False
    return t.kinds[i + 2] in ("N", "") and t.words[i + 2] not in WRITTEN


def _is_written(t: Tokens, found: Reading) -> bool:
    """A date written with digits and the month's name needs no rewriting."""
    words = range(found.first, found.last)
    months = t.vocabulary.months
    written = all(t.kinds[j] == "N" or t.words[j] in months or t.words[j] in WRITTEN for j in words)
    return written and any(t.words[j] in months for j in words)


def _read_day_month(t: Tokens, i: int) -> Reading | None:
    """ "Fourteenth of march twenty twenty six", "four march 2026"."""
    day = _read_day(t, i) if not t.vocabulary.months.keys().isdisjoint(t.words[i + 1 : i + 5]) else None
    if day is None:
        return None
    at = day.last + t.joined_word(day.last, ("day",))
    at += t.joined_word(at, ("of",))
    month = t.vocabulary.months.get(t.words[at]) if t.joined(at) else None
    if month is None:
        return None
    year = _read_year_behind(t, at + 1)
    ordinal = not day.digits
    if year is None:
        if t.words[at] in t.vocabulary.dates.ordinary_months and not (ordinal and t.words[at - 1] == "of"):
            return None
        return Reading(i, at + 1, f"{day.value} {t.words[at].capitalize()}", "spoken_date")
    return _reading(t, i, day.value, at, year)


def _read_ordinal_month(t: Tokens, i: int) -> Reading | None:
    """ "Twenty second of the eighth nineteen fifty"."""
    ordinals = t.vocabulary.ordinals
    day = _read_day(t, i) if not ordinals.keys().isdisjoint(t.words[i + 2 : i + 5]) else None
    if day is None or day.digits or not t.joined_word(day.last, ("of",)):
        return None
    at = day.last + 1 + t.joined_word(day.last + 1, ("the",))
    month = ordinals.get(t.words[at], 13) if t.joined(at) else 13
    year = _read_year_behind(t, at + 1)
    if year is None or month > 12 or (len(year.digits) < 4 and not _is_labelled(t, i, t.vocabulary.date_labels)):
        return None
    whole = full_year(year.digits, birth=_is_labelled(t, i, t.vocabulary.birth_labels))
    iso = iso_date(whole, month, day.value) if whole is not None else None
    return Reading(i, year.last, iso or f"{day.value:02d}/{month:02d}/{whole or year.digits}", "spoken_date")


def _read_lone_year(t: Tokens, i: int) -> Reading | None:
    """ "In twenty nineteen"."""
    if t.words[i - 1] not in ("in", "since", "year") or not t.joined(i) or t.kinds[i] not in ("T", "Y", "D"):
        return None
    year = _read_year(t, i, full=True)
    if year is None or t.unit_at(year.last) is not None or t.joined_kind(year.last, "ZDTYSN"):
        return None
    return Reading(i, year.last, year.digits, "spoken_year")


def _read_month_first(t: Tokens, i: int) -> Reading | None:
    """ "March fourteenth twenty twenty six", "august twenty twenty eight"."""
    month = t.vocabulary.months.get(t.words[i])
    if month is None:
        return None
    at = i + 1 + t.joined_word(i + 1, ("the",))
    day = _read_day(t, at) if t.joined(at) else None
    year = _read_year_behind(t, day.last) if day is not None else None
    behind = i + 1 + t.joined_word(i + 1, ("of",))
    alone = _read_year(t, behind, full=True) if t.joined(behind) else None
    if day is not None and year is not None and (alone is None or year.last > alone.last):
        return _reading(t, i, day.value, i, year)
    if alone is None and _is_labelled(t, i, t.vocabulary.expiry_labels) and t.joined(i + 1):
        alone = _read_year(t, i + 1, full=False)
    if alone is not None and (day is None or day.digits):
        whole = full_year(alone.digits, birth=False)
        return Reading(i, alone.last, f"{whole}-{month:02d}", "spoken_month")
    if day is not None and not day.digits:
        return Reading(i, day.last, f"{day.value} {t.words[i].capitalize()}", "spoken_date")
    return None


def _reading(t: Tokens, i: int, day: int, month_at: int, year: _Part) -> Reading:
    """ISO where the calendar has the day and the year is sure; else the words in digits, for a person to settle."""
    birth = _is_labelled(t, i, t.vocabulary.birth_labels)
    whole = full_year(year.digits, birth=birth)
    name = t.words[month_at]
    iso = iso_date(whole, t.vocabulary.months[name], day) if whole is not None else None
    return Reading(i, year.last, iso or f"{day} {name.capitalize()} {year.digits}", "spoken_date")


def _read_day(t: Tokens, i: int) -> _Part | None:
    """A day of the month; `digits` is empty when it was said as an ordinal."""
    ordinals = t.vocabulary.ordinals
    if t.words[i] in ordinals:
        return _Part(ordinals[t.words[i]], i + 1)
    if t.kinds[i] == "Y" and t.value(i) <= 30 and t.joined(i + 1) and ordinals.get(t.words[i + 1], 10) < 10:
        return _Part(t.value(i) + ordinals[t.words[i + 1]], i + 2)
    if t.kinds[i] == "N" and t.words[i].isdigit() and len(t.words[i]) <= 2:
        suffixed = t.words[i + 1] in ("st", "nd", "rd", "th") and t.gap(i + 1) == ""
        part = _Part(t.value(i), i + 1 + suffixed, "" if suffixed else t.words[i])
    elif t.kinds[i] == "Z" and t.joined_kind(i + 1, "D"):
        part = _Part(t.value(i + 1), i + 2, str(t.value(i + 1)))
    elif (small := read_small(t, i)) is not None:
        part = _Part(int(small.text), small.last, small.text)
    else:
        return None
    return part if 1 <= part.value <= 31 else None


def _read_year_behind(t: Tokens, i: int) -> _Part | None:
    """A year directly, or behind a comma or "of"/"in"."""
    if t.joined(i) and t.words[i] in ("of", "in"):
        i += 1
    if not (t.joined(i) or (t.gap(i).strip() == "," and i < t.size)):
        return None
    short = _read_year(t, i, full=False) if t.joined(i) else None
    return _read_year(t, i, full=True) or (short if short is not None and t.unit_at(short.last) is None else None)


def _read_year(t: Tokens, i: int, *, full: bool) -> _Part | None:
    """A year that starts with the word at `i`: four digits when `full`, else two."""
    if not full:
        return _read_short_year(t, i)
    if t.kinds[i] == "N":
        typed = t.words[i]
        return _Part(int(typed), i + 1, typed) if len(typed) == 4 and typed[:2] in ("19", "20") else None
    if t.kinds[i] in ("D", "Z"):
        return _read_thousands_year(t, i) or _read_digit_year(t, i)
    century = t.value(i) if t.kinds[i] in ("T", "Y") else 0
    if century not in (19, 20):
        return None
    if t.joined_kind(i + 1, "Z") and t.joined_kind(i + 2, "D"):
        rest = _Part(t.value(i + 2), i + 3)
    elif t.joined_kind(i + 1, "TY") and (small := read_small(t, i + 1)) is not None:
        rest = _Part(int(small.text), small.last)
    elif t.joined_word(i + 1, ("hundred",)):
        rest = _read_rest(t, i + 2)
    else:
        return None
    year = century * 100 + rest.value
    return _Part(year, rest.last, str(year))


def _read_thousands_year(t: Tokens, i: int) -> _Part | None:
    """ "Two thousand and twenty six"."""
    if t.value(i) != 2 or not t.joined_word(i + 1, ("thousand",)):
        return None
    rest = _read_rest(t, i + 2)
    return _Part(2000 + rest.value, rest.last, str(2000 + rest.value))


def _read_rest(t: Tokens, i: int) -> _Part:
    """The years of the century behind "hundred" or "thousand"; none is 0."""
    at = i + (t.words[i] == "and" and t.joined(i) and t.joined(i + 1))
    small = read_small(t, at) if t.joined(at) and t.kinds[at] != "Z" else None
    return _Part(int(small.text), small.last) if small is not None else _Part(0, i)


def _read_digit_year(t: Tokens, i: int) -> _Part | None:
    """ "Two oh two six"."""
    if not all(t.kinds[j] in ("Z", "D") and (j == i or t.joined(j)) for j in range(i, i + 4)):
        return None
    digits = "".join(str(t.value(j)) for j in range(i, i + 4))
    return _Part(int(digits), i + 4, digits) if digits[:2] in ("19", "20") else None


def _read_short_year(t: Tokens, i: int) -> _Part | None:
    """Two digits: "fifty one", "oh five", "26"."""
    if t.kinds[i] == "N":
        return _Part(t.value(i), i + 1, t.words[i]) if t.words[i].isdigit() and len(t.words[i]) == 2 else None
    if t.kinds[i] in ("Z", "D") and t.joined_kind(i + 1, "DZ"):
        digits = f"{t.value(i)}{t.value(i + 1)}"
        return _Part(int(digits), i + 2, digits)
    small = read_small(t, i) if t.kinds[i] in ("T", "Y") else None
    return _Part(int(small.text), small.last, f"{int(small.text):02d}") if small is not None else None


def _read_numeric(t: Tokens, i: int) -> Reading | None:
    """Day, month and year as bare numbers: only behind a date's label, or with spoken slashes."""
    if t.kinds[i] == "" or not t.has_dates or not (_is_labelled(t, i, t.vocabulary.date_labels) or _is_slashed(t, i)):
        return None
    if _is_labelled(t, i, t.vocabulary.expiry_labels):
        month = _read_expiry_month(t, i)
        if month is not None:
            return month
    found = max(_numeric_options(t, i), key=lambda option: (option[2].last, len(option[2].digits)), default=None)
    if found is None or all(t.gap(j) in ("/", "-", ".") for j in range(i + 1, found[2].last)):
        return None
    return _numeric_reading(t, i, found)


def _numeric_reading(t: Tokens, i: int, found: tuple[_Part, _Part, _Part]) -> Reading:
    first, second, year = found
    if len(first.digits) == 4:
        iso = iso_date(first.value, second.value, year.value)
        return Reading(i, year.last, iso or f"{first.digits}-{second.value:02d}-{year.value:02d}", "spoken_date")
    birth = _is_labelled(t, i, t.vocabulary.birth_labels)
    whole = full_year(year.digits, birth=birth)
    if whole is not None and (first.value > 12) != (second.value > 12):
        day, month = (first.value, second.value) if first.value > 12 else (second.value, first.value)
        iso = iso_date(whole, month, day)
        if iso:
            return Reading(i, year.last, iso, "spoken_date")
    return Reading(i, year.last, f"{first.value:02d}/{second.value:02d}/{whole or year.digits}", "spoken_date")


def _numeric_options(t: Tokens, i: int) -> Iterator[tuple[_Part, _Part, _Part]]:
    """All ways to part the numbers at `i` into a date."""
    for first in _parts(t, i):
        for second in _parts(t, _past_separator(t, first.last)):
            at = _past_separator(t, second.last)
            if not (t.joined(at) and t.joined(_past_separator(t, first.last))) or (
                first.value > 12 and second.value > 12
            ):
                continue
            for full in (True, False):
                year = _read_year(t, at, full=full)
                if year is not None and not t.joined_kind(year.last, "ZDTY"):
                    yield first, second, year
    yield from _year_first(t, i)


def _year_first(t: Tokens, i: int) -> Iterator[tuple[_Part, _Part, _Part]]:
    """ "Twenty twenty eight oh eight fourteen"."""
    year = _read_year(t, i, full=True)
    at = _past_separator(t, year.last) if year is not None else 0
    if year is None or not t.joined(at):
        return
    for month in _parts(t, at):
        below = _past_separator(t, month.last)
        if month.value <= 12 and t.joined(below):
            yield from ((year, month, day) for day in _parts(t, below))


def _read_expiry_month(t: Tokens, i: int) -> Reading | None:
    """ "Oh eight twenty twenty eight", "eight twenty eight", "twenty twenty eight oh eight"."""
    for part in _parts(t, i):
        at = _past_separator(t, part.last)
        if part.value > 12 or not t.joined(at) or t.gap(at) == "-":
            continue
        year = _read_year(t, at, full=True) or (_read_year(t, at, full=False) if part.last > i else None)
        if year is None or t.joined_kind(year.last, "ZDTYN") or (len(year.digits) == 2 and year.value <= 12):
            continue
        return Reading(i, year.last, f"{full_year(year.digits, birth=False)}-{part.value:02d}", "spoken_month")
    year = _read_year(t, i, full=True)
    for part in _parts(t, _past_separator(t, year.last)) if year is not None else ():
        ends = not t.joined_kind(_past_separator(t, part.last), "ZDTYN")
        if year is not None and part.value <= 12 and ends and t.joined(_past_separator(t, year.last)):
            return Reading(i, part.last, f"{year.digits}-{part.value:02d}", "spoken_month")
    return None


def _parts(t: Tokens, i: int) -> Iterator[_Part]:
    """The numbers from 1 to 31 that may start at `i`, the likeliest first: an "oh" belongs to what follows it."""
    kind = t.kinds[i]
    if kind == "N" and t.words[i].isdigit() and len(t.words[i]) <= 2 and 1 <= t.value(i) <= 31:
        yield _Part(t.value(i), i + 1, t.words[i])
    pair = 10 * t.value(i) + t.value(i + 1) if kind in ("Z", "D") and t.joined_kind(i + 1, "DZ") else 0
    if 1 <= pair <= 31 and t.kinds[i + 1] == "D":
        yield _Part(pair, i + 2, f"{pair:02d}")
    small = read_small(t, i) if kind in ("D", "T", "Y") else None
    if small is not None and int(small.text) <= 31:
        yield _Part(int(small.text), small.last, small.text)
    if small is not None and small.last == i + 2 and t.value(i) <= 31:
        yield _Part(t.value(i), i + 1, str(t.value(i)))
    if 1 <= pair <= 31 and t.kinds[i + 1] == "Z":
        yield _Part(pair, i + 2, f"{pair:02d}")


def _past_separator(t: Tokens, i: int) -> int:
    return i + (t.joined_word(i, SEPARATORS) and t.joined(i + 1))


def _is_slashed(t: Tokens, i: int) -> bool:
    """A spoken slash behind each of the first two numbers."""
    for first in _parts(t, i):
        if t.joined_word(first.last, ("slash", "stroke")):
            return any(t.joined_word(part.last, ("slash", "stroke")) for part in _parts(t, first.last + 1))
    return False


def _is_labelled(t: Tokens, i: int, labels: Labels) -> bool:
    """Whether one of `labels` stands before `i` with nothing but fillers between."""
    fillers = t.vocabulary.dates.date_fillers
    for j in range(i - 1, max(-1, i - 1 - LABEL_REACH), -1):
        word = t.words[j]
        known = word in labels and any(_ends_with(t, j, phrase) for phrase in labels[word])
        if not (known or word in fillers) or any(c in ".;!?\n" for c in t.gap(j + 1)):
            return False
        if known:
            return True
    return False


def _ends_with(t: Tokens, j: int, phrase: Phrase) -> bool:
    return all(t.words[j - len(phrase) + 1 + k] == word for k, word in enumerate(phrase))

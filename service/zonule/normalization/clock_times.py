"""Spoken times of day and hours on the dial of the limbus: "fourteen thirty", "half past nine", "two o'clock"."""

from collections.abc import Sequence
from typing import NamedTuple

from zonule.normalization.cardinals import read_small
from zonule.normalization.number_tokens import Number, Reading, Tokens
from zonule.normalization.number_words import NumberWords

DAY_HOURS = 24
LABEL_REACH = 7
LIST_REACH = 9
SHORT_LABELS = frozenset({"time", "start", "end", "finish"})
"""Labels that may also stand between a label and its time ("time of start")."""
DIAL_HOURS = 12


class _Clock(NamedTuple):
    """Hour and minute as said, the word after them; `early` when the hour was said with a zero in front."""

    hour: int
    minute: int
    last: int
    early: bool = False

    @property
    def text(self) -> str:
        return f"{self.hour:02d}:{self.minute:02d}" if self.early else f"{self.hour}:{self.minute:02d}"


def read_time(t: Tokens, i: int) -> Reading | None:
    """A time of day or an hour with minutes on the dial that starts with the word at `i`."""
    dates = t.vocabulary.dates
    if t.kinds[i] in ("", "S") and t.words[i] not in dates.half and t.words[i] not in dates.quarter:
        return None
    near = t.words[i + 1 : i + 4]
    clock = _read_past(t, i) if not dates.past.isdisjoint(near) or not dates.before.isdisjoint(near) else None
    if clock is not None:
        sure = _is_half_past(t, i)
        return (_as_dial(t, i, clock) if sure else None) or _as_time(t, i, clock, sure=sure)
    clock = _read_hour_minute(t, i) or _read_four_digits(t, i) if t.kinds[i + 1] else None
    if clock is not None:
        return _as_dial(t, i, clock) or _as_time(t, i, clock, sure=False)
    return _read_bare_hour(t, i)


def read_dial_hour(t: Tokens, i: int) -> Reading | None:
    """A whole hour before "o'clock" or in a list that ends so: "two ten o'clock" is 2 and 10, never 210."""
    if not t.has_clocks or not t.kinds[i] or t.vocabulary.dates.clock.isdisjoint(t.words[i + 1 : i + LIST_REACH + 1]):
        return None
    small = Number(t.words[i], i + 1) if t.kinds[i] == "N" else read_small(t, i)
    if small is None or not (_clock_words(t, small.last) or (small.last == i + 1 and leads_to_clock(t, i))):
        return None
    if small.last == i + 1 and t.words[i - 1] in t.vocabulary.lists.pronoun_before and not is_clock(t, small.last):
        return None
    return Reading(i, small.last, small.text, "spoken_number")


def has_time_label(t: Tokens, i: int) -> bool:
    """Whether a label of a time ("started at", "end time") stands before `i` with nothing but fillers between."""
    dates, last = t.vocabulary.dates, t.words[i - 1]
    if not t.has_times or (last not in dates.time_fillers and last not in dates.times):
        return False
    first = i
    while first > max(0, i - LABEL_REACH) and not any(c in ".;!?\n" for c in t.gap(first)):
        first -= 1
    return names_time(t.words[first:i], t.vocabulary)


def names_time(words: Sequence[str], vocabulary: NumberWords) -> bool:
    """Whether `words`, which stand before a number, end in a label of a time and its fillers."""
    dates = vocabulary.dates
    for place in range(len(words) - 1, -1, -1):
        word = words[place]
        if word in dates.times and word not in dates.time_fillers:
            return True
        if word in SHORT_LABELS or (word == "skin" and place and words[place - 1] == "to"):
            return True
        if word not in dates.time_fillers:
            return False
    return False


def _read_hour(t: Tokens, i: int) -> tuple[int, int, bool] | None:
    """Hour, the word after it, and whether a zero was said in front."""
    if t.kinds[i] == "Z" and t.joined_kind(i + 1, "DZ"):
        return t.value(i + 1), i + 2, True
    if t.kinds[i] == "N" and t.words[i].isdigit() and len(t.words[i]) <= 2:
        hour, last, early = t.value(i), i + 1, t.words[i][0] == "0"
    elif (small := read_small(t, i)) is not None and t.kinds[i] != "Z":
        hour, last, early = int(small.text), small.last, False
    else:
        return None
    return (hour, last, early) if 0 <= hour < DAY_HOURS else None


def _read_minute(t: Tokens, i: int) -> tuple[int, int] | None:
    if not t.joined(i):
        return None
    if t.kinds[i] == "Z" and t.joined_kind(i + 1, "DZ"):
        return t.value(i + 1), i + 2
    if t.words[i] == "thirty" and t.joined_kind(i + 1, "D") and t.joined_word(i + 2, ("thirty",)):
        return 30, i + 1
    if t.kinds[i] == "N":
        return (t.value(i), i + 1) if t.words[i].isdigit() and len(t.words[i]) == 2 and t.value(i) < 60 else None
    small = read_small(t, i) if t.kinds[i] in ("T", "Y") else None
    return (int(small.text), small.last) if small is not None and int(small.text) < 60 else None


def _read_hour_minute(t: Tokens, i: int) -> _Clock | None:
    """ "Fourteen thirty", "eight forty five", "oh nine fifteen", "fourteen hundred hours"."""
    options = [_read_hour(t, i)]
    if t.kinds[i] == "Y" and t.value(i) == 20:
        options.append((20, i + 1, False))
    for option in options:
        if option is None:
            continue
        hour, last, early = option
        if t.joined_word(last, ("hundred",)) and t.joined_word(last + 1, t.vocabulary.dates.hours):
            return _Clock(hour, 0, last + 2, True)
        short = t.joined_word(last, ("h",))
        if short or (hour >= DIAL_HOURS and t.joined_word(last, t.vocabulary.dates.hours)):
            # "14 hours 20", "8 h 25": as the hour is told in French or German.
            minute = _read_minute(t, last + 1)
            if minute is not None and t.unit_at(minute[1]) is None:
                return _Clock(hour, minute[0], minute[1], True)
        minute = _read_minute(t, last)
        if minute is not None:
            return _Clock(hour, minute[0], minute[1], early)
    return None


def _read_four_digits(t: Tokens, i: int) -> _Clock | None:
    """ "One four three oh", "oh nine four five"."""
    if (
        t.kinds[i + 3] not in ("Z", "D")
        or not all(t.kinds[j] in ("Z", "D") and (j == i or t.joined(j)) for j in range(i, i + 4))
        or t.joined_kind(i + 4, "ZD")
    ):
        return None
    a, b, c, d = (t.value(j) for j in range(i, i + 4))
    hour, minute = 10 * a + b, 10 * c + d
    return _Clock(hour, minute, i + 4, a == 0) if hour < DAY_HOURS and minute < 60 else None


def _read_past(t: Tokens, i: int) -> _Clock | None:
    """ "Half past nine", "quarter to ten", "twenty to ten", "ten past nine"."""
    dates = t.vocabulary.dates
    if t.words[i] in dates.half or t.words[i] in dates.quarter:
        minutes, at = (30 if t.words[i] in dates.half else 15), i + 1
    elif (small := read_small(t, i)) is not None and t.kinds[i] != "Z":
        minutes, at = int(small.text), small.last
        said = t.joined_word(at, ("minutes", "minute"))
        if not said and minutes % 5:
            return None
        at += said
    else:
        return None
    past, before = t.joined_word(at, dates.past), t.joined_word(at, dates.before)
    hour = _read_hour(t, at + 1) if (past or before) and t.joined(at + 1) else None
    if hour is None or not 1 <= hour[0] <= DIAL_HOURS or not 1 <= minutes < 60 or (before and minutes == 30):
        return None
    if past:
        return _Clock(hour[0], minutes, hour[1])
    return _Clock(hour[0] - 1 or DIAL_HOURS, 60 - minutes, hour[1])


def _is_half_past(t: Tokens, i: int) -> bool:
    """ "Half past" and "quarter past" are nothing but a time; "ten to two" may be a range."""
    dates = t.vocabulary.dates
    return t.words[i] in dates.half or (t.words[i] in dates.quarter and t.words[i + 1] in dates.past)


def _as_dial(t: Tokens, i: int, clock: _Clock) -> Reading | None:
    """An hour on the dial: "o'clock" or "position" follows, or half an hour is said of a place."""
    if not 1 <= clock.hour <= DIAL_HOURS or clock.early:
        return None
    words = _clock_words(t, clock.last)
    if words:
        return Reading(i, clock.last + words, f"{clock.text} o'clock", "spoken_clock_hour")
    if t.joined_word(clock.last, t.vocabulary.lists.position) or (clock.minute == 30 and _is_place(t, i, clock)):
        return Reading(i, clock.last, f"{clock.text} o'clock", "spoken_clock_hour")
    return None


def _is_place(t: Tokens, i: int, clock: _Clock) -> bool:
    """ "A paracentesis at seven thirty": at a place of the limbus, nothing of the machine near."""
    lists = t.vocabulary.lists
    if not t.joined(i) or t.words[i - 1] not in ("at", "and", "around", "about", "thirty"):
        return False
    if t.unit_at(clock.last) is not None or _half_of_day(t, clock.last) or has_time_label(t, i):
        return False
    reach = 20 if "thirty" in (t.words[i - 1], t.words[i - 2]) else 8
    placed = t.near_before(i, lists.sites, reach) or t.near_after(clock.last, t.vocabulary.dates.clock, 8)
    return placed and not t.near_before(i, lists.settings, 8)


def _as_time(t: Tokens, i: int, clock: _Clock, *, sure: bool) -> Reading | None:
    """A time of day: a label before it, the half of the day or "hours" after it, or a phrase for nothing else."""
    half = _half_of_day(t, clock.last)
    if half is not None:
        last, afternoon = half
        hour = clock.hour % DIAL_HOURS + DIAL_HOURS * afternoon if clock.hour <= DIAL_HOURS else clock.hour
        return Reading(i, last, f"{hour:02d}:{clock.minute:02d}", "spoken_time")
    hours = t.joined_word(clock.last, t.vocabulary.dates.hours) and (clock.hour > 9 or clock.early)
    if t.joined_word(clock.last - 1, t.vocabulary.dates.hours):
        return Reading(i, clock.last, clock.text, "spoken_time")
    if hours:
        return Reading(i, clock.last + 1, clock.text, "spoken_time")
    if t.unit_at(clock.last) is not None or _goes_on(t, clock.last):
        return None
    labelled = has_time_label(t, i) and not _is_setting(t, i, clock.last)
    military = (
        clock.hour > DIAL_HOURS and t.words[i - 1] == "at" and not t.near_before(i, t.vocabulary.lists.settings, 4)
    )
    half_hour = _is_bare_half_hour(t, i, clock)
    if sure or labelled or military or half_hour:
        return Reading(i, clock.last, clock.text, "spoken_time")
    return None


def _is_setting(t: Tokens, i: int, last: int) -> bool:
    """ "Started at three fifty vacuum": a parameter of the machine on either side."""
    parameters = t.vocabulary.lists.parameters
    return t.joined_word(last, parameters) or t.near_before(i, parameters, 4)


def _goes_on(t: Tokens, i: int) -> bool:
    """Whether a number goes on at `i`: a point, a scale or another digit."""
    return t.joined_kind(i, "ZDTYSN") or t.joined_word(i, t.vocabulary.lists.point)


def _is_bare_half_hour(t: Tokens, i: int, clock: _Clock) -> bool:
    """ "At seven thirty" far from the machine's parameters is half past seven, not 730."""
    if clock.minute != 30 or t.words[i - 1] != "at" or not 1 <= clock.hour <= DIAL_HOURS:
        return False
    return not t.near_before(i, t.vocabulary.lists.settings, 8) and not t.near_after(
        clock.last, t.vocabulary.lists.settings, 3
    )


def _read_bare_hour(t: Tokens, i: int) -> Reading | None:
    """ "Nine a.m.", "two in the afternoon"; an hour alone stays a number."""
    hour = _read_hour(t, i)
    half = _half_of_day(t, hour[1]) if hour is not None else None
    if hour is None or half is None or not 1 <= hour[0] <= DIAL_HOURS:
        return None
    return Reading(i, half[0], f"{hour[0] % DIAL_HOURS + DIAL_HOURS * half[1]:02d}:00", "spoken_time")


def _half_of_day(t: Tokens, i: int) -> tuple[int, bool] | None:
    """Where "a.m.", "p.m.", "in the morning", … at `i` ends, and whether it is the afternoon."""
    at = i + _clock_words(t, i)
    if t.joined_word(at, ("am", "pm")):
        return at + 1, t.words[at] == "pm"
    if t.words[at] in ("a", "p") and t.joined(at) and t.words[at + 1] == "m" and t.gap(at + 1) in (".", " ", ". "):
        return at + 2, t.words[at] == "p"
    if t.words[at] == "in" and t.words[at + 1] == "the" and t.joined(at) and t.joined(at + 2):
        dates = t.vocabulary.dates
        if t.words[at + 2] in dates.mornings or t.words[at + 2] in dates.afternoons:
            return at + 3, t.words[at + 2] in dates.afternoons
    return None


def is_clock(t: Tokens, i: int) -> bool:
    """Whether the words at `i` say "o'clock"."""
    return _clock_words(t, i) > 0


def _clock_words(t: Tokens, i: int) -> int:
    """How many words say "o'clock" at `i`."""
    if t.joined_word(i, t.vocabulary.dates.clock) and t.words[i] != "clock":
        return 1
    if (
        t.words[i] in ("o", "oh", "a")
        and t.joined(i)
        and t.words[i + 1] == "clock"
        and t.gap(i + 1) in (" ", "'", "’", "' ", "-")
    ):
        return 2
    return 0


def leads_to_clock(t: Tokens, i: int) -> bool:
    """Whether a list of hours at `i` ends in "o'clock": "one four seven and ten o'clock"."""
    at = i
    while at < i + LIST_REACH and at < t.size:
        if _clock_words(t, at):
            return at > i
        if t.kinds[at] not in ("D", "T", "N") and t.words[at] not in ("and", "or"):
            return False
        if t.kinds[at] and ((t.kinds[at] == "N" and not t.words[at].isdigit()) or t.value(at) > DIAL_HOURS):
            return False
        if at > i and not t.joined(at) and t.gap(at).strip() != ",":
            return False
        at += 1
    return False

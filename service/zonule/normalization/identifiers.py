"""Spoken identifiers: "serial number five three nine", "capital r capital k forty", "nine oh five dash two"."""

import re
from typing import NamedTuple

from zonule.normalization.cardinals import LONGEST_STRING, SOUND_SCORE, read_integer, read_number
from zonule.normalization.number_tokens import Reading, Tokens, fold
from zonule.normalization.number_words import NumberWords

VOWELS = frozenset("aeiouy")
LONGEST_LABEL = 12
LONGEST_CONSONANTS = 4
"""Consonants written together that still are spelled letters ("hme", "rk")."""
POWER_WORDS = frozenset({"power", "plus", "minus", "sphere"})
"""Words that begin the power of a lens."""
IDENTIFIER = "spoken_identifier"
"""The rule that reads one."""
BACK = 160
"""Characters before a spoken hyphen within which the label of its identifier stands."""
TAKEN_BACK = 3
"""Wordings of correction in a row ("no wait, sorry")."""
NUMBERED = frozenset({"number", "no", "id", "mrn"})
"""Last words of labels behind which a comma or "for her" may stand."""
LONG_ENOUGH = 5
"""Characters of the shortest identifier that is one without a label of its own."""
_WORD = re.compile(r"[^\W\d_]+(?:['’][^\W\d_]+)?|\d+")
_PAUSE = re.compile(r"[ \t,\n-]*(?:\.\.+|…)?[ \t]*")


class _Element(NamedTuple):
    """One part of an identifier: its characters, the word after it, and whether it was spelled out beyond doubt."""

    text: str
    last: int
    spelled: bool = False
    sounded: bool = False


def read_identifier(t: Tokens, i: int) -> Reading | None:
    """The identifier behind the label that starts with the word at `i`, or spelled at `i` without a label."""
    label = _read_label(t, i)
    if label is not None:
        at, spelled_only = label
        return _read_run(t, at, spelled_only=spelled_only, labelled=True)
    lists = t.vocabulary.lists
    if t.words[i] in lists.capital and len(t.words[i + 1]) == 1 and t.joined(i + 1):
        return _read_run(t, i, spelled_only=True, labelled=False)
    if t.words[i] == "number":
        return _read_numbered(t, i)
    alphabet = t.vocabulary.numbers.alphabet
    if t.words[i] in alphabet and t.joined_word(i + 1, alphabet):
        return _read_run(t, i, spelled_only=True, labelled=False)
    return None


def _read_numbered(t: Tokens, i: int) -> Reading | None:
    """ "Number R dash seven oh nine": "number" alone may count anything, so what follows must be long and of parts."""
    if t.words[i - 1] in t.vocabulary.labels:
        return None
    at = i + 1
    while t.words[at] in t.vocabulary.identifiers.skipped and _leads_on(t, at):
        at += 1
    run = _read_run(t, at, spelled_only=False, labelled=True) if _leads_on(t, at) else None
    return run if run is not None and run.last - run.first > 1 and len(run.text) >= LONG_ENOUGH else None


def read_digit_groups(t: Tokens, i: int) -> Reading | None:
    """ "Nine eight oh dash one one four": digits said one by one in groups need no label."""
    if t.kinds[i] not in ("Z", "D") or not t.joined_kind(i + 1, "ZD"):
        return None
    run = _read_run(t, i, spelled_only=False, labelled=True)
    if run is None or "-" not in run.text or len(run.text) <= LONG_ENOUGH:
        return None
    single = all(t.kinds[j] in ("Z", "D") or t.words[j] in t.vocabulary.numbers.marks for j in range(i, run.last))
    return run if single and min(map(len, run.text.split("-"))) > 1 else None


def read_identifier_again(t: Tokens, i: int) -> Reading | None:
    """The identifier said instead of the one that ends before the word at `i` ("14-772, correction, 14-773")."""
    at = i
    for _ in range(TAKEN_BACK):
        at = _behind_correction(t, at)
    if at == i or not _follows(t, at):
        return None
    return _read_run(t, at, spelled_only=False, labelled=True)


def _behind_correction(t: Tokens, i: int) -> int:
    """The word behind the wording of correction at `i`, or `i`."""
    for phrase in t.vocabulary.corrections.get(t.words[i], ()):
        last = i + len(phrase)
        if tuple(t.words[i:last]) == phrase and all(_follows(t, k) for k in range(i, last)):
            return last
    return i


def _follows(t: Tokens, i: int) -> bool:
    """Whether no more than a pause parts the word at `i` from the one before."""
    return i < t.size and _PAUSE.fullmatch(t.gap(i)) is not None


def stands_in_identifier(text: str, start: int, end: int, vocabulary: NumberWords) -> bool:
    """Whether a spoken mark at `start` to `end` stands between spelled parts behind a label or a spelled letter."""
    before = _WORD.findall(fold(text[max(0, start - BACK) : start]))
    behind = _WORD.match(fold(text[end : end + BACK]).lstrip(" ,\t\n"))
    if not before or behind is None or not _is_spelled(before[-1], vocabulary):
        return False
    if not _is_spelled(behind.group(), vocabulary):
        return False
    at = len(before)
    while at and (_is_spelled(before[at - 1], vocabulary) or before[at - 1] in vocabulary.said_between):
        at -= 1
    if any(len(word) == 1 and word.isalpha() and word not in "aio" for word in before[at:]):
        return True
    return at > 0 and before[at - 1] in vocabulary.label_ends


def _is_spelled(word: str, vocabulary: NumberWords) -> bool:
    """Whether a word can be part of an identifier as it is spelled out."""
    numbers = vocabulary.numbers
    if len(word) == 1 or word.isdigit() or word in vocabulary.kinds or word in numbers.alphabet:
        return True
    if word in numbers.repeats or word in numbers.marks or word in vocabulary.lists.capital:
        return True
    return len(word) <= LONGEST_CONSONANTS and not VOWELS & set(word) and word not in vocabulary.identifiers.not_letters


def _read_label(t: Tokens, i: int) -> tuple[int, bool] | None:
    """The word behind the label at `i`, and whether only plain spelling may follow."""
    lists = t.vocabulary.identifiers
    for phrase, spelled_only in t.vocabulary.labels.get(t.words[i], ()):
        last = i + len(phrase)
        if any(
            t.words[i + k] != word or (k and not t.joined(i + k) and t.gap(i + k) != "/")
            for k, word in enumerate(phrase)
        ):
            continue
        if len(phrase) == 1 and t.words[i - 1] in lists.not_after and t.joined(i) and t.words[i] == "lot":
            return None
        while t.words[last] in lists.skipped and _leads_on(t, last) and last < i + LONGEST_LABEL:
            last += 1
        comma = phrase[-1] in NUMBERED and t.gap(last).strip() == "," and _is_spelled(t.words[last], t.vocabulary)
        return (last, spelled_only) if comma or _leads_on(t, last) else None
    return None


def _leads_on(t: Tokens, i: int) -> bool:
    """Whether only spaces, a colon or the like stand before the word at `i`."""
    gap = t.gap(i)
    return i < t.size and gap != "" and gap.strip(" \t:#=.?") == ""


def _read_run(t: Tokens, i: int, *, spelled_only: bool, labelled: bool) -> Reading | None:
    parts: list[str] = []
    spelled = sounded = False
    at = i
    while at < min(t.size, i + LONGEST_STRING) and (at == i or _continues(t, at, parts)):
        after_digit = bool(parts) and parts[-1][-1].isdigit()
        element = _read_element(t, at, first=at == i, after_digit=after_digit, named=spelled_only and labelled)
        if element is None or (at > i and (_is_count(t, at, element) or (spelled_only and _is_complete(t, at)))):
            break
        parts.append((_typed_mark(t, at) if parts else "") + element.text)
        spelled, sounded, at = spelled or element.spelled, sounded or element.sounded, element.last
    text = "".join(parts)
    if not _holds(t, i, at, text, spelled=spelled, spelled_only=spelled_only, labelled=labelled):
        return None
    return Reading(i, at, text, IDENTIFIER, SOUND_SCORE if sounded else None)


def _is_count(t: Tokens, i: int, element: _Element) -> bool:
    """A number word alone behind typed digits is a count of what follows: "lot 4471 two sutures"."""
    if t.kinds[i - 1] != "N" or len(t.words[i - 1]) < 2 or t.kinds[i] not in ("D", "T", "Y"):
        return False
    return t.kinds[element.last] == "" and len(t.words[element.last]) != 1


def _is_complete(t: Tokens, i: int) -> bool:
    """A model typed as one block ("KL40") ends there; a number behind it is the power."""
    return t.kinds[i] == "N" and t.gap(i) == " " and t.gap(i - 1) == "" and t.kinds[i - 1] != t.kinds[i - 2]


def _holds(t: Tokens, first: int, last: int, text: str, *, spelled: bool, spelled_only: bool, labelled: bool) -> bool:
    """Whether what was joined is an identifier and not a word, a count or a single letter."""
    if len(text) < 2 or last == first:
        return False
    if not any(c.isdigit() for c in text):
        return spelled and len(text) > 1 and (labelled or last - first > 3)
    if not spelled_only:
        return last - first > 1 or t.kinds[first] != "N"
    if labelled and t.kinds[first] in ("Z", "D", "N"):
        return (last - first > 2 and not spelled) or spelled
    return spelled


def _continues(t: Tokens, i: int, parts: list[str]) -> bool:
    """Whether the identifier may go on at `i`: on the same line, or behind a comma between groups of digits."""
    gap = t.gap(i)
    if gap in (" ", "", "-", "/"):
        return True
    if gap.strip() == ",":
        marks = t.vocabulary.numbers.marks
        if t.words[i - 1] in marks or (t.words[i] in marks and t.gap(i + 1).strip(" ,") == ""):
            return True
        if t.kinds[i] != "" and any(len(t.words[at]) == 1 and _explained(t, at) == i for at in (i - 3, i - 4)):
            return True  # "G as in golf, 0 0 8"
        if parts and t.words[i] in t.vocabulary.lists.capital and _is_one_letter(t, i + 1):
            return True  # "capital G, capital M"
        return (bool(parts) and (_is_digit_group(t, i) if parts[-1][-1].isdigit() else False)) or _is_told_off(t, i)
    return t.on_one_line(i)


def _is_told_off(t: Tokens, i: int) -> bool:
    """Letters and digits told off one by one, a comma behind each: "double eight, zero, four, one"."""
    single = t.kinds[i] in ("Z", "D") or t.words[i] in t.vocabulary.numbers.repeats
    if not single or t.kinds[i - 1] == "N":
        return False
    at = i + 1 + (t.words[i] in t.vocabulary.numbers.repeats)
    return t.gap(at).strip(" \t") != "" or t.joined_kind(at, "ZD")


def _is_digit_group(t: Tokens, i: int) -> bool:
    """Three or more spoken digits, or a typed group of three and more, with no unit behind."""
    at = i
    while at < i + LONGEST_STRING and t.kinds[at] in ("Z", "D") and (at == i or t.joined(at)):
        at += 1
    if at - i >= 3:
        return t.unit_at(at) is None and t.words[at] not in t.vocabulary.lists.point
    if t.kinds[i] == "N" and t.gap(i + 1) in ("-", "/", ".") and t.kinds[i + 1] == "N":
        return False  # "MRN 55-10-733, 2026-08-30"
    return t.kinds[i] == "N" and t.words[i].isdigit() and len(t.words[i]) >= 3 and t.unit_at(i + 1) is None


def _typed_mark(t: Tokens, i: int) -> str:
    """A hyphen or slash typed between two typed parts stays."""
    gap = t.gap(i)
    if gap == "-" and _is_one_letter(t, i - 1) and _is_one_letter(t, i):
        return ""  # "D-O-G": hyphens typed between spelled letters
    typed = "N" in (t.kinds[i - 1], t.kinds[i]) or len(t.words[i]) == 1
    return gap if gap in ("-", "/") and typed else ""


def _is_one_letter(t: Tokens, i: int) -> bool:
    return len(t.words[i]) == 1 and t.words[i].isalpha()


def _read_element(t: Tokens, i: int, *, first: bool, after_digit: bool, named: bool) -> _Element | None:
    """`named` is said of models: their "o" behind no digit is the letter, and a lone letter behind digits no unit."""
    if named and t.words[i] == "a" and after_digit and t.words[i + 1] in POWER_WORDS and t.joined(i):
        return _Element("A", i + 1, True)
    if t.words[i] == "o" and t.gap(i) == "-" == t.gap(i + 1) and _is_one_letter(t, i - 1) and _is_one_letter(t, i + 1):
        return _Element("O", i + 1, True)
    if named and t.words[i] == "o" and not after_digit and _is_part_behind(t, i + 1):
        return _Element("O", i + 1, True)
    return (
        _read_mark(t, i, first=first)
        or _read_number(t, i, named=named)
        or _read_letters(t, i)
        or _read_sound(t, i, after_digit=after_digit)
    )


def _read_mark(t: Tokens, i: int, *, first: bool) -> _Element | None:
    """A spoken dash or slash, only between two other parts."""
    mark = t.vocabulary.numbers.marks.get(t.words[i])
    if mark is None or first or not (t.joined(i + 1) or t.gap(i + 1).strip() == ","):
        return None
    following = _read_number(t, i + 1) or _read_letters(t, i + 1)
    return _Element(mark, i + 1) if following is not None else None


def _read_number(t: Tokens, i: int, *, named: bool = False) -> _Element | None:
    """A number in words or digits that is no measure: no unit and no decimals behind it."""
    kind = t.kinds[i]
    repeats = t.vocabulary.numbers.repeats.get(t.words[i])
    if repeats and (t.joined_kind(i + 1, "ZD") or (len(t.words[i + 1]) == 1 and t.joined(i + 1))):
        text = str(t.value(i + 1)) if t.kinds[i + 1] in ("Z", "D") else t.words[i + 1].upper()
        return _Element(text * repeats, i + 2)
    if kind in ("D", "T") and t.joined_kind(i + 1, "Z") and t.words[i + 2] in t.vocabulary.lists.sutures:
        return None
    if kind == "Z":
        return _Element("0", i + 1) if not _is_measured(t, i + 1, named=named) else None
    if kind in ("D", "T", "Y"):
        number = read_integer(t, i) if t.kinds[i + 1] == "S" else None
        if number is not None and _is_power_behind(t, i, int(number.text)):
            return _Element(str(t.value(i) * t.value(i + 1)), i + 2)
        last = number.last if number else i + 1 + (kind == "Y" and t.joined_kind(i + 1, "D") and t.value(i + 1) > 0)
        value = number.text if number else str(t.value(i) + (t.value(i + 1) if last == i + 2 else 0))
        return _Element(value, last) if not _is_measured(t, last, named=named) else None
    if kind == "N" and t.words[i].isdigit() and not _is_measured(t, i + 1, named=named) and not _is_typed_date(t, i):
        return _Element(t.words[i], i + 1)
    return None


def _is_power_behind(t: Tokens, i: int, value: int) -> bool:
    """ "Nine hundred nineteen diopters" behind a model: no lens has that power, the hundreds belong to the model."""
    whole = read_number(t, i)
    unit = t.unit_at(whole.last) if whole is not None else None
    return t.value(i + 1) == 100 < value and value % 100 > 0 and unit is not None and unit.dimension == "diopter"


def _is_measured(t: Tokens, i: int, *, named: bool = False) -> bool:
    """Whether a unit or decimals stand at `i`; a letter that goes on into more of the identifier is no unit."""
    if t.words[i] in t.vocabulary.lists.point and t.joined(i):
        return t.kinds[i + 1] != ""
    if t.joined_word(i, ("and",)) and t.words[i + 1] in ("a", "half", "one", "three"):
        return t.words[i + 2] in t.vocabulary.numbers.denominators or t.words[i + 1] == "half"
    if t.joined(i) and t.words[i] in t.vocabulary.lists.counted and t.words[i] not in ("to", "or"):
        return True
    if t.unit_at(i) is None or (named and len(t.words[i]) == 1 and t.joined(i) and _ends_model(t, i)):
        return False
    return not (len(t.words[i]) == 1 and (t.kinds[i + 1] != "" or len(t.words[i + 1]) == 1) and t.joined(i + 1))


def _ends_model(t: Tokens, i: int) -> bool:
    """Whether a letter behind digits is the model's own last one; a "d" only where the power is told behind it."""
    return t.words[i] != "d" or t.words[i + 1] in POWER_WORDS


def _is_typed_date(t: Tokens, i: int) -> bool:
    """ "14/03/2026" behind an identifier is not part of it."""
    return t.gap(i + 1) == "/" == t.gap(i + 2) and t.kinds[i + 1] == "N" == t.kinds[i + 2]


def _read_letters(t: Tokens, i: int) -> _Element | None:
    """Spelled letters: "capital r", "alpha", a single letter, or consonants written together."""
    word = t.words[i]
    if word in t.vocabulary.lists.capital:
        at = i + 1 + (t.joined_word(i + 1, ("letter",)))
        return (
            _Element(t.words[at].upper(), at + 1, True)
            if len(t.words[at]) == 1 and t.words[at].isalpha() and t.joined(at)
            else None
        )
    if word in ("x", "upper") and t.words[i + 1] in ("ray", "case") and t.joined(i + 1):
        if word == "x":
            return _Element("X", i + 2, True)
        return _Element(t.words[i + 2].upper(), i + 3, True) if len(t.words[i + 2]) == 1 and t.joined(i + 2) else None
    letter = t.vocabulary.numbers.alphabet.get(word)
    if letter is not None:
        return _Element(
            letter,
            i + 1,
            t.words[i + 1] in t.vocabulary.numbers.alphabet or t.words[i - 1] in t.vocabulary.numbers.alphabet,
        )
    if len(word) == 1 and word.isalpha() and _explained(t, i):
        return _Element(word.upper(), _explained(t, i), True)
    if len(word) == 1 and word.isalpha():
        return _Element(word.upper(), i + 1, True) if word not in "ai" or _is_part_behind(t, i + 1) else None
    return _read_consonants(t, i)


def _explained(t: Tokens, i: int) -> int:
    """The word behind "h like hotel", "b for bravo", "a as in apple"; 0 where the letter stands alone."""
    at = i + 2 if t.words[i + 1] in ("like", "for") else i + 3 if t.words[i + 1 : i + 3] == ["as", "in"] else 0
    named = (
        at and len(t.words[at]) > 2 and t.words[at][0] == t.words[i] and all(t.joined(j) for j in range(i + 1, at + 1))
    )
    return at + 1 if named else 0


def _is_part_behind(t: Tokens, i: int) -> bool:
    """Whether a digit, a letter or a spoken dash follows, so that "a" or "I" is a letter and no word."""
    if not (t.joined(i) or t.gap(i) == ""):
        return False
    single = len(t.words[i]) == 1 and t.words[i].isalpha()
    return (
        t.kinds[i] != ""
        or single
        or t.words[i] in t.vocabulary.lists.capital
        or t.words[i] in ("dash", "hyphen", "slash", "double")
    )


def _read_consonants(t: Tokens, i: int) -> _Element | None:
    """ "rk 40": consonants together, or letters typed against digits."""
    word = t.words[i]
    typed = (i + 1 < t.size and t.gap(i + 1) == "" and t.kinds[i + 1] == "N") or (
        i > 0 and t.gap(i) == "" and t.kinds[i - 1] == "N"
    )
    if word.isalpha() and word.isascii() and (typed or _is_capitals(t, i)):
        return _Element(word.upper(), i + 1, True)
    if not word.isalpha() or not 2 <= len(word) <= LONGEST_CONSONANTS or VOWELS & set(word):
        return None
    at = i + 1 + (t.words[i + 1] in t.vocabulary.numbers.marks and t.joined(i + 1) and t.joined(i + 2))
    if word in t.vocabulary.identifiers.not_letters or t.kinds[at] == "":
        return None
    return _Element(word.upper(), i + 1, True)


def _read_sound(t: Tokens, i: int, *, after_digit: bool) -> _Element | None:
    """A word that sounds like a digit, between two digits."""
    sounds = t.vocabulary.numbers.sounds
    if t.words[i] in sounds and after_digit and t.kinds[i - 1] in ("Z", "D") and t.joined_kind(i + 1, "ZD"):
        return _Element(str(sounds[t.words[i]]), i + 1, sounded=True)
    return None


def _is_capitals(t: Tokens, i: int) -> bool:
    """ "JA 5512": a few capitals before digits, in a text that has small letters too."""
    written = t.text[t.start(i) : t.end(i)]
    short = 2 <= len(written) <= LONGEST_CONSONANTS and written.isupper() and t.kinds[i + 1] == "N"
    return short and t.joined(i + 1) and t.words[i] not in t.vocabulary.identifiers.not_letters

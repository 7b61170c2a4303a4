"""Lenses: model, powers, identity and place of each lens said, and what became of it."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import replace

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.implant_numbers import belongs_to_implant
from zonule.binding.lens_fates import lens_near, meant_for, prefix_of
from zonule.binding.lens_left_out import as_fate, left_without, not_put_in
from zonule.binding.lens_names import bind_names
from zonule.binding.lens_numbers import bind_numbers
from zonule.binding.lens_passages import lens_beginnings
from zonule.binding.lens_removals import bind_removals
from zonule.binding.lens_words import as_said
from zonule.binding.reading import PUNCTUATION, Reading, around
from zonule.binding.sections import Section
from zonule.vocabulary import LensStatus, Status

NUMBERED = frozenset({"serial_number", "lot_number", "udi"})
PARTIAL = frozenset({"ending", "ends", "last", "starting", "starts", "beginning", "begins"})
"""Behind a label, words that tell only a part of its number, by which no lens is found again."""
LISTED = 14
"""Words before "bag" in a list within which a lens is told."""
POWERED = frozenset({"thing:lens", "quantity:diopter"})
"""Behind these an item of a list is of the lens, as behind its labels."""
TALK = frozenset({Status.HABITUAL, Status.HYPOTHETICAL})
"""What a lens told with its number is not."""
RUN = 26
"""Words of one lens's data around its serial number."""
ANEW = 8
"""Words behind a number that was taken back within which its label is said again."""
SKIPPED = frozenset(
    {
        "number",
        "no",
        "is",
        "was",
        ":",
        "#",
        ".",
        "of",
        "the",
        "a",
        "an",
        "code",
        "reads",
        "as",
        "name",
        "and",
        "it",
        "by",
        "-",
        "\n",
    }
)


def bind_lenses(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """Facts on lenses; the slot is `lens.FIELD`, `lens_not_implanted.FIELD` or `lens_explanted.FIELD`."""
    yield from bind_removals(reading, sections)
    if not _speaks_of_lens(reading):
        return
    beginnings = lens_beginnings(reading)
    parts = list(_parts(reading, sections))
    if left_without(reading) and not any(p.slot == "lens.location" and p.status is Status.DONE for p in parts):
        parts = [not_put_in(p) for p in parts]
    numbered = sorted(p.at for p in parts if p.slot.endswith(".serial_number") and p.status in TALK)
    for part in parts:
        told = _as_of_this_lens(reading, part, numbered) if numbered else part
        yield replace(as_fate(reading, told), group=bisect_right(beginnings, part.at))


def _as_of_this_lens(reading: Reading, part: Found, numbered: list[int]) -> Found:
    """A lens told with its serial number is the one of this operation and no habit, where no cue stands between."""
    if part.status not in TALK or part.cue is None or part.cue.end > part.at:
        return part
    at = bisect_left(numbered, part.at - RUN)
    near = [n for n in numbered[at : at + 4] if abs(n - part.at) <= RUN]
    for number in near:
        first, last = min(number, part.at), max(number, part.at)
        between = reading.annotation.mentions_between(first, last)
        if part.cue.end <= first and not any(m.cue is not None for m in between):
            return replace(part, status=Status.DONE, cue=None)
    return part


def _speaks_of_lens(reading: Reading) -> bool:
    return bool(reading.of("lens_field", "lens_type", "lens_location")) or any(
        a.mention.id == "lens" for a in reading.of("thing")
    )


def _parts(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    names = bind_names(reading)
    yield from names
    yield from bind_numbers(reading, sections, _words_of(names))
    yield from _identifiers(reading)
    yield from _expiry(reading)
    for location in reading.of("lens_location"):
        at = reading.placed(location).mention
        if lens_near(reading, at) and not meant_for(reading, location.mention):
            yield from _placed(prefix_of(reading, at), location.mention.id, location)
    yield from _named_bag(reading)
    yield from _materials(reading)


def _materials(reading: Reading) -> Iterator[Found]:
    """What each lens is made of; "acrylic" alone gives way to the kind of it."""
    near = [a for a in reading.of("lens_material") if lens_near(reading, a.mention)]
    told = [(prefix_of(reading, a.mention), a) for a in near]
    kinds = {prefix for prefix, a in told if a.mention.id.endswith("_acrylic")}
    for prefix, material in told:
        if material.mention.id != "acrylic" or prefix not in kinds:
            yield found(f"{prefix}.material", material.mention.id, material)


def _placed(prefix: str, place: str, by: Asserted) -> Iterator[Found]:
    """Where a lens lies; one that lies in this eye was put there."""
    yield found(f"{prefix}.location", place, by)
    if prefix == "lens":
        yield found("steps", "lens_insertion", by)


def _words_of(names: list[Found]) -> frozenset[int]:
    """The words of makers and models, so that no number of a name is taken for a power."""
    return frozenset(i for name in names for m in name.mentions if m.kind == "word" for i in range(m.start, m.end))


def _named_bag(reading: Reading) -> Iterator[Found]:
    """ "Serial 4417, bag, centered", "location capsular bag": the place as an item of a list."""
    for bag in reading.of("thing"):
        mention = bag.mention
        if mention.id != "capsule" or reading.words[mention.end - 1] != "bag":
            continue
        before = reading.words[max(0, mention.start - 1) : mention.start]
        behind = reading.words[mention.end : mention.end + 1]
        near = reading.between(max(0, mention.start - LISTED), mention.start)
        data = [a.mention for a in near if a.mention.kind == "lens_field" or a.mention.key in POWERED]
        listed = before in ((",",), (".",), (";",), ("\n",)) and behind in ((",",), (".",), ("\n",), ()) and bool(data)
        numbered = (
            bool(data) and data[-1].id in ("serial_number", "lot_number") and _ends_number(reading, mention.start)
        )
        if before in (("location",), ("place",), ("position",)) or listed or numbered:
            yield from _placed(prefix_of(reading, mention), "capsular_bag", bag)


def _ends_number(reading: Reading, i: int) -> bool:
    return i > 0 and reading.words[i - 1][-1].isdigit()


def _identifiers(reading: Reading) -> Iterator[Found]:
    for label in reading.of("lens_field"):
        if label.mention.id not in NUMBERED or _heads_code(reading, label.mention.end - 1):
            continue
        value = _said_last(reading, label.mention, _word_value(reading, label.mention))
        if value is None or belongs_to_implant(reading, label.mention) or not _has_digit(reading, value):
            continue
        if reading.words[value.start] in PARTIAL:
            continue
        if _told_anew(reading, label.mention, value) or _counts_lens(reading, label.mention, value):
            continue
        text = "".join(as_said(reading, value).split())
        again = _digits_again(reading, value)
        parts = [Asserted(value, label.status, label.cue), label]
        if again is not None:
            digits = reading.words[again.start]
            text = text[: -len(digits)] + digits
            parts.insert(0, Asserted(again, label.status, label.cue))
        rest = _said_further(reading, again or value)
        if rest is not None:
            text += reading.words[rest.start]
            parts.append(Asserted(rest, label.status, label.cue))
        yield found(f"{prefix_of(reading, label.mention)}.{label.mention.id}", text, *parts)


def _said_further(reading: Reading, value: Mention) -> Mention | None:
    """ "Serial 5591, then 067": more digits of the same number, behind a pause."""
    at = value.end + (reading.words[value.end : value.end + 1] == (",",))
    at += reading.words[at : at + 1] == ("and",)
    rest = reading.words[at + 1 : at + 2]
    if reading.words[at : at + 1] != ("then",) or not rest or not rest[0].isdigit() or len(rest[0]) < 2:
        return None
    behind = at + 2 == len(reading.words) or reading.words[at + 2] in PUNCTUATION
    return Mention(at + 1, at + 2, "word", value.id) if behind else None


def _digits_again(reading: Reading, value: Mention) -> Mention | None:
    """ "DOG41197; sorry, read it again … 41179": as many digits as the number ends with, said behind a correction."""
    at = bisect_left(reading.corrections, value.end, key=lambda cue: cue.start)
    if at == len(reading.corrections) or set(reading.gap(value.end, reading.corrections[at].start)) - {",", ".", ";"}:
        return None
    tail = reading.words[value.end - 1]
    start = reading.corrections[at].end
    numbers = [i for i in range(start, min(start + RUN // 2, len(reading.words))) if reading.words[i][0].isdigit()]
    same = bool(numbers) and tail.isdigit() and len(tail) > 3 and len(reading.words[numbers[0]]) == len(tail)
    return (
        Mention(numbers[0], numbers[0] + 1, "word", "identifier")
        if same and reading.words[numbers[0]].isdigit()
        else None
    )


def _word_value(reading: Reading, label: Mention) -> Mention | None:
    """The run of words behind a label that names a model, a serial, a lot or a maker."""
    return _value_from(reading, label, label.end)


def _said_last(reading: Reading, label: Mention, value: Mention | None) -> Mention | None:
    """The number that takes the place of one at once ("serial B7-009, correction, B7-008")."""
    if value is None:
        return value
    at = value.end
    first = bisect_left(reading.corrections, at, key=lambda cue: cue.start)
    for cue in reading.corrections[first : first + 6]:
        if cue.start >= at and not set(reading.words[at : cue.start]) - {",", "."}:
            at = cue.end
    at += reading.words[at : at + 1] == (",",)
    at += at > value.end and reading.words[at : at + 1] == ("it's",)
    at = next((a.mention.end for a in reading.between(at, at + 1) if a.mention.key == label.key), at)
    again = _value_from(reading, label, at) if at > value.end else None
    return again if again is not None and len(as_said(reading, again)) > 2 and _has_digit(reading, again) else value


def _counts_lens(reading: Reading, label: Mention, value: Mention) -> bool:
    """ "Lens number two was …": which of the lenses, and no serial number."""
    counted = reading.words[label.start : label.end] in (("lens", "number"), ("implant", "number"))
    return counted and len(as_said(reading, value)) == 1


def _told_anew(reading: Reading, label: Mention, value: Mention) -> bool:
    """ "Serial 31014. Correction, serial 31019": taken back, and told anew behind a label of its own."""
    if not reading.taken_back.issuperset(range(value.start, value.end)):
        return False
    return any(a.mention.key == label.key for a in reading.between(value.end, value.end + ANEW))


def _has_digit(reading: Reading, value: Mention) -> bool:
    return any(c.isdigit() for c in as_said(reading, value))


def _value_from(reading: Reading, label: Mention, at: int) -> Mention | None:
    first = at
    while at < len(reading.words) and at < first + 3 and reading.words[at] in SKIPPED and not _spelled(reading, at):
        at += 1
    end = at
    while end < len(reading.words) and end - at < 4 and _names(reading, at, end):
        end += 1
    return Mention(at, end, "word", label.id) if end > at else None


def _spelled(reading: Reading, i: int) -> bool:
    """A capital letter before a number is part of the name ("A 114")."""
    raw = reading.annotation.aligned.text[reading.annotation.starts[i] : reading.annotation.ends[i]]
    return len(raw) == 1 and raw.isupper() and reading.words[i + 1 : i + 2] != () and reading.words[i + 1][0].isdigit()


def _names(reading: Reading, at: int, i: int) -> bool:
    word = reading.words[i]
    text = reading.annotation.aligned.text
    raw = text[reading.annotation.starts[i] : reading.annotation.ends[i]]
    if i > at and text[reading.annotation.ends[i - 1] : reading.annotation.starts[i]].strip() not in ("", "-"):
        return False
    if not raw[0].isalnum():
        return False
    glued = (
        i > at
        and reading.annotation.starts[i] - reading.annotation.ends[i - 1] <= 1
        and (text[reading.annotation.ends[i - 1] : reading.annotation.starts[i]] in ("", "-", "/"))
    )
    if glued:
        return True
    if i == at and _heads_code(reading, i):
        return True
    if _ends_code(reading, at, i):
        return True
    if word in reading.grammar.preposition or word in reading.grammar.auxiliary:
        return False
    if word in reading.grammar.determiner or word in reading.grammar.conjunction or word in reading.grammar.subject:
        return False
    coded = i == at and raw.isdigit() and i + 1 < len(reading.words) and _ends_code(reading, at, i + 1)
    if not coded and any(a.mention.start <= i < a.mention.end and _bars(a.mention) for a in reading.between(i, i + 1)):
        return False
    return i == at or (any(c.isdigit() for c in raw) and i - at < 3)


def _heads_code(reading: Reading, i: int) -> bool:
    """Letters written together with the digits behind them ("RV55")."""
    ends, starts = reading.annotation.ends, reading.annotation.starts
    return i + 1 < len(starts) and ends[i] == starts[i + 1] and reading.words[i + 1][0].isdigit()


def _ends_code(reading: Reading, at: int, i: int) -> bool:
    """A capital letter right behind whole digits closes a number ("4409 A", "lot 905 D")."""
    text = reading.annotation.aligned.text
    raw = text[reading.annotation.starts[i] : reading.annotation.ends[i]]
    closed = i + 1 == len(reading.words) or reading.words[i + 1] in PUNCTUATION
    digits = reading.words[i - 1].isdigit() and len(reading.words[i - 1]) > 2
    return i > at and reading.cased and len(raw) == 1 and raw.isupper() and digits and closed


def _bars(mention: Mention) -> bool:
    """A term of the trade ends a name; a bare number may be part of it."""
    return mention.kind not in ("quantity",) or mention.id not in ("number", "date", "month", "ratio", "fraction", "by")


def _expiry(reading: Reading) -> Iterator[Found]:
    labels = [a for a in reading.of("lens_field") if a.mention.id == "expiry_date"]
    for value in reading.of("quantity"):
        if value.mention.id not in ("date", "month") or value.mention.quantity is None:
            continue
        before = [x for x in around(labels, value.mention.start) if 0 <= _apart(reading, x.mention, value.mention) <= 4]
        if before:
            label = before[-1]
            yield found(
                f"{prefix_of(reading, label.mention)}.expiry_date", str(value.mention.quantity.value), value, label
            )


def _apart(reading: Reading, label: Mention, value: Mention) -> int:
    """Words between a label and a value, save those taken back; negative where the value stands first."""
    if value.start < label.end:
        return -1
    return sum(i not in reading.dead_words for i in range(label.end, value.start))


def lens_status(slot: str) -> LensStatus:
    """The status of the lens that a slot speaks of."""
    if slot.startswith("lens_not_implanted."):
        return LensStatus.OPENED_NOT_IMPLANTED
    return LensStatus.EXPLANTED if slot.startswith("lens_explanted.") else LensStatus.IMPLANTED

"""Lenses: model, powers, identity and place of each lens said, and what became of it."""

import re
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass, replace

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.distance import measure
from zonule.binding.found import Found, found
from zonule.binding.reading import Reading, around, nearest
from zonule.binding.sections import Section, section_at
from zonule.vocabulary import LensStatus, Status

IDENTIFIERS = {"serial_number", "lot_number", "model", "manufacturer", "udi"}
NUMBERS = {"power_d": "diopter", "cylinder_d": "diopter", "axis_deg": "degrees", "target_refraction_d": "diopter"}
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
    }
)
ORDINARY = frozenset(
    {
        "it",
        "piece",
        "single",
        "foldable",
        "model",
        "lens",
        "implant",
        "used",
        "new",
        "please",
        "called",
        "chosen",
        "planned",
        "power",
        "our",
        "preloaded",
        "loaded",
        "same",
        "right",
        "left",
    }
)
"""Words before a model that name no maker."""
TORIC = frozenset({"toric"})
LIMIT = 9.0
LONG_SENTENCE = 45
WINDOW = 18
"""Words around a lens within which its fate is told."""
CODE = re.compile(r"(?=[^\d]*\d)(?=[\d]*[A-Za-z])[A-Za-z0-9][A-Za-z0-9/.-]+\Z")
"""A name of letters and digits, as models have."""


@dataclass(frozen=True, slots=True)
class _Place:
    start: int
    end: int
    status: LensStatus


def bind_lenses(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    """Facts on lenses; the slot is `lens.FIELD`, `lens_not_implanted.FIELD` or `lens_explanted.FIELD`."""
    if not _speaks_of_lens(reading):
        return
    for part in _parts(reading, sections):
        yield _as_fate(part)


def _as_fate(part: Found) -> Found:
    """What is told of a lens not implanted or taken out is done in that sense, though its words are a denial."""
    fated = part.slot.startswith(("lens_not_implanted.", "lens_explanted."))
    if part.cue is not None and part.cue.id == "standby":
        return part
    if fated and part.status in (Status.NOT_DONE, Status.HISTORICAL, Status.PLANNED):
        return replace(part, status=Status.DONE, cue=None)
    return part


def _speaks_of_lens(reading: Reading) -> bool:
    return bool(reading.of("lens_field", "lens_type", "lens_location")) or any(
        a.mention.id == "lens" for a in reading.of("thing")
    )


def _parts(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    yield from _numbers(reading, sections)
    yield from _identifiers(reading)
    yield from _model_by_place(reading)
    yield from _expiry(reading)
    for location in reading.of("lens_location"):
        if _lens_near(reading, location.mention):
            prefix = _prefix(reading, location.mention)
            yield found(f"{prefix}.location", location.mention.id, location)
            if prefix == "lens":
                yield found("steps", "lens_insertion", location)
    for material in reading.of("lens_material"):
        if _lens_near(reading, material.mention):
            yield found(f"{_prefix(reading, material.mention)}.material", material.mention.id, material)


def _lens_near(reading: Reading, mention: Mention) -> bool:
    """Whether a lens, or an action that puts one in, is spoken of in the clause or right before."""
    clause = reading.clause(mention.start)
    start = max(0, min(clause.start, mention.start - 12))
    around = reading.between(start, max(clause.end, mention.end + 6))
    return any(a.mention.key in ("thing:lens", "quantity:diopter") for a in around) or any(
        a.mention.kind in ("lens_field", "lens_type") or a.mention.key == "step:lens_insertion" for a in around
    )


def _prefix(reading: Reading, mention: Mention) -> str:
    """Which lens a value speaks of: implanted unless its own clause or the talk around says another fate."""
    clause = reading.clause(mention.start)
    first, last = reading.sentence(mention.start)
    start = max(first, clause.start, mention.start - WINDOW)
    end = min(last, mention.end + WINDOW)
    stop = next((i for i in range(mention.end, end) if _other_lens(reading, mention, i)), end)
    first_fate = bisect_left(reading.lens_fates, (start, ""))
    told = [fate for at, fate in reading.lens_fates[first_fate : first_fate + 20] if at < stop]
    told = told or _told_next(reading, last)
    return "lens_explanted" if "lens_explanted" in told else told[0] if told else "lens"


def _told_next(reading: Reading, end: int) -> list[str]:
    """What the next sentence tells of the same lens by a pronoun ("… so it was not implanted")."""
    if end >= len(reading.words) or reading.sentence(end - 1)[1] - reading.sentence(end - 1)[0] > LONG_SENTENCE:
        return []
    _, last = reading.sentence(end)
    at = bisect_left(reading.lens_fates, (end, ""))
    if at == len(reading.lens_fates) or reading.lens_fates[at][0] >= last:
        return []
    fate_at, fate = reading.lens_fates[at]
    named = any(a.mention.key in ("thing:lens", "quantity:diopter") for a in reading.between(end, fate_at))
    return [fate] if not named and {"it", "this", "that"} & set(reading.words[end:fate_at]) else []


def _other_lens(reading: Reading, mention: Mention, i: int) -> bool:
    """Whether talk of another lens begins at a word."""
    if i > mention.end + 4 and any(a.mention.key == "thing:lens" for a in reading.between(i, i + 1)):
        return reading.words[i - 1] in ("the", "a", "this", "new", "piece") or reading.clause(i).start >= i - 2
    return reading.words[i] in ("second", "another", "replacement", "instead", "new", "backup", "different")


def _numbers(reading: Reading, sections: list[Section]) -> Iterator[Found]:
    fields = [a for a in reading.of("lens_field") if a.mention.id in NUMBERS]
    lenses = [a for a in reading.of("thing", "lens_type") if a.mention.id == "lens" or a.mention.kind == "lens_type"]
    distance = measure(reading, [*fields, *lenses])
    for value in reading.of("quantity"):
        quantity = value.mention.quantity
        if quantity is None or not isinstance(quantity.value, float | int) or quantity.limit == "range":
            continue
        section = section_at(sections, value.mention.start)
        if section is not None and section.field == "plan":
            continue
        head = _field_of(reading, value, fields, lenses, distance)
        if head is not None:
            slot, owner = head
            yield found(f"{_prefix(reading, value.mention)}.{slot}", float(quantity.value), value, owner)


def _field_of(reading: Reading, value: Asserted, fields: list[Asserted], lenses: list[Asserted], distance):  # type: ignore[no-untyped-def]
    mention = value.mention
    fitting = [
        f
        for f in around(fields, mention.start)
        if _accepts(reading, f.mention, mention) and not _parted(reading, f.mention, mention)
    ]
    claiming = [f for f in fitting if 0 <= mention.start - f.mention.end <= 2]
    field = claiming[-1] if claiming else nearest(fitting, mention, distance, LIMIT)
    lens = nearest(lenses, mention, distance, LIMIT * 1.6)
    if field is not None and field.mention.id == "axis_deg" and not _axis_of_lens(reading, mention):
        return None
    if field is not None and (lens is None or distance(field.mention, mention) <= distance(lens.mention, mention) + 4):
        return field.mention.id, field
    if mention.id == "diopter" and lens is not None:
        return "power_d", lens
    if mention.id == "number" and lens is not None and _signed(reading, mention):
        return "power_d", lens
    if mention.id == "degrees" and lens is not None and any(a.mention.id in TORIC for a in reading.of("lens_type")):
        sentence = reading.between(*reading.sentence(mention.start))
        if any(a.mention.id in TORIC for a in sentence):
            return "axis_deg", lens
    return None


def _axis_of_lens(reading: Reading, value: Mention) -> bool:
    """An axis is the lens's where a toric lens is spoken of, or a lens in the same sentence."""
    if any(a.mention.id in TORIC for a in reading.of("lens_type")) or any(
        a.mention.id == "cylinder_d" for a in reading.of("lens_field")
    ):
        return True
    return any(a.mention.key == "thing:lens" for a in reading.between(*reading.sentence(value.start)))


def _parted(reading: Reading, field: Mention, value: Mention) -> bool:
    """ "18.5 diopters, cylinder 3": a field behind a comma does not reach back."""
    return field.start >= value.end and bool(set(reading.gap(value.end, field.start)) & set(",.;"))


def _accepts(reading: Reading, field: Mention, value: Mention) -> bool:
    if NUMBERS[field.id] == value.id:
        return True
    if value.id != "number" or not 0 <= value.start - field.end <= 3:
        return False
    near = reading.between(max(0, field.start - 7), field.end + 7)
    machine = any(a.mention.kind in ("parameter", "phase") and a.mention.start != field.start for a in near)
    return field.id != "power_d" or not machine


def _signed(reading: Reading, mention: Mention) -> bool:
    """Whether a number has a sign of its own ("+21.5"), not the hyphen of a code ("QO-75")."""
    text = reading.annotation.aligned.text
    quantity = mention.quantity
    at = quantity.start if quantity is not None else reading.annotation.starts[mention.start]
    if text[at] not in "+-":
        at -= 1
    return at >= 0 and text[at] in "+-" and (at == 0 or text[at - 1] in " ,:\n(")


def _identifiers(reading: Reading) -> Iterator[Found]:
    for label in reading.of("lens_field"):
        if label.mention.id not in IDENTIFIERS:
            continue
        value = _word_value(reading, label.mention)
        if value is None or _of_other_implant(reading, label.mention):
            continue
        text = _compact(reading, value) if label.mention.id != "manufacturer" else _as_said(reading, value)
        if label.mention.id == "model" and any(c.isdigit() for c in text):
            text = text.upper()
        if label.mention.id in ("serial_number", "lot_number", "udi") and not any(c.isdigit() for c in text):
            continue
        part = Asserted(value, label.status, label.cue)
        yield found(f"{_prefix(reading, label.mention)}.{label.mention.id}", text, part, label)


def _of_other_implant(reading: Reading, label: Mention) -> bool:
    """Whether the number is that of a ring or stent named right before, and not the lens's."""
    for asserted in reversed(reading.between(max(0, label.start - 9), label.start)):
        if asserted.mention.kind == "implant":
            return True
        if asserted.mention.key == "thing:lens" or asserted.mention.kind in ("lens_location", "lens_type"):
            return False
    return False


def _word_value(reading: Reading, label: Mention) -> Mention | None:
    """The run of words behind a label that names a model, a serial, a lot or a maker."""
    at = label.end
    while at < len(reading.words) and at < label.end + 3 and reading.words[at] in SKIPPED:
        at += 1
    end = at
    while end < len(reading.words) and end - at < 4 and _names(reading, label, at, end):
        end += 1
    return Mention(at, end, "word", label.id) if end > at else None


def _names(reading: Reading, label: Mention, at: int, i: int) -> bool:
    word = reading.words[i]
    text = reading.annotation.aligned.text
    raw = text[reading.annotation.starts[i] : reading.annotation.ends[i]]
    if i > at and text[reading.annotation.ends[i - 1] : reading.annotation.starts[i]].strip() not in ("", "-"):
        return False
    if not raw[0].isalnum() or word in reading.grammar.preposition or word in reading.grammar.auxiliary:
        return False
    if word in reading.grammar.determiner or word in reading.grammar.conjunction or word in reading.grammar.subject:
        return False
    glued = (
        i > at
        and reading.annotation.starts[i] - reading.annotation.ends[i - 1] <= 1
        and (text[reading.annotation.ends[i - 1] : reading.annotation.starts[i]] in ("", "-", "/"))
    )
    if glued:
        return True
    if any(a.mention.start <= i < a.mention.end and _bars(a.mention) for a in reading.between(i, i + 1)):
        return False
    if label.id in ("serial_number", "lot_number", "udi"):
        return i == at or (any(c.isdigit() for c in raw) and i - at < 3)
    if any(c.isdigit() for c in raw) or raw[0].isupper() or (label.id == "model" and _is_letter(word)):
        return True
    lower_text = not any(c.isupper() for c in text[:400])
    return i - at < 2 and lower_text and label.id in ("model", "manufacturer")


def _bars(mention: Mention) -> bool:
    """A term of the trade ends a name; a bare number may be part of it."""
    return mention.kind not in ("quantity",) or mention.id not in ("number", "date", "month", "ratio", "fraction", "by")


def _compact(reading: Reading, value: Mention) -> str:
    return re.sub(r"\s+", "" if any(c.isdigit() for c in _as_said(reading, value)) else " ", _as_said(reading, value))


def _as_said(reading: Reading, value: Mention) -> str:
    text = reading.annotation.aligned.text
    return text[reading.annotation.starts[value.start] : reading.annotation.ends[value.end - 1]]


def _model_by_place(reading: Reading) -> Iterator[Found]:
    """Maker and model of a lens that no lexicon knows: a name of letters and digits near a lens or its power."""
    labeled = [a for a in reading.of("lens_field") if a.mention.id == "model"]
    for label in labeled:
        maker = _maker_before(reading, label.mention.start)
        if maker is not None and _lens_near(reading, label.mention):
            part = Asserted(maker, label.status, label.cue)
            yield found(f"{_prefix(reading, label.mention)}.manufacturer", _as_said(reading, maker), part, label)
    anchors = [a for a in reading.of("thing", "quantity") if a.mention.key in ("thing:lens", "quantity:diopter")]
    seen: set[int] = set()
    for anchor in anchors:
        model = _code_near(reading, anchor.mention)
        if model is None or model.start in seen or any(_close(x.mention, model) for x in around(labeled, model.start)):
            continue
        seen.add(model.start)
        prefix = _prefix(reading, model)
        part = Asserted(model, anchor.status, anchor.cue)
        yield found(f"{prefix}.model", _compact(reading, model).upper(), part, anchor)
        maker = _maker_before(reading, model.start)
        if maker is not None:
            yield found(
                f"{prefix}.manufacturer", _as_said(reading, maker), Asserted(maker, anchor.status, anchor.cue), part
            )


def _close(label: Mention, model: Mention) -> bool:
    return 0 <= model.start - label.end <= 2


def _code_near(reading: Reading, anchor: Mention) -> Mention | None:
    """A code right before or behind an anchor, in the same sentence."""
    first, last = reading.sentence(anchor.start)
    for i in [
        *range(anchor.start - 1, max(first, anchor.start - 7) - 1, -1),
        *range(anchor.end, min(last, anchor.end + 3)),
    ]:
        word = _code_at(reading, i)
        if word is not None:
            return word
    return None


def _code_at(reading: Reading, i: int) -> Mention | None:
    """Letters and digits written together, or spelled letters before a number ("m 3")."""
    word = _chunk(reading, i)
    if word.end - word.start > 1 and CODE.match(_as_said(reading, word)):
        known = any(
            a.mention.kind != "quantity" and a.mention.start <= word.start and a.mention.end >= word.end
            for a in reading.between(max(0, word.start - 3), word.end)
        )
        labeled = reading.words[max(0, word.start - 1) : word.start] in (
            ("number",),
            ("serial",),
            ("lot",),
            ("sn",),
            ("batch",),
        )
        return None if known or labeled or _in_label(reading, word.start) else word
    if not reading.words[i].isdigit() or i == 0 or not _is_letter(reading.words[i - 1]):
        return None
    start = i - 1
    while start > 0 and _is_letter(reading.words[start - 1]):
        start -= 1
    return Mention(start, i + 1, "word", "model")


def _in_label(reading: Reading, i: int) -> bool:
    """Whether a word is the value of a serial or lot number."""
    return any(
        a.mention.kind in ("lens_field", "field")
        and a.mention.id in (*IDENTIFIERS - {"model"}, "patient.hospital_number")
        for a in reading.between(max(0, i - 3), i)
    )


def _is_letter(word: str) -> bool:
    return len(word) == 1 and word.isalpha() and word not in ("a", "i", "d")


def _maker_before(reading: Reading, end: int) -> Mention | None:
    """The unknown name right before a model: capitalized words, or one word of raw text."""
    while end > 0 and reading.words[end - 1] in (",",):
        end -= 1
    capitals = any(c.isupper() for c in reading.annotation.aligned.text[:400])
    start = end
    while start > 0 and end - start < (3 if capitals else 1) and _is_maker(reading, start - 1, capitals):
        start -= 1
    return Mention(start, end, "word", "manufacturer") if end > start else None


def _is_maker(reading: Reading, i: int, capitals: bool) -> bool:
    word, grammar = reading.words[i], reading.grammar
    if not word.isalpha() or len(word) < 3:
        return False
    function = grammar.determiner | grammar.preposition | grammar.conjunction | grammar.auxiliary | grammar.adverb
    if word in function or word in grammar.subject or word in ORDINARY:
        return False
    if any(a.mention.start <= i < a.mention.end for a in reading.between(max(0, i - 3), i + 1)):
        return False
    raw = reading.annotation.aligned.text[reading.annotation.starts[i]]
    return raw.isupper() if capitals else True


def _chunk(reading: Reading, i: int) -> Mention:
    """The word with all that is written together with it ("SN" + "60" + "WF")."""
    annotation = reading.annotation
    start, end = i, i + 1
    text = annotation.aligned.text

    def joined(left: int) -> bool:
        gap = text[annotation.ends[left] : annotation.starts[left + 1]]
        return gap in ("", "-") and reading.words[left][-1].isalnum() and reading.words[left + 1][0].isalnum()

    while start > 0 and joined(start - 1):
        start -= 1
    while end < len(reading.words) and joined(end - 1):
        end += 1
    return Mention(start, end, "word", "model")


def _expiry(reading: Reading) -> Iterator[Found]:
    labels = [a for a in reading.of("lens_field") if a.mention.id == "expiry_date"]
    for value in reading.of("quantity"):
        if value.mention.id not in ("date", "month") or value.mention.quantity is None:
            continue
        before = [x for x in around(labels, value.mention.start) if 0 <= value.mention.start - x.mention.end <= 4]
        if before:
            label = before[-1]
            yield found(
                f"{_prefix(reading, label.mention)}.expiry_date", str(value.mention.quantity.value), value, label
            )


def lens_status(slot: str) -> LensStatus:
    """The status of the lens that a slot speaks of."""
    if slot.startswith("lens_not_implanted."):
        return LensStatus.OPENED_NOT_IMPLANTED
    return LensStatus.EXPLANTED if slot.startswith("lens_explanted.") else LensStatus.IMPLANTED

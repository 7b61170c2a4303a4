"""Maker and model of a lens, taken from the words around it: no lexicon need know them."""

from collections.abc import Iterator
from itertools import pairwise

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.implant_numbers import belongs_to_implant
from zonule.binding.lens_fates import lens_near, prefix_of
from zonule.binding.lens_makers import introduced, made_by, maker_before, maker_behind
from zonule.binding.lens_models import begins_power, clashes, code_at, is_signed, model_behind, model_beside
from zonule.binding.lens_words import is_capital, model_said, name_said
from zonule.binding.reading import Reading, around
from zonule.vocabulary import Status

BEHIND = 5
"""Words behind a lens within which its model may stand."""
SAME = frozenset({"same", "identical"})
SKIPPED = frozenset({"number", "no", "is", "was", ":", "#", ".", "the", "a", "an", "code", "reads", "as", "name", "by",
                     "-", "called", "named", "being", "\n"})  # fmt: skip
"""Words between a label and its name."""

WHOLE_WORDS = frozenset({"maker", "manufacturer", "company", "make", "brand"})
"""Labels that no point shortens: one behind them ends the sentence ("kept for the maker. Pad.")."""

HOUSES = frozenset({"company", "house", "firm", "brand"})
"""Behind "same", the maker of the lens before."""

QUOTES = frozenset({'"', "“", "”", "„"})
LONGEST_QUOTED = 5
"""Words of a name in quotes."""

Named = tuple[str, Mention, Asserted]
"""The field that a name fills, the name, and the mention by whose status it was said."""


def bind_names(reading: Reading) -> list[Found]:
    """Maker and model of each lens: behind their labels, behind what says where a lens is from, or as a code."""
    names: dict[tuple[str, int], Named] = {}
    for name in _all_names(reading):
        names.setdefault((name[0], name[1].start), name)
    held = sorted(names.values(), key=lambda name: (name[1].start, name[0]))
    held += [n for n in _said_again(reading, held) if (n[0], n[1].start) not in names]
    facts = [_fact(reading, name) for name in _in_full(reading, held)]
    return facts + list(_same_as_before(reading, facts))


def _fact(reading: Reading, name: Named) -> Found:
    field, value, by = name
    text = name_said(reading, value) if field == "manufacturer" else model_said(reading, value)
    part = Asserted(value, by.status, by.cue)
    place = by.mention if by.mention.kind == "lens_field" else value
    return found(f"{prefix_of(reading, place)}.{field}", text, part, by)


def _all_names(reading: Reading) -> Iterator[Named]:
    inside: set[int] = set()
    for model, maker in made_by(reading):
        if lens_near(reading, model):
            inside.update(range(model.start, model.end))
            said = Asserted(model, reading.status_at(model))
            yield "model", model, said
            yield "manufacturer", maker, Asserted(maker, said.status, said.cue)
    yield from (name for name in _other_names(reading) if inside.isdisjoint(range(name[1].start, name[1].end)))


def _other_names(reading: Reading) -> Iterator[Named]:
    labels = [a for a in reading.of("lens_field") if a.mention.id in ("model", "manufacturer")]
    for label in labels:
        if belongs_to_implant(reading, label.mention):
            continue
        yield from _labelled(reading, label)
    for maker in introduced(reading):
        said = Asserted(maker, reading.status_at(maker))
        yield "manufacturer", maker, said
        model = model_beside(reading, maker)
        if model is not None:
            yield "model", model, said
    yield from _made_by(reading)
    yield from _beside_noun(reading)
    yield from _quoted(reading)
    yield from _codes(reading, [a for a in labels if a.mention.id == "model"])


def _labelled(reading: Reading, label: Asserted) -> Iterator[Named]:
    at = label.mention.end
    if label.mention.id == "manufacturer":
        if reading.words[at : at + 1] == (".",) and reading.words[at - 1] in WHOLE_WORDS:
            return
        at = _behind_label(reading, at)
        paused = reading.words[at : at + 1] == (",",)
        opens = reading.words[label.mention.start - 1 : label.mention.start] in ((".",), ("\n",))
        if paused and (_says_same(reading, label.mention) or (opens and reading.cased)):
            at += 1
        maker = maker_behind(reading, at, labelled=True)
        if maker is None and reading.words[label.mention.start - 2 : label.mention.start] == ("is", "the"):
            maker = maker_before(reading, label.mention.start - 2)  # "Marlow Crest is the make"
        if maker is not None:
            yield "manufacturer", maker, label
            beside = model_beside(reading, maker)
            if beside is not None:
                yield "model", beside, label
        return
    at -= at - label.mention.start > 1 and _spelled(reading, at - 1)
    model = model_behind(reading, _behind_label(reading, at))
    if model is not None:
        yield "model", model, label
    maker = maker_before(reading, label.mention.start)
    if maker is not None and lens_near(reading, label.mention):
        yield "manufacturer", maker, label


def _behind_label(reading: Reading, at: int) -> int:
    last = at + 3
    while at < min(last, len(reading.words)) and reading.words[at] in SKIPPED and not _spelled(reading, at):
        at += 1
    return at


def _spelled(reading: Reading, i: int) -> bool:
    """A capital letter before a number is part of the name ("A 114"), as two are behind a label without ("NO 300")."""
    text = reading.annotation.aligned.text
    raw = text[reading.annotation.starts[i] : reading.annotation.ends[i]]
    label = text[reading.annotation.starts[i - 1] : reading.annotation.ends[i - 1]] if i else ""
    return (
        (len(raw) == 1 or (len(raw) == 2 and raw.isalpha() and label.islower()))
        and raw.isupper()
        and reading.words[i + 1 : i + 2] != ()
        and reading.words[i + 1][0].isdigit()
    )


def _codes(reading: Reading, labeled: list[Asserted]) -> Iterator[Named]:
    """Names of letters and digits near a lens or its power."""
    seen: set[int] = set()
    for anchor in reading.of("thing", "quantity", "lens_type"):
        if not _is_anchor(reading, anchor.mention):
            continue
        model = _code_near(reading, anchor.mention)
        if model is None or model.start in seen or any(_close(x.mention, model) for x in around(labeled, model.start)):
            continue
        seen.add(model.start)
        yield "model", model, anchor
        maker = maker_before(reading, model.start)
        if maker is not None:
            yield "manufacturer", maker, anchor


def _is_anchor(reading: Reading, mention: Mention) -> bool:
    """Words beside which a name of letters and digits is that of a lens."""
    if mention.key in ("thing:lens", "quantity:diopter") or mention.kind == "lens_type":
        return True
    return mention.id == "number" and is_signed(reading, mention)


def _beside_noun(reading: Reading) -> Iterator[Named]:
    """ "It's a Tarn Lens Works Crest 9, power …": a house known by its noun, with its model right behind."""
    for noun in reading.annotation.mentions:
        if noun.key != "word:maker_noun" or reading.words[noun.end - 1] in ("lens", "lenses"):
            continue
        maker = maker_before(reading, noun.end)
        model = model_beside(reading, maker) if maker is not None and maker.end == noun.end else None
        if maker is not None and model is not None:
            said = Asserted(maker, reading.status_at(maker))
            yield "manufacturer", maker, said
            yield "model", model, said


def _quoted(reading: Reading) -> Iterator[Named]:
    """ "IOL: Ferris-Oates "Halo Plain 2", +22.0": a name in quotes beside a lens, with its power behind."""
    words = reading.words
    marks = [i for i in reading.where(QUOTES) if lens_near(reading, Mention(i, i + 1, "word", ""))]
    for opening, closing in pairwise(marks):
        behind = closing + 1 + (words[closing + 1 : closing + 2] == (",",))
        inside = words[opening + 1 : closing]
        if not 0 < len(inside) <= LONGEST_QUOTED or not begins_power(reading, behind):
            continue
        model = Mention(opening + 1, closing, "word", "model")
        if all(word.isalnum() for word in inside) and is_capital(reading, model.start):
            said = Asserted(model, reading.status_at(model))
            yield "model", model, said
            maker = maker_before(reading, opening)
            if maker is not None:
                yield "manufacturer", maker, said


def _made_by(reading: Reading) -> Iterator[Named]:
    """ "A lens of Nandavan make", "lens make is Tarini": the maker's name beside the word that says so."""
    for i, word in enumerate(reading.words):
        if word not in ("make", "brand") or i == 0:
            continue
        before = maker_before(reading, i)
        if before is not None and reading.words[before.start - 1] in ("of", ",", "a", "an", "is", "the", "and"):
            if lens_near(reading, before):
                yield "manufacturer", before, Asserted(before, reading.status_at(before))
            continue
        if word == "make" and _is_noun(reading, i):
            at = i + 1 + (reading.words[i + 1 : i + 2] in (("is",), (":",), ("was",)))
            maker = maker_behind(reading, at, labelled=True)
            if maker is not None:
                yield "manufacturer", maker, Asserted(maker, reading.status_at(maker))


def _is_noun(reading: Reading, i: int) -> bool:
    """Whether "make" is the noun: right behind a lens, or with "is" or a colon behind."""
    before = reading.between(max(0, i - 5), i)
    beside = any(
        a.mention.end == i and (a.mention.key == "thing:lens" or a.mention.kind in ("lens_type", "lens_material"))
        for a in before
    )
    return beside or (
        reading.words[i + 1 : i + 2] in (("is",), (":",)) and lens_near(reading, Mention(i, i + 1, "word", ""))
    )


def _close(label: Mention, model: Mention) -> bool:
    return 0 <= model.start - label.end <= 2


def _code_near(reading: Reading, anchor: Mention) -> Mention | None:
    """A code right before or behind an anchor, in the same sentence."""
    first, last = reading.sentence(anchor.start)
    for i in [
        *range(anchor.start - 1, max(first, anchor.start - 7) - 1, -1),
        *range(anchor.end, min(last, anchor.end + BEHIND)),
    ]:
        word = code_at(reading, i)
        if word is not None and not clashes(reading, word.start, word.end):
            return word
    return None


def _said_again(reading: Reading, names: list[Named]) -> Iterator[Named]:
    """ "Finally a Hollin Trefoil, plus twenty": a maker and model told before, side by side without their labels."""
    told = {
        field: {reading.words[m.start : m.end]: m for name, m, _ in reversed(names) if name == field}
        for field in ("manufacturer", "model")
    }
    heads = {words[0] for words in told["manufacturer"]}
    first = min((m.end for _, m, _ in names), default=len(reading.words))
    for i in (i for i in range(first, len(reading.words)) if reading.words[i] in heads):
        for maker in (m for m in told["manufacturer"] if reading.words[i : i + len(m)] == m):
            at = i + len(maker)
            for model in (m for m in told["model"] if reading.words[at : at + len(m)] == m):
                place = Mention(at, at + len(model), "word", "model")
                said = Asserted(place, reading.status_at(place))
                yield "manufacturer", Mention(i, at, "word", "manufacturer"), said
                yield "model", place, said


def _in_full(reading: Reading, names: list[Named]) -> Iterator[Named]:
    """Makers of whose name raw text told the end alone, in full where it was told so before."""
    whole = [(reading.words[m.start : m.end], m.start) for field, m, _ in names if field == "manufacturer"]
    for field, name, by in names:
        for words, at in whole if field == "manufacturer" else ():
            start = name.end - len(words)
            if start < name.start and at < start and reading.words[start : name.end] == words:
                name = Mention(start, name.end, "word", "manufacturer")
        yield field, name, by


def _says_same(reading: Reading, label: Mention) -> bool:
    return bool(SAME & set(reading.words[max(0, label.start - 1) : label.start]))


def _same_as_before(reading: Reading, facts: list[Found]) -> Iterator[Found]:
    """ "The second was the same maker and model": what was told of the lens before holds for this one."""
    makes = [m for m in reading.of("action") if m.mention.id == "make" and reading.words[m.mention.start] == "make"]
    labels = [a for a in reading.of("lens_field") if a.mention.id in ("model", "manufacturer")]
    labeled = {a.mention.start for a in labels}
    houses = [Mention(i, i + 1, "word", "manufacturer") for i in reading.where(HOUSES) if i not in labeled]
    makes += [Asserted(house, reading.status_at(house)) for house in houses]
    for label in sorted([*labels, *makes], key=lambda a: a.mention.start):
        if not _says_same(reading, label.mention):
            continue
        if label.mention.kind == "action":
            label = Asserted(label.mention, reading.status_at(label.mention))
        fields = ["manufacturer", "model"] if label.mention.id == "model" else ["manufacturer"]
        behind = reading.words[label.mention.end : label.mention.end + 2]
        if behind[:1] in (("and",), ("+",), ("&",), ("/",)) and behind[1:] in (("model",), ("type",)):
            fields = ["manufacturer", "model"]
        prefix = prefix_of(reading, label.mention)
        for field in fields:
            end = label.mention.end + 8
            if any(f.slot == f"{prefix}.{field}" and label.mention.end <= f.at < end for f in facts):
                continue
            before = [f for f in facts if f.slot.endswith(f".{field}") and f.at < label.mention.start]
            if before:
                last = max(before, key=lambda f: f.at)
                value = Asserted(last.mentions[0], Status.DONE)
                yield found(f"{prefix}.{field}", last.value, label, value)

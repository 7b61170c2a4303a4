"""Maker and model of a lens, taken from the words around it: no lexicon need know them."""

import re
from collections.abc import Iterator

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.lens_fates import lens_near, prefix_of
from zonule.binding.reading import Reading, around
from zonule.vocabulary import Status

BEHIND = 5
"""Words behind a lens within which its model may stand."""
LONGEST = 4
"""Words in the name of a maker."""
IDENTIFIERS = {"serial_number", "lot_number", "model", "manufacturer", "udi"}
CODE = re.compile(r"(?=[^\d]*\d)(?=[\d]*[A-Za-z])[A-Za-z0-9][A-Za-z0-9/.-]+\Z")
"""A name of letters and digits, as models have."""
NAMED_WITH = frozenset({"number", "date", "month", "ratio", "fraction", "by", "diopter", "unreadable_number"})
"""Dimensions that digits of a name may be taken for."""
ORDINAL = re.compile(r"\d+(?:st|nd|rd|th)")
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


def bind_names(reading: Reading) -> Iterator[Found]:
    """Maker and model of a lens that no lexicon knows: a name of letters and digits near a lens or its power."""
    labeled = [a for a in reading.of("lens_field") if a.mention.id == "model"]
    for label in labeled:
        maker = _maker_before(reading, label.mention.start)
        if maker is not None and lens_near(reading, label.mention):
            part = Asserted(maker, label.status, label.cue)
            yield found(f"{prefix_of(reading, label.mention)}.manufacturer", as_said(reading, maker), part, label)
    yield from _made_by(reading)
    anchors = [a for a in reading.of("thing", "quantity", "lens_type") if _is_anchor(reading, a.mention)]
    seen: set[int] = set()
    for anchor in anchors:
        model = _code_near(reading, anchor.mention)
        if model is None or model.start in seen or any(_close(x.mention, model) for x in around(labeled, model.start)):
            continue
        seen.add(model.start)
        prefix = prefix_of(reading, model)
        part = Asserted(model, anchor.status, anchor.cue)
        yield found(f"{prefix}.model", compact(reading, model).upper(), part, anchor)
        maker = _maker_before(reading, model.start)
        if maker is not None:
            yield found(
                f"{prefix}.manufacturer", as_said(reading, maker), Asserted(maker, anchor.status, anchor.cue), part
            )


def _is_anchor(reading: Reading, mention: Mention) -> bool:
    """Words beside which a name of letters and digits is that of a lens."""
    if mention.key in ("thing:lens", "quantity:diopter") or mention.kind == "lens_type":
        return True
    return mention.id == "number" and is_signed(reading, mention)


def _made_by(reading: Reading) -> Iterator[Found]:
    """ "A lens of Nandavan make": the maker's name before the word that says so."""
    for i, word in enumerate(reading.words):
        if word not in ("make", "brand") or i == 0:
            continue
        maker = _maker_before(reading, i)
        if maker is None or reading.words[maker.start - 1] not in ("of", ",", "a", "an", "is", "the", "and"):
            continue
        said = Asserted(maker, _status_at(reading, maker))
        if lens_near(reading, maker):
            yield found(f"{prefix_of(reading, maker)}.manufacturer", as_said(reading, maker), said)


def _status_at(reading: Reading, mention: Mention) -> Status:
    return next((a.status for a in reading.in_clause(mention)), Status.DONE)


def is_signed(reading: Reading, mention: Mention) -> bool:
    """Whether a number has a sign of its own ("+21.5"), not the hyphen of a code ("QO-75")."""
    text = reading.annotation.aligned.text
    quantity = mention.quantity
    at = quantity.start if quantity is not None else reading.annotation.starts[mention.start]
    if text[at] not in "+-":
        at -= 1
    return at >= 0 and text[at] in "+-" and (at == 0 or text[at - 1] in " ,:\n(")


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
    if not reading.words[i].isdigit() or i == 0 or not is_letter(reading.words[i - 1]):
        return None
    start = i - 1
    while start > 0 and is_letter(reading.words[start - 1]):
        start -= 1
    return Mention(start, i + 1, "word", "model")


def _counts(reading: Reading, word: Mention) -> bool:
    """Whether letters and digits are a measure ("x1", "0.5mg") and no name."""
    near = reading.between(max(0, word.start - 1), word.end)
    return any(a.mention.kind == "quantity" and a.mention.id not in NAMED_WITH for a in near)


def _named_number(reading: Reading, i: int) -> Mention | None:
    """ "Nettlefold 300, 16.5 diopters": a name and a whole number, with the power or the lens right behind."""
    words = reading.words
    if not reading.cased or i < 1 or not words[i].isdigit() or len(words[i]) > 4 or not _is_maker(reading, i - 1, True):
        return None
    behind = i + 1 + (words[i + 1 : i + 2] == (",",))
    following = [a.mention for a in reading.between(behind, behind + 2)]
    power = any(m.id == "diopter" or (m.id == "number" and is_signed(reading, m)) for m in following)
    if not power and not any(m.key in ("thing:lens", "lens_field:power_d") for m in following):
        return None
    return Mention(i - 1, i + 1, "word", "model")


def _in_label(reading: Reading, i: int) -> bool:
    """Whether a word is the value of a serial or lot number."""
    return any(
        a.mention.kind in ("lens_field", "field")
        and a.mention.id in (*IDENTIFIERS - {"model"}, "patient.hospital_number")
        for a in reading.between(max(0, i - 3), i)
    )


def is_letter(word: str) -> bool:
    return len(word) == 1 and word.isalpha() and word not in ("a", "i", "d")


def _maker_before(reading: Reading, end: int) -> Mention | None:
    """The unknown name right before a model: capitalized words, or one word of raw text with a maker's noun."""
    while end > 0 and reading.words[end - 1] in (",", "make", "made", "-"):
        end -= 1
    capitals = reading.cased
    start = end
    while start > 0 and end - start < LONGEST and _names_trade(reading, start - 1, capitals):
        start -= 1
    nouns = start
    while (
        start > 0
        and end - start < LONGEST
        and (capitals or nouns - start < 1)
        and _is_maker(reading, start - 1, capitals)
    ):
        start -= 1
    return Mention(start, end, "word", "manufacturer") if start < nouns else None


def _names_trade(reading: Reading, i: int, capitals: bool) -> bool:
    """Nouns in the names of makers ("Optics", "Lens Works")."""
    if reading.words[i] not in maker_nouns(reading):
        return False
    return not capitals or reading.annotation.aligned.text[reading.annotation.starts[i]].isupper()


def maker_nouns(reading: Reading) -> frozenset[str]:
    """Words that are part of a maker's name behind its proper one."""
    term = reading.lexicon.by_key.get(("word", "maker_noun"))
    return frozenset(form.lower() for form in term.forms) if term is not None else frozenset()


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


def compact(reading: Reading, value: Mention) -> str:
    return re.sub(r"\s+", "" if any(c.isdigit() for c in as_said(reading, value)) else " ", as_said(reading, value))


def as_said(reading: Reading, value: Mention) -> str:
    text = reading.annotation.aligned.text
    return text[reading.annotation.starts[value.start] : reading.annotation.ends[value.end - 1]]

"""The words of a lens's names: as they were said, and what may stand in one or ends it."""

from zonule.annotation.mentions import Mention
from zonule.binding.names import PARTICLES
from zonule.binding.reading import PUNCTUATION, Reading
from zonule.normalization.ordinary_words import COMMON, load_frequency_order, load_note_words

LINKS = frozenset({"and", "&", "of", "und", "et", "y"}) | PARTICLES
"""Words inside the name of a house ("Hale and Sons", "Von der Heide")."""
COUNTED = frozenset({"one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"})
"""Number words that are written with a capital in a name ("Two Rivers")."""
ORDINARY = frozenset(
    {
        "it", "piece", "single", "foldable", "model", "lens", "implant", "used", "new", "please", "called", "chosen",
        "planned", "power", "our", "preloaded", "loaded", "same", "right", "left", "stock", "shelf", "box", "trolley",
        "bank", "consignment", "theatre", "theater", "table", "tray", "pack", "packet", "hospital", "maker", "company",
        "patient", "eye", "second", "third", "other", "opened", "usual", "standard", "spare", "backup", "replacement",
        "plain", "simple", "ordinary", "regular", "basic", "monofocal",
        "first", "final", "finally", "lastly", "clean", "fresh", "nice", "lovely", "beautiful", "different",
    }
)  # fmt: skip
"""Words around a lens that name no maker."""


UNNAMED = frozenset(
    {
        "unknown", "unrecorded", "unreadable", "illegible", "unclear", "not", "none", "same", "identical", "above",
        "below", "per", "see", "n", "nil", "tbc", "missing", "recorded", "stated", "whatever",
    }
)  # fmt: skip
"""What is said where a name is not told."""


def as_said(reading: Reading, value: Mention) -> str:
    """The words of a mention in the text that is read."""
    text = reading.annotation.aligned.text
    return text[reading.annotation.starts[value.start] : reading.annotation.ends[value.end - 1]]


def heard(reading: Reading, i: int) -> str:
    """A word of the dictation as received, before any repair."""
    return reading.annotation.span(i, i + 1).of(reading.annotation.aligned.original)


def gap_before(reading: Reading, i: int) -> str:
    """What stands between a word and the one before."""
    return reading.annotation.aligned.text[reading.annotation.ends[i - 1] : reading.annotation.starts[i]]


def is_capital(reading: Reading, i: int) -> bool:
    """Whether a word of a text in mixed case begins with a capital letter."""
    return reading.cased and heard(reading, i)[0].isupper()


def is_letter(word: str) -> bool:
    """A spelled letter, no word of one letter and no diopters."""
    return len(word) == 1 and word.isalpha() and word not in ("a", "i", "d")


def name_said(reading: Reading, value: Mention) -> str:
    """The name of a maker in the words that were heard: names are no words that a repair knows."""
    return _joined(reading, value, " ", [heard(reading, i) for i in range(value.start, value.end)])


def model_said(reading: Reading, value: Mention) -> str:
    """The name of a model without its spaces; spelled letters in capitals, other words in the case of the dictation."""
    return _joined(reading, value, "", [_model_word(reading, i) for i in range(value.start, value.end)])


def _joined(reading: Reading, value: Mention, space: str, words: list[str]) -> str:
    text = words[0]
    for i, word in zip(range(value.start + 1, value.end), words[1:], strict=True):
        gap = gap_before(reading, i)
        text += (gap if gap in ("", "-", "/") else space) + word
    return text


def _model_word(reading: Reading, i: int) -> str:
    starts, ends = reading.annotation.starts, reading.annotation.ends
    raw, said = reading.annotation.aligned.text[starts[i] : ends[i]], heard(reading, i)
    last = said.split()[-1]
    if raw == "+":
        return next((word for word in said.split() if word[0].isalpha()), raw)
    hyphened = i + 1 < len(starts) and gap_before(reading, i + 1) == "-" and reading.words[i + 1].isalpha()
    if raw.isdigit() and hyphened and reading.cased and last.lower() in COUNTED and last[0].isupper():
        return last
    if len(raw) == 1:
        return said if raw != said and said[0].isupper() and said.isalpha() else raw.upper()
    if raw == said:
        spelled = not reading.cased and len(raw) <= 4 and i + 1 < len(starts) and ends[i] == starts[i + 1]
        return raw.upper() if spelled and reading.words[i + 1][0].isdigit() else raw
    named = said[0].isupper() and said.isalpha() and raw.isdigit() and reading.cased
    return raw if raw.upper() == raw and not named else said


def mentions_at(reading: Reading, i: int) -> list[Mention]:
    """The mentions that hold a word."""
    return [a.mention for a in reading.between(max(0, i - 5), i + 1) if a.mention.start <= i < a.mention.end]


def is_function(reading: Reading, word: str) -> bool:
    """Whether a word holds a sentence together and names nothing."""
    grammar = reading.grammar
    return (
        word in grammar.determiner
        or word in grammar.preposition
        or word in grammar.conjunction
        or word in grammar.auxiliary
        or word in grammar.adverb
        or word in grammar.subject
    )


def is_of_notes(word: str) -> bool:
    """Whether a word is common English at home in a note."""
    return load_frequency_order().get(word, COMMON) < COMMON and word in load_note_words()


def begins_field(reading: Reading, i: int) -> bool:
    """Whether a label, a kind, a material or a number of the lens begins at a word."""
    kinds = ("lens_field", "field", "lens_type", "lens_material", "lens_location")
    for asserted in reading.between(i, i + 1):
        mention = asserted.mention
        if mention.kind in kinds or mention.key == "thing:lens":
            return True
        if mention.kind == "quantity":
            return True
    return False


def closes_name(reading: Reading, i: int) -> bool:
    """Whether a name beyond doubt ends before a word: a field, a number, a code, a mark or the end."""
    words = reading.words
    if i + 1 < len(words) and words[i] in ("the", "same") and begins_field(reading, i + 1):
        return True
    if i >= len(words) or words[i] in PUNCTUATION or not words[i][0].isalpha():
        return True
    return begins_field(reading, i) or (is_letter(words[i]) and i + 1 < len(words))


def maker_nouns(reading: Reading) -> frozenset[str]:
    """Words that are part of a maker's name behind its proper one."""
    term = reading.lexicon.by_key.get(("word", "maker_noun"))
    return frozenset(form.lower() for form in term.forms) if term is not None else frozenset()

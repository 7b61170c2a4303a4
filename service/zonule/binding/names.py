"""What a person's name looks like among the words of a dictation, with capital letters and without."""

from bisect import bisect_left

from zonule.annotation.mentions import Mention
from zonule.binding.reading import Reading
from zonule.normalization.ordinary_words import COMMON, load_frequency_order, load_note_words

PARTICLES = frozenset({"de", "van", "von", "der", "den", "la", "le", "al", "bin", "ap", "del", "di", "da", "o'", "mac"})
NOBODY = frozenset(
    {"none", "nil", "no", "myself", "me", "same", "as", "not", "unknown", "x", "self", "nobody", "alone"}
)
ACTS = frozenset(
    {
        "dictating", "operating", "assisting", "assisted", "supervising", "supervised", "scrubbing", "scrubbed",
        "speaking", "here", "today", "now", "please", "thanks", "um", "uh", "er", "okay",
    }
)  # fmt: skip
"""Words behind a name that are no part of it."""
SURNAMES = frozenset(
    {
        "best", "black", "brown", "cross", "day", "glass", "good", "gray", "green", "grey", "hand", "hope", "house",
        "little", "long", "may", "page", "power", "read", "sharp", "short", "small", "waters", "wells", "white",
        "young",
    }
)  # fmt: skip
"""Words at home in a note that are surnames too."""
LONGEST = 4
LONGEST_RAW = 2
"""Words of a name in text without capitals, where nothing shows its end: given name and surname."""


def name_from(reading: Reading, start: int, least: int = 1) -> Mention | None:
    """The name of at least so many words that starts with the word at `start`, None if none does."""
    while start < len(reading.words) and reading.words[start] == ".":
        start += 1
    if start < len(reading.words) and reading.words[start] in NOBODY:
        return None
    end = start
    while end < len(reading.words) and end - start < _longest(reading, end) and is_name(reading, start, end):
        end += 1
    while end > start and reading.words[end - 1] in PARTICLES:
        end -= 1
    return Mention(start, end, "word", "patient.name") if end - start >= least else None


def name_before(reading: Reading, end: int) -> Mention | None:
    """The name of two words and more that ends right before the word at `end`."""
    while end > 0 and reading.words[end - 1] in (",", "(", "-", ".", "\n"):
        end -= 1
    start = end
    while start > 0 and end - start < LONGEST and is_name(reading, end, start - 1):
        start -= 1
    if not reading.cased and reading.words[max(0, start - 1)] not in ("for", "patient", "is", "on"):
        return None
    return Mention(start, end, "word", "patient.name") if end - start >= 2 else None


def _longest(reading: Reading, i: int) -> int:
    if reading.cased:
        return LONGEST
    return LONGEST_RAW + (_is_rare(reading.words[i]) and _label_follows(reading, i + 1))


def _takes_back(reading: Reading, i: int) -> bool:
    """Whether wording of correction starts with the word at `i`."""
    at = bisect_left(reading.corrections, i, key=lambda cue: cue.start)
    return at < len(reading.corrections) and reading.corrections[at].start == i


def _is_of_notes(word: str) -> bool:
    """Whether a word is common English at home in a note, and no surname."""
    common = load_frequency_order().get(word, COMMON) < COMMON
    return common and word in load_note_words() and word not in SURNAMES


def _is_rare(word: str) -> bool:
    """Whether a word is too rare in English to be anything but a name."""
    return load_frequency_order().get(word, COMMON) >= COMMON and not word.endswith(("ing", "ed", "ly"))


def _label_follows(reading: Reading, i: int) -> bool:
    """Whether a label or a title stands at `i`, so that what stands before it still is the name."""
    at = i + (reading.words[i : i + 1] in (("no",), ("and",), ("with",)))
    return any(a.mention.kind in ("field", "title") for a in reading.between(at, at + 1))


def is_name(reading: Reading, start: int, i: int) -> bool:
    """Whether the word at `i` can be part of a name that starts at `start`."""
    word = reading.words[i]
    raw = reading.annotation.aligned.text[reading.annotation.starts[i] : reading.annotation.ends[i]]
    if len(raw) == 1 and raw.isupper() and reading.words[i + 1 : i + 2] == (".",):
        return True
    if not raw[0].isalpha() or (len(raw) == 1 and i > start and not raw.isupper()):
        return raw == "." and i > start and len(reading.words[i - 1]) == 1
    if word in PARTICLES:
        return True
    grammar = reading.grammar
    function = grammar.determiner | grammar.preposition | grammar.conjunction | grammar.auxiliary | grammar.subject
    if word in function or word in grammar.adverb or word in ACTS or _takes_back(reading, i):
        return False
    if reading.cased and not raw[0].isupper():
        return False
    if not reading.cased and i > start and _is_of_notes(word):
        return False
    here = [a.mention for a in reading.between(i, i + 1) if a.mention.kind != "action"]
    if reading.cased and i > start and raw[0].isupper() and not raw.isupper():
        here = [m for m in here if m.kind in ("field", "title", "anesthesia", "procedure", "diagnosis", "eye")]
    return not here or (i == start and reading.cased and not any(m.kind in ("field", "title", "eye") for m in here))

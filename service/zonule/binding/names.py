"""What a person's name looks like among the words of a dictation, with capital letters and without."""

from bisect import bisect_left
from functools import cache
from pathlib import Path

from zonule.annotation.grammar import Grammar
from zonule.annotation.mentions import Mention
from zonule.binding.reading import Reading
from zonule.normalization.ordinary_words import COMMON, load_frequency_order, load_note_words

PARTICLES = frozenset({"de", "van", "von", "der", "den", "la", "le", "al", "bin", "ap", "del", "di", "da", "o'", "mac"})
NOBODY = frozenset(
    {"none", "nil", "no", "myself", "me", "same", "as", "not", "unknown", "x", "self", "nobody", "alone"}
)
NEVER_FIRST = frozenset({"field", "title", "eye", "procedure"})
"""Kinds whose words begin no name, with a capital letter or without ("Surgeon. Phaco and a lens.")."""
SHORTENED = frozenset({"incision_kind", "step", "technique", "drug", "viscoelastic", "implant", "complication"})
"""Kinds whose short forms in capitals are no name."""
ACTS = frozenset(
    {
        "dictating", "operating", "assisting", "assisted", "supervising", "supervised", "scrubbing", "scrubbed",
        "speaking", "here", "today", "now", "please", "thanks", "thank", "cheers", "ta", "um", "uh", "er", "okay",
        "ok", "ready", "present", "helping", "lovely", "nice", "great", "perfect", "excellent", "beautiful",
        "brilliant", "wonderful", "super", "happy", "gowned", "gloved",
    }
)  # fmt: skip
"""Words behind a name that are no part of it."""
SURNAMES = frozenset(
    {
        "best", "black", "brown", "cross", "day", "glass", "gray", "green", "grey", "hand", "hope", "house",
        "little", "long", "may", "page", "power", "read", "sharp", "short", "small", "waters", "wells", "white",
        "young",
    }
)  # fmt: skip
"""Words at home in a note that are surnames too."""
LONGEST = 4
LONGEST_RAW = 2
"""Words of a name in text without capitals, where nothing shows its end: given name and surname."""
EVERYDAY = 300
"""So many of the most frequent English words are no surname in text without capitals, unless the list says so."""
OPENERS = frozenset({"this", "these", "the", "we", "i", "she", "he", "it", "it's", "under", "with", "today"})
"""Words that open what follows: a rare word right before them is the third one of a name."""
BETWEEN = frozenset({",", "(", "-", ".", "\n"})


def name_from(reading: Reading, start: int, least: int = 1) -> Mention | None:
    """The name of at least so many words that starts with the word at `start`, None if none does."""
    while start < len(reading.words) and reading.words[start] == ".":
        start += 1
    if start < len(reading.words) and reading.words[start] in NOBODY:
        return None
    end = start
    particles = 0
    while (
        end < len(reading.words) and end - start - particles < _longest(reading, end) and is_name(reading, start, end)
    ):
        particles += reading.words[end] in PARTICLES and end > start
        end += 1
    while end > start and reading.words[end - 1] in PARTICLES:
        end -= 1
    return Mention(start, end, "word", "patient.name") if end - start >= least else None


def full_name(reading: Reading, start: int) -> Mention | None:
    """The name that starts at `start` where no title or label speaks for it: given name and surname."""
    name = name_from(reading, start, 2)
    return name if name is not None and _is_full(reading, name) else None


def full_name_before(reading: Reading, end: int) -> Mention | None:
    """The name that ends right before the word at `end` where no title or label speaks for it."""
    longest = LONGEST if reading.cased else LONGEST_RAW
    for start in range(max(0, end - longest), end - 1):
        if all(is_name(reading, start, i) for i in range(start, end)):
            name = Mention(start, end, "word", "patient.name")
            if _is_full(reading, name):
                return name
    return None


def name_before(reading: Reading, end: int) -> Mention | None:
    """The name of two words and more that ends right before the word at `end`, what spells it out left aside."""
    end = _before_spelling(reading, _before_marks(reading, end))
    start = end
    while start > 0 and end - start < LONGEST and (is_name(reading, end, start - 1) or _is_initial(reading, start - 2)):
        start -= 1
    while start < end and (reading.words[start] in PARTICLES or not is_name(reading, start, start)):
        start += 1
    start += reading.words[start : start + 1] == (".",)
    name = Mention(start, end, "word", "patient.name")
    led = reading.words[max(0, start - 1)] in ("for", "patient", "is", "on", "of", "called", "named")
    if not reading.cased and not led and not (end - start == 2 and _is_full(reading, name)):
        return None
    return name if end - start >= 2 else None


def _is_initial(reading: Reading, i: int) -> bool:
    """ "J.": a capital letter and its full stop."""
    return i >= 0 and reading.words[i + 1] == "." and len(reading.words[i]) == 1 and is_name(reading, i, i)


def _before_marks(reading: Reading, end: int) -> int:
    while end > 0 and reading.words[end - 1] in BETWEEN:
        end -= 1
    return end


def _before_spelling(reading: Reading, end: int) -> int:
    """Before "T O double L I V E R" or "that's TATE", which spells the name that stands before."""
    at = end
    while at > 0 and (len(reading.words[at - 1]) == 1 or reading.words[at - 1] in ("double", "treble")):
        at -= 1
    if end - at >= 3:
        return _before_marks(reading, at)
    spelled = reading.words[end - 2 : end - 1] in (("that's",), ("spelled",), ("spelt",))
    return _before_marks(reading, end - 2) if spelled else end


def _is_full(reading: Reading, name: Mention) -> bool:
    """Whether words look like given name and surname by themselves."""
    words = range(name.start, name.end)
    if reading.cased:
        return not any(a.mention.kind not in ("action", "title") for a in reading.between(name.start, name.start + 1))
    return is_personal(reading.words[name.start]) and all(_is_surname(reading.words[i]) for i in words[1:])


def is_personal(word: str) -> bool:
    """Whether a word in lower case is a given name, or too rare in English to be much else."""
    return word in load_given_names() or (is_rare(word) and word not in load_note_words())


def _is_surname(word: str) -> bool:
    return word in SURNAMES or (load_frequency_order().get(word, COMMON) >= EVERYDAY and not _is_of_notes(word))


@cache
def load_given_names() -> frozenset[str]:
    """The words of given_names.txt."""
    lines = Path(__file__).with_name("given_names.txt").read_text("utf-8").splitlines()
    return frozenset(word for line in lines if not line.startswith("#") for word in line.split())


def _longest(reading: Reading, i: int) -> int:
    if reading.cased:
        return LONGEST
    closed = _label_follows(reading, i + 1) or (i + 1 < len(reading.words) and reading.words[i + 1] in OPENERS)
    return LONGEST_RAW + (is_rare(reading.words[i]) and closed)


def _takes_back(reading: Reading, i: int) -> bool:
    """Whether wording of correction starts with the word at `i`."""
    at = bisect_left(reading.corrections, i, key=lambda cue: cue.start)
    return at < len(reading.corrections) and reading.corrections[at].start == i


def _is_of_notes(word: str) -> bool:
    """Whether a word is common English at home in a note, and no surname."""
    common = load_frequency_order().get(word, COMMON) < COMMON
    return common and word in load_note_words() and word not in SURNAMES


def is_rare(word: str) -> bool:
    """Whether a word is too rare in English to be anything but a name."""
    return load_frequency_order().get(word, COMMON) >= COMMON and not word.endswith(("ing", "ed", "ly"))


def _label_follows(reading: Reading, i: int) -> bool:
    """Whether a label or a title stands at `i`, so that what stands before it still is the name."""
    at = i + (reading.words[i : i + 1] in (("no",), ("and",), ("with",)))
    return any(a.mention.kind in ("field", "title") for a in reading.between(at, at + 1))


def _is_function_word(word: str, grammar: Grammar) -> bool:
    return (
        word in grammar.determiner
        or word in grammar.preposition
        or word in grammar.conjunction
        or word in grammar.auxiliary
        or word in grammar.subject
        or word in grammar.adverb
    )


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
    glued = i + 1 < len(reading.words) and reading.annotation.starts[i + 1] == reading.annotation.ends[i]
    if glued and raw.isupper() and reading.words[i + 1].isdigit():
        return False  # "Dr Tom Beynon ST3"
    if word in ACTS or _is_function_word(word, reading.grammar) or _takes_back(reading, i):
        return False
    if reading.cased and not raw[0].isupper():
        return False
    if not reading.cased and _is_of_notes(word) and (i > start or word not in load_given_names()):
        return False
    here = [a.mention for a in reading.between(i, i + 1) if a.mention.kind != "action"]
    if reading.cased and i > start and raw[0].isupper() and not raw.isupper():
        here = [m for m in here if m.kind in ("field", "title", "anesthesia", "procedure", "diagnosis", "eye")]
    if len(raw) > 1 and raw.isupper() and any(m.kind in SHORTENED for m in here):
        return False  # "sup CCI"
    return not here or (i == start and reading.cased and not any(m.kind in NEVER_FIRST for m in here))

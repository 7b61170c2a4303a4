"""Makers of lenses: a name from the word that introduces it to the next field, model or number; no lexicon knows it."""

from collections.abc import Iterator

from zonule.annotation.mentions import Mention
from zonule.binding.lens_words import (
    COUNTED,
    LINKS,
    ORDINARY,
    UNNAMED,
    begins_field,
    closes_name,
    gap_before,
    heard,
    is_capital,
    is_function,
    is_of_notes,
    maker_nouns,
    mentions_at,
)
from zonule.binding.names import PARTICLES
from zonule.binding.reading import PUNCTUATION, Reading

LONGEST = 6
"""Words in the name of a maker."""
LINKED_TO = frozenset({"sons", "son", "brothers", "co", "company", "partners", "daughters", "sisters"})
"""What is never a maker's name by itself."""
INTRODUCED = frozenset({"a", "an", "the", "from", "by", "is", "was", "of", "make", "maker", "this", "our"})
"""Words that a name of several words may stand right behind in raw text."""
MADE = frozenset({"made", "produced", "manufactured", "supplied"})
NO_MAKER = ("lens_field", "field", "lens_type", "lens_material", "lens_location", "title", "procedure")
"""Kinds whose words are no maker's name."""
BEFORE_MODEL = frozenset({"a", "an", "the", "is", "was", ":", "this", "our"})
"""Words that the model may stand right behind where its maker is told behind it."""
MODEL_WORDS = 4
BETWEEN = frozenset({"is", "was", "comes", "came", "one", "piece", "made", "all", ",", "it", "it's", "its", "'s"})
"""Words between a lens and the "from" or "by" before its maker."""
REACH = 4
PHRASE = 8
"""Words of a phrase on the kind of lens between its maker and its model ("…, a one-piece acrylic, model …")."""


def maker_behind(reading: Reading, at: int, *, labelled: bool) -> Mention | None:
    """The name that starts at a word behind a label ("maker is …"), or behind "from" or "by"."""
    words = reading.words
    head = next((i for i in range(at, min(at + 4, len(words))) if words[i] not in PARTICLES), at)
    capitals = head < len(words) and is_capital(reading, head)
    if reading.cased and not capitals and not labelled:
        return None
    end, linked = head if capitals else at, False
    while end < len(words) and end - at < LONGEST:
        if _is_part(reading, head if capitals else at, end, capitals=capitals):
            end += 1
        elif end > at and _links(reading, end, capitals=capitals):
            linked = linked or words[end] in ("and", "&")
            end += 1
        else:
            break
    while end > at and words[end - 1] in LINKS:
        end -= 1
    if end == at or not _is_proper(reading, at, end):
        return None
    if not capitals and not closes_name(reading, end):
        soft = labelled and not linked and is_function(reading, words[end])
        return Mention(at, end, "word", "manufacturer") if soft else None
    return Mention(at, end, "word", "manufacturer")


def maker_before(reading: Reading, end: int) -> Mention | None:
    """The name right before a model, over a phrase on the kind of lens."""
    end = _before_phrase(reading, end)
    capitals = reading.cased
    start = end
    while start > 0 and end - start < LONGEST:
        linked = end > start > 1 and _linked_before(reading, start - 1, capitals=capitals)
        if not linked and not _is_part(reading, -1, start - 1, capitals=capitals, noun=True):
            break
        start -= 1
    while capitals and 0 < start < end and reading.words[start - 1] in PARTICLES:
        start -= 1
    if not capitals:
        start = _shortened(reading, start, end)
    nouns = maker_nouns(reading)
    while start < end and (reading.words[start] in nouns or reading.words[start] in LINKS - PARTICLES):
        start += 1
    return Mention(start, end, "word", "manufacturer") if start < end and _is_proper(reading, start, end) else None


def introduced(reading: Reading) -> Iterator[Mention]:
    """ "A lens from Harlow and Finch", "the explanted lens was by …": names behind what says where a lens is from."""
    for i, word in enumerate(reading.words):
        if word not in ("from", "by") or i == 0:
            continue
        lenses = [
            a.mention
            for a in reading.between(max(0, i - REACH - 3), i)
            if a.mention.key == "thing:lens" or a.mention.kind in ("lens_type", "lens_material")
        ]
        if not lenses or not set(reading.words[lenses[-1].end : i]) <= BETWEEN:
            continue
        maker = maker_behind(reading, i + 1, labelled=False)
        if maker is not None:
            yield maker


def made_by(reading: Reading) -> Iterator[tuple[Mention, Mention]]:
    """ "The lens was a Gannet 2S made by Penhallow": a model, and its maker behind "by"."""
    words = reading.words
    for i in reading.where(frozenset({"by"})):
        end = i - (words[i - 1] in MADE)
        end -= words[end - 1] == ","
        start = _model_before(reading, end)
        maker = maker_behind(reading, i + 1, labelled=False) if start < end else None
        if maker is not None:
            yield Mention(start, end, "word", "model"), maker


def _model_before(reading: Reading, end: int) -> int:
    """Where the name begins that ends before a word and that an article or "is" introduces; `end` where none does."""
    words = reading.words
    at = end
    while at > 0 and end - at < MODEL_WORDS and words[at - 1] not in INTRODUCED and words[at - 1] not in PUNCTUATION:
        at -= 1
    if at == end or at == 0 or words[at - 1] not in BEFORE_MODEL or not words[at][0].isalpha():
        return end
    numbered = any(c.isdigit() for word in words[at:end] for c in word)
    if reading.cased and not is_capital(reading, at):
        return end
    if not numbered and not (reading.cased and end - at <= 2):
        return end
    barred = (*NO_MAKER, "drug", "step")
    for i in range(at, end):
        held = mentions_at(reading, i)
        if any(m.kind in barred or m.key == "thing:lens" or m.id == "diopter" for m in held):
            return end
        if words[i] in ORDINARY or is_function(reading, words[i]) or (not reading.cased and is_of_notes(words[i])):
            return end
    return at


def _before_phrase(reading: Reading, end: int) -> int:
    """The word behind the name that a phrase on the kind of lens follows."""
    words, least = reading.words, max(reading.sentence(max(0, end - 1))[0], end - PHRASE)
    at = end
    while at > least and words[at - 1] in (",", "make", "made", "-"):
        at -= 1
    told = at
    if at == end and at > 1 and words[at - 1] == ".":
        return _in_sentence_before(reading, at - 1)
    while at > least:
        kinds = [
            m for m in mentions_at(reading, at - 1) if m.kind in ("lens_type", "lens_material") or m.key == "thing:lens"
        ]
        if not kinds or _stands_in_name(reading, at - 1):
            break
        at = min(m.start for m in kinds)
    article = at < told and at - 2 >= least and words[at - 1] in ("a", "an") and words[at - 2] == ","
    return at - 2 if article else at


def _in_sentence_before(reading: Reading, end: int) -> int:
    """ "It's a Quay & Vale. Model …": the name that a sentence of its own tells, else nothing."""
    first, _ = reading.sentence(end - 1)
    articles = [i for i in range(max(first, end - LONGEST), end) if reading.words[i] in ("a", "an")]
    told = articles and reading.words[articles[-1] - 1] in ("is", "'s", "it's", "was", ":")
    return end if told and reading.cased else end + 1


def _stands_in_name(reading: Reading, i: int) -> bool:
    """Whether a trade noun before a model is part of its maker's name ("Optic" with a capital, "optics")."""
    if reading.words[i] not in maker_nouns(reading):
        return False
    return is_capital(reading, i) or (not reading.cased and reading.words[i] not in ("lens", "lenses", "implants"))


def _shortened(reading: Reading, start: int, end: int) -> int:
    """In raw text a name of several words needs the word that introduces it; else the last proper word is it."""
    nouns = maker_nouns(reading)
    before = reading.words[start - 1] if start else ""
    if before in INTRODUCED or before in (",", ".", ":", "\n"):
        return start
    at = end
    while at > start and reading.words[at - 1] in nouns:
        at -= 1
    return at - 1 if at > start else end


def _is_proper(reading: Reading, start: int, end: int) -> bool:
    """Whether a name has a word of its own beside the trade's."""
    trade = maker_nouns(reading) | LINKS | LINKED_TO
    return any(reading.words[i] not in trade for i in range(start, end))


def _links(reading: Reading, i: int, *, capitals: bool) -> bool:
    """Whether a word ties two parts of a name together."""
    if reading.words[i] not in LINKS or gap_before(reading, i).strip():
        return False
    at = i + 1
    while at < len(reading.words) and at < i + 3 and reading.words[at] in LINKS:
        at += 1
    return at < len(reading.words) and _is_part(reading, -1, at, capitals=capitals, noun=True)


def _linked_before(reading: Reading, i: int, *, capitals: bool) -> bool:
    if reading.words[i] not in LINKS:
        return False
    return _is_part(reading, -1, i - 1, capitals=capitals, noun=True) or reading.words[i - 1] in LINKS - {"and", "of"}


def _is_part(reading: Reading, first: int, i: int, *, capitals: bool, noun: bool = False) -> bool:
    """Whether a word can be part of a maker's name; a trade noun only behind the first word or where `noun` says so."""
    said, word = heard(reading, i), reading.words[i]
    behind_first = noun or i > first >= 0
    if not said.isalpha() or len(said) < 2 or (i > first >= 0 and "\n" in gap_before(reading, i)):
        return False
    if capitals and not said[0].isupper():
        return False
    lower = said.lower()
    counted = lower in COUNTED and (capitals or i == first)
    if (
        lower in UNNAMED
        or (is_function(reading, lower) and not counted)
        or (
            lower in ORDINARY
            and not (behind_first and (_is_noun(reading, i) or (capitals and _noun_follows(reading, i))))
        )
    ):
        return False
    if _is_noun(reading, i):
        return behind_first and (capitals or word != "lens" or _noun_follows(reading, i))
    held = [m for m in mentions_at(reading, i) if not (m.kind == "quantity" and counted)]
    if capitals:
        barred = (*NO_MAKER, "quantity")
        opens = i == first or first < 0
        return not any(m.kind in barred or (opens and m.key == "thing:lens") or said.isupper() for m in held)
    return not held and (not is_of_notes(lower) or lower in LINKED_TO or counted)


def _is_noun(reading: Reading, i: int) -> bool:
    """Whether a word is one of the trade that stands in names ("optics", the "lens" of "lens works")."""
    nouns = maker_nouns(reading)
    if reading.words[i] in nouns:
        return True
    return any(m.key == "word:maker_noun" for m in mentions_at(reading, i))


def _noun_follows(reading: Reading, i: int) -> bool:
    return i + 1 < len(reading.words) and _is_noun(reading, i + 1) and not begins_field(reading, i + 1)

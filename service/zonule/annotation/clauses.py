"""Words → sentences and clauses: runs around one predicate each, found by punctuation where there is any and by
subjects and predicates where there is none."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from zonule.annotation.mentions import Clause, Mention
from zonule.lexicon import Lexicon

SHORT_LINE = 55
"""Characters; a line that is shorter ends its sentence, a longer one may be wrapped."""
RAW_SENTENCE = 60
"""Words; a longer stretch without punctuation is taken for raw recognizer output."""
LONGEST = 800
"""Words; a longer stretch without punctuation is cut, wherever that falls."""
ABBREVIATED = {"dr", "mr", "mrs", "ms", "prof", "no", "vs", "approx", "st"}


@dataclass(frozen=True, slots=True)
class Grammar:
    """Function words by class, from the lexicon's `word` terms."""

    determiner: frozenset[str]
    preposition: frozenset[str]
    conjunction: frozenset[str]
    auxiliary_past: frozenset[str]
    auxiliary_present: frozenset[str]
    modal: frozenset[str]
    subject: frozenset[str]
    pronoun: frozenset[str]
    negator: frozenset[str]
    adverb: frozenset[str]
    auxiliary: frozenset[str]
    """All auxiliaries."""


def load_grammar(lexicon: Lexicon) -> Grammar:
    """The function words of the lexicon; a class without an entry is empty."""
    held = {t.id: frozenset(f.lower() for f in t.forms) for t in lexicon.of_kind("word")}
    held["auxiliary"] = frozenset().union(
        *(held.get(name, frozenset()) for name in ("auxiliary_past", "auxiliary_present", "modal"))
    )
    return Grammar(**{name: held.get(name, frozenset()) for name in Grammar.__dataclass_fields__})


def split_sentences(text: str, words: Sequence[str], starts: Sequence[int], labels: frozenset[int]) -> list[int]:
    """The first word of every sentence. `labels` are words that open a line of their own ("Surgeon: …")."""
    firsts = [0]
    line_start = 0
    for i, word in enumerate(words):
        if word == "\n":
            length = starts[i] - line_start
            blank = i + 1 < len(words) and text[starts[i] : starts[i + 1]].count("\n") > 1
            before = words[i - 1] if i else "."
            if before == "," and not blank:
                line_start = starts[i] + 1
                continue
            if blank or length < SHORT_LINE or before in ".:;!?" or i + 1 in labels:
                firsts.append(i + 1)
            line_start = starts[i] + 1
        elif word in ".!?;" and _ends_sentence(text, words, starts, i):
            firsts.append(i + 1)
    return _broken(sorted({f for f in firsts if f < len(words)}), len(words))


def _broken(firsts: list[int], end: int) -> list[int]:
    """No stretch is longer than LONGEST words, so that the time for a text grows with its length and no faster."""
    bounds = [*firsts, end]
    return [at for first, last in pairwise(bounds) for at in range(first, last, LONGEST)]


def _ends_sentence(text: str, words: Sequence[str], starts: Sequence[int], i: int) -> bool:
    if words[i] != ".":
        return True
    before = words[i - 1] if i else ""
    glued = i + 1 < len(words) and starts[i + 1] == starts[i] + 1 and text[starts[i] + 1].isalnum()
    initial = len(before) == 1 and before.isalpha() and text[starts[i] - 1].isupper()
    return not (glued or initial or before in ABBREVIATED)


@dataclass(frozen=True, slots=True)
class _Predicate:
    start: int
    end: int


def _starts_at(predicate: _Predicate) -> int:
    return predicate.start


def find_clauses(
    words: Sequence[str], firsts: Sequence[int], mentions: Sequence[Mention], grammar: Grammar
) -> list[Clause]:
    """Clauses that cover all words, in order."""
    actions: dict[int, Mention] = {}
    heads: dict[int, int] = {}
    for mention in mentions:
        if mention.kind == "action":
            actions.setdefault(mention.start, mention)
        elif mention.kind == "step" and words[mention.end - 1].endswith("ed"):
            actions.setdefault(mention.end - 1, replace(mention, start=mention.end - 1, tense="past"))
            heads[mention.start] = mention.end
        elif mention.kind not in ("cue", "word", "correction", "title"):
            heads[mention.start] = mention.end
    clauses: list[Clause] = []
    for number, (first, last) in enumerate(zip(firsts, [*firsts[1:], len(words)], strict=False)):
        predicates = _predicates(words, first, last, actions, grammar)
        cuts = _cut(words, first, predicates, heads, grammar)
        if last - first > RAW_SENTENCE:
            cuts = sorted({*cuts, *_cut_lists(words, predicates, cuts, last, heads, actions, grammar)})
        for start, end in zip(cuts, [*cuts[1:], last], strict=True):
            tense, subject = _tense(words, start, end, actions, grammar)
            clauses.append(Clause(start, end, number, tense, subject))
    return clauses


def _predicates(
    words: Sequence[str], first: int, last: int, actions: dict[int, Mention], grammar: Grammar
) -> list[_Predicate]:
    """Verb groups in order: auxiliaries with what follows them, finite actions, subjects with their verb."""
    groups: list[_Predicate] = []
    i = first
    while i < last:
        word = words[i]
        action = actions.get(i)
        starts = word in grammar.auxiliary or (action is not None and action.tense in ("past", "third"))
        if not starts and word in grammar.subject and i + 1 < last:
            following = i + 1
            while following < last and words[following] in grammar.adverb:
                following += 1
            starts = following in actions or words[following : following + 1] == ["'ve"]
        if not starts:
            i += 1
            continue
        end = _group_end(words, i, last, actions, grammar)
        groups.append(_Predicate(i, end))
        i = max(end, i + 1)
    return groups


def _group_end(words: Sequence[str], i: int, last: int, actions: dict[int, Mention], grammar: Grammar) -> int:
    end = i
    while end < last:
        if end in actions:
            return actions[end].end
        if words[end] in grammar.auxiliary or words[end] in grammar.adverb or words[end] in grammar.negator or end == i:
            end += 1
        else:
            break
    return end


def _cut(
    words: Sequence[str],
    first: int,
    predicates: list[_Predicate],
    heads: dict[int, int],
    grammar: Grammar,
) -> list[int]:
    """Where clauses start: between two predicates, at the best of punctuation, conjunction and the later subject."""
    cuts = [first]
    for before, after in pairwise(predicates):
        cut = _between(words, max(before.end, cuts[-1] + 1), after.start, heads, grammar)
        if cut is not None and cut > cuts[-1]:
            cuts.append(cut)
    return cuts


def _cut_lists(
    words: Sequence[str],
    predicates: list[_Predicate],
    cuts: list[int],
    last: int,
    heads: dict[int, int],
    actions: dict[int, Mention],
    grammar: Grammar,
) -> list[int]:
    """In raw text, where a predicate has its object and things are listed without a verb ("… need it | drape …")."""
    found = []
    bounds = [*cuts, last]
    for start, end in pairwise(bounds):
        inside = predicates[
            bisect_left(predicates, start, key=_starts_at) : bisect_left(predicates, end, key=_starts_at)
        ]
        if not inside:
            continue
        at = inside[-1].end
        listed = (h for h in range(at + 1, end) if h in heads and _stands_alone(words, at, h, heads, actions, grammar))
        found += [h for h in (next(listed, None),) if h is not None]
    return found


def _stands_alone(
    words: Sequence[str], at: int, head: int, heads: dict[int, int], actions: dict[int, Mention], grammar: Grammar
) -> bool:
    """Whether a term is no object, complement or member of a list that began before it."""
    for i in range(head - 1, max(at, head - 5) - 1, -1):
        word = words[i]
        if i in actions or word in grammar.auxiliary or word in grammar.negator or word in grammar.conjunction:
            return False
        if word in grammar.determiner or word in grammar.preposition or word == ",":
            return False
        if any(heads.get(start, 0) > i for start in range(head - 8, i + 1)):
            return True
        if word in grammar.pronoun:
            return True
    return head - at > 4


def _between(words: Sequence[str], start: int, end: int, heads: dict[int, int], grammar: Grammar) -> int | None:
    weak = None
    for i in range(end - 1, start - 1, -1):
        word = words[i]
        if word in ",:;()\n":
            return i + 1
        if word in grammar.conjunction:
            following = words[i + 1] if i + 1 < len(words) else ""
            if (
                i + 1 >= end
                or following in grammar.determiner
                or following in grammar.subject
                or following in grammar.adverb
                or word not in ("and", "or", "as", "that", "before", "after")
            ):
                return i
            weak = weak if weak is not None else i
    subject = _subject_start(words, start, end, heads, grammar)
    if weak is not None and (subject is None or subject <= weak + 1):
        return weak
    return subject


def _subject_start(words: Sequence[str], start: int, end: int, heads: dict[int, int], grammar: Grammar) -> int | None:
    """The start of the noun phrase that ends right before `end`, found by its determiner or its own term."""
    for i in range(end - 1, max(start, end - 7) - 1, -1):
        if words[i] in grammar.preposition and i + 1 < end and words[i] != "of":
            break
        if words[i] in grammar.determiner and (i == start or words[i - 1] not in grammar.preposition):
            return i
    nearest = [h for h in range(start, end) if h in heads and end - heads[h] <= 2]
    return max(nearest) if nearest else (end if end > start else None)


def _acts(words: Sequence[str], start: int, i: int, grammar: Grammar) -> bool:
    """Whether somebody stands right before a verb in its base form ("I use")."""
    return i > start and words[i - 1] in grammar.subject


def _tense(
    words: Sequence[str], start: int, end: int, actions: dict[int, Mention], grammar: Grammar
) -> tuple[str, str]:
    tense = "none"
    subject = ""
    for i in range(start, end):
        word = words[i]
        if word in grammar.subject and not subject:
            subject = word
        if word in grammar.modal:
            return "modal", subject
        if word in grammar.auxiliary_past:
            tense = "past"
        elif word in grammar.auxiliary_present and tense == "none":
            tense = "present"
        action = actions.get(i)
        if action is None:
            continue
        if action.tense == "past" and tense in ("none", "infinitive", "progressive"):
            tense = "past"
        elif tense == "none" and (
            action.tense == "third" or (action.tense == "base" and _acts(words, start, i, grammar))
        ):
            tense = "present"
        elif action.tense == "base" and tense == "none":
            tense = "infinitive" if i > start and words[i - 1] == "to" else "imperative" if i == start else tense
        elif action.tense == "ing" and tense in ("none", "present"):
            tense = "progressive"
    return tense, subject

"""`AlignedText` → `Annotation`: words, quantities, terms, cues and clauses."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence

from zonule.annotation.clauses import find_clauses
from zonule.annotation.forms import Forms
from zonule.annotation.grammar import load_grammar
from zonule.annotation.mentions import BY_PLACE, Annotation, Clause, Mention
from zonule.annotation.quantities import Quantity, Units, find_quantities
from zonule.annotation.sentences import split_sentences
from zonule.annotation.sides import name_sides
from zonule.annotation.terms import TermMatcher
from zonule.annotation.words import split_words
from zonule.lexicon import Lexicon
from zonule.lexicon.tables import Tables
from zonule.normalization.date_orders import is_order_told
from zonule.text import AlignedText


class Annotator:
    """Built once from a lexicon, its tables and its units."""

    def __init__(self, lexicon: Lexicon, tables: Tables, units: Units) -> None:
        self.grammar = load_grammar(lexicon)
        self.terms = TermMatcher(Forms(lexicon, tables))
        self._units = units

    def annotate(self, aligned: AlignedText) -> Annotation:
        """All mentions of a text, with its clauses."""
        text = aligned.text
        words, starts, ends = split_words(text)
        quantities = _place(find_quantities(text, self._units, day_first=is_order_told(text) or None), starts, ends)
        taken = bytearray(len(words))
        for mention in quantities:
            if mention.id != "number":
                taken[mention.start : mention.end] = b"\x01" * (mention.end - mention.start)
        capital = _find_capitals(text, starts, ends)
        mentions = _unite(quantities, self.terms.find(words, capital, taken))
        mentions = name_sides(words, capital, mentions)
        labels = frozenset(m.start for m in mentions if m.kind == "field")
        firsts = split_sentences(text, words, starts, labels) if words else []
        clauses = find_clauses(words, firsts, mentions, self.grammar)
        return Annotation(aligned, tuple(words), starts, ends, tuple(mentions), tuple(clauses), _index(clauses))


def _unite(quantities: list[Mention], terms: list[Mention]) -> list[Mention]:
    """Quantities and terms in order. A bare number gives way to a longer form that holds it ("into 4 quadrants")."""
    numbers = {i: q for q in quantities if q.id == "number" for i in range(q.start, q.end)}
    numbered = bytearray(max(numbers, default=0) + 1)
    for place in numbers:
        numbered[place] = 1
    kept: list[Mention] = []
    covered: set[int] = set()
    for term in terms:
        if numbered.find(1, term.start, term.end) < 0:
            kept.append(term)
            continue
        inside = [numbers[i] for i in range(term.start, term.end) if i in numbers]
        if all(term.start <= q.start and q.end <= term.end and term.end - term.start > q.end - q.start for q in inside):
            kept.append(term)
            covered.update(map(id, inside))
    return sorted([*(q for q in quantities if id(q) not in covered), *kept], key=BY_PLACE)


def _find_capitals(text: str, starts: Sequence[int], ends: Sequence[int]) -> list[bool]:
    """Which words stand in capitals and are no part of a code."""
    if text.islower():
        return [False] * len(starts)
    return [text[s:e].isupper() and not _is_coded(text, s, e) for s, e in zip(starts, ends, strict=True)]


def _is_coded(text: str, start: int, end: int) -> bool:
    """Whether a word is part of a code ("OS-52")."""
    behind = (text[end : end + 1] == "-" and text[end + 1 : end + 2].isalnum()) or text[end : end + 1].isdigit()
    return behind or (start > 0 and text[start - 1] in "-0123456789")


def _place(quantities: list[Quantity], starts: Sequence[int], ends: Sequence[int]) -> list[Mention]:
    """Quantities with character offsets → mentions with word offsets."""
    placed = []
    for quantity in quantities:
        start = bisect_right(ends, quantity.start)
        end = bisect_left(starts, quantity.end)
        if end > start:
            placed.append(Mention(start, end, "quantity", quantity.dimension, quantity=quantity))
    return placed


def _index(clauses: list[Clause]) -> tuple[int, ...]:
    index: list[int] = []
    for number, clause in enumerate(clauses):
        index += [number] * (clause.end - clause.start)
    return tuple(index)

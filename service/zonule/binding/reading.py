"""What all binding rooms look at: one dictation's asserted mentions with the neighborhood of each word."""

from bisect import bisect_left
from collections.abc import Callable, Mapping, Sequence, Set
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise

from zonule.annotation.grammar import Grammar
from zonule.annotation.mentions import Annotation, Clause, Mention
from zonule.assertion import Asserted
from zonule.lexicon import Lexicon
from zonule.text import Span
from zonule.vocabulary import Status

PUNCTUATION = frozenset(",.;:()\n!?")
MODIFIERS = frozenset(
    {"action", "anatomy", "incision_kind", "lens_material", "lens_type", "site", "finding", "route", "phase", "thing"}
)
"""Kinds that may stand between a preposition and its noun."""
MANNERS = (("one", "piece"), ("1", "piece"), ("one", "go"), ("one", "sweep"), ("two", "pieces"))
"""Words behind "in" that tell how, and govern no noun behind ("delivered in one piece | cortex aspirated")."""
DIRECT = frozenset({"of", "to"})
"""Prepositions that do not make the noun behind them an instrument or a place ("removal of the viscoelastic")."""


@dataclass(frozen=True)
class Reading:
    """An annotated text with the status of every mention, and the lexicon and function words it was read with."""

    annotation: Annotation
    asserted: tuple[Asserted, ...]
    lexicon: Lexicon
    grammar: Grammar
    corrections: tuple[Mention, ...] = ()
    taken_back: frozenset[int] = frozenset()
    """Words that were taken back."""
    instead: Mapping[int, Mention] = field(default_factory=dict)
    """By the word at which a corrected value begins, what it was said in place of."""

    @cached_property
    def words(self) -> tuple[str, ...]:
        """Lower-case words."""
        return self.annotation.words

    def placed(self, value: Asserted) -> Asserted:
        """A value where it belongs: a corrected one stands for what it replaces ("widened to 3.2. No, 3.4")."""
        old = self.instead.get(value.mention.start)
        if old is None or old.kind != value.mention.kind:
            return value
        return Asserted(replace(value.mention, start=old.start, end=old.end), value.status, value.cue)

    @cached_property
    def _starts(self) -> list[int]:
        return [a.mention.start for a in self.asserted]

    def of(self, *kinds: str) -> list[Asserted]:
        """The asserted mentions of these kinds, in order."""
        return (
            [a for kind in kinds for a in self._by_kind.get(kind, ())]
            if len(kinds) == 1
            else sorted(
                (a for kind in kinds for a in self._by_kind.get(kind, ())),
                key=lambda a: (a.mention.start, a.mention.end),
            )
        )

    @cached_property
    def _by_kind(self) -> dict[str, list[Asserted]]:
        groups: dict[str, list[Asserted]] = {}
        for asserted in self.asserted:
            groups.setdefault(asserted.mention.kind, []).append(asserted)
        return groups

    def done(self, *kinds: str) -> list[Asserted]:
        """Those that were done."""
        return [a for a in self.of(*kinds) if a.status is Status.DONE]

    def between(self, start: int, end: int) -> list[Asserted]:
        """The asserted mentions that start in this range of words."""
        first = bisect_left(self._starts, start)
        last = bisect_left(self._starts, end)
        return list(self.asserted[first:last])

    @cached_property
    def _places(self) -> dict[str, list[int]]:
        places: dict[str, list[int]] = {}
        for i, word in enumerate(self.words):
            places.setdefault(word, []).append(i)
        return places

    def where(self, words: Set[str]) -> list[int]:
        """Where any of `words` stands, in order: quicker than to look at every word of the text."""
        return sorted([i for word in self._places.keys() & words for i in self._places[word]])

    @cached_property
    def lens_starts(self) -> frozenset[int]:
        """Where a lens is named."""
        return frozenset(a.mention.start for a in self._by_kind.get("thing", ()) if a.mention.id == "lens")

    def clause(self, word: int) -> Clause:
        """The clause that holds a word."""
        return self.annotation.clauses[self.annotation.clause_of[word]]

    def in_clause(self, mention: Mention) -> list[Asserted]:
        """The asserted mentions of the clause that holds a mention."""
        clause = self.clause(mention.start)
        return self.between(clause.start, clause.end)

    def status_at(self, mention: Mention) -> Status:
        """The status of what is asserted nearest to a mention in its clause; done where nothing is."""
        near = sorted(self.in_clause(mention), key=lambda a: abs(a.mention.start - mention.start))
        return near[0].status if near else Status.DONE

    def sentence(self, word: int) -> tuple[int, int]:
        """The words of the sentence that holds a word."""
        return self._sentences[self.clause(word).sentence]

    @cached_property
    def _sentences(self) -> dict[int, tuple[int, int]]:
        bounds: dict[int, tuple[int, int]] = {}
        for clause in self.annotation.clauses:
            first, _ = bounds.get(clause.sentence, (clause.start, 0))
            bounds[clause.sentence] = (first, clause.end)
        return bounds

    def gap(self, start: int, end: int) -> tuple[str, ...]:
        """The words between two places."""
        return self.words[start:end]

    def is_pointed(self, value: Mention) -> bool:
        """Whether a number is said with its point: "3.0 incision" measures, "3 incisions" counts."""
        quantity = value.quantity
        return quantity is not None and "." in self.annotation.aligned.text[quantity.start : quantity.end]

    def preposition_before(self, mention: Mention) -> str:
        """The preposition that governs a mention, "" if none: found over articles and adjectives, not over verbs."""
        for i in range(mention.start - 1, max(-1, mention.start - 5), -1):
            word = self.words[i]
            if word in self.grammar.preposition:
                return "" if word == "in" and self.words[i + 1 : i + 3] in MANNERS else word
            if word in PUNCTUATION or word in self.grammar.auxiliary or word in self.grammar.conjunction:
                return ""
            if i in self._action_ends or i in self._noun_ends:
                return ""
        return ""

    @cached_property
    def _noun_ends(self) -> frozenset[int]:
        """Where other things end: a preposition before them governs them and nothing behind."""
        return frozenset(a.mention.end - 1 for a in self.asserted if a.mention.kind not in MODIFIERS)

    @cached_property
    def cased(self) -> bool:
        """Whether the text has capitalized words; raw recognizer output has none."""
        text = self.annotation.aligned.text[:2000]
        return any(a.isupper() and b.islower() for a, b in pairwise(text))

    @cached_property
    def dead_words(self) -> frozenset[int]:
        """Words that were taken back, the wording that took them back, and the commas around."""
        dead = set(self.taken_back)
        for cue in self.corrections:
            dead.update(range(cue.start, cue.end))
        if not dead:
            return frozenset()
        pauses = [i for i, word in enumerate(self.words) if word == "," or self.words[i : i + 2] == (".", ".")]
        for i in (*pauses, *reversed(pauses)):
            end = i + 1 + (self.words[i] == "." and self.words[i + 2 : i + 3] != (".",))
            if i - 1 in dead or end in dead:
                dead.update(range(i, end))
        return frozenset(dead)

    @cached_property
    def frequencies(self) -> list[int]:
        """Where it is said how often something is to be taken."""
        return [
            m.start
            for m in self.annotation.mentions
            if m.key == "word:frequency"
            or (m.id in ("frequency", "times") and m.quantity is not None and m.quantity.value != 1)
            or self._recurs(m)
        ]

    def _recurs(self, span: Mention) -> bool:
        """ "Every two hours"."""
        hours = span.quantity is not None and span.quantity.unit == "h"
        return hours and self.words[max(0, span.start - 1) : span.start] in (("every",), ("each",))

    @cached_property
    def lens_fates(self) -> list[tuple[int, str]]:
        """Where it is said that a lens was not implanted or was taken out."""
        fates = ("lens_not_implanted", "lens_explanted")
        return [(m.start, m.id) for m in self.annotation.mentions if m.kind == "word" and m.id in fates]

    @cached_property
    def _action_ends(self) -> frozenset[int]:
        return frozenset(a.mention.end - 1 for a in self.of("action"))

    def span(self, *mentions: Mention) -> Span:
        """Where mentions stand in the dictation, as one span from the first to the last."""
        return self.annotation.span(min(m.start for m in mentions), max(m.end for m in mentions))


def nearest(
    candidates: Sequence[Asserted], at: Mention, distance: Callable[[Mention, Mention], float], limit: float
) -> Asserted | None:
    """The candidate with the smallest `distance` to `at`, None if all are farther than `limit`.

    `candidates` stand in the order of the text; only those nearby are looked at.
    """
    best: Asserted | None = None
    least = limit
    for candidate in around(candidates, at.start):
        far = distance(candidate.mention, at)
        if far < least:
            best, least = candidate, far
    return best


def around(candidates: Sequence[Asserted], word: int, reach: int = 60) -> Sequence[Asserted]:
    """Those of `candidates`, in the order of the text, that start within `reach` words of a place."""
    first = bisect_left(candidates, word - reach, key=lambda a: a.mention.start)
    last = bisect_left(candidates, word + reach, key=lambda a: a.mention.start)
    return candidates[first:last]

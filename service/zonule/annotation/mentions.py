"""What annotation hands over: words, mentions and clauses of a text, as frozen values of our own."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from operator import attrgetter

from zonule.annotation.quantities import Quantity
from zonule.lexicon import Correction, Cue, Term
from zonule.text import AlignedText, Span


@dataclass(frozen=True, slots=True)
class Mention:
    """Words that name a concept, an action, a cue or a quantity; `start` and `end` count words, half-open.

    `tense` of an action: base, third, past, ing or noun.
    """

    start: int
    end: int
    kind: str
    id: str
    tense: str = ""
    term: Term | None = None
    quantity: Quantity | None = None
    cue: Cue | None = None
    correction: Correction | None = None

    @property
    def key(self) -> str:
        """`kind:id`."""
        return f"{self.kind}:{self.id}"


BY_PLACE = attrgetter("start", "end")
"""The order in which mentions stand in the text."""


@dataclass(frozen=True, slots=True)
class Clause:
    """A run of words around one predicate; `tense` past, present, progressive, modal, infinitive or none.

    `sentence` counts sentences; `subject` says that somebody acts ("I", "we", "you").
    """

    start: int
    end: int
    sentence: int
    tense: str
    subject: str = ""


@dataclass(frozen=True)
class Annotation:
    """A text with its words, mentions in order, and clauses.

    `words` are lower case; `starts` and `ends` their characters in the rewritten text;
    `clause_of` gives each word's clause.
    """

    aligned: AlignedText
    words: tuple[str, ...]
    starts: Sequence[int]
    ends: Sequence[int]
    mentions: tuple[Mention, ...]
    clauses: tuple[Clause, ...]
    clause_of: tuple[int, ...]

    @cached_property
    def _mention_starts(self) -> list[int]:
        return [m.start for m in self.mentions]

    def mentions_between(self, start: int, end: int) -> tuple[Mention, ...]:
        """The mentions that start in this range of words."""
        return self.mentions[bisect_left(self._mention_starts, start) : bisect_left(self._mention_starts, end)]

    @cached_property
    def sentences(self) -> dict[int, tuple[int, int]]:
        """The clauses of each sentence: first and last (inclusive), by its number."""
        bounds: dict[int, tuple[int, int]] = {}
        for at, clause in enumerate(self.clauses):
            bounds[clause.sentence] = (bounds.get(clause.sentence, (at, at))[0], at)
        return bounds

    def sentence_length(self, word: int) -> int:
        """How many words the sentence of a word has."""
        first, last = self.sentences[self.sentence_of(word)]
        return self.clauses[last].end - self.clauses[first].start

    def span(self, start: int, end: int) -> Span:
        """Where the words `start` to `end` stand in the dictation as received."""
        return self.aligned.to_original(Span(self.starts[start], self.ends[end - 1]))

    def sentence_of(self, word: int) -> int:
        """The number of the sentence that holds a word."""
        return self.clauses[self.clause_of[word]].sentence

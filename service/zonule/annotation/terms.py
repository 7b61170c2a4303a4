"""Words → mentions of terms, actions and cues, by spaCy's phrase matcher over a blank vocabulary. The longest wins."""

from collections.abc import Iterable, Sequence
from threading import Lock

from spacy.matcher import PhraseMatcher
from spacy.tokens import Doc
from spacy.vocab import Vocab

from zonule.annotation.forms import Form, Forms, Sense
from zonule.annotation.mentions import Mention

ATTRIBUTED = frozenset({"step:main_incision"})
"""Mentions whose words may name attributes of theirs."""
ATTRIBUTES = frozenset({"incision_kind", "site"})


class TermMatcher:
    """Built once from the forms of a lexicon; finds every one of them in a sequence of words.

    A form is given to the matcher when all its words have been met, so that reading one page does not wait for the
    whole lexicon: until then it waits at one word of its own that has not.
    """

    def __init__(self, forms: Forms) -> None:
        self._forms = forms
        self._vocab = Vocab()
        self._matcher = PhraseMatcher(self._vocab, attr="ORTH")
        self._senses: dict[int, tuple[Sense, ...]] = {}
        self._learned: dict[tuple[str, ...], tuple[Sense, ...]] = {}
        self._first: set[int] = set()
        self._met: set[str] = set()
        self._waiting: dict[str, list[Form]] = {}
        self._lock = Lock()

    def _learn(self, words: Iterable[str]) -> None:
        """Gives the matcher the forms whose last word is among these, once."""
        new = sorted(set(words) - self._met)
        self._met.update(new)
        for word in new:
            for form in (*self._forms.held_by(word), *self._waiting.pop(word, ())):
                awaited = next((w for w in form[0] if w not in self._met), None)
                if awaited is None:
                    self._add(*form)
                else:
                    self._waiting.setdefault(awaited, []).append(form)

    def _add(self, form: tuple[str, ...], keys: tuple[str, ...]) -> None:
        senses = tuple(map(self._forms.sense, keys))
        name = " ".join(form)
        self._matcher.add(name, [Doc(self._vocab, words=list(form))])
        key = self._vocab.strings[name]
        self._senses[key] = self._learned[form] = senses
        if any(sense.kind == "eye" for sense in senses):
            self._first.add(key)

    def _match(self, words: Sequence[str]) -> list[tuple[int, int, int]]:
        """Keys of forms with where they stand. One thread at a time: learning changes the matcher."""
        with self._lock:
            self._learn(words)
            found: list[tuple[int, int, int]] = self._matcher(Doc(self._vocab, words=list(words)))
        return found

    def find(self, words: Sequence[str], capital: Sequence[bool], taken: bytearray) -> list[Mention]:
        """Mentions in order. `capital` says which words stand in capitals; `taken` words belong to quantities.

        A longer form shuts out the shorter ones it holds; all senses of the same words are kept.
        """
        if not words:
            return []
        found = self._match(words)
        found.sort(key=lambda match: (match[0] not in self._first, match[1] - match[2], match[1]))
        used = bytearray(taken)
        mentions: list[Mention] = []
        for key, start, end in found:
            if any(used[start:end]):
                continue
            senses = [s for s in self._senses[key] if not s.capitals or capital[start]]
            if not senses:
                continue
            used[start:end] = b"\x01" * (end - start)
            mentions.extend(_mention(start, end, sense) for sense in senses)
        mentions += [inner for m in mentions if m.key in ATTRIBUTED for inner in self._inside(words, m)]
        mentions.sort(key=lambda m: (m.start, m.end))
        return mentions

    def _inside(self, words: Sequence[str], outer: Mention) -> list[Mention]:
        """The attributes that a longer form says too: a "temporal clear corneal incision" has a site and a kind."""
        found = []
        for start in range(outer.start, outer.end):
            for end in range(outer.end, start, -1):
                senses = self._learned.get(tuple(words[start:end]), ())
                found += [_mention(start, end, s) for s in senses if s.kind in ATTRIBUTES]
        return found


def _mention(start: int, end: int, sense: Sense) -> Mention:
    return Mention(start, end, sense.kind, sense.id, sense.tense, sense.term, None, sense.cue, sense.correction)

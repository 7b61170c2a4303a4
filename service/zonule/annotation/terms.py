"""Words → mentions of terms, actions and cues, by spaCy's phrase matcher over a blank vocabulary. The longest wins."""

from collections.abc import Iterable, Sequence

from spacy.matcher import PhraseMatcher
from spacy.tokens import Doc
from spacy.vocab import Vocab

from zonule.annotation.forms import Sense, collect_forms
from zonule.annotation.mentions import Mention
from zonule.lexicon import Lexicon

ATTRIBUTED = frozenset({"step:main_incision"})
"""Mentions whose words may name attributes of theirs."""
ATTRIBUTES = frozenset({"incision_kind", "site"})


class TermMatcher:
    """Built once from a lexicon; finds every form of it in a sequence of words.

    A form is given to the matcher when its first word is met for the first time, so that reading one page does not wait
    for the whole lexicon.
    """

    def __init__(self, lexicon: Lexicon) -> None:
        self._vocab = Vocab()
        self._matcher = PhraseMatcher(self._vocab, attr="ORTH")
        self._senses: dict[int, tuple[Sense, ...]] = {}
        self._first: set[int] = set()
        self.forms = collect_forms(lexicon)
        self._pending: dict[str, list[tuple[str, ...]]] = {}
        for words in self.forms:
            self._pending.setdefault(words[0], []).append(words)

    def _learn(self, words: Iterable[str]) -> None:
        """Gives the matcher the forms that begin with these words, once."""
        for word in words:
            for form in self._pending.pop(word, ()):
                self._add(form)

    def _add(self, form: tuple[str, ...]) -> None:
        senses = tuple(self.forms[form])
        name = " ".join(form)
        self._matcher.add(name, [Doc(self._vocab, words=list(form))])
        key = self._vocab.strings[name]
        self._senses[key] = senses
        if any(sense.kind == "eye" for sense in senses):
            self._first.add(key)

    def find(self, words: Sequence[str], capital: Sequence[bool], taken: bytearray) -> list[Mention]:
        """Mentions in order. `capital` says which words stand in capitals; `taken` words belong to quantities.

        A longer form shuts out the shorter ones it holds; all senses of the same words are kept.
        """
        if not words:
            return []
        self._learn(set(words))
        found = self._matcher(Doc(self._vocab, words=list(words)))
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
                senses = self.forms.get(tuple(words[start:end]), ())
                found += [_mention(start, end, s) for s in senses if s.kind in ATTRIBUTES]
        return found


def _mention(start: int, end: int, sense: Sense) -> Mention:
    return Mention(start, end, sense.kind, sense.id, sense.tense, sense.term, None, sense.cue, sense.correction)

"""Words → mentions of terms, actions and cues, by spaCy's phrase matcher over a blank vocabulary. The longest wins."""

from collections.abc import Iterable, Iterator, Sequence
from threading import Lock

from spacy.matcher import PhraseMatcher
from spacy.tokens import Doc
from spacy.vocab import Vocab

from zonule.annotation.forms import Form, Forms, Sense
from zonule.annotation.grammar import Grammar
from zonule.annotation.mentions import BY_PLACE, Mention

ATTRIBUTED = frozenset({"step:main_incision"})
"""Mentions whose words may name attributes of theirs."""
OUTER = frozenset(key.partition(":")[0] for key in ATTRIBUTED)
ATTRIBUTES = frozenset({"incision_kind", "site"})

FUNCTION_WORDS = frozenset(Grammar.__dataclass_fields__) - {"conjunction", "preposition"}
"""Terms of kind `word` that are no mentions: the grammar knows them by their words. What joins or governs is taken
back with what it stands before."""

HEAD = 2
"""So many first words of a form are given to the matcher."""
OTHER = "\ufffd"
"""What the matcher sees of a word that begins no form: its vocabulary keeps every word it has ever seen."""
FOREIGN = 16384
"""So many words that stand in no form are remembered as such."""
SLICE = 5000
"""Words that the matcher looks at in one go: its own copy of them takes much room."""


class TermMatcher:
    """Built once from the forms of a lexicon; finds every one of them in a sequence of words.

    A form is given to the matcher when all its words have been met, so that reading one page does not wait for the
    whole lexicon: until then it waits at one word of its own that has not. The
    matcher finds the first words of those that have several, and what may follow is looked up: whole, they would take
    twice the memory.
    """

    def __init__(self, forms: Forms) -> None:
        self._forms = forms
        self._vocab = Vocab()
        self._matcher = PhraseMatcher(self._vocab, attr="ORTH")
        self._senses: dict[str, tuple[Sense, ...]] = {}
        self._sizes: dict[int, tuple[int, ...]] = {}
        self._leading: set[str] = set()
        self._first: set[str] = set()
        self._capitals: set[str] = set()
        self._met: set[str] = set()
        self._foreign: set[str] = set()
        self._waiting: dict[str, list[Form]] = {}
        self._lock = Lock()

    def _learn(self, words: Iterable[str]) -> None:
        """Gives the matcher the forms whose last word is among these, once."""
        unmet = frozenset(words) - self._met - self._foreign
        new = sorted(self._forms.words_among(unmet))
        self._met.update(new)
        if len(self._foreign) > FOREIGN:
            self._foreign.clear()
        self._foreign.update(unmet.difference(new))
        for word in new:
            for form in (*self._forms.held_by(word), *self._waiting.pop(word, ())):
                awaited = next((w for w in form[0].split(" ") if w not in self._met), None)
                if awaited is None:
                    self._add(*form)
                else:
                    self._waiting.setdefault(awaited, []).append(form)

    def _add(self, name: str, keys: str) -> None:
        senses = tuple(map(self._forms.sense, keys.split(" ")))
        if " " in name:
            self._lead_to(name.split(" "))
        self._senses[name] = tuple(s for s in senses if s.kind != "word" or s.id not in FUNCTION_WORDS)
        if any(sense.capitals for sense in senses):
            self._capitals.add(name)
        if any(sense.kind == "eye" for sense in senses):
            self._first.add(name)

    def _lead_to(self, form: list[str]) -> None:
        """Gives the matcher the words with which a form begins, unless it has them."""
        name = " ".join(form[:HEAD])
        head = self._vocab.strings.add(name)
        sizes = self._sizes.get(head)
        if sizes is None:
            self._matcher.add(name, [Doc(self._vocab, words=form[:HEAD])])
            self._leading.update(form[:HEAD])
            self._sizes[head] = (len(form),)
        elif len(form) not in sizes:
            self._sizes[head] = (*sizes, len(form))

    def _match(self, words: Sequence[str]) -> list[tuple[str, int, int]]:
        """Forms with where they stand. One thread at a time: learning changes the matcher."""
        with self._lock:
            self._learn(words)
            known = self._senses
            found = [(word, at, at + 1) for at, word in enumerate(words) if word in known]
            for at in range(0, len(words), SLICE):
                found += self._match_slice(words, at)
            return found

    def _match_slice(self, words: Sequence[str], at: int) -> Iterator[tuple[str, int, int]]:
        """The forms of several words that start in a slice of the words; the words behind it are there for heads."""
        leading, known, sizes = self._leading, self._senses, self._sizes
        looked_at = [word if word in leading else OTHER for word in words[at : at + SLICE + HEAD - 1]]
        doc = Doc(self._vocab, words=looked_at)
        for head, start, _ in self._matcher(doc):
            start += at
            for size in sizes[head]:
                form = " ".join(words[start : start + size])
                if form in known and start + size <= len(words):
                    yield form, start, start + size

    def find(self, words: Sequence[str], capital: Sequence[bool], taken: bytearray) -> list[Mention]:
        """Mentions in order. `capital` says which words stand in capitals; `taken` words belong to quantities.

        A longer form shuts out the shorter ones it holds; all senses of the same words are kept.
        """
        if not words:
            return []
        first, known, capitals = self._first, self._senses, self._capitals
        found = sorted([(key not in first, start - end, start, key) for key, start, end in self._match(words)])
        used = bytearray(taken)
        mentions: list[Mention] = []
        for _, size, start, key in found:
            end = start - size
            if used.find(1, start, end) >= 0:
                continue
            senses: Sequence[Sense] = known[key]
            if key in capitals and not capital[start]:
                senses = [s for s in senses if not s.capitals]
                if not senses:
                    continue
            used[start:end] = b"\x01" * -size
            for sense in senses:
                mentions.append(_mention(start, end, sense))
        mentions += [
            inner for m in mentions if m.kind in OUTER and m.key in ATTRIBUTED for inner in self._inside(words, m)
        ]
        mentions.sort(key=BY_PLACE)
        return mentions

    def _inside(self, words: Sequence[str], outer: Mention) -> list[Mention]:
        """The attributes that a longer form says too: a "temporal clear corneal incision" has a site and a kind."""
        found = []
        for start in range(outer.start, outer.end):
            for end in range(outer.end, start, -1):
                senses = self._senses.get(" ".join(words[start:end]), ())
                found += [_mention(start, end, s) for s in senses if s.kind in ATTRIBUTES]
        return found


def _mention(start: int, end: int, sense: Sense) -> Mention:
    return Mention(start, end, sense.kind, sense.id, sense.tense, sense.term, None, sense.cue, sense.correction)

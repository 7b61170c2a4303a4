"""The lexicon's forms → word sequences with the senses they have; all of them as tables, and one by one from these."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from zonule.annotation.words import split_words
from zonule.lexicon import Action, Correction, Cue, Lexicon, Term
from zonule.lexicon.tables import Table, Tables, WordList, pack, shelve_words, unpack

LEAST_SPELLED = 3
"""Letters of an abbreviation that a recognizer may write one by one ("c c c"); shorter ones are words by chance."""
VOWELS = "aeiou"


@dataclass(frozen=True, slots=True)
class Sense:
    """One meaning of a form. `capitals` asks for capital letters in the dictation (short abbreviations)."""

    kind: str
    id: str
    tense: str = ""
    term: Term | None = None
    cue: Cue | None = None
    correction: Correction | None = None
    capitals: bool = False


def collect_forms(lexicon: Lexicon) -> dict[tuple[str, ...], list[Sense]]:
    """All word sequences of the lexicon, each with every sense it has."""
    forms: dict[tuple[str, ...], list[Sense]] = {}
    for words, sense in _all(lexicon):
        senses = forms.setdefault(words, [])
        if words and not any(s.kind == sense.kind and s.id == sense.id for s in senses):
            senses.append(sense)
    forms.pop((), None)
    return forms


Form = tuple[str, str]
"""Words, and the keys of the senses they have together, with spaces between."""
KEYS, NEXT = "  ", "   "
"""What stands before the keys of a form, and between two forms; no word holds a space."""


def compile_senses(lexicon: Lexicon) -> Tables:
    """`senses` by number, `forms` by the word of theirs that fewest forms have, and all `form_words`."""
    forms = collect_forms(lexicon)
    common = Counter(word for words in forms for word in set(words))
    senses: dict[str, str] = {}
    table: dict[str, list[str]] = {}
    encode = _SenseTexts(lexicon).encode
    for words, held in forms.items():
        rarest = min(words, key=lambda word: (common[word], word))
        keys = [senses.setdefault(encode(sense), str(len(senses))) for sense in held]
        table.setdefault(rarest, []).append(" ".join(words) + KEYS + " ".join(keys))
    return {
        "senses": {number: text for text, number in senses.items()},
        "forms": {word: NEXT.join(held) for word, held in table.items()},
        "form_words": shelve_words(common),
    }


class _SenseTexts:
    """Senses as text; terms, cues and corrections by their places in the lexicon."""

    def __init__(self, lexicon: Lexicon) -> None:
        self._terms = {(t.kind or "word", t.id): place for place, t in enumerate(lexicon.terms)}
        self._cues = {id(cue): place for place, cue in enumerate(lexicon.cues)}
        self._corrections = {id(c): place for place, c in enumerate(lexicon.corrections)}

    def encode(self, sense: Sense) -> str:
        term = self._terms[sense.term.kind or "word", sense.term.id] if sense.term else None
        near = sense.term.near if sense.term else ()
        cue, correction = self._cues.get(id(sense.cue)), self._corrections.get(id(sense.correction))
        return pack([sense.kind, sense.id, sense.tense, sense.capitals, term, near, cue, correction])


class Forms:
    """The forms and senses of the tables, each made when it is asked for."""

    def __init__(self, lexicon: Lexicon, tables: Tables) -> None:
        self._lexicon = lexicon
        self._forms: Table = tables["forms"]
        self._words = WordList(tables["form_words"])
        self._senses: Table = tables["senses"]
        self._made: dict[str, Sense] = {}

    def words_among(self, words: frozenset[str]) -> frozenset[str]:
        """Those of `words` that stand in any form."""
        return words - self._words.lacking(words)

    def held_by(self, word: str) -> list[Form]:
        """The forms that stand by this word."""
        if word not in self._forms:
            return []
        parted = (form.partition(KEYS) for form in self._forms[word].split(NEXT))
        return [(words, keys) for words, _, keys in parted]

    def sense(self, key: str) -> Sense:
        """The sense of a key."""
        made = self._made.get(key)
        if made is None:
            made = self._made[key] = self._make(*unpack(self._senses[key]))
        return made

    def _make(
        self,
        kind: str,
        name: str,
        tense: str,
        capitals: bool,
        place: int | None,
        near: list[str],
        cue: int | None,
        correction: int | None,
    ) -> Sense:
        lexicon = self._lexicon
        term = None if place is None else lexicon.terms[place]
        if term is not None and term.near != tuple(near):
            term = term.model_copy(update={"near": tuple(near)})
        return Sense(
            kind,
            name,
            tense,
            term,
            None if cue is None else lexicon.cues[cue],
            None if correction is None else lexicon.corrections[correction],
            capitals,
        )


def _all(lexicon: Lexicon) -> Iterator[tuple[tuple[str, ...], Sense]]:
    for term in lexicon.terms:
        yield from _of_term(term, lexicon)
    for action in lexicon.actions:
        yield from _of_action(action, lexicon.irregular)
    for cue in lexicon.cues:
        for form in cue.forms:
            yield _words(form), Sense("cue", cue.id, cue=cue)
    for correction in lexicon.corrections:
        for form in correction.forms:
            words = _words(form)
            sense = Sense("correction", correction.id, correction=correction)
            yield words, sense
            if len(words) > 1 and "," not in words:
                yield (words[0], ",", *words[1:]), sense


def _of_term(term: Term, lexicon: Lexicon) -> Iterator[tuple[tuple[str, ...], Sense]]:
    kind = term.kind or "word"
    senses = [Sense(kind, term.id, term=term)]
    for also in term.also:
        other_kind, _, other_id = also.partition(":")
        other = lexicon.by_key.get((other_kind, other_id))
        if other is not None and term.near:
            other = other.model_copy(update={"near": term.near})
        senses.append(Sense(other_kind, other_id, term=other))
    for form in term.forms:
        capitals = form.isupper() and len(form) <= 2 and form.isalpha()
        for words in _variants(form, plural=kind not in ("word", "field", "title", "eye")):
            for sense in senses:
                yield words, Sense(sense.kind, sense.id, term=sense.term, capitals=capitals)


def _of_action(action: Action, irregular: dict[str, tuple[str, str]]) -> Iterator[tuple[tuple[str, ...], Sense]]:
    for verb in action.verbs:
        for form, tense in inflect(verb, irregular):
            for words in _variants(form, plural=False):
                yield words, Sense("action", action.id, tense=tense)
    for noun in action.nouns:
        for words in _variants(noun, plural=False):
            yield words, Sense("action", action.id, tense="noun")


def inflect(verb: str, irregular: dict[str, tuple[str, str]]) -> list[tuple[str, str]]:
    """The forms of a verb with their tense: base, third, past (and participle), ing. A particle stays behind."""
    if verb in irregular:
        past = list(irregular[verb])
        head, _, particle = verb.partition(" ")
    else:
        head, _, particle = verb.partition(" ")
        past = [_with(p, particle) for p in irregular.get(head, (_past(head),))]
    doubled = past[0].split(" ")[0] == head + head[-1] + "ed"
    ing = (
        head + head[-1] if doubled else head[:-1] if head.endswith("e") and not head.endswith("ee") else head
    ) + "ing"
    forms = [(verb, "base"), (_with(_third(head), particle), "third"), (_with(ing, particle), "ing")]
    return [*((p, "past") for p in past), *((f, t) for f, t in forms if f not in past)]


def _with(head: str, particle: str) -> str:
    return f"{head} {particle}" if particle else head


def _past(head: str) -> str:
    if head.endswith("e"):
        return head + "d"
    if head.endswith("y") and head[-2:-1] not in VOWELS:
        return head[:-1] + "ied"
    return head + "ed"


def _third(head: str) -> str:
    if head.endswith(("s", "sh", "ch", "x", "z", "o")):
        return head + "es"
    if head.endswith("y") and head[-2:-1] not in VOWELS:
        return head[:-1] + "ies"
    return head + "s"


def _variants(form: str, *, plural: bool) -> Iterator[tuple[str, ...]]:
    """The form with its hyphens as spaces, closed up, with the plural of its last word, with its capitals apart."""
    spellings = (form, form.replace("-", "")) if "-" in form else (form,)
    for spelled in spellings:
        words = _words(spelled)
        yield words
        if plural and words and words[-1].isalpha() and len(words[-1]) > 2 and not words[-1].endswith("s"):
            yield (*words[:-1], _third(words[-1]))
    parts = form.split()
    if any(part.isalpha() and part.isupper() and len(part) >= LEAST_SPELLED for part in parts):
        yield _words(" ".join(" ".join(part) if part.isupper() and part.isalpha() else part for part in parts))


def _words(form: str) -> tuple[str, ...]:
    """The words of a form as `split_words` gives them; plain ones are split the quick way."""
    if form.replace(" ", "").isalpha() and form.isascii():
        return tuple(form.lower().split())
    return tuple(split_words(form)[0])

"""The lexicon's forms → word sequences with the senses they have."""

from collections.abc import Iterator
from dataclasses import dataclass

from zonule.annotation.words import split_words
from zonule.lexicon import Action, Correction, Cue, Lexicon, Term

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
    """The form with its hyphens as spaces, closed up, and with the plural of its last word."""
    spellings = (form, form.replace("-", "")) if "-" in form else (form,)
    for spelled in spellings:
        words = _words(spelled)
        yield words
        if plural and words and words[-1].isalpha() and len(words[-1]) > 2 and not words[-1].endswith("s"):
            yield (*words[:-1], _third(words[-1]))


def _words(form: str) -> tuple[str, ...]:
    """The words of a form as `split_words` gives them; plain ones are split the quick way."""
    if form.replace(" ", "").isalpha() and form.isascii():
        return tuple(form.lower().split())
    return tuple(split_words(form)[0])

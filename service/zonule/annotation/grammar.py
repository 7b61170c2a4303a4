"""The function words of English by class, from the lexicon."""

from dataclasses import dataclass

from zonule.lexicon import Lexicon


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

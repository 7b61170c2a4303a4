"""The lexicon entry that a proposal would make, or why it can make none."""

import json
import re
from collections.abc import Collection
from dataclasses import dataclass

from zonule.answers import CLOSED, KINDS
from zonule.lexicon import Lexicon
from zonule.lexicon.schema import Kind, Mishearing, Term
from zonule.normalization.ordinary_words import COMMON, load_frequency_order
from zonule.store import CorrectionKind, Proposal

WORDS = re.compile(r"[^\W\d_]+(?:[-'’ ][^\W\d_]+)*")
"""What can be learned: words alone. Numbers are read by their grammar, and a number could be a patient's."""
MOST_WORDS = 6


@dataclass(frozen=True, slots=True)
class ProposedEntry:
    """An entry of the unit's lexicon as TOML, or none and the `reason` why nothing can be learned."""

    toml: str
    reason: str = ""

    @property
    def teaches(self) -> bool:
        """Whether there is anything to accept."""
        return bool(self.toml)


def entry_of(proposal: Proposal, lexicon: Lexicon) -> ProposedEntry:
    """What the unit's lexicon would get.

    A repair accepted becomes a known mishearing, a refused one a word that is left alone, and the words of an answer
    another form of the concept that they stood for.
    """
    if not WORDS.fullmatch(proposal.heard) or len(proposal.heard.split()) > MOST_WORDS:
        return _none(f"expected one to {MOST_WORDS} words without digits, got others")
    if proposal.kind is CorrectionKind.ANSWER:
        return _answer(proposal, lexicon)
    if proposal.kind is CorrectionKind.REPAIR_REFUSED:
        return _refused_repair(proposal, lexicon)
    return _accepted_repair(proposal, lexicon)


def _accepted_repair(proposal: Proposal, lexicon: Lexicon) -> ProposedEntry:
    heard, reading = proposal.heard.casefold(), proposal.reading.casefold()
    if not WORDS.fullmatch(reading) or heard == reading:
        return _none("expected another reading in words without digits")
    if any(known.read_as.casefold() == reading and _hears(known, heard) for known in lexicon.mishearings):
        return _none("the lexicon knows this mishearing already")
    if _is_everyday(heard):
        return _none("one everyday word would be repaired everywhere; write the entry by hand, with `near`")
    return ProposedEntry(_toml("mishearing", {"heard": [heard], "read_as": reading}, proposal))


def _refused_repair(proposal: Proposal, lexicon: Lexicon) -> ProposedEntry:
    heard = proposal.heard.casefold()
    if any(_hears(known, heard) for known in lexicon.mishearings):
        return _none("it is a known mishearing of the lexicon; take that entry out by hand")
    if _has_form(lexicon.terms, heard):
        return _none("the lexicon knows these words already")
    return ProposedEntry(_toml("term", {"id": _id(heard), "kind": "word", "forms": [heard]}, proposal))


def _answer(proposal: Proposal, lexicon: Lexicon) -> ProposedEntry:
    slot, _, value = proposal.reading.partition("=")
    heard, kinds = proposal.heard.casefold(), KINDS.get(slot.strip())
    if kinds is None:
        return _none("the answers of this slot are no words of the trade")
    named = _concept([term for kind in kinds for term in lexicon.of_kind(kind)], value.strip())
    if named is None and (slot.strip() in CLOSED or not WORDS.fullmatch(value.strip().replace("_", " "))):
        return _none("the answer is no concept of the lexicon")
    if named is not None and _has_form([named], heard):
        return _none("the lexicon knows these words already")
    if _is_everyday(heard):
        return _none("one everyday word would be read everywhere; write the entry by hand, with `near`")
    kind: Kind = (named.kind if named else None) or kinds[0]
    forms = [heard] if named else list(dict.fromkeys([value.strip().replace("_", " ").casefold(), heard]))
    name = named.id if named else _id(value)
    return ProposedEntry(_toml("term", {"id": name, "kind": kind, "forms": forms}, proposal))


def _concept(terms: Collection[Term], value: str) -> Term | None:
    return next((term for term in terms if term.id == value or _has_form([term], value.casefold())), None)


def _hears(known: Mishearing, heard: str) -> bool:
    return heard in map(str.casefold, known.heard)


def _has_form(terms: Collection[Term], words: str) -> bool:
    wanted = _bare(words)
    return any(wanted == _bare(form) for term in terms for form in term.forms)


def _bare(words: str) -> str:
    return "".join(c for c in words.casefold() if c.isalnum())


def _is_everyday(heard: str) -> bool:
    return " " not in heard and load_frequency_order().get(heard, COMMON) < COMMON


def _id(words: str) -> str:
    return "_".join(re.findall(r"[^\W_]+", words.casefold()))


def _toml(table: str, values: dict[str, str | list[str]], proposal: Proposal) -> str:
    """A table of the file; a basic string of TOML is written as JSON writes it."""
    people = "one person" if proposal.people == 1 else f"{proposal.people} people"
    source = f"corrections of the unit: {proposal.count} by {people}"
    lines = [f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in {**values, "source": source}.items()]
    return "\n".join([f"[[{table}]]", *lines, ""])


def _none(reason: str) -> ProposedEntry:
    return ProposedEntry("", reason)

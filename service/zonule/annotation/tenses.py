"""When a clause speaks of what it tells: before, now, always, or not at all. Pure word-range logic."""

from collections.abc import Collection, Mapping, Sequence

from zonule.annotation.grammar import Grammar
from zonule.annotation.mentions import Mention

HAVING = frozenset({"have", "has", "'ve", "i've", "we've", "haven't", "hasn't"})
BEING = frozenset({"am", "is", "are", "'m", "'re", "'s", "i'm", "we're", "it's", "that's", "isn't", "aren't"})
LYING = frozenset({"sits", "lies"})
STRONG = frozenset({
    "been", "gone", "come", "had", "done", "taken", "given", "put", "made", "set", "begun", "seen", "got", "gotten",
    "become", "drawn", "cut", "split", "left", "found", "kept", "lost", "torn", "fallen", "broken", "run", "brought",
})  # fmt: skip
"""Participles that do not end in -ed."""
SUBORDINATE = frozenset({"when", "once", "until", "till", "if", "after", "before", "unless", "while", "whenever"})
"""Words behind which the perfect tells what comes first, not that it came ("once the groove has been cut")."""
ANYBODY = frozenset({"you", "one", "they"})
"""Subjects of what people do."""
FIRST = frozenset({"i", "we"})
INDEFINITE = frozenset({"a", "an", "any", "every", "each", "some", "many", "most"})
DEFINITE = frozenset({"the", "these", "those", "this", "that", "both", "all", "my", "our", "her", "his", "its", "two"})
ADJECTIVAL = frozenset({"complete", "clear", "dry", "clean", "free", "open", "close", "separate", "loose"})
"""Verbs that are adjectives as well."""
LEAST_ING = 5
"""Letters of a verb in -ing; shorter words are none ("ring")."""


def tell_tense(
    words: Sequence[str],
    start: int,
    end: int,
    actions: Mapping[int, Mention],
    grammar: Grammar,
    named: Collection[int] = (),
    shielded: Collection[int] = (),
) -> tuple[str, str]:
    """The tense of a clause (past, present, progressive, modal, infinitive, imperative or none) and its subject.

    Words in `named` are names of things, whatever verbs they may be as well; words in `shielded` only compare or
    remark ("a shade bigger than I'd do").

    The perfect tells what was done and counts as past, except of people at large or behind "once", "when", "until".
    """
    tense = "none"
    subject = ""
    for i in range(start, end):
        word = words[i]
        if word in grammar.subject and not subject:
            subject = word
        if i in shielded:
            continue
        if word in grammar.modal and not is_noun(words, i, grammar):
            return "modal", subject
        if word in grammar.auxiliary_past:
            tense = "past"
        elif word in grammar.auxiliary_present and tense in ("none", "infinitive", "imperative"):
            tense = _of_auxiliary(words, start, i, end, subject, grammar)
        action = actions.get(i)
        if action is None:
            continue
        if action.tense == "past" and tense in ("none", "infinitive", "progressive") and words[i - 1 : i] != ["to"]:
            tense = "past"
        elif tense == "none" and (
            action.tense == "third" or (action.tense == "base" and i > start and words[i - 1] in grammar.subject)
        ):
            tense = "present"
        elif action.tense == "base" and tense == "none":
            commands = i == start and i not in named and not _describes(words, i, end, grammar)
            tense = "infinitive" if i > start and words[i - 1] == "to" else "imperative" if commands else tense
        elif action.tense == "ing" and tense in ("none", "present"):
            tense = "progressive"
    return tense, subject


def _describes(words: Sequence[str], i: int, end: int, grammar: Grammar) -> bool:
    """ "Complete, then hydrodissection": a verb that is an adjective as well commands only with what it is done to."""
    following = words[i + 1] if i + 1 < end else ""
    return words[i] in ADJECTIVAL and following not in grammar.determiner and following not in grammar.pronoun


def _of_auxiliary(words: Sequence[str], start: int, at: int, end: int, subject: str, grammar: Grammar) -> str:
    """The tense that an auxiliary of the present makes with the verb behind it."""
    following = at + 1
    while following < end and (words[following] in grammar.adverb - STRONG or words[following] in grammar.negator):
        following += 1
    if following >= end:
        return "present"
    verb = words[following]
    if words[at] in HAVING and (verb in STRONG or verb.endswith("ed")):
        told = subject not in ANYBODY and SUBORDINATE.isdisjoint(words[start:at])
        return "past" if told else "present"
    if words[at] in BEING and verb.endswith("ing") and len(verb) >= LEAST_ING:
        return "progressive"
    return "present"


def tells_of_case(words: Sequence[str], start: int, end: int, subject: str, means: Collection[int]) -> bool:
    """Whether a clause in the present tense tells how something stands here ("the vacuum is 420", "I have an overlap").

    What people do ("I sculpt with 40", "you hold it"), what things do ("a cohesive opens the bag") and how a means is
    ("divide and conquer is safe") it does not. `means` are the words that name means.
    """
    if subject in ANYBODY or words[start] in INDEFINITE:
        return False
    verb = next((i for i in range(start, end) if words[i] in BEING | HAVING | LYING), None)
    if verb is None or (words[verb] in ("have", "are") and _is_bare_plural(words, start, verb)):
        return False
    if any(i in means for i in range(start, verb)) and not _is_placed(words[verb + 1 : verb + 3]):
        return False
    return subject not in FIRST or words[verb - 1] == subject


def _is_placed(said: Sequence[str]) -> bool:
    """Whether what is said of a means is where it is or what was done with it ("is in", "is now given")."""
    return any(w in ("in", "out", "on", "under", "over") or w in STRONG or w.endswith("ed") for w in said)


def _is_bare_plural(words: Sequence[str], start: int, verb: int) -> bool:
    """Things at large ("hooks are placed at four points"), not these ("the hooks are in")."""
    return verb > start and words[verb - 1].endswith("s") and not any(w in DEFINITE for w in words[start:verb])


def is_noun(words: Sequence[str], i: int, grammar: Grammar) -> bool:
    """ "In may" and "can opener" are no doubts."""
    if words[i] == "can":
        return words[i + 1 : i + 2] == ["opener"]
    return words[i] == "may" and i > 0 and (words[i - 1] in grammar.preposition or words[i - 1].isdigit())

""" "One" as a number and "one" as a pronoun ("one can see", "this one")."""

from zonule.normalization.clock_times import is_clock, leads_to_clock
from zonule.normalization.number_tokens import Tokens
from zonule.normalization.suture_sizes import is_suture_size


def counts_as_number(t: Tokens, i: int) -> bool:
    """Whether the lone "one" at `i` is a number: a unit, a size, a count or another number beside it says so."""
    lists = t.vocabulary.lists
    labels = t.words[i - 1] in lists.numbered or t.words[i - 1] in lists.settings or t.words[i - 1] in ("times", "x")
    if labels and t.joined(i) and t.words[i + 1] not in lists.pronoun_after:
        return True
    if t.joined(i) and t.words[i - 1] in lists.pronoun_before and t.words[i - 1] != "only":
        return False
    if t.unit_at(i + 1) is not None and not _is_word_unit(t, i + 1):
        return True
    if is_suture_size(t, i + 1) or (t.joined_word(i + 1, ("plus",))):
        return t.joined(i + 1)
    if t.joined_word(i + 1, lists.counted) and t.words[i + 1] not in ("to", "or", "and"):
        return True
    return leads_to_clock(t, i) or _leads_to_number(t, i)


def _is_word_unit(t: Tokens, i: int) -> bool:
    """A unit of one letter is too weak to make "one" a number."""
    return len(t.words[i]) == 1 and len(t.words[i + 1]) != 1 and not is_clock(t, i)


def _leads_to_number(t: Tokens, i: int) -> bool:
    """ "One to two drops", "one and seven o'clock", "between one and two millimeters"."""
    if (
        not t.joined_word(i + 1, ("to", "or", "and"))
        or t.kinds[i + 2] not in ("D", "T", "Y", "N")
        or not t.joined(i + 2)
    ):
        return False
    at = i + 3
    if t.words[i + 1] == "to":
        return True
    return t.unit_at(at) is not None or t.words[at] in t.vocabulary.lists.counted


def zero_counts(t: Tokens, i: int) -> bool:
    """Whether a lone "zero" at `i` is a value; "zero complications" says there were none, and stays a word."""
    lists = t.vocabulary.lists
    if t.joined(i) and (
        t.words[i - 1] in lists.numbered or t.words[i - 1] in lists.settings or t.words[i - 1] in ("to", "at", "from")
    ):
        return True
    return t.unit_at(i + 1) is not None or (t.joined_word(i + 1, ("to", "and", "or")) and t.kinds[i + 2] != "")

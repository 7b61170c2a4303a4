"""The capsulorhexis: its diameter without a unit, and whether it is complete."""

from collections.abc import Iterator

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.found import Found, found
from zonule.binding.reading import Reading

WHOLE = frozenset({"compl", "complete", "completed", "intact", "360", "whole"})
PARTIAL = frozenset({"incomplete", "discontinuous"})
DENIED = frozenset({"not", "isn't", "wasn't", "never"}) | PARTIAL
"""Words before "complete" that say it is not."""
ALONE = 3
"""Words of a sentence that says nothing else ("Complete.")."""
ROUND = frozenset({"round", "around"})


def bind_complete(reading: Reading) -> Iterator[Found]:
    """A rhexis said to be complete."""
    for head in reading.of("step"):
        if head.mention.id != "capsulorhexis":
            continue
        word = _word_of(reading, head.mention) or _pronoun(reading, head)
        if word is not None:
            said = Mention(word, word + 1, "word", "complete")
            whole = DENIED.isdisjoint(reading.words[max(0, word - 3) : word + 1])
            yield found("capsulorhexis.complete", whole, head, Asserted(said, head.status, head.cue))
            return


def _word_of(reading: Reading, head: Mention) -> int | None:
    """Where the sentence of a rhexis says that it is whole."""
    first, last = reading.sentence(head.start)
    clause = reading.clause(head.start)
    ahead = [i for i in range(head.end, min(last, head.end + 24)) if i not in reading.dead_words]
    stop = next((a.mention.start for a in reading.between(head.end, last) if a.mention.kind == "step"), last)
    behind = range(max(first, clause.start, head.start - 5), head.start)
    near = [*behind, *(i for i in ahead[:14] if i < stop)]
    return next((i for i in near if reading.words[i] in WHOLE | PARTIAL or _all_round(reading, i)), None)


def _all_round(reading: Reading, i: int) -> bool:
    """ "All the way round", "came full circle", "round and closed"."""
    said = reading.words[max(0, i - 2) : i + 1]
    return said == ("all", "the", "way") or said[-2:] == ("full", "circle") or said == ("round", "and", "closed")


def _pronoun(reading: Reading, head: Asserted) -> int | None:
    """ "… the rhexis. It's round, it's complete": told in one of the next sentences by a pronoun, no step between."""
    reach = min(len(reading.words), head.mention.end + 45)
    stop = next(
        (
            a.mention.start
            for a in reading.between(head.mention.end, reach)
            if a.mention.kind == "step" and a.mention.id != "capsulorhexis"
        ),
        reach,
    )
    for i in range(head.mention.end, stop):
        if reading.words[i] in WHOLE - {"360", "intact"}:
            first, last = reading.sentence(i)
            around = set(reading.words[max(first, i - 14) : i])
            spoken = {"it", "it's", "'s"} & around or (last - first <= 8 and ROUND & around) or last - first <= ALONE
            denied = {"not", "never", "if", "once", "until", "when"} & set(reading.words[max(first, i - 5) : i])
            return i if spoken and not denied else None
    return None

"""Lenses that did not go in: opened and left out, never opened, or none at all."""

from dataclasses import replace

from zonule.binding.found import Found
from zonule.binding.reading import Reading
from zonule.vocabulary import Status

SHUT = frozenset({"box", "packet", "considered", "unopened", "shelf", "discussed", "contemplated", "trolley"})
NO_LENS = (("lens",), ("iol",), ("implant",))
PUT_IN = frozenset({"implanted", "inserted", "put", "placed", "went", "given"})
SEALED = frozenset({"unopened", "sealed"})
"""Words that say so wherever the box went."""
SEALED_REACH = 12
OPENED = frozenset({"opened", "open", "loaded", "returned", "back", "discarded", "wasted", "first"})
NEVER = frozenset({"not", "never", "wasn't", "weren't", "didn't", "been", "be", "if", "to"})
"""Words before "opened" that make it no opening."""


def left_without(reading: Reading) -> bool:
    """Whether it is said that the eye got no lens: whatever lens is told of then did not go in."""
    for i in reading.where(frozenset({"no"})):
        behind = set(reading.words[i + 2 : i + 6])
        if reading.words[i + 1 : i + 2] in NO_LENS and behind & PUT_IN and "." not in reading.words[i : i + 3]:
            return True
    return any(
        a.mention.id == "aphakia" and "left" in reading.words[a.mention.start : a.mention.end]
        for a in reading.done("diagnosis")
    )


def not_put_in(part: Found) -> Found:
    told = part.slot.startswith("lens.") and part.status is Status.DONE
    return replace(part, status=Status.NOT_DONE) if told else part


def _stayed_shut(reading: Reading, at: int) -> bool:
    """Whether a lens that did not go in was not even opened: it stayed in its box, or was only thought of."""
    first, last = reading.sentence(at)
    words = set(reading.words[first:last])
    near = reading.words[max(first, at - SEALED_REACH) : min(last, at + SEALED_REACH)]
    return not SEALED.isdisjoint(near) or (not SHUT.isdisjoint(words) and OPENED.isdisjoint(words))


def _was_opened(reading: Reading, at: int) -> bool:
    """ "Already open on the trolley was …": a lens that stood by was opened all the same."""
    first, last = reading.sentence(at)
    words = reading.words
    return any(
        words[i] in ("open", "opened") and NEVER.isdisjoint(words[max(first, i - 3) : i]) for i in range(first, last)
    )


def as_fate(reading: Reading, part: Found) -> Found:
    """What is told of a lens not implanted or taken out is done in that sense, though its words are a denial."""
    fated = part.slot.startswith(("lens_not_implanted.", "lens_explanted."))
    if part.cue is not None and part.cue.id == "standby" and not (fated and _was_opened(reading, part.at)):
        return part
    if part.slot.startswith("lens_not_implanted.") and _stayed_shut(reading, part.at):
        return replace(part, status=Status.NOT_DONE) if part.status is Status.DONE else part
    if fated and part.status in (Status.NOT_DONE, Status.HISTORICAL, Status.PLANNED):
        return replace(part, status=Status.DONE, cue=None)
    return part

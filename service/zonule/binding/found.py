"""A fact before it enters the record: slot, value, status and the mentions it hangs by."""

from dataclasses import dataclass

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.vocabulary import Status


@dataclass(frozen=True, slots=True)
class Found:
    """`mentions` are the evidence, the deciding one first; `group` numbers the lens or drug a part belongs to."""

    slot: str
    value: object
    status: Status
    mentions: tuple[Mention, ...]
    cue: Mention | None = None
    group: int = 0

    @property
    def at(self) -> int:
        """The word at which the deciding mention starts."""
        return self.mentions[0].start


def found(slot: str, value: object, *parts: Asserted, group: int = 0) -> Found:
    """A fact from asserted mentions: done only when every part was done."""
    deciding = next((p for p in parts if p.status is not Status.DONE), parts[0])
    return Found(slot, value, deciding.status, tuple(p.mention for p in parts), deciding.cue, group)

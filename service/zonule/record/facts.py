"""A fact: a value and the thread it hangs by."""

from typing import Generic, TypeVar

from pydantic import BaseModel, ConfigDict, model_validator

from zonule.vocabulary import Origin, Status

T = TypeVar("T")


class Frozen(BaseModel):
    """Base of all record models: immutable, unknown fields refused."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Evidence(Frozen):
    """Words in the dictation exactly as received: `text == dictation[start:end]`, characters."""

    start: int
    end: int
    text: str

    @model_validator(mode="after")
    def _spans_its_text(self) -> "Evidence":
        if self.end - self.start != len(self.text):
            raise ValueError(f"evidence {self.start}-{self.end}: expected {self.end - self.start} characters of text")
        return self


class ReadAs(Frozen):
    """Words read as something other than spelled: a repaired term or a spoken number."""

    heard: str
    read_as: str
    score: float | None = None
    rule: str


class Fact(Frozen, Generic[T]):
    """A value of the record (record contract, section 1).

    `cue` is the wording that decided a status other than done; `time_s` counts seconds into a timed source.
    A fact without evidence must say by `origin` why: label, worklist or person.
    """

    value: T
    status: Status = Status.DONE
    evidence: tuple[Evidence, ...] = ()
    origin: Origin = Origin.DICTATION
    time_s: float | None = None
    read_as: tuple[ReadAs, ...] = ()
    cue: Evidence | None = None

    @model_validator(mode="after")
    def _hangs_by_a_thread(self) -> "Fact[T]":
        if self.origin is Origin.DICTATION and not self.evidence:
            raise ValueError("a dictated value needs at least one evidence span")
        return self

"""Sessions, users, lists, finds, corrections and the trail as they go in and out."""

import datetime
from typing import Annotated, Literal

from pydantic import Field, StringConstraints, model_validator

from zonule.case_data import CaseData
from zonule.store.kept import CaseState, CorrectionKind, NoteState, Role
from zonule.web.api.reading_models import Closed, Shown

UserName = Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9._-]{0,63}$")]
Line = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=200)]
Password = Annotated[str, StringConstraints(min_length=12, max_length=1000)]
Cursor = Annotated[str, StringConstraints(pattern=r"^[\x21-\x7e]{1,300}$")]
Limit = Annotated[int, Field(ge=1, le=200)]


class Credentials(Closed):
    """Name and password."""

    name: Annotated[str, StringConstraints(max_length=200)]
    password: Annotated[str, StringConstraints(max_length=1000)]


class UserShown(Shown):
    """Somebody who works with the service."""

    name: str
    full_name: str
    roles: tuple[Role, ...]
    added_at: datetime.datetime
    disabled: bool
    issuer: str | None
    subject: str | None


class SessionShown(Shown):
    """The session of who is signed in; send `csrf_token` as X-CSRF-Token with every write."""

    user: UserShown
    expires_at: datetime.datetime
    csrf_token: str


class NewUser(Closed):
    """A new user; without a password only single sign-on lets them in."""

    name: UserName
    full_name: Line
    roles: tuple[Role, ...] = Field(min_length=1, max_length=4)
    password: Password | None = None


class UserChange(Closed):
    """What changes of a user; what is left out stays. `issuer` and `subject` link an account of single sign-on."""

    roles: tuple[Role, ...] | None = Field(default=None, min_length=1, max_length=4)
    password: Password | None = None
    disabled: bool | None = None
    issuer: Line | None = None
    subject: Line | None = None

    @model_validator(mode="after")
    def _links_both_or_none(self) -> "UserChange":
        if (self.issuer is None) != (self.subject is None):
            raise ValueError("issuer and subject: expected both or none")
        return self


class ListInput(Closed):
    """A day's operating list as CSV with a header, or as JSON (see the documentation of case data)."""

    text: Annotated[str, StringConstraints(min_length=1, max_length=1_000_000)]


class ListedShown(Shown):
    """A case of the day's list and where its note stands."""

    id: str
    day: datetime.date
    position: int
    case: CaseData
    note_id: str | None
    state: CaseState


class ListShown(Shown):
    """One day's list, and how many of its cases stand where."""

    day: datetime.date
    cases: tuple[ListedShown, ...]
    counts: dict[CaseState, int]


class DaysShown(Shown):
    """The days that have a list, the latest first."""

    days: tuple[datetime.date, ...]


class LensSought(Closed):
    """Notes by lens, by day and surgeon, or by hospital number: one of the three ways."""

    serial: Line | None = None
    lot: Line | None = None
    model: Line | None = None
    first: datetime.date | None = None
    last: datetime.date | None = None
    surgeon: Line | None = None
    hospital_number: Line | None = None
    limit: Limit = 50
    cursor: Cursor | None = None

    @property
    def way(self) -> Literal["lens", "day", "number", "none", "mixed"]:
        """Which way of finding is asked for."""
        ways = {
            "lens": (self.serial, self.lot, self.model),
            "day": (self.first, self.last, self.surgeon),
            "number": (self.hospital_number,),
        }
        asked = [way for way, values in ways.items() if any(value is not None for value in values)]
        if len(asked) > 1:
            return "mixed"
        return asked[0] if asked else "none"  # type: ignore[return-value]


class Recalled(Closed):
    """What is recalled: exactly one of lot, serial number or model."""

    lot: Line | None = None
    serial: Line | None = None
    model: Line | None = None

    @model_validator(mode="after")
    def _names_one(self) -> "Recalled":
        if sum(value is not None for value in (self.lot, self.serial, self.model)) != 1:
            raise ValueError("lot, serial, model: expected exactly one of them")
        return self


class FoundShown(Shown):
    """A lens or other implant and the note that tells of it; see `status` for what became of it."""

    note_id: str
    state: NoteState
    date: datetime.date | None
    surgeon: str | None
    hospital_number: str | None
    patient: str | None
    eye: str | None
    kind: str | None
    status: str | None
    manufacturer: str | None
    model: str | None
    power_d: float | None
    serial_number: str | None
    lot_number: str | None


class FoundPage(Shown):
    """Some of what was found; `cursor` asks for what follows, none at the end."""

    items: tuple[FoundShown, ...]
    cursor: str | None


class RecallShown(Shown):
    """Everyone who received what is recalled."""

    count: int
    items: tuple[FoundShown, ...]


class CorrectionInput(Closed):
    """What a person did with a reading; of an answer, `reading` is `SLOT=VALUE`."""

    kind: CorrectionKind
    heard: Line
    reading: Line


class CorrectionShown(Shown):
    """The proposal that a correction counts for."""

    proposal: str


class ProposalShown(Shown):
    """Corrections of one kind that say the same, and what was decided."""

    id: str
    kind: CorrectionKind
    heard: str
    reading: str
    count: int
    people: int
    first_at: datetime.datetime
    last_at: datetime.datetime
    accepted: bool | None
    decided_by: str | None
    decided_at: datetime.datetime | None


class Decision(Closed):
    """Whether a proposal becomes an entry of the unit's lexicon."""

    accept: bool


class EntryShown(Shown):
    """Who did what to what; `hash` chains the entry to the `previous` one."""

    number: int
    at: datetime.datetime
    actor: str
    action: str
    subject: str
    detail: dict[str, int | str]
    previous: str
    hash: str


class TrailPage(Shown):
    """Some entries, the newest first; `cursor` asks for what follows."""

    items: tuple[EntryShown, ...]
    cursor: str | None


class Verification(Shown):
    """Whether the trail is as it was written; `broken` is the number of the first entry that is not."""

    whole: bool
    broken: int | None


class HealthShown(Shown):
    """Whether the service can work."""

    status: Literal["ok"] = "ok"
    version: str

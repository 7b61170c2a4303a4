"""Invented notes, users and times for the tests of the store and of what stands on it."""

import datetime
from collections.abc import Iterator
from itertools import count
from typing import Any

from argon2 import PasswordHasher

from zonule.record import (
    Complications,
    Evidence,
    Fact,
    Gap,
    GapReport,
    Implant,
    Lens,
    Operation,
    OperationRecord,
    Patient,
    Team,
)
from zonule.store import NoteDraft, Store
from zonule.vocabulary import ComplicationStatement, Eye, GapKind, LensStatus, Origin, Severity

QUICK = PasswordHasher(time_cost=1, memory_cost=64, parallelism=1)
"""Hashes without the time that a real hash takes."""
PASSWORD = "harrowmere lies by the sea"
BEGIN = datetime.datetime(2026, 3, 12, 8, 0, tzinfo=datetime.UTC)
OPEN = Gap(kind=GapKind.MISSING, id="operation.eye", severity=Severity.MUST, question="Which eye was operated on?")
DAY = datetime.date(2026, 3, 12)


class Ticking:
    """A clock that goes on by one second whenever somebody looks at it, and can be set."""

    def __init__(self, at: datetime.datetime = BEGIN) -> None:
        self.at = at

    def __call__(self) -> datetime.datetime:
        self.at += datetime.timedelta(seconds=1)
        return self.at

    def skip(self, **amount: float) -> None:
        """Lets time pass."""
        self.at += datetime.timedelta(**amount)


def said(value: Any) -> Fact[Any]:
    """A value that a person typed in."""
    return Fact(value=value, origin=Origin.PERSON)


def lens(
    serial: str | None = None,
    lot: str | None = None,
    model: str | None = None,
    status: LensStatus = LensStatus.IMPLANTED,
) -> Lens:
    """A lens with as much of an identity as is given."""
    parts = {"serial_number": serial, "lot_number": lot, "model": model}
    return Lens(status=status, **{name: said(value) for name, value in parts.items() if value})


def operation(
    *lenses: Lens,
    day: datetime.date | None = DAY,
    surgeon: str | None = "Imogen Sallow",
    number: str | None = "HEU-4711",
    patient: str | None = "Edda Quill",
    eye: Eye | None = Eye.RIGHT,
    implants: tuple[Implant, ...] = (),
    **further: Any,
) -> OperationRecord:
    """A record of an operation at the Harrowmere Eye Unit."""
    return OperationRecord(
        operation=Operation(eye=said(eye) if eye else None, date=said(day) if day else None),
        team=Team(surgeon=said(surgeon) if surgeon else None),
        patient=Patient(name=said(patient) if patient else None, hospital_number=said(number) if number else None),
        lenses=lenses,
        other_implants=tuple(said(implant) for implant in implants),
        **further,
    )


def complicated(*events: str) -> Complications:
    """What a record says of complications: those named, or that there were none."""
    statement = ComplicationStatement.PRESENT if events else ComplicationStatement.NONE
    return Complications(statement=statement, statement_fact=said(statement), events=tuple(map(said, events)))


def draft(
    record: OperationRecord | None = None, *gaps: Gap, words: str = "Right eye, twelfth of March.", **of: Any
) -> NoteDraft:
    """What is saved of a note, ready to be signed unless `gaps` are open."""
    held = record or operation(findings=(Fact(value="x", evidence=(Evidence(start=0, end=5, text=words[:5]),)),))
    return NoteDraft(dictation=words, record=held, report=GapReport(gaps=gaps), **of)


def add_user(store: Store, name: str = "imogen", *roles: str) -> str:
    """A user of the unit; gives the name."""
    full_name = f"{name.capitalize()} Sallow"
    return store.users.add(name, full_name, roles or ("author", "signer"), PASSWORD).name


def lens_numbers() -> Iterator[str]:
    """Serial numbers that nobody had before."""
    return (f"HM{number:06d}" for number in count(1))

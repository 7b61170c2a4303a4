"""The day's operating list, and where the note of each case stands."""

import datetime
import uuid
from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from zonule.case_data import CaseData
from zonule.store.database import Database, take_turn
from zonule.store.faults import NotFoundError, RefusedError
from zonule.store.kept import CaseState, ListedCase, NoteState
from zonule.store.tables import CaseRow, NoteRow
from zonule.store.trail import enter

STANDS = {
    NoteState.DRAFT: CaseState.GAPS_OPEN,
    NoteState.COMPLETE: CaseState.READY,
    NoteState.SIGNED: CaseState.SIGNED,
}


class Lists:
    """Operating lists by day."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def import_list(self, day: datetime.date, cases: Sequence[CaseData], by: str) -> tuple[ListedCase, ...]:
        """Takes the list of a day, or a newer state of it.

        A case that was on the list keeps its note; one that is no longer on it goes, unless it has a note, and then
        stands at the end. Raises RefusedError for a case of another day.
        """
        for number, case in enumerate(cases, 1):
            if case.date is not None and case.date != day:
                raise RefusedError(f"Case {number}: expected a case of {day}, got one of {case.date}; import that day.")
        with self._database.writing() as session:
            take_turn(session.connection(), f"list {day}")
            at = self._database.clock()
            held = _rows(session, day)
            for position, case in enumerate(cases, 1):
                _place(session, held, day, position, case, by, at)
            _drop(session, held, len(cases))
            session.flush()
            enter(session, at, by, "list.import", day.isoformat(), {"cases": len(cases)})
            return _of_day(session, day)

    def of_day(self, day: datetime.date) -> tuple[ListedCase, ...]:
        """The cases of a day in their order; none for a day without a list."""
        with self._database.reading() as session:
            return _of_day(session, day)

    def get(self, case_id: str) -> ListedCase:
        """Raises NotFoundError."""
        query = select(CaseRow, NoteRow).outerjoin(NoteRow, NoteRow.case_id == CaseRow.id).where(CaseRow.id == case_id)
        with self._database.reading() as session:
            row = session.execute(query).one_or_none()
            if row is None:
                raise NotFoundError("Case: expected the id of a case on a list, got another.")
            return _listed(*row)

    def days(self, limit: int = 60) -> tuple[datetime.date, ...]:
        """Days that have a list, the last one first."""
        query = select(CaseRow.day).distinct().order_by(CaseRow.day.desc()).limit(limit)
        with self._database.reading() as session:
            return tuple(session.scalars(query))


def _rows(session: Session, day: datetime.date) -> list[CaseRow]:
    query = select(CaseRow).where(CaseRow.day == day).order_by(CaseRow.position, CaseRow.id).with_for_update()
    return list(session.scalars(query))


def _place(
    session: Session, held: list[CaseRow], day: datetime.date, position: int, case: CaseData, by: str,
    at: datetime.datetime,
) -> None:  # fmt: skip
    """Renews the row of the same case, which is taken out of `held`, or adds one."""
    row = next((row for row in held if _same(CaseData.model_validate_json(row.data), case)), None)
    if row is None:
        row = CaseRow(id=uuid.uuid4().hex, day=day)
        session.add(row)
    else:
        held.remove(row)
    row.position, row.data, row.imported_by, row.imported_at = position, case.model_dump_json(), by, at


def _same(one: CaseData, other: CaseData) -> bool:
    """One patient, one eye. A case that nothing tells apart is the same only when all of it is."""
    if not (one.hospital_number or one.patient):
        return one == other
    number = (one.hospital_number, other.hospital_number)
    who = number if all(number) else (one.patient, other.patient)
    return who[0] == who[1] and one.planned_eye == other.planned_eye


def _drop(session: Session, left: list[CaseRow], count: int) -> None:
    for row in left:
        if session.scalars(select(NoteRow.id).where(NoteRow.case_id == row.id)).first() is None:
            session.delete(row)
        else:
            count += 1
            row.position = count


def _of_day(session: Session, day: datetime.date) -> tuple[ListedCase, ...]:
    query = (
        select(CaseRow, NoteRow)
        .outerjoin(NoteRow, NoteRow.case_id == CaseRow.id)
        .where(CaseRow.day == day)
        .order_by(CaseRow.position, CaseRow.id)
    )
    return tuple(_listed(*row) for row in session.execute(query))


def _listed(row: CaseRow, note: NoteRow | None) -> ListedCase:
    state = STANDS[NoteState(note.state)] if note else CaseState.NO_DICTATION
    case = CaseData.model_validate_json(row.data)
    return ListedCase(row.id, row.day, row.position, case, note.id if note else None, state)

"""Notes found again: by lens, lot, serial number, day, surgeon. An index filled on save answers."""

import datetime
from collections.abc import Iterator, Sequence
from contextlib import closing
from itertools import count
from typing import Any

from sqlalchemy import Select, delete, func, select, tuple_
from sqlalchemy.orm import Session, aliased

from zonule.errors import LabelError
from zonule.labels import LensLabel, parse_label
from zonule.record import Fact, Lens, OperationRecord
from zonule.store.database import Database
from zonule.store.faults import RefusedError
from zonule.store.kept import FoundNote, NoteDraft, NoteState, NoteSummary, Page, RecordedNote
from zonule.store.paging import open_cursor, page_of
from zonule.store.tables import AddendumRow, FoundImplantRow, FoundNoteRow, NoteRow, VersionRow
from zonule.vocabulary import Status

LENS, LABEL = "lens", "label"
LONGEST_KEY = 200
NOTE_COLUMNS = (
    FoundNoteRow.note_id, NoteRow.state, FoundNoteRow.day, FoundNoteRow.surgeon, FoundNoteRow.hospital_number,
    FoundNoteRow.patient, FoundNoteRow.eye,
)  # fmt: skip
IMPLANT_COLUMNS = (
    FoundImplantRow.kind, FoundImplantRow.status, FoundImplantRow.manufacturer, FoundImplantRow.model,
    FoundImplantRow.power_d, FoundImplantRow.serial_number, FoundImplantRow.lot_number,
)  # fmt: skip
"""In the order of the fields of `FoundNote`: a recall of thousands reads columns, not whole rows."""
Columns = Select[*tuple[Any, ...]]


class Finding:
    """Looks notes up in the index."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def by_lens(
        self,
        serial: str | None = None,
        lot: str | None = None,
        model: str | None = None,
        limit: int = 50,
        cursor: str | None = None,
    ) -> Page[FoundNote]:
        """Lenses and other implants that carry all of what is given; spaces, hyphens and case do not matter."""
        query = _by_key(serial, lot, model).limit(limit + 1)
        if cursor is not None:
            day, note_id, number = open_cursor(cursor, 3)
            place = tuple_(FoundNoteRow.day, FoundNoteRow.note_id, FoundImplantRow.number)
            query = query.where(place > (day, note_id, _whole(number)))
        with self._database.reading() as session:
            rows = session.execute(query).all()
        page = page_of(rows, limit, lambda row: (row.day, row.note_id, str(row.number)))
        return Page(tuple(map(_found, page.items)), page.cursor)

    def recall(
        self, lot: str | None = None, serial: str | None = None, model: str | None = None
    ) -> tuple[FoundNote, ...]:
        """Everyone whose note names the lot, serial number or model, by day; `status` tells what became of it.

        Also those whose scanned label says so although the record says otherwise: a patient too many is asked back
        sooner than one too few. Raises RefusedError unless exactly one of the three is given.
        """
        if sum(part is not None for part in (lot, serial, model)) != 1:
            raise RefusedError("Recall: expected one of lot, serial number or model, got none or several.")
        with self._database.reading() as session:
            return tuple(map(_found, session.execute(_by_key(serial, lot, model))))

    def by_day(
        self,
        first: datetime.date | None = None,
        last: datetime.date | None = None,
        surgeon: str | None = None,
        limit: int = 50,
        cursor: str | None = None,
    ) -> Page[FoundNote]:
        """Notes of operations between two days, both included, the newest first, with their first lens implanted."""
        query = _between(_notes(), first, last)
        query = query.where(FoundNoteRow.surgeon_key == fold(surgeon)) if surgeon else query
        return self._notes(query, limit, cursor)

    def by_hospital_number(self, number: str, limit: int = 50, cursor: str | None = None) -> Page[FoundNote]:
        """Notes of one patient, the newest first."""
        return self._notes(_notes().where(FoundNoteRow.hospital_number_key == _key(number)), limit, cursor)

    def records(self, first: datetime.date | None = None, last: datetime.date | None = None) -> Iterator[RecordedNote]:
        """What the notes of operations between two days say, both included, the oldest first; one at a time."""
        newest = (VersionRow.note_id == NoteRow.id) & (VersionRow.number == NoteRow.version)
        other = aliased(AddendumRow)
        last_added = select(func.max(other.number)).where(other.note_id == NoteRow.id).scalar_subquery()
        added = (AddendumRow.note_id == NoteRow.id) & (AddendumRow.number == last_added)
        numbers = (NoteRow.version, func.coalesce(AddendumRow.number, 0))
        columns = (FoundNoteRow.note_id, *numbers, NoteRow.state, FoundNoteRow.day, FoundNoteRow.surgeon)
        query = (
            select(*columns, func.coalesce(AddendumRow.record, VersionRow.record))
            .join(NoteRow, NoteRow.id == FoundNoteRow.note_id)
            .join(VersionRow, newest)
            .outerjoin(AddendumRow, added)
            .order_by(FoundNoteRow.day, FoundNoteRow.note_id)
        )
        query = _between(query, first, last).execution_options(yield_per=200)
        with self._database.reading() as session, closing(session.execute(query)) as rows:
            for note_id, version, addenda, state, day, surgeon, record in rows:
                held = OperationRecord.model_validate_json(record)
                yield RecordedNote(note_id, version, addenda, NoteState(state), _date(day), surgeon, held)

    def _notes(self, query: Columns, limit: int, cursor: str | None) -> Page[FoundNote]:
        place = tuple_(FoundNoteRow.day, FoundNoteRow.note_id)
        if cursor is not None:
            query = query.where(place < open_cursor(cursor, 2))
        query = query.order_by(FoundNoteRow.day.desc(), FoundNoteRow.note_id.desc()).limit(limit + 1)
        with self._database.reading() as session:
            page = page_of(session.execute(query).all(), limit, lambda row: (row.day, row.note_id))
            found = tuple(_found((*row, *_first_implant(session, row.note_id))) for row in page.items)
        return Page(found, page.cursor)


def index_note(session: Session, note_id: str, record: OperationRecord, draft: NoteDraft) -> None:
    """Enters a note into the index anew, within the transaction that saves it."""
    session.execute(delete(FoundImplantRow).where(FoundImplantRow.note_id == note_id))
    session.merge(_note_entry(note_id, record, draft))
    session.add_all(_implant_entries(note_id, record, draft))


def summary(row: NoteRow, author: str, saved_at: datetime.datetime, found: FoundNoteRow) -> NoteSummary:
    """A note without its words."""
    return NoteSummary(
        id=row.id,
        number=row.version,
        state=NoteState(row.state),
        case_id=row.case_id,
        author=author,
        saved_at=saved_at,
        date=_date(found.day),
        surgeon=found.surgeon,
        hospital_number=found.hospital_number,
        patient=found.patient,
        eye=found.eye,
    )


def fold(name: str) -> str:
    """A name without regard to case and spaces."""
    return " ".join(name.casefold().split())[:LONGEST_KEY]


def _key(identifier: str | None) -> str | None:
    """An identifier without regard to case, spaces, hyphens and points; None for one without letter or digit."""
    return "".join(c for c in identifier.casefold() if c.isalnum())[:LONGEST_KEY] or None if identifier else None


def _notes() -> Columns:
    return select(*NOTE_COLUMNS).join(NoteRow, NoteRow.id == FoundNoteRow.note_id)


def _between(query: Columns, first: datetime.date | None, last: datetime.date | None) -> Columns:
    query = query.where(FoundNoteRow.day >= first.isoformat()) if first else query
    return query.where(FoundNoteRow.day <= last.isoformat(), FoundNoteRow.day != "") if last else query


def _by_key(serial: str | None, lot: str | None, model: str | None) -> Columns:
    columns = (
        (FoundImplantRow.serial_key, "serial number", serial),
        (FoundImplantRow.lot_key, "lot", lot),
        (FoundImplantRow.model_key, "model", model),
    )
    given = [(column, name, value) for column, name, value in columns if value is not None]
    if not given:
        raise RefusedError("Find: expected a serial number, a lot or a model, got none.")
    query = (
        select(*NOTE_COLUMNS, *IMPLANT_COLUMNS, FoundImplantRow.number)
        .join(FoundImplantRow, FoundImplantRow.note_id == FoundNoteRow.note_id)
        .join(NoteRow, NoteRow.id == FoundNoteRow.note_id)
        .order_by(FoundNoteRow.day, FoundNoteRow.note_id, FoundImplantRow.number)
    )
    for column, name, value in given:
        key = _key(value)
        if key is None:
            raise RefusedError(f"Find: expected a {name} with letters or digits, got none.")
        query = query.where(column == key)
    return query


def _note_entry(note_id: str, record: OperationRecord, draft: NoteDraft) -> FoundNoteRow:
    """What the record does not say is taken from the list: somebody looks for it by what they know."""
    case, day = draft.case, _value(record.operation.date) or (draft.case.date if draft.case else None)
    surgeon = _value(record.team.surgeon) or (case.surgeon if case else None)
    number = _value(record.patient.hospital_number) or (case.hospital_number if case else None)
    return FoundNoteRow(
        note_id=note_id,
        day=day.isoformat() if day else "",
        surgeon=surgeon,
        surgeon_key=fold(surgeon) if surgeon else None,
        hospital_number=number,
        hospital_number_key=_key(number),
        patient=_value(record.patient.name) or (case.patient if case else None),
        eye=_value(record.operation.eye),
    )


def _implant_entries(note_id: str, record: OperationRecord, draft: NoteDraft) -> Iterator[FoundImplantRow]:
    numbers = count(1)
    for lens in record.lenses:
        yield _lens_entry(note_id, next(numbers), lens)
    for fact in record.other_implants:
        if fact.status is Status.DONE:
            implant = fact.value
            status = "temporary" if implant.temporary else "implanted"
            entry = _entry(note_id, next(numbers), implant.kind, status, serial=implant.identifier)
            entry.lot_number, entry.lot_key = implant.identifier, _key(implant.identifier)
            yield entry
    label = _label(draft.label)
    if label is not None and not any(_is_of(label, lens) for lens in record.lenses):
        yield _entry(
            note_id, next(numbers), LENS, LABEL, label.manufacturer, label.model, label.power_d, label.serial_number,
            label.lot_number,
        )  # fmt: skip


def _label(code: str | None) -> LensLabel | None:
    try:
        return parse_label(code) if code else None
    except LabelError:
        return None


def _is_of(label: LensLabel, lens: Lens) -> bool:
    """Whether the record already says everything by which the label could be looked for."""
    told = ((label.serial_number, lens.serial_number), (label.lot_number, lens.lot_number), (label.model, lens.model))
    return all(_key(printed) in (None, _key(_value(said))) for printed, said in told)


def _lens_entry(note_id: str, number: int, lens: Lens) -> FoundImplantRow:
    values = (lens.manufacturer, lens.model, lens.power_d, lens.serial_number, lens.lot_number)
    return _entry(note_id, number, LENS, lens.status.value, *map(_value, values))


def _entry(
    note_id: str,
    number: int,
    kind: str,
    status: str,
    manufacturer: str | None = None,
    model: str | None = None,
    power_d: float | None = None,
    serial: str | None = None,
    lot: str | None = None,
) -> FoundImplantRow:
    return FoundImplantRow(
        note_id=note_id,
        number=number,
        kind=kind,
        status=status,
        manufacturer=manufacturer,
        model=model,
        power_d=power_d,
        serial_number=serial,
        lot_number=lot,
        model_key=_key(model),
        serial_key=_key(serial),
        lot_key=_key(lot),
    )


def _value(fact: Fact[Any] | None) -> Any:
    return fact.value if fact is not None and fact.status is Status.DONE else None


def _found(row: Sequence[Any]) -> FoundNote:
    note_id, state, day, *further = row[: len(NOTE_COLUMNS) + len(IMPLANT_COLUMNS)]
    return FoundNote(note_id, NoteState(state), _date(day), *further)


def _date(day: str) -> datetime.date | None:
    return datetime.date.fromisoformat(day) if day else None


def _first_implant(session: Session, note_id: str) -> Sequence[Any]:
    """The first lens implanted, or else the first of anything, or nothing."""
    query = select(*IMPLANT_COLUMNS).where(FoundImplantRow.note_id == note_id).order_by(FoundImplantRow.number)
    held = session.execute(query).all()
    return next((row for row in held if (row.kind, row.status) == (LENS, "implanted")), held[0] if held else ())


def _whole(number: str) -> int:
    if not number.isdecimal() or len(number) > 6:
        raise RefusedError("Page: expected the cursor of an earlier page, got another; begin at the first page.")
    return int(number)

"""The tables. Ids are random or given, never counted by the database: an import brings them along as they are."""

import datetime
from typing import ClassVar

from sqlalchemy import Date, DateTime, ForeignKey, Index, LargeBinary, MetaData, String, Text, UniqueConstraint
from sqlalchemy.engine import Dialect
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column
from sqlalchemy.types import TypeDecorator

CONVENTION = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class Moment(TypeDecorator[datetime.datetime]):
    """A time in UTC, aware on both sides; SQLite keeps it without its zone."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime.datetime | None, dialect: Dialect) -> datetime.datetime | None:
        """To UTC."""
        del dialect
        return value.astimezone(datetime.UTC) if value else None

    def process_result_value(self, value: datetime.datetime | None, dialect: Dialect) -> datetime.datetime | None:
        """From UTC."""
        del dialect
        if value is None:
            return None
        return value.astimezone(datetime.UTC) if value.tzinfo else value.replace(tzinfo=datetime.UTC)


class Base(DeclarativeBase):
    """Base of all tables."""

    metadata = MetaData(naming_convention=CONVENTION)
    type_annotation_map: ClassVar = {str: Text, datetime.datetime: Moment, datetime.date: Date, bytes: LargeBinary}


class UserRow(Base):
    """`roles` are separated by spaces. Without a password hash the user logs in by the provider alone."""

    __tablename__ = "users"
    __table_args__ = (UniqueConstraint("issuer", "subject"),)
    name: Mapped[str] = mapped_column(String(64), primary_key=True)
    full_name: Mapped[str]
    roles: Mapped[str]
    password_hash: Mapped[str | None]
    issuer: Mapped[str | None]
    subject: Mapped[str | None]
    added_at: Mapped[datetime.datetime]
    disabled_at: Mapped[datetime.datetime | None]


class SessionRow(Base):
    """Of the token only the SHA-256 is kept."""

    __tablename__ = "web_sessions"
    token_hash: Mapped[str] = mapped_column(String(64), primary_key=True)
    user_name: Mapped[str] = mapped_column(ForeignKey("users.name"), index=True)
    began_at: Mapped[datetime.datetime]
    seen_at: Mapped[datetime.datetime]
    expires_at: Mapped[datetime.datetime]
    idle_s: Mapped[int]


class FailedLoginRow(Base):
    """Of the name only a hash: people type their password there by mistake."""

    __tablename__ = "failed_logins"
    id: Mapped[str] = mapped_column(String(32), primary_key=True)
    name_hash: Mapped[str] = mapped_column(String(64), index=True)
    address: Mapped[str] = mapped_column(index=True)
    at: Mapped[datetime.datetime]


class CaseRow(Base):
    """A case of the operating list; `data` is JSON."""

    __tablename__ = "listed_cases"
    id: Mapped[str] = mapped_column(String(32), primary_key=True)
    day: Mapped[datetime.date] = mapped_column(index=True)
    position: Mapped[int]
    data: Mapped[str]
    imported_by: Mapped[str]
    imported_at: Mapped[datetime.datetime]


class NoteRow(Base):
    """The head of a note; `version` is the number of its newest version that was not set aside."""

    __tablename__ = "notes"
    __table_args__ = (UniqueConstraint("created_by", "key"),)
    id: Mapped[str] = mapped_column(String(32), primary_key=True)
    case_id: Mapped[str | None] = mapped_column(ForeignKey("listed_cases.id"), unique=True)
    key: Mapped[str | None]
    created_by: Mapped[str]
    created_at: Mapped[datetime.datetime] = mapped_column(index=True)
    version: Mapped[int]
    state: Mapped[str] = mapped_column(String(16))


class VersionRow(Base):
    """One save, never changed. `sha256` covers every column that a person could have written."""

    __tablename__ = "note_versions"
    note_id: Mapped[str] = mapped_column(ForeignKey("notes.id"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True)
    base_version: Mapped[int | None]
    set_aside: Mapped[bool]
    dictation: Mapped[str]
    name: Mapped[str]
    keep: Mapped[str]
    answers: Mapped[str]
    label: Mapped[str | None]
    case_data: Mapped[str | None]
    standard: Mapped[str]
    record: Mapped[str]
    report: Mapped[str]
    author: Mapped[str]
    saved_at: Mapped[datetime.datetime]
    sha256: Mapped[str] = mapped_column(String(64))


class SignatureRow(Base):
    """One a note, never changed."""

    __tablename__ = "signatures"
    note_id: Mapped[str] = mapped_column(ForeignKey("notes.id"), primary_key=True)
    version: Mapped[int]
    signer: Mapped[str]
    signed_name: Mapped[str]
    signed_at: Mapped[datetime.datetime]
    sha256: Mapped[str] = mapped_column(String(64))


class AddendumRow(Base):
    """Added after signing, never changed."""

    __tablename__ = "addenda"
    note_id: Mapped[str] = mapped_column(ForeignKey("notes.id"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True)
    dictation: Mapped[str]
    record: Mapped[str]
    report: Mapped[str]
    author: Mapped[str]
    added_at: Mapped[datetime.datetime]
    sha256: Mapped[str] = mapped_column(String(64))


class FoundNoteRow(Base):
    """The index of notes, filled on save. `day` is ISO 8601 and empty when no date is known; keys are folded."""

    __tablename__ = "found_notes"
    __table_args__ = (Index(None, "day", "note_id"), Index(None, "surgeon_key", "day", "note_id"))
    note_id: Mapped[str] = mapped_column(ForeignKey("notes.id"), primary_key=True)
    day: Mapped[str] = mapped_column(String(10))
    surgeon: Mapped[str | None]
    surgeon_key: Mapped[str | None]
    hospital_number: Mapped[str | None]
    hospital_number_key: Mapped[str | None] = mapped_column(index=True)
    patient: Mapped[str | None]
    eye: Mapped[str | None]


class FoundImplantRow(Base):
    """The index of lenses and other implants, filled on save."""

    __tablename__ = "found_implants"
    note_id: Mapped[str] = mapped_column(ForeignKey("notes.id"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    status: Mapped[str]
    manufacturer: Mapped[str | None]
    model: Mapped[str | None]
    power_d: Mapped[float | None]
    serial_number: Mapped[str | None]
    lot_number: Mapped[str | None]
    model_key: Mapped[str | None] = mapped_column(index=True)
    serial_key: Mapped[str | None] = mapped_column(index=True)
    lot_key: Mapped[str | None] = mapped_column(index=True)


class TrailRow(Base):
    """The audit trail, never changed."""

    __tablename__ = "trail"
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime.datetime]
    actor: Mapped[str]
    action: Mapped[str]
    subject: Mapped[str] = mapped_column(index=True)
    detail: Mapped[str]
    previous: Mapped[str] = mapped_column(String(64))
    hash: Mapped[str] = mapped_column(String(64))


class TrailEndRow(Base):
    """The one row that says where the trail ends: writers queue at it, and a trail cut short is noticed by it."""

    __tablename__ = "trail_end"
    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    number: Mapped[int]
    hash: Mapped[str] = mapped_column(String(64))


class CorrectionRow(Base):
    """What a person did with a reading."""

    __tablename__ = "corrections"
    id: Mapped[str] = mapped_column(String(32), primary_key=True)
    kind: Mapped[str] = mapped_column(String(32))
    heard: Mapped[str]
    reading: Mapped[str]
    proposal: Mapped[str] = mapped_column(String(64), index=True)
    noted_by: Mapped[str]
    at: Mapped[datetime.datetime]


class DecisionRow(Base):
    """What a named person decided about a proposal."""

    __tablename__ = "decisions"
    proposal: Mapped[str] = mapped_column(String(64), primary_key=True)
    accepted: Mapped[bool]
    decided_by: Mapped[str]
    decided_at: Mapped[datetime.datetime]


class AnswerRow(Base):
    """The first answer to a write with an idempotency key."""

    __tablename__ = "kept_answers"
    user_name: Mapped[str] = mapped_column(primary_key=True)
    route: Mapped[str] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(primary_key=True)
    body_hash: Mapped[str] = mapped_column(String(64))
    status: Mapped[int]
    content_type: Mapped[str]
    body: Mapped[bytes]
    kept_at: Mapped[datetime.datetime] = mapped_column(index=True)

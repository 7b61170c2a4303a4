"""Users, their roles and their passwords."""

import re
from collections.abc import Iterable

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError, VerifyMismatchError
from sqlalchemy import select
from sqlalchemy.orm import Session

from zonule.store.database import Database, take_turn
from zonule.store.faults import NotFoundError, RefusedError, TakenError
from zonule.store.kept import Role, User
from zonule.store.tables import SessionRow, UserRow
from zonule.store.texts import check_text
from zonule.store.trail import enter

NAME = re.compile(r"[a-z0-9][a-z0-9._-]{0,63}")
SHORTEST, LONGEST = 12, 1000
"""Characters of a password: the lower bound is a house choice between the 8 and 15 that published advice asks for with
and without a second factor (from memory); the upper one keeps hashing cheap."""
CONSOLE = "console"
"""The actor of what is done at the machine itself."""


class Users:
    """Who works with the service."""

    def __init__(self, database: Database, hasher: PasswordHasher) -> None:
        self._database = database
        self._hasher = hasher
        self._nobody = hasher.hash("the hash that an unknown name is checked against")

    def add(
        self, name: str, full_name: str, roles: Iterable[Role | str], password: str | None, by: str = CONSOLE
    ) -> User:
        """A new user; without a password they log in by the provider alone.

        Raises TakenError for a name in use and RefusedError for a name, role or password that is not taken.
        """
        checked, hashed = _roles(roles), self._hash(password) if password is not None else None
        _check_name(name)
        check_text("full name", full_name, 200)
        with self._database.writing() as session:
            take_turn(session.connection(), "users")
            if session.get(UserRow, name) is not None:
                raise TakenError(f"User {name!r} is there already: expected a name that nobody has.")
            at = self._database.clock()
            row = UserRow(name=name, full_name=full_name.strip(), roles=checked, password_hash=hashed, added_at=at)
            session.add(row)
            session.flush()
            enter(session, at, by, "user.add", name, {"roles": checked.replace(" ", ",")})
            return to_user(row)

    def check(self, name: str, password: str) -> User | None:
        """The user of that name and password, or None; takes as long for a name that nobody has."""
        with self._database.reading() as session:
            row = session.get(UserRow, name) if NAME.fullmatch(name) else None
        fits = self._fits(row.password_hash if row else None, password)
        if row is None or not fits or row.disabled_at is not None:
            return None
        if row.password_hash and self._hasher.check_needs_rehash(row.password_hash):
            self._store_hash(name, password)
        return to_user(row)

    def get(self, name: str) -> User:
        """Raises NotFoundError for a name that nobody has."""
        with self._database.reading() as session:
            return to_user(find_user(session, name))

    def all(self) -> tuple[User, ...]:
        """Every user, by name, those disabled too."""
        with self._database.reading() as session:
            return tuple(to_user(row) for row in session.scalars(select(UserRow).order_by(UserRow.name)))

    def set_password(self, name: str, password: str, by: str = CONSOLE) -> None:
        """Sets the password and ends every session of the user."""
        hashed = self._hash(password)
        with self._database.writing() as session:
            find_user(session, name).password_hash = hashed
            _end_sessions(session, name)
            enter(session, self._database.clock(), by, "user.password", name)

    def set_roles(self, name: str, roles: Iterable[Role | str], by: str = CONSOLE) -> User:
        """What the user may do from now on."""
        checked = _roles(roles)
        with self._database.writing() as session:
            row = find_user(session, name)
            row.roles = checked
            enter(session, self._database.clock(), by, "user.roles", name, {"roles": checked.replace(" ", ",")})
            return to_user(row)

    def disable(self, name: str, by: str = CONSOLE) -> User:
        """The user can no longer log in; what they wrote and signed stays."""
        with self._database.writing() as session:
            row, at = find_user(session, name), self._database.clock()
            row.disabled_at = row.disabled_at or at
            _end_sessions(session, name)
            enter(session, at, by, "user.disable", name)
            return to_user(row)

    def enable(self, name: str, by: str = CONSOLE) -> User:
        """The user can log in again."""
        with self._database.writing() as session:
            row = find_user(session, name)
            row.disabled_at = None
            enter(session, self._database.clock(), by, "user.enable", name)
            return to_user(row)

    def link_subject(self, issuer: str, subject: str) -> User | None:
        """The user whom a provider of single sign-on calls `subject`; None for a stranger or a disabled user."""
        query = select(UserRow).where(UserRow.issuer == issuer, UserRow.subject == subject)
        with self._database.reading() as session:
            row = session.scalars(query).one_or_none()
            return to_user(row) if row and row.disabled_at is None else None

    def set_subject(self, name: str, issuer: str, subject: str, by: str = CONSOLE) -> User:
        """From now on `subject` of that provider is this user. Raises TakenError when it is another's."""
        check_text("issuer", issuer, 500)
        check_text("subject", subject, 500)
        query = select(UserRow).where(UserRow.issuer == issuer, UserRow.subject == subject, UserRow.name != name)
        with self._database.writing() as session:
            take_turn(session.connection(), "users")
            row = find_user(session, name)
            if session.scalars(query).first() is not None:
                raise TakenError(f"User {name!r}: expected a subject of their own, got that of another user.")
            row.issuer, row.subject = issuer, subject
            enter(session, self._database.clock(), by, "user.subject", name)
            return to_user(row)

    def _hash(self, password: str) -> str:
        if not SHORTEST <= len(password) <= LONGEST:
            raise RefusedError(
                f"Password: expected {SHORTEST} to {LONGEST} characters, got {len(password)}; choose a longer sentence."
            )
        check_text("password", password, LONGEST)
        return self._hasher.hash(password)

    def _fits(self, held: str | None, password: str) -> bool:
        """An unknown user's password is hashed too, so that nobody learns from the time it takes who is known."""
        try:
            found = self._hasher.verify(held or self._nobody, password)
        except (VerifyMismatchError, VerificationError, InvalidHashError, UnicodeEncodeError):
            return False
        return found and held is not None

    def _store_hash(self, name: str, password: str) -> None:
        hashed = self._hasher.hash(password)
        with self._database.writing() as session:
            find_user(session, name).password_hash = hashed


def find_user(session: Session, name: str) -> UserRow:
    """Raises NotFoundError for a name that nobody has."""
    row = session.get(UserRow, name) if NAME.fullmatch(name) else None
    if row is None:
        raise NotFoundError("User: expected the name of a known user, got another; `zonule user list` shows them.")
    return row


def to_user(row: UserRow) -> User:
    """As a plain value."""
    roles = tuple(Role(role) for role in row.roles.split())
    return User(row.name, row.full_name, roles, row.added_at, row.disabled_at, row.issuer, row.subject)


def _roles(roles: Iterable[Role | str]) -> str:
    wanted = set(roles)
    unknown = wanted - set(Role)
    if unknown or not wanted:
        known = ", ".join(Role)
        raise RefusedError(f"Roles: expected one or more of {known}, got {', '.join(sorted(unknown)) or 'none'}.")
    return " ".join(role for role in Role if role in wanted)


def _check_name(name: str) -> None:
    if not NAME.fullmatch(name):
        raise RefusedError(
            "User name: expected up to 64 small letters, digits, points, hyphens and underscores that begin with a "
            "letter or digit, got others."
        )


def _end_sessions(session: Session, name: str) -> None:
    for row in session.scalars(select(SessionRow).where(SessionRow.user_name == name)):
        session.delete(row)

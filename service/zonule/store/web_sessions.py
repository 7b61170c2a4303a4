"""Logins that have not expired, and logins that failed."""

import datetime
import hashlib
import secrets
import uuid

from sqlalchemy import delete, func, select
from sqlalchemy.orm import Session as Transaction

from zonule.store.database import Database
from zonule.store.faults import NotFoundError
from zonule.store.kept import Session
from zonule.store.tables import FailedLoginRow, SessionRow, UserRow
from zonule.store.users import find_user, to_user

SEEN_EVERY = datetime.timedelta(seconds=30)
"""A session is marked as seen at most this often: reading a page should not write each time."""
REMEMBERED = datetime.timedelta(hours=1)
"""How long a failed login counts."""
FREE_PAIR, FREE_NAME, FREE_ADDRESS = 5, 20, 40
"""Failures without any wait: of one name from one address, of a name from anywhere, of an address with any name."""
LONGEST_WAIT_S = 900.0


class Sessions:
    """Logins. A token is given out once; only its hash is kept."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def begin(self, user_name: str, lifetime: datetime.timedelta, idle: datetime.timedelta) -> str:
        """The token of a new session that ends after `lifetime`, or after `idle` without a request."""
        token = secrets.token_urlsafe(32)
        with self._database.writing() as session:
            if find_user(session, user_name).disabled_at is not None:
                raise NotFoundError(f"User {user_name!r} is disabled: expected one who may log in.")
            at = self._database.clock()
            _forget_old(session, at)
            session.add(
                SessionRow(
                    token_hash=_hash(token),
                    user_name=user_name,
                    began_at=at,
                    seen_at=at,
                    expires_at=at + lifetime,
                    idle_s=int(idle.total_seconds()),
                )
            )
        return token

    def find(self, token: str) -> Session | None:
        """The session of a token, or None when it ended, expired or its user was disabled."""
        at = self._database.clock()
        with self._database.reading() as session:
            row = session.get(SessionRow, _hash(token))
            user = session.get(UserRow, row.user_name) if row else None
        if row is None or user is None or user.disabled_at is not None:
            return None
        if at >= row.expires_at or at >= row.seen_at + datetime.timedelta(seconds=row.idle_s):
            self.end(token)
            return None
        if at - row.seen_at >= SEEN_EVERY:
            self._see(row.token_hash, at)
        return Session(to_user(user), row.began_at, at, row.expires_at)

    def end(self, token: str) -> None:
        """Ends a session; one that is not there is ended already."""
        with self._database.writing() as session:
            session.execute(delete(SessionRow).where(SessionRow.token_hash == _hash(token)))

    def end_all(self, user_name: str) -> None:
        """Ends every session of a user."""
        with self._database.writing() as session:
            session.execute(delete(SessionRow).where(SessionRow.user_name == user_name))

    def _see(self, token_hash: str, at: datetime.datetime) -> None:
        with self._database.writing() as session:
            row = session.get(SessionRow, token_hash)
            if row is not None:
                row.seen_at = at


class Attempts:
    """Failed logins, so that guessing takes ever longer."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def record(self, name: str, address: str) -> None:
        """One failure."""
        with self._database.writing() as session:
            at = self._database.clock()
            session.execute(delete(FailedLoginRow).where(FailedLoginRow.at < at - REMEMBERED))
            session.add(FailedLoginRow(id=uuid.uuid4().hex, name_hash=_hash(name), address=address[:100], at=at))

    def clear(self, name: str, address: str) -> None:
        """After a login that succeeded, the failures of this name from this address are forgotten."""
        ours = (FailedLoginRow.name_hash == _hash(name), FailedLoginRow.address == address[:100])
        with self._database.writing() as session:
            session.execute(delete(FailedLoginRow).where(*ours))

    def wait_before(self, name: str, address: str) -> float:
        """Seconds to wait before the next attempt; 0 when it may be made now.

        Beyond the free failures each one doubles the wait, up to a quarter of an hour after the last one.
        """
        by_name, by_address = FailedLoginRow.name_hash == _hash(name), FailedLoginRow.address == address[:100]
        counted = (((by_name, by_address), FREE_PAIR), ((by_name,), FREE_NAME), ((by_address,), FREE_ADDRESS))
        at, waits = self._database.clock(), [0.0]
        with self._database.reading() as session:
            for conditions, free in counted:
                query = select(func.count(), func.max(FailedLoginRow.at)).where(
                    FailedLoginRow.at >= at - REMEMBERED, *conditions
                )
                count, last = session.execute(query).one()
                if count >= free and last is not None:
                    wait = min(2.0 ** (count - free), LONGEST_WAIT_S)
                    waits.append(wait - (at - last).total_seconds())
        return max(waits)


def _hash(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def _forget_old(session: Transaction, at: datetime.datetime) -> None:
    session.execute(delete(SessionRow).where(SessionRow.expires_at <= at))

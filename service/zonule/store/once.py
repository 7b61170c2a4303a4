"""Writes that are asked for twice are done once: the first answer is kept by the client's key."""

import datetime

from sqlalchemy import delete

from zonule.store.database import Database
from zonule.store.faults import ClashError, KeyReusedError
from zonule.store.kept import KeptAnswer
from zonule.store.tables import AnswerRow
from zonule.store.texts import check_text


class Once:
    """Answers by user, route and key."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def remember(self, key: str, user: str, route: str, body_hash: str) -> KeptAnswer | None:
        """The answer of the first time, or None. Raises KeyReusedError when the key came with another body."""
        check_text("key", key, 200)
        with self._database.reading() as session:
            row = session.get(AnswerRow, (user, route, key))
        if row is None:
            return None
        if row.body_hash != body_hash:
            raise KeyReusedError("Idempotency key: expected the request it came with, got another; take a new key.")
        return KeptAnswer(row.status, row.content_type, row.body)

    def keep(self, key: str, user: str, route: str, body_hash: str, answer: KeptAnswer) -> KeptAnswer:
        """Keeps an answer; gives the one that holds, which is the earlier one when two came at once."""
        row = AnswerRow(
            user_name=user,
            route=route,
            key=key,
            body_hash=body_hash,
            status=answer.status,
            content_type=answer.content_type,
            body=answer.body,
            kept_at=self._database.clock(),
        )
        try:
            with self._database.writing() as session:
                session.add(row)
        except ClashError:
            return self.remember(key, user, route, body_hash) or answer
        return answer

    def forget(self, before: datetime.datetime) -> int:
        """Forgets answers kept before a time; gives how many. A day is long enough for a client to try again."""
        with self._database.writing() as session:
            old = delete(AnswerRow).where(AnswerRow.kept_at < before).returning(AnswerRow.key)
            return len(session.scalars(old).all())

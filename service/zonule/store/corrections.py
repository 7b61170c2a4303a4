"""What people did with readings: repairs accepted or refused, answers given. Many of a kind make a proposal."""

import datetime
import hashlib
import uuid

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from zonule.store.database import Database, take_turn
from zonule.store.faults import NotFoundError, RefusedError
from zonule.store.kept import CorrectionKind, Proposal
from zonule.store.tables import CorrectionRow, DecisionRow
from zonule.store.texts import check_text
from zonule.store.trail import canonical, enter

LONGEST = 500
Row = tuple[str, str, str, str, int, int, datetime.datetime, datetime.datetime, DecisionRow]


class Corrections:
    """Corrections and the proposals that they add up to."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def note(self, kind: CorrectionKind | str, heard: str, reading: str, by: str) -> str:
        """Keeps one correction; gives the id of the proposal that it counts for.

        `heard` are the words as received, `reading` what they were read as; of an answer, `reading` is `SLOT=VALUE`.
        """
        known = _kind(kind)
        words, read_as = " ".join(heard.split()), " ".join(reading.split())
        check_text("heard words", words, LONGEST)
        check_text("reading", read_as, LONGEST)
        proposal = proposal_id(known, words, read_as)
        with self._database.writing() as session:
            session.add(
                CorrectionRow(
                    id=uuid.uuid4().hex,
                    kind=known.value,
                    heard=words,
                    reading=read_as,
                    proposal=proposal,
                    noted_by=by,
                    at=self._database.clock(),
                )
            )
        return proposal

    def proposals(self, decided: bool = False) -> tuple[Proposal, ...]:
        """What is still to decide, or what was decided; what came most often first."""
        query = _proposals()
        query = query.where(DecisionRow.proposal.is_not(None) if decided else DecisionRow.proposal.is_(None))
        with self._database.reading() as session:
            found = [_proposal(*row) for row in session.execute(query)]
        return tuple(sorted(found, key=lambda p: (-p.count, p.kind.value, p.heard, p.reading)))

    def get(self, proposal: str) -> Proposal:
        """Raises NotFoundError."""
        with self._database.reading() as session:
            return _find(session, proposal)

    def decide(self, proposal: str, accept: bool, by: str) -> Proposal:
        """What a named person decided, in the trail too. Raises NotFoundError, or RefusedError when it was decided."""
        with self._database.writing() as session:
            take_turn(session.connection(), f"proposal {proposal}")
            found = _find(session, proposal)
            if found.accepted is not None:
                raise RefusedError(f"Proposal {proposal[:8]}: expected an open one, got one that was decided already.")
            at = self._database.clock()
            session.add(DecisionRow(proposal=proposal, accepted=accept, decided_by=by, decided_at=at))
            detail = {"accepted": accept, "kind": found.kind.value, "count": found.count}
            enter(session, at, by, "proposal.decide", proposal, detail)
            return _find(session, proposal)


def proposal_id(kind: CorrectionKind, heard: str, reading: str) -> str:
    """The same for corrections that say the same, without regard to case."""
    same = {"kind": kind.value, "heard": heard.casefold(), "reading": reading.casefold()}
    return hashlib.sha256(canonical(same).encode()).hexdigest()


def _kind(kind: CorrectionKind | str) -> CorrectionKind:
    try:
        return CorrectionKind(kind)
    except ValueError:
        raise RefusedError(f"Correction: expected one of {', '.join(CorrectionKind)}, got another kind.") from None


def _proposals() -> Select[*Row]:
    row = CorrectionRow
    return (
        select(
            row.proposal,
            row.kind,
            func.min(row.heard),
            func.min(row.reading),
            func.count(),
            func.count(row.noted_by.distinct()),
            func.min(row.at),
            func.max(row.at),
            DecisionRow,
        )
        .outerjoin(DecisionRow, DecisionRow.proposal == row.proposal)
        .group_by(row.proposal, row.kind, DecisionRow.proposal)
    )


def _find(session: Session, proposal: str) -> Proposal:
    session.flush()
    row = session.execute(_proposals().where(CorrectionRow.proposal == proposal)).one_or_none()
    if row is None:
        raise NotFoundError("Proposal: expected the id of a proposal, got another.")
    return _proposal(*row)


def _proposal(
    proposal: str,
    kind: str,
    heard: str,
    reading: str,
    count: int,
    people: int,
    first_at: datetime.datetime,
    last_at: datetime.datetime,
    decision: DecisionRow | None,
) -> Proposal:
    decided = (decision.accepted, decision.decided_by, decision.decided_at) if decision else (None, None, None)
    return Proposal(proposal, CorrectionKind(kind), heard, reading, count, people, first_at, last_at, *decided)

"""What is kept: users, lists, notes with every version and signature, the audit trail. SQLite or PostgreSQL."""

from zonule.store.engine import Store, open_store
from zonule.store.kept import (
    Addendum,
    CaseState,
    CorrectionKind,
    FoundNote,
    KeptAnswer,
    ListedCase,
    Note,
    NoteDraft,
    NoteState,
    NoteSummary,
    NoteVersion,
    Page,
    Proposal,
    RecordedNote,
    Role,
    Session,
    Signature,
    TrailEntry,
    User,
)

__all__ = [
    "Addendum", "CaseState", "CorrectionKind", "FoundNote", "KeptAnswer", "ListedCase", "Note", "NoteDraft",
    "NoteState", "NoteSummary", "NoteVersion", "Page", "Proposal", "RecordedNote", "Role", "Session", "Signature",
    "Store", "TrailEntry", "User", "open_store",
]  # fmt: skip

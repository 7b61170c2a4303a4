"""What is written for good: triggers of both databases refuse a change, and a change behind them is noticed."""

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError
from store_samples import OPEN, add_user, draft, operation

from zonule.record import GapReport
from zonule.store import Store
from zonule.store.faults import RefusedError
from zonule.store.verifying import verify_store

REFUSED = (
    "UPDATE note_versions SET dictation = 'other'",
    "DELETE FROM note_versions",
    "UPDATE signatures SET signed_name = 'other'",
    "DELETE FROM signatures",
    "UPDATE addenda SET dictation = 'other'",
    "DELETE FROM addenda",
    "UPDATE trail SET actor = 'other'",
    "DELETE FROM trail",
    "UPDATE notes SET state = 'draft' WHERE state = 'signed'",
    "UPDATE notes SET version = 1 WHERE state = 'signed'",
    "DELETE FROM notes WHERE state = 'signed'",
    "INSERT INTO note_versions SELECT note_id, number + 7, base_version, set_aside, 'other', name, keep, answers, "
    "label, case_data, standard, record, report, author, saved_at, sha256 FROM note_versions WHERE number = 1",
)
REFUSED_BY = {
    "sqlite": ("INSERT OR REPLACE INTO note_versions SELECT * FROM note_versions",
               "INSERT OR REPLACE INTO trail SELECT * FROM trail",
               "UPDATE OR REPLACE signatures SET version = 9"),
    "postgresql": ("TRUNCATE note_versions", "TRUNCATE trail", "TRUNCATE addenda", "TRUNCATE signatures CASCADE"),
}  # fmt: skip


@pytest.fixture
def note_id(store: Store) -> str:
    """A signed note with two versions and an addendum, and a draft beside it."""
    note = store.notes.create(draft(None, OPEN), "imogen")
    store.notes.save(note.id, 1, draft(), "imogen")
    store.notes.sign(note.id, 2, "imogen", "Imogen Sallow")
    store.notes.add_addendum(note.id, "More.", operation(), GapReport(), "imogen")
    store.notes.create(draft(None, OPEN), "rowan")
    return note.id


def run(store: Store, statement: str) -> None:
    with store.database.engine.begin() as connection:
        connection.execute(text(statement))


def test_no_change_gets_through(store: Store, note_id: str, kind: str) -> None:
    before, trail = store.notes.get(note_id), store.trail.page()
    for statement in (*REFUSED, *REFUSED_BY[kind]):
        with pytest.raises(DatabaseError) as caught:
            run(store, statement)
        assert any(told in str(caught.value.orig) for told in ("only ever added to", "stays as it is")), statement
    assert (store.notes.get(note_id), store.trail.page()) == (before, trail)
    assert verify_store(store.database).faults == ()


def disarm(store: Store, kind: str) -> None:
    """As somebody would who has the file or the server in their hands."""
    with store.database.engine.begin() as connection:
        if kind == "postgresql":
            for table in ("note_versions", "signatures", "addenda", "trail", "notes"):
                connection.execute(text(f"ALTER TABLE {table} DISABLE TRIGGER USER"))
            return
        for name in list(connection.scalars(text("SELECT name FROM sqlite_master WHERE type = 'trigger'"))):
            connection.execute(text(f"DROP TRIGGER {name}"))


TAMPERED: tuple[tuple[str, str], ...] = (
    ("UPDATE trail SET actor = 'rowan' WHERE number = 3", "The audit trail is broken at entry 3."),
    ("UPDATE trail SET detail = '{}' WHERE number = 1", "The audit trail is broken at entry 1."),
    ("UPDATE trail SET hash = previous WHERE number = 2", "The audit trail is broken at entry 2."),
    ("DELETE FROM trail WHERE number = 2", "The audit trail is broken at entry 3."),
    ("DELETE FROM trail WHERE number = 5", "The audit trail is broken at entry 4."),
    ("UPDATE note_versions SET dictation = 'other' WHERE number = 2", "Note {}: version 2 is not as it was written."),
    ("UPDATE note_versions SET author = 'rowan' WHERE number = 2", "Note {}: version 2 is not as it was written."),
    ("UPDATE addenda SET dictation = 'other'", "Note {}: addendum 1 is not as it was written."),
    ("DELETE FROM addenda", "Note {}: addendum 1 is gone."),
    ("UPDATE signatures SET version = 1", "Note {}: signature of version 2 is gone."),
    ("DELETE FROM signatures", "Note {}: its state and its signature do not agree."),
    ("UPDATE notes SET state = 'draft' WHERE version = 2", "Note {}: its state and its signature do not agree."),
)


@pytest.mark.parametrize(("change", "told"), TAMPERED, ids=[change for change, _ in TAMPERED])
def test_a_change_behind_the_triggers_is_noticed(store: Store, note_id: str, kind: str, change: str, told: str) -> None:
    disarm(store, kind)
    run(store, change)
    assert told.format(note_id) in verify_store(store.database).faults


def test_a_version_made_up_later_is_noticed(store: Store, note_id: str, kind: str) -> None:
    """With a digest that fits its own words: only the trail knows that nobody saved it."""
    disarm(store, kind)
    copied = (
        "INSERT INTO note_versions SELECT note_id, 9, base_version, set_aside, dictation, name, keep, answers, label, "
        "case_data, standard, record, report, author, saved_at, sha256 FROM note_versions WHERE number = 2"
    )
    run(store, copied)
    assert verify_store(store.database).faults == (
        f"Note {note_id}: version 9 is not the one that the audit trail tells of.",
    )


def test_the_first_broken_entry_is_given(store: Store, note_id: str, kind: str) -> None:
    del note_id
    assert store.trail.verify() is None
    disarm(store, kind)
    run(store, "UPDATE trail SET subject = 'other' WHERE number IN (3, 4)")
    broken = store.trail.verify()
    assert broken is not None
    assert (broken.number, broken.subject) == (3, "other")


def test_the_trail_tells_who_did_what(store: Store, note_id: str) -> None:
    add_user(store, "rowan", "auditor")
    store.users.set_roles("rowan", ["auditor", "author"], by="imogen")
    store.trail.append("rowan", "note.read", note_id)
    told = [(e.number, e.actor, e.action, e.subject == note_id) for e in reversed(store.trail.page().items)]
    assert told == [
        (1, "imogen", "note.create", True),
        (2, "imogen", "note.save", True),
        (3, "imogen", "note.sign", True),
        (4, "imogen", "note.addendum", True),
        (5, "rowan", "note.create", False),
        (6, "console", "user.add", False),
        (7, "imogen", "user.roles", False),
        (8, "rowan", "note.read", True),
    ]
    assert [e.number for e in store.trail.page(subject=note_id, limit=2).items] == [8, 4]
    assert [e.number for e in store.trail.page(subject=note_id, limit=2, cursor="4").items] == [3, 2]
    assert store.trail.page(limit=1).items[0].detail == {}
    assert store.trail.page(subject="rowan").items[0].detail == {"roles": "author,auditor"}


@pytest.mark.parametrize("word", ["Edda Quill", "line\nbreak", ["a"], {"a": 1}, 1.5, "x" * 201], ids=repr)
def test_no_words_get_into_the_trail(store: Store, word: object) -> None:
    with pytest.raises(RefusedError) as caught:
        store.trail.append("imogen", "note.read", "x", {"what": word})
    assert str(word) not in str(caught.value)
    with pytest.raises(RefusedError):
        store.trail.append("imogen", "note.read", "Edda Quill")
    assert store.trail.page().items == ()

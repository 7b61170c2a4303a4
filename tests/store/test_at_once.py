"""What several do at the same moment, and what a database says when it fails."""

from collections.abc import Callable
from pathlib import Path
from threading import Barrier, Thread

import pytest
from sqlalchemy import text
from store_samples import DAY, PASSWORD, QUICK, draft

from zonule.case_data import CaseData
from zonule.errors import StoreError
from zonule.store import KeptAnswer, Store, open_store
from zonule.store.faults import ClashError, RefusedError, TakenError, UnavailableError
from zonule.store.verifying import verify_store

MANY = 6
Outcome = object


def all_at_once(*works: Callable[[], Outcome]) -> list[Outcome]:
    """What each gave, or the fault that it met."""
    gate, outcomes = Barrier(len(works)), []

    def run(work: Callable[[], Outcome]) -> None:
        gate.wait()
        try:
            outcomes.append(work())
        except StoreError as fault:
            outcomes.append(type(fault))

    threads = [Thread(target=run, args=(work,)) for work in works]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return outcomes


def test_the_first_writers_of_a_store(store: Store) -> None:
    all_at_once(*[lambda: store.notes.create(draft(), "imogen") for _ in range(MANY)])
    assert [entry.number for entry in store.trail.page().items] == list(range(MANY, 0, -1))
    assert verify_store(store.database).faults == ()


def test_one_note_for_one_key(store: Store) -> None:
    notes = all_at_once(*[lambda: store.notes.create(draft(), "imogen", key="k").id for _ in range(MANY)])
    assert notes == [store.notes.page().items[0].id] * MANY


def test_one_note_for_one_case(store: Store) -> None:
    (case,) = store.cases.import_list(DAY, [CaseData(patient="Edda Quill")], "imogen")
    works = [lambda: store.notes.create(draft(), "imogen", case_id=case.id).case_id for _ in range(MANY)]
    outcomes = all_at_once(*works)
    assert sorted(map(str, outcomes)) == sorted([case.id, *[str(TakenError)] * (MANY - 1)])


def test_one_list_for_one_day(store: Store) -> None:
    cases = [CaseData(patient="Edda Quill"), CaseData(patient="Fern Oddie")]
    all_at_once(*[lambda: store.cases.import_list(DAY, cases, "imogen") for _ in range(MANY)])
    assert [case.case.patient for case in store.cases.of_day(DAY)] == ["Edda Quill", "Fern Oddie"]


def test_one_user_for_one_name(store: Store) -> None:
    def add() -> Outcome:
        return store.users.add("imogen", "Imogen Sallow", ["author"], PASSWORD).name

    assert sorted(map(str, all_at_once(*[add] * MANY))) == [*[str(TakenError)] * (MANY - 1), "imogen"]


def test_one_decision_for_one_proposal(store: Store) -> None:
    proposal = store.corrections.note("repair_accepted", "skerry goo", "viscoelastic", "imogen")
    outcomes = all_at_once(*[lambda: store.corrections.decide(proposal, True, "imogen").accepted for _ in range(MANY)])
    assert sorted(map(str, outcomes)) == [*[str(RefusedError)] * (MANY - 1), "True"]


def test_one_signature_for_one_note(store: Store) -> None:
    note = store.notes.create(draft(), "imogen")
    outcomes = all_at_once(*[lambda: store.notes.sign(note.id, 1, "imogen", "I. Sallow").number for _ in range(MANY)])
    assert [outcome for outcome in outcomes if outcome == 1] == [1]
    assert verify_store(store.database).faults == ()


def test_one_answer_for_one_key(store: Store) -> None:
    answers = [KeptAnswer(201, "text/plain", bytes([number])) for number in range(MANY)]
    works = [lambda kept=kept: store.once.keep("k", "imogen", "r", "h", kept) for kept in answers]
    assert set(all_at_once(*works)) == {store.once.remember("k", "imogen", "r", "h")}


# ---- when the database fails ---------------------------------------------------------------------------------------


def test_a_fault_of_the_database_shows_no_words(store: Store, kind: str) -> None:
    """A server tells the failing row in its message: none of it comes through."""
    note = store.notes.create(draft(words="Edda Quill, right eye."), "imogen")
    copied = "INSERT INTO note_versions SELECT * FROM note_versions"
    torn = (
        "INSERT INTO note_versions SELECT note_id, 9, base_version, set_aside, dictation, name, keep, answers, label, "
        "case_data, standard, record, NULL, author, saved_at, sha256 FROM note_versions"
    )
    for statement in (copied, torn):
        with pytest.raises(ClashError) as clash, store.database.writing() as session:
            session.execute(text(statement))
        assert "Quill" not in str(clash.value)
        assert clash.value.__suppress_context__
    with pytest.raises(UnavailableError) as failed, store.database.writing() as session:
        session.execute(text("SELECT 'Quill' FROM no_such_table"))
    assert "Quill" not in str(failed.value)
    assert store.notes.get(note.id) == note, kind


def test_a_store_that_is_busy_for_too_long(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("zonule.store.database.PRAGMAS", ("journal_mode=WAL", "busy_timeout=10"))
    url = f"sqlite:///{tmp_path / 'zonule.db'}"
    with open_store(url, hasher=QUICK) as store, open_store(url, hasher=QUICK) as other:
        with store.database.writing(), pytest.raises(UnavailableError, match="busy too long"):
            other.notes.create(draft(), "imogen")
        other.notes.create(draft(), "imogen")


def test_a_server_that_comes_back(request: pytest.FixtureRequest) -> None:
    """Its connections are gone with it; the next request gets a new one."""
    server = request.getfixturevalue("postgresql")
    with open_store(server.create_database(), hasher=QUICK) as store:
        note = store.notes.create(draft(), "imogen")
        server.kill()
        with pytest.raises(UnavailableError):
            store.notes.save(note.id, 1, draft(), "imogen")
        server.start()
        assert store.notes.save(note.id, 1, draft(), "imogen").number == 2
        assert verify_store(store.database).faults == ()


def test_a_damaged_file_is_told(tmp_path: Path) -> None:
    """One byte of a dictation, and a page of nothing, behind SQLite's back."""
    path = tmp_path / "zonule.db"
    with open_store(f"sqlite:///{path}", hasher=QUICK) as store:
        note = store.notes.create(draft(words="Skerry by the sea. " * 40), "imogen")
    whole = path.read_bytes()
    at = whole.rindex(b"Skerry by")
    path.write_bytes(whole[:at] + b"Z" + whole[at + 1 :])
    with open_store(f"sqlite:///{path}", hasher=QUICK) as store:
        assert verify_store(store.database).faults == (f"Note {note.id}: version 1 is not as it was written.",)
    path.write_bytes(whole[: at // 4096 * 4096] + b"\xff" * 4096 + whole[at // 4096 * 4096 + 4096 :])
    with open_store(f"sqlite:///{path}", hasher=QUICK) as store:
        faults = verify_store(store.database).faults
    assert any("damaged" in fault for fault in faults)
    assert not any("Skerry" in fault for fault in faults)

"""Everything out and in again: exports, backups, and what is refused."""

import json
import zipfile
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path

import pytest
from sqlalchemy import text
from store_samples import DAY, OPEN, PASSWORD, QUICK, Ticking, add_user, draft, lens, operation

from zonule.case_data import CaseData
from zonule.errors import InputError, OutputError, StoreError
from zonule.record import GapReport
from zonule.store import Store, open_store
from zonule.store.backup import back_up, restore
from zonule.store.faults import ConflictError, DamagedError, RefusedError
from zonule.store.verifying import verify_store

NewUrl = Callable[[], str]


def fill(store: Store) -> str:
    """A little of everything; gives the id of the signed note."""
    add_user(store)
    add_user(store, "rowan", "auditor", "administrator")
    store.users.disable("rowan")
    store.users.set_subject("imogen", "https://login.harrowmere.example", "s-1")
    cases = [CaseData(patient="Edda Quill", hospital_number="HEU-4711", date=DAY), CaseData(patient="Ödön Ash")]
    first, _ = store.cases.import_list(DAY, cases, "imogen")
    note = store.notes.create(draft(None, OPEN, words="Zoë 😀\r\n"), "imogen", case_id=first.id, key="k")
    record = operation(lens("HM1", "L1", "Skerry 1"))
    store.notes.save(note.id, 1, draft(record), "imogen")
    with pytest.raises(ConflictError):
        store.notes.save(note.id, 1, draft(words="Too late."), "rowan")
    store.notes.sign(note.id, 2, "imogen", "Imogen Sallow")
    store.notes.add_addendum(note.id, "More.", record, GapReport(), "imogen")
    store.notes.create(draft(None, OPEN), "imogen")
    proposal = store.corrections.note("repair_accepted", "surf your oxime", "cefuroxime", "imogen")
    store.corrections.note("repair_refused", "skerry", "scary", "imogen")
    store.corrections.decide(proposal, True, "imogen")
    return note.id


def everything(store: Store, note_id: str) -> tuple[object, ...]:
    """What somebody sees of a store."""
    return (
        store.notes.get(note_id), store.notes.versions(note_id), store.notes.page(), store.cases.of_day(DAY),
        store.users.all(), store.trail.page(), store.corrections.proposals(), store.corrections.proposals(decided=True),
        store.find.recall(lot="L1"), store.find.by_day(),
    )  # fmt: skip


def test_an_export_read_in_gives_the_same_export(store: Store, new_url: NewUrl, tmp_path: Path) -> None:
    note_id = fill(store)
    first, again, third = tmp_path / "1.zip", tmp_path / "2.zip", tmp_path / "3.zip"
    store.transfer.export_all(first)
    store.transfer.export_all(again)
    with open_store(new_url(), hasher=QUICK) as other:
        other.transfer.import_all(first)
        other.transfer.export_all(third)
        assert everything(other, note_id) == everything(store, note_id)
        assert verify_store(other.database).faults == ()
        assert other.users.check("imogen", PASSWORD) == store.users.get("imogen")
        saved = other.notes.create(draft(), "imogen")
        assert other.trail.verify() is None
        assert saved.number == 1
    assert first.read_bytes() == again.read_bytes() == third.read_bytes()
    assert first.stat().st_mode & 0o777 == 0o600
    assert sorted(path.name for path in tmp_path.glob(".*.zip*")) == []


def test_an_export_of_either_database_is_the_same(store: Store, kind: str, tmp_path: Path) -> None:
    """What one wrote the other reads; the export names no database. SQLite and PostgreSQL meet in the file."""
    fill(store)
    store.transfer.export_all(tmp_path / "1.zip")
    with open_store(f"sqlite:///{tmp_path / 'other.db'}", hasher=QUICK) as other:
        other.transfer.import_all(tmp_path / "1.zip")
        other.transfer.export_all(tmp_path / "2.zip")
    assert (tmp_path / "1.zip").read_bytes() == (tmp_path / "2.zip").read_bytes(), kind


def test_the_manifest_counts_what_is_there(store: Store, tmp_path: Path) -> None:
    fill(store)
    store.transfer.export_all(tmp_path / "all.zip")
    with zipfile.ZipFile(tmp_path / "all.zip") as archive:
        manifest = json.loads(archive.read("manifest.json"))
        told = {name: (held["rows"], held["sha256"]) for name, held in manifest["files"].items()}
        found = {name: archive.read(name) for name in told}
    assert told == {name: (data.count(b"\n"), sha256(data).hexdigest()) for name, data in found.items()}
    assert {name: rows for name, (rows, _) in told.items()} == {
        "users.jsonl": 2, "listed_cases.jsonl": 2, "notes.jsonl": 2, "note_versions.jsonl": 4, "addenda.jsonl": 1,
        "signatures.jsonl": 1, "found_notes.jsonl": 2, "found_implants.jsonl": 1, "trail.jsonl": 12,
        "trail_end.jsonl": 1, "corrections.jsonl": 2, "decisions.jsonl": 1,
    }  # fmt: skip


def change_member(source: Path, target: Path, name: str, old: bytes, new: bytes, honest: bool) -> None:
    """A copy with other words in one file; an honest manifest tells the digest of the changed file."""
    with zipfile.ZipFile(source) as archive:
        files = {held: archive.read(held) for held in archive.namelist()}
    assert old in files[name]
    files[name] = files[name].replace(old, new)
    if honest:
        manifest = json.loads(files["manifest.json"])
        manifest["files"][name] = {"rows": files[name].count(b"\n"), "sha256": sha256(files[name]).hexdigest()}
        files["manifest.json"] = json.dumps(manifest).encode()
    with zipfile.ZipFile(target, "w") as archive:
        for held, data in files.items():
            archive.writestr(held, data)


CHANGES = (
    ("note_versions.jsonl", b"Too late.", b"In time. ", False),
    ("note_versions.jsonl", b"Too late.", b"In time. ", True),
    ("trail.jsonl", b"note.set_aside", b"note.set_asidf", True),
    ("trail_end.jsonl", b'"number":12', b'"number":11', True),
    ("users.jsonl", b'"roles"', b'"rolls"', True),
    ("users.jsonl", b"2026-03-12T", b"someday", True),
    ("notes.jsonl", b'"version":2', b'"version":"2"x', True),
    ("manifest.json", b'"form": "0002"', b'"form": "9999"', False),
    ("manifest.json", b'"zonule_export": 1', b'"zonule_export": 2', False),
    ("manifest.json", b'"users.jsonl"', b'"../users"', False),
)


@pytest.mark.parametrize(("name", "old", "new", "honest"), CHANGES)
def test_a_changed_export_is_refused_whole(
    store: Store, new_url: NewUrl, tmp_path: Path, name: str, old: bytes, new: bytes, honest: bool
) -> None:
    fill(store)
    good, bad = tmp_path / "good.zip", tmp_path / "bad.zip"
    store.transfer.export_all(good)
    change_member(good, bad, name, old, new, honest)
    with open_store(new_url(), hasher=QUICK) as other:
        with pytest.raises(DamagedError) as caught:
            other.transfer.import_all(bad)
        assert str(caught.value).startswith("bad.zip: expected a")
        assert "Too late" not in str(caught.value)
        other.transfer.import_all(good)


def test_what_is_no_export(store: Store, tmp_path: Path) -> None:
    whole, cut, words = tmp_path / "whole.zip", tmp_path / "cut.zip", tmp_path / "words.zip"
    store.transfer.export_all(whole)
    cut.write_bytes(whole.read_bytes()[:-200])
    words.write_text("Right eye.")
    for path in (cut, words):
        with pytest.raises(DamagedError, match=r"expected a whole export, got no zip file"):
            store.transfer.import_all(path)
    with pytest.raises(InputError):
        store.transfer.import_all(tmp_path / "none.zip")
    (tmp_path / "file").touch()
    with pytest.raises(OutputError):
        store.transfer.export_all(tmp_path / "file" / "all.zip")


def test_only_an_empty_store_takes_an_export(store: Store, tmp_path: Path) -> None:
    fill(store)
    store.transfer.export_all(tmp_path / "all.zip")
    before = store.trail.page()
    with pytest.raises(RefusedError, match="expected an empty store"):
        store.transfer.import_all(tmp_path / "all.zip")
    assert store.trail.page() == before


# ---- backup and restore --------------------------------------------------------------------------------------------


def test_a_backup_taken_while_others_write_is_whole(url: str, store: Store, new_url: NewUrl, tmp_path: Path) -> None:
    note_id = fill(store)
    back_up(url, tmp_path / "backup")
    expected = everything(store, note_id)
    store.notes.create(draft(words="After the backup."), "imogen")
    target = new_url()
    assert restore(target, tmp_path / "backup") is None
    with open_store(target, hasher=QUICK) as other:
        assert everything(other, note_id) == expected
        assert verify_store(other.database).faults == ()
        with pytest.raises(Exception, match="only ever added to"), other.database.engine.begin() as connection:
            connection.execute(text("DELETE FROM trail"))
    assert (tmp_path / "backup").stat().st_mode & 0o777 == 0o600


def test_a_restore_never_writes_over_a_store(url: str, store: Store, tmp_path: Path) -> None:
    note_id = fill(store)
    back_up(url, tmp_path / "backup")
    with pytest.raises(RefusedError):
        restore(url, tmp_path / "backup")
    assert store.notes.get(note_id).number == 2


def test_a_replaced_file_is_put_aside(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'zonule.db'}"
    with open_store(url, hasher=QUICK, clock=Ticking()) as store:
        note_id = fill(store)
        back_up(url, tmp_path / "backup")
        later = store.notes.create(draft(words="After the backup."), "imogen")
        with pytest.raises(RefusedError, match="in use"):
            restore(url, tmp_path / "backup", replace=True)
        assert store.notes.get(later.id) == later
    aside = restore(url, tmp_path / "backup", replace=True)
    assert aside == tmp_path / "zonule.db.replaced-1"
    with open_store(url, hasher=QUICK) as store, open_store(f"sqlite:///{aside}", hasher=QUICK) as old:
        assert old.notes.get(later.id) == later
        assert [note.id for note in store.notes.page().items if note.id == later.id] == []
        assert store.notes.get(note_id) == old.notes.get(note_id)


def test_what_is_no_backup(new_url: NewUrl, tmp_path: Path) -> None:
    words = tmp_path / "words"
    words.write_text("Right eye. " * 1000)
    with pytest.raises(DamagedError) as caught:
        restore(new_url(), words)
    assert "Right" not in str(caught.value)
    with pytest.raises(InputError):
        restore(new_url(), tmp_path / "none")


def test_no_store_no_backup(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="got no file"):
        back_up(f"sqlite:///{tmp_path / 'none.db'}", tmp_path / "backup")
    (tmp_path / "words.db").write_text("Right eye. " * 1000)
    with pytest.raises(DamagedError):
        back_up(f"sqlite:///{tmp_path / 'words.db'}", tmp_path / "backup")
    assert not (tmp_path / "backup").exists()
    with pytest.raises(StoreError):
        open_store(f"sqlite:///{tmp_path / 'words.db'}")

"""Notes: versions, conflicts, signatures, addenda, pages. The same on SQLite and PostgreSQL."""

import hashlib
from threading import Barrier, Thread

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from store_samples import DAY, OPEN, add_user, draft, lens, operation

from zonule.case_data import CaseData
from zonule.record import GapReport, OperationRecord
from zonule.store import NoteState, Store
from zonule.store.faults import (
    ConflictError,
    NotFoundError,
    NotSignableError,
    NotSignedError,
    RefusedError,
    SignedError,
    TakenError,
)

NOBODY = "0" * 32


def test_a_note_comes_back_as_it_was_saved(store: Store) -> None:
    case = CaseData(patient="Edda Quill", date=DAY, allergies=("latex",))
    saved = draft(
        operation(lens("HM1", "L1", "Skerry 1")), OPEN, words="Zoë's “note” – 2.4 mm 😀\r\nend ", name="one.txt",
        keep=("surf", "oxime"), answers={"team.scrub": "Björn"}, label="(01)09506000134352", case=case,
    )  # fmt: skip
    note = store.notes.create(saved, "imogen")
    assert (note.number, note.state, note.draft) == (1, NoteState.DRAFT, saved)
    assert store.notes.get(note.id) == note
    assert store.notes.version(note.id, 1) == note.version


@given(words=st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), min_size=1, max_size=60))
@settings(max_examples=40, suppress_health_check=[*HealthCheck])
def test_any_words_come_back(store: Store, words: str) -> None:
    """Whatever can be dictated, sent or pasted: controls, signs of every plane, ends of lines of every kind."""
    saved = draft(operation(lens("HM1"), patient=words), words=words, name=words, keep=(words,), answers={words: words})
    note = store.notes.create(saved, "imogen")
    assert store.notes.get(note.id).draft == saved
    assert store.notes.page(limit=1).items[0].patient == words


def test_every_version_is_kept(store: Store) -> None:
    first, second = draft(None, OPEN, words="First words."), draft(words="Second words.")
    note = store.notes.create(first, "imogen")
    note = store.notes.save(note.id, 1, second, "rowan")
    assert (note.number, note.state, note.created_by, note.version.author) == (2, NoteState.COMPLETE, "imogen", "rowan")
    kept = store.notes.versions(note.id)
    assert [(v.number, v.base_version, v.set_aside, v.author, v.draft) for v in kept] == [
        (1, None, False, "imogen", first),
        (2, 1, False, "rowan", second),
    ]


def test_words_that_come_too_late_are_kept_aside(store: Store) -> None:
    note = store.notes.create(draft(words="Begun."), "imogen")
    current = store.notes.save(note.id, 1, draft(words="Imogen's words."), "imogen")
    with pytest.raises(ConflictError) as caught:
        store.notes.save(note.id, 1, draft(words="Rowan's words."), "rowan")
    assert caught.value.current == current == store.notes.get(note.id)
    kept = caught.value.set_aside
    assert (kept.number, kept.set_aside, kept.draft.dictation, kept.author) == (3, True, "Rowan's words.", "rowan")
    after = store.notes.save(note.id, 2, draft(words="Both together."), "rowan")
    assert [(v.number, v.set_aside) for v in store.notes.versions(note.id)] == [
        (1, False), (2, False), (3, True), (4, False),
    ]  # fmt: skip
    assert after.number == 4


def test_two_who_save_at_once_lose_nothing(store: Store) -> None:
    """Eight people change version 1 at the same moment: one becomes version 2, the words of all eight are kept."""
    note, gate = store.notes.create(draft(), "imogen"), Barrier(8)
    outcomes: list[str] = []

    def save(number: int) -> None:
        gate.wait()
        try:
            store.notes.save(note.id, 1, draft(words=f"Words of {number}."), f"user{number}")
            outcomes.append("saved")
        except ConflictError:
            outcomes.append("set aside")

    threads = [Thread(target=save, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["saved", *["set aside"] * 7]
    kept = store.notes.versions(note.id)[1:]
    assert {v.draft.dictation for v in kept} == {f"Words of {number}." for number in range(8)}
    assert [v.number for v in kept] == list(range(2, 10))
    assert [v.number for v in kept if not v.set_aside] == [store.notes.get(note.id).number]
    assert store.trail.verify() is None


@pytest.mark.parametrize("base", [0, -1, 7])
def test_a_version_nobody_ever_saw_is_refused(store: Store, base: int) -> None:
    note = store.notes.create(draft(), "imogen")
    with pytest.raises(RefusedError, match="one of its versions"):
        store.notes.save(note.id, base, draft(), "imogen")
    assert len(store.notes.versions(note.id)) == 1


def test_a_signature_names_version_signer_and_bytes(store: Store) -> None:
    note = store.notes.create(draft(), "imogen")
    signed = store.notes.sign(note.id, 1, "imogen", " Imogen Sallow ")
    assert signed.signature is not None
    record = note.record.model_dump_json().encode()
    held = signed.signature
    assert (held.version, held.signer, held.signed_name) == (1, "imogen", "Imogen Sallow")
    assert held.sha256 == hashlib.sha256(record).hexdigest()
    assert (signed.state, store.notes.get(note.id)) == (NoteState.SIGNED, signed)


def test_a_signed_note_stays_and_late_words_are_kept(store: Store) -> None:
    note = store.notes.create(draft(), "imogen")
    signed = store.notes.sign(note.id, 1, "imogen", "Imogen Sallow")
    with pytest.raises(SignedError) as caught:
        store.notes.save(note.id, 1, draft(words="Too late."), "rowan")
    assert caught.value.set_aside is not None
    assert caught.value.set_aside.draft.dictation == "Too late."
    with pytest.raises(SignedError):
        store.notes.sign(note.id, 1, "rowan", "Rowan Teal")
    assert store.notes.get(note.id) == signed


def test_what_cannot_be_signed(store: Store) -> None:
    note = store.notes.create(draft(), "imogen")
    store.notes.save(note.id, 1, draft(), "imogen")
    open_note = store.notes.create(draft(None, OPEN), "imogen")
    talk = store.notes.create(draft(OperationRecord(is_operation_note=False)), "imogen")
    assert talk.state is NoteState.DRAFT
    refused = [(note.id, 1, "I. Sallow"), (open_note.id, 1, "I. Sallow"), (talk.id, 1, "I. Sallow"), (note.id, 2, " ")]
    for note_id, version, name in refused:
        with pytest.raises(NotSignableError):
            store.notes.sign(note_id, version, "imogen", name)
    assert {store.notes.get(held).signature for held in (note.id, open_note.id, talk.id)} == {None}


def test_addenda_follow_the_signature(store: Store) -> None:
    note = store.notes.create(draft(), "imogen")
    with pytest.raises(NotSignedError):
        store.notes.add_addendum(note.id, "More.", operation(), GapReport(), "imogen")
    signed = store.notes.sign(note.id, 1, "imogen", "Imogen Sallow")
    for number, words in enumerate(("The lot was read again.", "And the serial."), 1):
        record = operation(lens(serial=f"HM{number}"))
        added = store.notes.add_addendum(note.id, words, record, GapReport(), "imogen")
        assert added.record == record
    assert [(a.number, a.dictation, a.author) for a in added.addenda] == [
        (1, "The lot was read again.", "imogen"),
        (2, "And the serial.", "imogen"),
    ]
    assert (added.draft, added.signature) == (signed.draft, signed.signature)
    assert store.notes.get(note.id) == added
    assert [found.serial_number for found in store.find.recall(serial="hm 2")] == ["HM2"]
    assert store.find.recall(serial="HM1") == ()


def test_the_same_key_makes_one_note(store: Store) -> None:
    first = store.notes.create(draft(words="Once."), "imogen", key="k1")
    again = store.notes.create(draft(words="Twice."), "imogen", key="k1")
    other = store.notes.create(draft(words="Another's."), "rowan", key="k1")
    assert again == first
    assert other.id != first.id


def test_a_case_has_one_note(store: Store) -> None:
    (listed,) = store.cases.import_list(DAY, [CaseData(patient="Edda Quill")], "imogen")
    store.notes.create(draft(), "imogen", case_id=listed.id)
    with pytest.raises(TakenError):
        store.notes.create(draft(), "rowan", case_id=listed.id)
    with pytest.raises(NotFoundError):
        store.notes.create(draft(), "rowan", case_id=NOBODY)


@pytest.mark.parametrize("unknown", [NOBODY, "", "x", "'; DROP TABLE notes; --", "ä" * 32])
def test_unknown_notes(store: Store, unknown: str) -> None:
    add_user(store)
    for ask in (
        lambda: store.notes.get(unknown),
        lambda: store.notes.versions(unknown),
        lambda: store.notes.version(unknown, 1),
        lambda: store.notes.save(unknown, 1, draft(), "imogen"),
        lambda: store.notes.sign(unknown, 1, "imogen", "Imogen Sallow"),
        lambda: store.notes.add_addendum(unknown, "", operation(), GapReport(), "imogen"),
    ):
        with pytest.raises(NotFoundError):
            ask()


@pytest.mark.parametrize("words", ["a\x00b", "torn \ud83d", "x" * 1_000_001])
def test_text_that_no_database_keeps_is_refused_without_being_shown(store: Store, words: str) -> None:
    with pytest.raises(RefusedError) as caught:
        store.notes.create(draft(operation(), words=words), "imogen")
    assert words[:4] not in str(caught.value)
    assert store.notes.page().items == ()


def test_pages_of_notes(store: Store) -> None:
    made = [store.notes.create(draft(operation(number=f"N{n}"), *([OPEN] * (n % 2))), f"user{n % 3}") for n in range(7)]
    ids, cursor = [], None
    for _ in range(4):
        page = store.notes.page(limit=2, cursor=cursor)
        ids += [note.id for note in page.items]
        cursor = page.cursor
    assert (ids, cursor) == ([note.id for note in reversed(made)], None)
    drafts = store.notes.page(state=NoteState.DRAFT).items
    assert [note.hospital_number for note in drafts] == ["N5", "N3", "N1"]
    assert [note.id for note in store.notes.page(author="user0").items] == [made[n].id for n in (6, 3, 0)]
    with pytest.raises(RefusedError):
        store.notes.page(cursor="nonsense")

"""The day's list; notes found by lens, lot, serial number, day, surgeon and hospital number."""

from datetime import date
from itertools import pairwise

import pytest
from store_samples import DAY, OPEN, draft, lens, operation

from zonule.case_data import CaseData
from zonule.record import Implant
from zonule.store import CaseState, FoundNote, NoteState, Store
from zonule.store.faults import NotFoundError, RefusedError
from zonule.vocabulary import Eye, LensStatus

EDDA = CaseData(patient="Edda Quill", hospital_number="HEU-1", planned_eye=Eye.RIGHT, date=DAY)
ODON = CaseData(patient="Ödön Ash", hospital_number="HEU-2", planned_eye=Eye.LEFT, theatre="2")
FERN = CaseData(patient="Fern Oddie", planned_eye=Eye.LEFT)


def test_a_list_and_where_its_notes_stand(store: Store) -> None:
    listed = store.cases.import_list(DAY, [EDDA, ODON, FERN, CaseData()], "imogen")
    assert [(c.position, c.case, c.note_id, c.state) for c in listed] == [
        (n, case, None, CaseState.NO_DICTATION) for n, case in enumerate((EDDA, ODON, FERN, CaseData()), 1)
    ]
    notes = [store.notes.create(draft(None, *gaps), "imogen", listed[n].id) for n, gaps in enumerate(([OPEN], [], []))]
    store.notes.sign(notes[2].id, 1, "imogen", "Imogen Sallow")
    states = [CaseState.GAPS_OPEN, CaseState.READY, CaseState.SIGNED, CaseState.NO_DICTATION]
    now = store.cases.of_day(DAY)
    assert [c.state for c in now] == states
    assert [c.note_id for c in now] == [*(note.id for note in notes), None]
    assert store.cases.get(listed[1].id) == now[1]
    assert store.notes.get(notes[1].id).case_id == listed[1].id


def test_a_list_read_in_again_keeps_its_notes(store: Store) -> None:
    first = store.cases.import_list(DAY, [EDDA, ODON, FERN], "imogen")
    note = store.notes.create(draft(), "imogen", first[1].id)
    moved = EDDA.model_copy(update={"theatre": "3"})
    again = store.cases.import_list(DAY, [FERN, moved], "imogen")
    assert [(c.id, c.position, c.case, c.note_id) for c in again] == [
        (first[2].id, 1, FERN, None),
        (first[0].id, 2, moved, None),
        (first[1].id, 3, ODON, note.id),
    ]
    assert store.cases.import_list(DAY, [], "imogen") == store.cases.of_day(DAY)
    assert [c.id for c in store.cases.of_day(DAY)] == [first[1].id]


def test_both_eyes_of_one_patient_are_two_cases(store: Store) -> None:
    other_eye = EDDA.model_copy(update={"planned_eye": Eye.LEFT})
    listed = store.cases.import_list(DAY, [EDDA, other_eye, EDDA], "imogen")
    again = store.cases.import_list(DAY, [other_eye, EDDA, EDDA], "imogen")
    assert [c.id for c in again] == [listed[1].id, listed[0].id, listed[2].id]


def test_days_and_what_is_not_on_them(store: Store) -> None:
    store.cases.import_list(DAY, [EDDA], "imogen")
    store.cases.import_list(date(2026, 3, 11), [FERN], "imogen")
    assert store.cases.days() == (DAY, date(2026, 3, 11))
    assert store.cases.days(limit=1) == (DAY,)
    assert store.cases.of_day(date(2026, 3, 13)) == ()
    with pytest.raises(RefusedError, match="Case 2: expected a case of 2026-03-11"):
        store.cases.import_list(date(2026, 3, 11), [FERN, EDDA], "imogen")
    assert [c.case for c in store.cases.of_day(date(2026, 3, 11))] == [FERN]
    with pytest.raises(NotFoundError):
        store.cases.get("unknown")


# ---- finding -------------------------------------------------------------------------------------------------------

LABEL = "(01)09506000134352(17)281130(10)LB771(21)53902168"
"""A made-up code of a GS1 label: lot LB771, serial number 53902168."""


def identities(found: tuple[FoundNote, ...]) -> list[tuple[str | None, str | None, str | None, str | None]]:
    return [(f.status, f.serial_number, f.lot_number, f.hospital_number) for f in found]


def test_a_recall_finds_everyone_by_lot_serial_or_model(store: Store) -> None:
    opened, explanted = LensStatus.OPENED_NOT_IMPLANTED, LensStatus.EXPLANTED
    notes = [
        (operation(lens("HM-1", "L 77", "Skerry 1"), day=date(2026, 3, 3), number="N1"), []),
        (operation(lens("HM2", "l77", "Skerry 2", opened), lens("HM3", "L78", "skerry-1"), number="N2"), [OPEN]),
        (operation(lens("HM4", "L-77", None, explanted), day=None, number="N3"), []),
        (operation(lens("HM5", "L79", "Skerry 11"), number="N4"), []),
        (operation(implants=(Implant(kind="capsular_tension_ring", identifier="L77"),), number="N5"), []),
    ]
    ids = [store.notes.create(draft(record, *gaps), "imogen").id for record, gaps in notes]
    store.notes.sign(ids[0], 1, "imogen", "Imogen Sallow")
    recalled = store.find.recall(lot="L77")
    assert {(f.status, f.serial_number, f.hospital_number, f.kind) for f in recalled} == {
        ("implanted", "HM-1", "N1", "lens"),
        ("opened_not_implanted", "HM2", "N2", "lens"),
        ("explanted", "HM4", "N3", "lens"),
        ("implanted", "L77", "N5", "capsular_tension_ring"),
    }
    days = [found.date or date.min for found in recalled]
    assert days == sorted(days)
    assert recalled[1] == FoundNote(
        ids[0], NoteState.SIGNED, date(2026, 3, 3), "Imogen Sallow", "N1", "Edda Quill", "right", "lens", "implanted",
        None, "Skerry 1", None, "HM-1", "L 77",
    )  # fmt: skip
    assert identities(store.find.recall(serial="hm1")) == [("implanted", "HM-1", "L 77", "N1")]
    assert [f.hospital_number for f in store.find.recall(model="Skerry1")] == ["N1", "N2"]
    assert identities(store.find.by_lens(lot="L77", model="Skerry 2").items) == [
        ("opened_not_implanted", "HM2", "l77", "N2"),
    ]
    assert store.find.by_lens(lot="L77", serial="HM5").items == ()


def test_the_label_counts_where_the_record_says_otherwise(store: Store) -> None:
    same, other = operation(lens("53902168", "LB771"), number="N1"), operation(lens("5390", "LB77"), number="N2")
    for record in (same, other):
        store.notes.create(draft(record, label=LABEL), "imogen")
    store.notes.create(draft(operation(number="N3"), label="no label at all"), "imogen")
    found = {(f.status, f.hospital_number) for f in store.find.recall(lot="lb771")}
    assert found == {("implanted", "N1"), ("label", "N2")}


def test_the_index_follows_the_newest_version(store: Store) -> None:
    note = store.notes.create(draft(operation(lens("HM1"), lens("HM2"))), "imogen")
    store.notes.save(note.id, 1, draft(operation(lens("HM3"))), "imogen")
    with pytest.raises(Exception, match="kept aside"):
        store.notes.save(note.id, 1, draft(operation(lens("HM4"))), "rowan")
    assert [bool(store.find.recall(serial=f"HM{n}")) for n in range(1, 5)] == [False, False, True, False]


@pytest.mark.parametrize("asked", [{}, {"lot": "L1", "serial": "S1"}, {"lot": ""}, {"serial": " - "}])
def test_a_recall_of_nothing_is_refused(store: Store, asked: dict[str, str]) -> None:
    store.notes.create(draft(operation(lens("HM1"))), "imogen")
    with pytest.raises(RefusedError):
        store.find.recall(**asked)


def test_by_day_surgeon_and_hospital_number(store: Store) -> None:
    made = [
        (date(2026, 3, 1), "Imogen Sallow", "HEU-1"),
        (date(2026, 3, 12), "imogen  sallow", "heu 1"),
        (date(2026, 3, 12), "Rowan Teal", "HEU-2"),
        (date(2026, 4, 1), "Imogen Sallow", "HEU-3"),
        (None, "Imogen Sallow", "HEU-4"),
    ]
    for day, surgeon, number in made:
        store.notes.create(draft(operation(lens("HM1"), day=day, surgeon=surgeon, number=number)), "imogen")
    march = store.find.by_day(date(2026, 3, 1), date(2026, 3, 31)).items
    assert [f.date for f in march] == [DAY, DAY, date(2026, 3, 1)]
    hers = store.find.by_day(surgeon="Imogen Sallow").items
    assert [f.hospital_number for f in hers] == ["HEU-3", "heu 1", "HEU-1", "HEU-4"]
    assert [f.date for f in store.find.by_day(last=date(2026, 3, 1)).items] == [date(2026, 3, 1)]
    assert [f.date for f in store.find.by_hospital_number("HEU 1").items] == [DAY, date(2026, 3, 1)]
    assert {f.serial_number for f in march} == {"HM1"}


def test_what_the_record_does_not_say_is_taken_from_the_list(store: Store) -> None:
    silent = operation(day=None, surgeon=None, number=None, patient=None)
    store.notes.create(draft(silent, case=EDDA.model_copy(update={"surgeon": "Imogen Sallow"})), "imogen")
    (found,) = store.find.by_day().items
    assert (found.date, found.surgeon) == (DAY, "Imogen Sallow")
    assert (found.hospital_number, found.patient) == ("HEU-1", "Edda Quill")


def test_pages_are_the_whole_without_doubles(store: Store) -> None:
    for number in range(7):
        record = operation(lens(f"A{number}", "L1"), lens(f"B{number}", "L1"), day=date(2026, 3, 1 + number // 3))
        store.notes.create(draft(record), "imogen")
    serials, days, cursor = [], [], None
    while True:
        page = store.find.by_lens(lot="L1", limit=3, cursor=cursor)
        serials += [f.serial_number for f in page.items]
        if (cursor := page.cursor) is None:
            break
    assert serials == [f.serial_number for f in store.find.recall(lot="L1")]
    assert len(set(serials)) == 14
    while True:
        notes = store.find.by_day(limit=2, cursor=cursor)
        days += [(f.date or date.min, f.note_id) for f in notes.items]
        if (cursor := notes.cursor) is None:
            break
    assert all(one > other for one, other in pairwise(days))
    assert len(days) == 7
    for wrong in ("nonsense", "W10=", "WyJhIiwiYiIsImMiXQ=="):
        with pytest.raises(RefusedError):
            store.find.by_lens(lot="L1", cursor=wrong)

"""The unit audit: completeness by item and month, rates with Wilson intervals, settings by surgeon, plots."""

from dataclasses import replace
from datetime import date
from itertools import count
from xml.etree import ElementTree

import pytest
from store_samples import DAY, OPEN, complicated, draft, operation, said

from zonule.errors import UnknownNameError
from zonule.record import GapReport, OperationRecord, Setting
from zonule.requirements import Requirements
from zonule.store import NoteState, RecordedNote, Store
from zonule.unit_audit import (
    Rate,
    SettingSpread,
    audit_unit,
    complication_rates,
    coverage_over_time_svg,
    rates_by_surgeon,
    rates_svg,
    settings_by_surgeon,
    settings_svg,
    wilson_interval,
)
from zonule.vocabulary import Eye, Limit

NUMBERS = count(1)
APRIL = date(2026, 4, 2)


def note(record: OperationRecord, day: date | None = DAY, surgeon: str | None = "Imogen Sallow") -> RecordedNote:
    return RecordedNote(f"{next(NUMBERS):032x}", 1, 0, NoteState.COMPLETE, day, surgeon, record)


# Newcombe RG. Two-sided confidence intervals for the single proportion: comparison of seven methods. Statistics in
# Medicine 1998; 17: 857-872, Table I, method 3 (Wilson score without continuity correction); from memory.
NEWCOMBE = [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)]


@pytest.mark.parametrize(("count", "of", "low", "high"), NEWCOMBE)
def test_the_interval_is_the_published_one(count: int, of: int, low: float, high: float) -> None:
    assert tuple(round(bound, 4) for bound in wilson_interval(count, of)) == (low, high)


def test_without_operations_nothing_is_known() -> None:
    assert wilson_interval(0, 0) == (0.0, 1.0)
    assert complication_rates([]) == (Rate("*", "Any complication", 0, 0, 0.0, 100.0),)


def test_rates_are_of_the_notes_that_state_them() -> None:
    """Silence is not none: the note that says nothing is in no denominator."""
    notes = [
        note(operation(complications=complicated())),
        note(operation(complications=complicated("posterior_capsule_rupture", "vitreous_loss"))),
        note(operation(complications=complicated("posterior_capsule_rupture")), surgeon="imogen  sallow"),
        note(operation(complications=complicated()), surgeon="Rowan Teal"),
        note(operation(), surgeon="Rowan Teal"),
        note(operation(), surgeon=None),
    ]
    told = [(r.id, r.name, r.count, r.of, r.pct) for r in complication_rates(notes)]
    assert told == [
        ("*", "Any complication", 2, 4, 50.0),
        ("posterior_capsule_rupture", "Posterior capsule rupture", 2, 4, 50.0),
        ("vitreous_loss", "Vitreous loss", 1, 4, 25.0),
    ]
    assert [(r.name, r.count, r.of, r.pct) for r in rates_by_surgeon(notes)] == [
        ("Imogen Sallow", 2, 3, pytest.approx(66.667, abs=0.001)),
        ("Rowan Teal", 0, 1, 0.0),
        ("no surgeon stated", 0, 0, None),
    ]


def vacuum(value: float, limit: Limit = Limit.FIXED, high: float | None = None) -> OperationRecord:
    setting = Setting(phase="sculpt", parameter="vacuum_mmhg", limit=limit, value=value, high=high)
    return operation(settings=(said(setting),))


def test_settings_by_surgeon() -> None:
    notes = [note(vacuum(v)) for v in (40, 60, 50, 100, 70)] + [note(vacuum(65), surgeon="Rowan Teal")]
    notes += [note(vacuum(300, Limit.MAXIMUM)), note(vacuum(5, Limit.RANGE, 35))]
    spreads = settings_by_surgeon(notes)
    assert spreads == (
        SettingSpread("vacuum_mmhg", "sculpt", Limit.FIXED, "Imogen Sallow", 5, 40, 50, 60, 70, 100),
        SettingSpread("vacuum_mmhg", "sculpt", Limit.FIXED, "Rowan Teal", 1, 65, 65, 65, 65, 65),
        SettingSpread("vacuum_mmhg", "sculpt", Limit.MAXIMUM, "Imogen Sallow", 1, 300, 300, 300, 300, 300),
        SettingSpread("vacuum_mmhg", "sculpt", Limit.RANGE, "Imogen Sallow", 1, 35, 35, 35, 35, 35),
    )


def test_completeness_by_item_and_month(requirements: Requirements) -> None:
    notes = [
        note(operation(eye=Eye.RIGHT)),
        note(operation(eye=None)),
        note(operation(eye=Eye.LEFT), APRIL),
        note(operation(eye=Eye.LEFT), None),
        note(OperationRecord(is_operation_note=False)),
    ]
    audit = audit_unit(notes, requirements)
    assert (audit.notes, audit.undated, audit.unstated) == (4, 1, 4)
    assert audit.states == ((NoteState.DRAFT, 0), (NoteState.COMPLETE, 4), (NoteState.SIGNED, 0))
    items = {item.id: item for item in audit.items}
    eye = next(item for name, item in items.items() if name in ("operation.eye", "eye"))
    assert [(m.month, m.stated, m.of) for m in eye.months] == [("2026-03", 1, 2), ("2026-04", 1, 1)]
    assert (eye.whole.stated, eye.whole.of) == (2, 3)
    whole = audit.items[0]
    assert (whole.id, whole.name) == ("*", "All items")
    parts = [item.whole for item in audit.items[1:]]
    assert (whole.whole.stated, whole.whole.of) == (sum(p.stated for p in parts), sum(p.of for p in parts))
    shares = [part.pct for part in parts]
    assert shares == sorted(shares)
    with pytest.raises(UnknownNameError):
        audit_unit(notes, requirements, "no such set")


def test_a_note_that_changed_is_marked_again(requirements: Requirements) -> None:
    first = note(operation(eye=None))
    later = replace(first, version=2, record=operation(eye=Eye.RIGHT))
    added = replace(later, addenda=1, record=operation(eye=Eye.RIGHT, blood_loss=said("none")))
    shares = [audit_unit([held], requirements).items[0].whole.stated for held in (first, first, later, added, first)]
    assert shares == [shares[0], shares[0], shares[0] + 1, shares[0] + 2, shares[0]]


def test_the_plots_are_drawings_with_their_words(requirements: Requirements) -> None:
    plain = [vacuum(value).model_copy(update={"complications": complicated()}) for value in (40, 60)]
    notes = [note(record, day) for record in plain for day in (DAY, APRIL)]
    notes.append(note(operation(complications=complicated("vitreous_loss")), surgeon="<b>&"))
    audit = audit_unit(notes, requirements)
    drawings = (coverage_over_time_svg(audit.items), rates_svg(audit.surgeons), settings_svg(audit.settings))
    for drawing in drawings:
        root = ElementTree.fromstring(drawing)
        assert root.tag == "{http://www.w3.org/2000/svg}svg"
        assert "<b>" not in drawing
        assert "style=" not in drawing
    assert "month by month" in drawings[0]
    assert "<b>& (1 of 1): 100, from 20.7 to 100" in (ElementTree.fromstring(drawings[1])[1].text or "")
    assert drawings == (coverage_over_time_svg(audit.items), rates_svg(audit.surgeons), settings_svg(audit.settings))


def test_nothing_to_show(requirements: Requirements) -> None:
    audit = audit_unit([], requirements)
    assert (audit.notes, audit.items, audit.settings, audit.surgeons) == (0, (), (), ())
    for drawing in (coverage_over_time_svg(()), rates_svg(audit.complications), settings_svg(())):
        ElementTree.fromstring(drawing)


def test_what_the_store_gives_is_the_note_as_it_stands(store: Store) -> None:
    """The newest version or the newest addendum; no version set aside; the day and surgeon of the list."""
    first, second, third = (operation(findings=(said(word),)) for word in ("one", "two", "three"))
    signed = store.notes.create(draft(first), "imogen")
    store.notes.save(signed.id, 1, draft(second), "imogen")
    store.notes.sign(signed.id, 2, "imogen", "Imogen Sallow")
    store.notes.add_addendum(signed.id, "More.", third, GapReport(), "imogen")
    begun = store.notes.create(draft(operation(day=APRIL), OPEN), "imogen")
    with pytest.raises(Exception, match="kept aside"):
        store.notes.save(signed.id, 1, draft(first), "rowan")
    found = list(store.find.records())
    assert [(n.note_id, n.version, n.addenda, n.state, n.date, n.surgeon) for n in found] == [
        (signed.id, 2, 1, NoteState.SIGNED, DAY, "Imogen Sallow"),
        (begun.id, 1, 0, NoteState.DRAFT, APRIL, "Imogen Sallow"),
    ]
    assert found[0].record == third
    assert [n.note_id for n in store.find.records(first=date(2026, 4, 1))] == [begun.id]
    assert [n.note_id for n in store.find.records(last=DAY)] == [signed.id]
    assert next(store.find.records()).note_id == signed.id

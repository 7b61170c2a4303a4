"""Forty complete notes have no gap; each item taken out of them is asked for, itself and nothing else."""

from datetime import date

from drafts import Draft, build, shown
from generated import MEMBERS, complete_note, items_of, without

from zonule.gap_report import check
from zonule.lexicon import Lexicon
from zonule.record import GapReport
from zonule.requirements import Requirements

NOTES = 40
DAY = date(2026, 12, 1)


def report(draft: Draft, requirements: Requirements, lexicon: Lexicon) -> GapReport:
    return check(build(draft), requirements, lexicon, today=DAY)


def test_complete_notes_have_no_gap(requirements: Requirements, lexicon: Lexicon) -> None:
    found = {seed: shown(report(complete_note(seed), requirements, lexicon)) for seed in range(NOTES)}
    assert {seed: gaps for seed, gaps in found.items() if gaps} == {}


def test_notes_are_varied() -> None:
    texts = {str(sorted(complete_note(seed).slots.items())) for seed in range(NOTES)}
    assert len(texts) == NOTES
    assert {item for seed in range(NOTES) for item in items_of(complete_note(seed))} == set(MEMBERS)


def test_every_item_taken_out_is_its_own_gap(requirements: Requirements, lexicon: Lexicon) -> None:
    """Recall and precision are counted, and both must be whole: the rules are exact."""
    removals = [(seed, item) for seed in range(NOTES) for item in items_of(complete_note(seed))]
    assert len(removals) >= 600
    found = {
        (seed, item): [g.id for g in report(without(complete_note(seed), item), requirements, lexicon).gaps]
        for seed, item in removals
    }
    expected = {(seed, item): [MEMBERS[item]] for seed, item in removals}
    assert found == expected

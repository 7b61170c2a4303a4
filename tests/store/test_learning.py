"""Corrections, the proposals they add up to, and the unit's lexicon that learns from those a person accepts."""

from pathlib import Path

import pytest
from store_samples import Ticking

from zonule.dictation import read_text
from zonule.errors import InputError, LexiconError
from zonule.learning import CHANGES, LEARNED, accept, entry_of, refuse
from zonule.lexicon import Lexicon, load_lexicon
from zonule.pipeline import Reader
from zonule.record.slots import slot_values
from zonule.settings import lexicon_folder
from zonule.store import CorrectionKind, Store
from zonule.store.faults import NotFoundError, RefusedError

ACCEPTED, REFUSED, ANSWER = CorrectionKind.REPAIR_ACCEPTED, CorrectionKind.REPAIR_REFUSED, CorrectionKind.ANSWER


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The unit's own lexicon folder, which is not there yet."""
    monkeypatch.setenv("ZONULE_LEXICON", str(tmp_path / "unit"))
    monkeypatch.setenv("ZONULE_CACHE", "off")
    return tmp_path / "unit"


@pytest.fixture(scope="module")
def lexicon() -> Lexicon:
    return load_lexicon(lexicon_folder())


# ---- corrections and proposals -------------------------------------------------------------------------------------


def test_corrections_add_up_to_proposals(store: Store) -> None:
    for heard, by in (("Pair of Kim", "imogen"), ("pair  of kim", "rowan"), ("PAIR OF KIM", "imogen")):
        often = store.corrections.note(ACCEPTED, heard, "viscoelastic", by)
    seldom = store.corrections.note("repair_refused", "skerry", "scary", "imogen")
    told = [(p.id, p.kind, p.reading, p.count, p.people) for p in store.corrections.proposals()]
    assert told == [(often, ACCEPTED, "viscoelastic", 3, 2), (seldom, REFUSED, "scary", 1, 1)]
    assert store.corrections.proposals(decided=True) == ()
    first, last = store.corrections.get(often).first_at, store.corrections.get(often).last_at
    assert (last - first).total_seconds() == 2
    with pytest.raises(RefusedError):
        store.corrections.note("guess", "a", "b", "imogen")
    with pytest.raises(NotFoundError):
        store.corrections.get("unknown")


def test_a_decision_is_made_once_and_told_without_words(store: Store) -> None:
    proposal = store.corrections.note(ACCEPTED, "pair of kim", "viscoelastic", "rowan")
    decided = refuse(store, proposal, "imogen")
    assert (decided.accepted, decided.decided_by) == (False, "imogen")
    assert store.corrections.proposals() == ()
    assert store.corrections.proposals(decided=True) == (decided,)
    with pytest.raises(RefusedError):
        store.corrections.decide(proposal, True, "imogen")
    (entry,) = store.trail.page().items
    assert (entry.actor, entry.action, entry.subject) == ("imogen", "proposal.decide", proposal)
    assert entry.detail == {"accepted": False, "kind": "repair_accepted", "count": 1}


# ---- the entry of a proposal ---------------------------------------------------------------------------------------

ENTRIES = (
    (ACCEPTED, "Skerry goo", "viscoelastic", '[[mishearing]]\nheard = ["skerry goo"]\nread_as = "viscoelastic"\n'),
    (REFUSED, "Skerryvore", "scary", '[[term]]\nid = "skerryvore"\nkind = "word"\nforms = ["skerryvore"]\n'),
    (ANSWER, "the yellow syringe", "antibiotic_prophylaxis=cefuroxime",
     '[[term]]\nid = "cefuroxime"\nkind = "drug"\nforms = ["the yellow syringe"]\n'),
    (ANSWER, "the Skerry way", "nucleus.technique=skerry_chop",
     '[[term]]\nid = "skerry_chop"\nkind = "technique"\nforms = ["skerry chop", "the skerry way"]\n'),
)  # fmt: skip


@pytest.mark.parametrize(("kind", "heard", "reading", "toml"), ENTRIES)
def test_what_would_be_learned(
    store: Store, lexicon: Lexicon, kind: CorrectionKind, heard: str, reading: str, toml: str
) -> None:
    proposal = store.corrections.get(store.corrections.note(kind, heard, reading, "imogen"))
    entry = entry_of(proposal, lexicon)
    assert entry.toml == toml + 'source = "corrections of the unit: 1 by one person"\n'
    assert entry.teaches


NOTHING = (
    (ACCEPTED, "cef your oxime", "cefuroxime", "knows this mishearing already"),
    (ACCEPTED, "phone", "phaco", "everyday word"),
    (ACCEPTED, "number 4711", "viscoelastic", "without digits"),
    (ACCEPTED, "pair of kim", "HEU-4711", "without digits"),
    (ACCEPTED, "one two three four five six seven", "viscoelastic", "one to 6 words"),
    (ACCEPTED, 'kim"\n[[term]]', "viscoelastic", "others"),
    (ACCEPTED, "viscoelastic", "Viscoelastic", "another reading"),
    (REFUSED, "cef your oxime", "cefuroxime", "take that entry out by hand"),
    (REFUSED, "cefuroxime", "cefuroxime", "knows these words"),
    (ANSWER, "Edda Quill", "patient.name=Edda Quill", "no words of the trade"),
    (ANSWER, "left a bit", "anesthesia=left a bit", "no concept"),
    (ANSWER, "cefuroxime", "antibiotic_prophylaxis=cefuroxime", "knows these words"),
    (ANSWER, "quickly", "nucleus.technique=skerry chop", "everyday word"),
    (ANSWER, "no slot at all", "", "no words of the trade"),
)


@pytest.mark.parametrize(("kind", "heard", "reading", "reason"), NOTHING)
def test_from_what_nothing_is_learned(
    store: Store, lexicon: Lexicon, folder: Path, kind: CorrectionKind, heard: str, reading: str, reason: str
) -> None:
    proposal = store.corrections.get(store.corrections.note(kind, heard, reading, "imogen"))
    entry = entry_of(proposal, lexicon)
    assert (entry.teaches, entry.toml) == (False, "")
    assert reason in entry.reason
    with pytest.raises(RefusedError, match="nothing to learn"):
        accept(store, proposal.id, "imogen")
    assert not (folder / LEARNED).exists()
    assert store.corrections.get(proposal.id).accepted is None


# ---- the unit's lexicon --------------------------------------------------------------------------------------------


def test_what_was_accepted_is_read(store: Store, folder: Path, clock: Ticking) -> None:
    """A repair, a word left alone and a form: a reader with the folder reads what one without it does not."""
    del clock
    given = [
        (ACCEPTED, "skerry goo", "cohesive viscoelastic"),
        (ANSWER, "the yellow syringe", "antibiotic_prophylaxis=cefuroxime"),
    ]
    for kind, heard, reading in given:
        assert accept(store, store.corrections.note(kind, heard, reading, "rowan"), "imogen") == folder / LEARNED
    words = read_text(
        "Operation note. Right eye phacoemulsification. Skerry goo was injected. Lens in the bag. "
        "Intracameral the yellow syringe 1 mg was given."
    )
    without, within = Reader(lexicon_folder()).read(words), Reader(lexicon_folder(), folder).read(words)
    told = {(v.slot, v.text) for v in slot_values(within)} - {(v.slot, v.text) for v in slot_values(without)}
    assert {("viscoelastic", "cohesive"), ("drugs", "cefuroxime intracameral 1 mg")} <= told


def test_a_word_that_was_refused_is_left_alone(store: Store, folder: Path) -> None:
    words = read_text("Right eye phacoemulsification. Kapsulorexys 5 mm complete. Lens in the bag.")
    (repair,) = Reader(lexicon_folder()).read(words).repairs
    accept(store, store.corrections.note(REFUSED, repair.reading.heard, repair.reading.read_as, "rowan"), "imogen")
    assert Reader(lexicon_folder(), folder).read(words).repairs == ()


def test_the_change_is_told_in_the_trail_and_in_the_folder(store: Store, folder: Path) -> None:
    for heard in ("skerry goo", "skerry jelly"):
        accept(store, store.corrections.note(ACCEPTED, heard, "viscoelastic", "rowan"), "imogen")
    entries = list(reversed(store.trail.page().items))
    assert [(e.actor, e.action) for e in entries] == [("imogen", "proposal.decide"), ("imogen", "lexicon.change")] * 2
    assert entries[1].subject == LEARNED
    assert set(entries[1].detail) == {"proposal", "sha256"}
    assert (folder / CHANGES).read_text("utf-8").splitlines()[2:] == [
        f"* 2026-03-12 08:00 UTC, imogen: `[[mishearing]]` in `learned.toml`, “{heard}” → “viscoelastic”"
        for heard in ("skerry goo", "skerry jelly")
    ]
    assert (folder / LEARNED).read_text("utf-8").count("[[mishearing]]") == 2
    assert sorted(path.name for path in folder.iterdir()) == [".learning.lock", CHANGES, LEARNED]


def test_what_was_written_by_hand_stays(store: Store, folder: Path) -> None:
    folder.mkdir()
    hand = '# ours\nkind = "drug"\n\n[[term]]\nid = "cefuroxime"\nforms = ["the yellow one"]\n'
    (folder / LEARNED).write_text(hand, "utf-8")
    accept(store, store.corrections.note(ACCEPTED, "skerry goo", "viscoelastic", "rowan"), "imogen")
    assert (folder / LEARNED).read_text("utf-8").startswith(hand)
    load_lexicon(lexicon_folder(), folder)


def test_a_lexicon_that_would_not_load_is_not_put_in_place(store: Store, folder: Path) -> None:
    folder.mkdir()
    proposal = store.corrections.note(ACCEPTED, "skerry goo", "viscoelastic", "rowan")
    for name, broken in ((LEARNED, "forms = 3\n"), ("other.toml", "[[term]\n")):
        (folder / name).write_text(broken, "utf-8")
        with pytest.raises(LexiconError):
            accept(store, proposal, "imogen")
        assert (folder / name).read_text("utf-8") == broken
        (folder / name).unlink()
    assert store.corrections.get(proposal).accepted is None
    accept(store, proposal, "imogen")


def test_a_decision_that_fails_takes_the_file_back(store: Store, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody else decides between the look and the decision."""
    proposal = store.corrections.note(ACCEPTED, "skerry goo", "viscoelastic", "rowan")
    decide = store.corrections.decide

    def overtaken(proposal: str, accept: bool, by: str) -> object:
        decide(proposal, False, "rowan")
        return decide(proposal, accept, by)

    monkeypatch.setattr(store.corrections, "decide", overtaken)
    with pytest.raises(RefusedError):
        accept(store, proposal, "imogen")
    assert not (folder / LEARNED).exists()


def test_without_a_folder_nothing_is_learned(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("ZONULE_LEXICON", raising=False)
    proposal = store.corrections.note(ACCEPTED, "skerry goo", "viscoelastic", "rowan")
    with pytest.raises(InputError, match="ZONULE_LEXICON"):
        accept(store, proposal, "imogen")

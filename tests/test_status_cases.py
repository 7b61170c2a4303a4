"""Was it done, and was it taken back? Marked sentences, and for every cue the proof that it is needed.

`cases/status/` has one file for each cue and correction of the lexicon, named by its id. A case marks words inline,
`{words|slot value|status}`; the judgment in the marks is common practice, no source.

* `done`: the slot holds the value, by these words.
* `not_done`, `planned`, `habitual`, `hypothetical`, `historical`, `other_eye`: these words fill no slot with the value,
  which stands among the remarks with a status that is not done; `=` before the status asks for this very one.
* `retracted`: these words fill no slot with the value, and are listed as taken back.
* `absent`: these words fill no slot with the value; nothing more is asked.

`passages/` holds sentences and short dictations in the voices they are met in, under no cue of their own.

`known = "open"` marks a case that is not read right yet; it turns red once it is.
"""

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import pytest

from zonule.compiled import compile_lexicon
from zonule.dictation import read_text
from zonule.errors import ZonuleError
from zonule.filling import parse_value
from zonule.lexicon import Lexicon, load_lexicon
from zonule.pipeline import Reader
from zonule.record import Evidence, OperationRecord, slot_values
from zonule.settings import lexicon_folder
from zonule.vocabulary import Status

FOLDER = Path(__file__).parent / "cases" / "status"
NOT_DONE = frozenset(Status) - {Status.DONE}
WORDINGS = frozenset(Status) | {"retracted", "absent"}
MARK = re.compile(r"\{([^{}|]+)\|([^{}|]+)\|(=?)([a-z_]+)\}")
KINDS = {
    "anesthesia": "anesthesia",
    "complications.events": "complication",
    "drugs": "drug",
    "findings": "finding",
    "lens.location": "lens_location",
    "main_incision.kind": "incision_kind",
    "nucleus.technique": "technique",
    "operation.procedures": "procedure",
    "other_implants": "implant",
    "steps": "step",
    "viscoelastic": "viscoelastic",
}
"""Slots whose values are ids of the lexicon, and the kind of the term."""
BEGIN = 4
"""Letters by which words are compared before the lexicon is cut down to those in the cases."""


@dataclass(frozen=True, slots=True)
class Mark:
    """Words `start`-`end` of a sentence, the slot value they speak of, and how."""

    start: int
    end: int
    slot: str
    value: str
    wording: str
    exact: bool = False


@dataclass(frozen=True, slots=True)
class Case:
    """One sentence without its marks, the marks, and whether it is known not to be read right yet."""

    label: str
    text: str
    marks: tuple[Mark, ...]
    open: bool = False


# ---- the marks -----------------------------------------------------------------------------------------------------


def parse_marks(marked: str) -> tuple[str, tuple[Mark, ...]]:
    """The sentence and its marks; raises ValueError or ZonuleError for anything but whole marks, at least one."""
    text, at, marks = "", 0, []
    for found in MARK.finditer(marked):
        text += marked[at : found.start()]
        marks.append(_mark(found, len(text)))
        text += found[1]
        at = found.end()
    text += marked[at:]
    if broken := re.search(r"[{}|]", text):
        raise ValueError(f"expected {{words|slot value|status}}, got {broken[0]!r} outside a mark: {marked}")
    if not marks:
        raise ValueError(f"expected at least one mark, got none: {marked}")
    return text, tuple(marks)


def _mark(found: re.Match[str], start: int) -> Mark:
    words, said, exact, wording = found.groups()
    slot, _, value = said.partition(" ")
    if wording not in WORDINGS or (exact and wording not in NOT_DONE):
        raise ValueError(f"expected one of {sorted(WORDINGS)}, got {exact + wording!r}: {found[0]}")
    if not value or words != words.strip():
        raise ValueError(f"expected words, a slot and a value, got {found[0]}")
    parse_value(slot, value)
    return Mark(start, start + len(words), slot, value, wording, bool(exact))


def load_cases(path: Path) -> list[Case]:
    """The cases of one file; raises ValueError for an unknown key or a fault in a mark."""
    cases = []
    for number, entry in enumerate(tomllib.loads(path.read_text("utf-8"))["case"], start=1):
        label = f"{path.stem}-{number}"
        if set(entry) - {"text", "known"} or entry.get("known", "open") != "open":
            raise ValueError(f'{label}: expected text and perhaps known = "open", got {sorted(entry)}')
        cases.append(Case(label, *parse_marks(entry["text"]), "known" in entry))
    return cases


BY_CUE = {path.stem: load_cases(path) for path in sorted(FOLDER.glob("*.toml"))}
PASSAGES = [case for path in sorted((FOLDER / "passages").glob("*.toml")) for case in load_cases(path)]
CASES = [*(case for cases in BY_CUE.values() for case in cases), *PASSAGES]
SHIPPED = load_lexicon(lexicon_folder())
CUES = sorted([cue.id for cue in SHIPPED.cues] + [correction.id for correction in SHIPPED.corrections])


# ---- what the record makes of them ---------------------------------------------------------------------------------


def find_faults(reader: Reader, case: Case) -> list[str]:
    """What the record of a sentence has otherwise than marked."""
    record = reader.read(read_text(case.text), addendum=True)
    return [fault for mark in case.marks if (fault := _fault(record, mark, case))]


def _fault(record: OperationRecord, mark: Mark, case: Case) -> str:
    name = f"{case.text[mark.start : mark.end]!r} as {mark.slot} {mark.value}"
    filled = _fills(record, mark, case)
    if mark.wording == Status.DONE:
        return "" if filled else f"{name}: expected in the slots"
    if filled:
        return f"{name}: {mark.wording}, but fills the slot"
    if mark.wording == "retracted" and not any(_covers(mark, [r.evidence]) for r in record.retracted):
        return f"{name}: expected among the words taken back"
    if mark.wording in NOT_DONE and not _remarked(record, mark):
        return f"{name}: expected among the remarks as {'exactly ' * mark.exact}{mark.wording}"
    return ""


def _fills(record: OperationRecord, mark: Mark, case: Case) -> bool:
    """Whether the value stands in the slots; by these very words if it is done, or done by other words as well."""
    same = [v for v in slot_values(record) if v.slot == mark.slot and _says(mark, v.text)]
    twice = any(m.slot == mark.slot and m.value == mark.value and m.wording == Status.DONE for m in case.marks)
    return any(_covers(mark, v.fact.evidence) for v in same) if twice else bool(same)


def _remarked(record: OperationRecord, mark: Mark) -> bool:
    statuses = {mark.wording} if mark.exact else NOT_DONE
    return any(
        remark.slot.removesuffix(".kinds") == mark.slot
        and _says(mark, remark.value)
        and remark.status in statuses
        and _covers(mark, remark.evidence)
        for remark in record.remarks
    )


def _says(mark: Mark, text: str) -> bool:
    """The same value; further words of a drug or an implant (route, dose, lot) do no harm."""
    want, have = mark.value.split(), text.split()
    return want == have or (mark.slot in ("drugs", "other_implants") and want[0] == have[0] and set(want) <= set(have))


def _covers(mark: Mark, evidence: Iterable[Evidence]) -> bool:
    return any(e.start < mark.end and mark.start < e.end for e in evidence)


# ---- tests ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("case", [
    pytest.param(c, id=c.label, marks=pytest.mark.xfail(strict=True, reason="known to be open") if c.open else ())
    for c in CASES
])  # fmt: skip
def test_statuses_are_read_as_marked(reader: Reader, case: Case) -> None:
    assert not (faults := find_faults(reader, case)), f"{case.text}: {'; '.join(faults)}"


def test_every_cue_has_its_file() -> None:
    assert sorted(BY_CUE) == CUES


@pytest.mark.parametrize("cue", CUES)
def test_every_cue_has_cases_on_both_sides(cue: str) -> None:
    """One in which something was not done or is taken back, and one in which all that is marked was done."""
    kept = [all(mark.wording == Status.DONE for mark in case.marks) for case in BY_CUE[cue] if not case.open]
    assert {True, False} <= set(kept)


@pytest.mark.parametrize("cue", CUES)
def test_a_cue_taken_out_is_noticed(cue: str, monkeypatch: pytest.MonkeyPatch) -> None:
    cases = [case for case in BY_CUE[cue] if not case.open]
    near = _narrow(SHIPPED, cases)
    whole, less = _reader_with(near, monkeypatch), _reader_with(_without(near, cue), monkeypatch)
    assert [case.label for case in cases if find_faults(less, case) and not find_faults(whole, case)]


def _reader_with(lexicon: Lexicon, monkeypatch: pytest.MonkeyPatch) -> Reader:
    monkeypatch.setattr("zonule.compiled.load_lexicon", lambda *_: lexicon)
    monkeypatch.setattr("zonule.pipeline.load_compiled", lambda *_: compile_lexicon())
    return Reader(lexicon_folder())


def _without(lexicon: Lexicon, name: str) -> Lexicon:
    cues = tuple(cue for cue in lexicon.cues if cue.id != name)
    corrections = tuple(correction for correction in lexicon.corrections if correction.id != name)
    return Lexicon(**(_parts(lexicon) | {"cues": cues, "corrections": corrections}))


def _narrow(lexicon: Lexicon, cases: Iterable[Case]) -> Lexicon:
    """The lexicon without forms of which a word begins like none in the cases: it reads them the same, built sooner."""
    words = {word for case in cases for word in re.findall(r"\w+", case.text.lower())}
    begins = {word[:length] for word in words for length in range(1, BEGIN + 1)}
    terms = tuple(term.model_copy(update={"forms": _near(term.forms, begins)}) for term in lexicon.terms)
    return Lexicon(**(_parts(lexicon) | {"terms": terms}))


def _near(forms: Iterable[str], begins: set[str]) -> tuple[str, ...]:
    return tuple(f for f in forms if all(word[:BEGIN] in begins for word in re.findall(r"\w+", f.lower())))


def _parts(lexicon: Lexicon) -> dict[str, object]:
    return {name: getattr(lexicon, name) for name in Lexicon.model_fields}


@pytest.mark.parametrize("marked", [
    "a case without a mark",
    "an {unclosed mark|steps suture|done",
    "a stray } brace {suture|steps suture|done}",
    "a bar | outside {suture|steps suture|done}",
    "{two parts|steps suture}",
    "{unknown status|steps suture|often}",
    "{exactly done|steps suture|=done}",
    "{no value|steps|done}",
    "{|steps suture|done}",
    "{ spaces |steps suture|done}",
    "{unknown slot|step suture|done}",
    "{one {in another|steps suture|done}|steps suture|done}",
])  # fmt: skip
def test_a_faulty_mark_is_refused(marked: str) -> None:
    with pytest.raises((ValueError, ZonuleError), match=r"expected|Unknown"):
        parse_marks(marked)


def test_marked_values_are_known() -> None:
    """A value nobody could ever read would make any "not done" pass."""
    named = {(case.label, KINDS[m.slot], m.value.split()[0]) for case in CASES for m in case.marks if m.slot in KINDS}
    assert [entry for entry in sorted(named) if entry[1:] not in SHIPPED.by_key] == []

"""Any record at all gets a report: extreme numbers, odd words, unknown ids."""

from datetime import date
from typing import Any

from drafts import Draft, build
from hypothesis import given
from hypothesis import strategies as st

from zonule.filling import PLACES, place_of, put
from zonule.gap_report import check
from zonule.lexicon import load_lexicon
from zonule.record import DrugGiven, Evidence, Fact, GapReport, Implant, OperationRecord, Setting, SutureUse, gap_lines
from zonule.requirements import load_requirements
from zonule.settings import lexicon_folder
from zonule.vocabulary import ComplicationStatement, Eye, Limit, Urgency

LEXICON = load_lexicon(lexicon_folder())
REQUIREMENTS = load_requirements(lexicon_folder())
WORDS = st.text(max_size=12)
NUMBERS = st.floats() | st.sampled_from([0.0, 215.0, -1.0, 1e300, 13.0])
MAYBE = st.none() | NUMBERS
NAMES = "none cefuroxime lidocaine capsulorhexis hydrodissection posterior_capsule_rupture speculum suture"
IDS = st.sampled_from(NAMES.split())
STRENGTHS = st.none() | WORDS | st.from_regex(r"\d{1,3}(\.\d)? ?(%|mg/mL|mg in 0\.\d mL|IU/mL)", fullmatch=True)
VALUES: dict[type, st.SearchStrategy[Any]] = {
    str: WORDS | IDS | st.from_regex(r"\d{1,3} (o'clock|deg)|\d\d:\d\d|\d{4}-\d\d(-\d\d)?|\d{1,4} mL", fullmatch=True),
    float: NUMBERS,
    bool: st.booleans(),
    date: st.dates(),
    Eye: st.sampled_from(Eye),
    Urgency: st.sampled_from(Urgency),
    ComplicationStatement: st.sampled_from(ComplicationStatement),
    Setting: st.builds(
        Setting,
        parameter=st.sampled_from(["vacuum_mmhg", "ultrasound_power_pct", "unheard_of"]),
        limit=st.sampled_from(Limit),
        value=MAYBE,
        low=MAYBE,
        high=MAYBE,
        foot_position=st.none() | st.integers(),
    ),
    DrugGiven: st.builds(
        DrugGiven,
        drug=IDS | WORDS,
        route=st.none() | st.sampled_from(["intracameral", "sub_tenon", "elsewhere"]),
        dose=MAYBE,
        dose_unit=st.none() | st.sampled_from(["mg", "micrograms", "IU", "mL", "drops"]),
        strength=STRENGTHS,
        volume_ml=MAYBE,
    ),
    SutureUse: st.builds(SutureUse, material=IDS | WORDS, size=st.none() | WORDS, count=st.none() | st.integers()),
    Implant: st.builds(Implant, kind=IDS | WORDS, identifier=st.none() | WORDS, temporary=st.booleans()),
}


@st.composite
def records(draw: st.DrawFn) -> OperationRecord:
    """Records with any values in any slots."""
    record = build(Draft()) if draw(st.booleans()) else OperationRecord()
    for slot in draw(st.lists(st.sampled_from(list(PLACES)), max_size=8)):
        place = place_of(slot)
        values = draw(st.lists(VALUES[place.value], min_size=1, max_size=3 if place.many else 1))
        record = put(record, slot, [_fact(place.fact, value, at) for at, value in enumerate(values)])
    return record


def _fact(kind: type[Fact[Any]], value: object, at: int) -> Fact[Any]:
    return kind(value=value, evidence=(Evidence(start=at, end=at + 4, text="said"),))


@given(records())
def test_any_record_gets_a_report(record: OperationRecord) -> None:
    report = check(record, REQUIREMENTS, LEXICON, today=date(2026, 3, 5))
    assert isinstance(report, GapReport)
    assert len(gap_lines(report).splitlines()) == len(report.gaps)
    assert report == check(record, REQUIREMENTS, LEXICON, today=date(2026, 3, 5))

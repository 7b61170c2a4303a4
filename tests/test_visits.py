"""Visits whose day is left open are asked for, with their words; conditional ones become remarks."""

import pytest

from zonule.dictation import read_text
from zonule.pipeline import Reader
from zonule.vocabulary import Status

SLOT = "plan.follow_up_days"


@pytest.mark.parametrize(
    ("said", "asked"),
    [
        ("See in four to six weeks.", "four to six weeks"),
        ("Review in 4-6 weeks.", "4-6 weeks"),
        ("Follow up in a week to ten days.", "week to ten days"),
        ("See her tomorrow and then in two or three weeks.", "two or three weeks"),
        ("review in a couple of weeks", "couple of weeks"),
    ],
)
def test_an_open_day_is_asked_for(said: str, asked: str, reader: Reader) -> None:
    record = reader.read(read_text(said), addendum=True)
    assert [u.evidence[0].text for u in record.unclear] == [asked]


@pytest.mark.parametrize(
    ("said", "status"),
    [
        ("If the pressure is up see her in two days.", Status.HYPOTHETICAL),
        ("Should she have pain she comes back the next day.", Status.HYPOTHETICAL),
        ("Clinic in two days if it is sore.", Status.HYPOTHETICAL),
        ("A diabetic I'd see after one week.", Status.HABITUAL),
        ("I normally see them at one week.", Status.HABITUAL),
        ("Children we see the next day.", Status.HABITUAL),
    ],
)
def test_a_visit_of_others_or_on_a_condition_is_a_remark(said: str, status: Status, reader: Reader) -> None:
    record = reader.read(read_text(said), addendum=True)
    assert (record.plan.follow_up_days, [r.status for r in record.remarks if r.slot == SLOT]) == ((), [status])

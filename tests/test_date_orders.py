"""Typed dates that both orders allow follow the others of their text. Source: the calendar."""

import pytest

from zonule.dictation import read_text
from zonule.normalization.date_orders import find_date_orders
from zonule.pipeline import Reader
from zonule.record.slots import slot_values
from zonule.text import AlignedText


@pytest.mark.parametrize(
    ("said", "read"),
    [
        ("Surgery 11/02/2026. Born 4/19/51.", "Surgery 2026-11-02. Born 4/19/51."),
        (
            "Born 04/05/51, surgery 09/29/2026, first eye 8/3/2026.",
            "Born 05/04/51, surgery 09/29/2026, first eye 2026-08-03.",
        ),
    ],
)
def test_one_month_first_date_decides(said: str, read: str) -> None:
    assert AlignedText.of(said).apply(find_date_orders(said)).text == read


@pytest.mark.parametrize(
    "said",
    [
        "Surgery 11/02/2026. Born 19/4/51.",
        "Surgery 11/02/2026. Born 04/05/1951.",
        "Surgery 11/22/2026. Born 22/05/1951. Seen 03/04/2026.",
        "Seen 1/7 then 4/52, acuity 6/9. Surgery 04/04/2026, born 4/19/51.",
        "serial 11/02/2026/7, born 4/19/51",
    ],
)
def test_without_that_nothing_is_rewritten(said: str) -> None:
    assert find_date_orders(said) == []


@pytest.mark.parametrize(
    ("said", "dates", "asked"),
    [
        ("Date 11/06/2026. R phaco.", {}, ["11/06/2026"]),
        ("DOS 2/9/26. OS phaco.", {}, ["2/9/26"]),
        ("DOS 2/9/26. OD done 1/26/26. OS phaco.", {"operation.date": "2026-02-09"}, []),
        (
            "Date of operation 02-04-2026, DOB 03-15-1950. OS phaco.",
            {"operation.date": "2026-02-04", "patient.date_of_birth": "1950-03-15"},
            [],
        ),
        (
            "Date of operation 02.04.2026, DOB 15.03.1950. R phaco.",
            {"operation.date": "2026-04-02", "patient.date_of_birth": "1950-03-15"},
            [],
        ),
        (
            "Date 02/04/2026, DOB 15/03/1950, seen 3/25/2026. R phaco.",
            {"patient.date_of_birth": "1950-03-15"},
            ["02/04/2026"],
        ),
        ("date of birth three four fifty one right eye phaco", {}, ["three four fifty one"]),
        ("Date 04/04/2026. R phaco.", {"operation.date": "2026-04-04"}, []),
        ("2026-01-22. Right eye phaco. Left eye done 2025-11-20.", {"operation.date": "2026-01-22"}, []),
        ("Ottilie Brann, 14/03/1952, right eye phaco. 14/10/2026.", {"operation.date": "2026-10-14"}, []),
        (
            "born third of may nineteen forty six operated on the twelfth of february twenty twenty six phaco",
            {"operation.date": "2026-02-12", "patient.date_of_birth": "1946-05-03"},
            [],
        ),
        (
            "date second of november twenty twenty six plan had been phaco with a lens",
            {"operation.date": "2026-11-02"},
            [],
        ),
    ],
)
def test_a_date_of_uncertain_order_is_asked_for(
    said: str, dates: dict[str, str], asked: list[str], reader: Reader
) -> None:
    record = reader.read(read_text(said), addendum=True)
    found = {v.slot: v.text for v in slot_values(record) if "date" in v.slot}
    assert (found, [u.evidence[0].text for u in record.unclear]) == (dates, asked)

"""Typed dates that both orders allow follow the others of their text. Source: the calendar."""

import pytest

from zonule.normalization.date_orders import find_date_orders
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

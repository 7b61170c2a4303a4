"""Lens labels: published examples, valid and invalid; dates; any text at all; and what a label does to a record.

Sources of the examples: FDA UDI formats (2017), IMDRF N48 (2019), HL7 FHIR, C-CDA and v2 texts, GS1 linter tests.
"""

import re
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from zonule.errors import LabelError
from zonule.labels import LensLabel, parse_label
from zonule.labels.hibc import ALPHABET, check_character

FDA = "(01)51022222233336(11)141231(17)150707(10)A213B1(21)1234"
IMDRF = "(01)09506000117843(11)141231(17)201231(10)1234AB(21)5678CD"
ISBT = "=/A9999XYZ100T0944=,000025=A99971312345600=>014032=}013032&,1000000000000XYZ123"
FDA_LABEL = LensLabel(
    serial_number="1234",
    lot_number="A213B1",
    expiry_date="2015-07-07",
    manufacture_date=date(2014, 12, 31),
    udi=FDA,
    device_identifier="51022222233336",
    issuer="gs1",
)


@pytest.mark.parametrize(
    "text",
    [
        FDA,
        f"  {FDA}\r\n",
        "015102222223333611141231171507071" + "0A213B1\x1d211234",
        "\x1d0151022222233336111412311715070710A213B1\x1d211234",
        "]C10151022222233336111412311715070710A213B1\x1d211234",
        "]d20151022222233336111412311715070710A213B1\x1d211234",
        "]Q30151022222233336111412311715070710A213B1\x1d211234\n",
    ],
)
def test_one_gs1_label_in_all_its_forms(text: str) -> None:
    """Example of the FDA document; order, separators and prefixes: GS1 General Specifications."""
    assert parse_label(text) == FDA_LABEL


def test_the_example_of_the_regulators_guide() -> None:
    assert parse_label(IMDRF) == LensLabel(
        serial_number="5678CD",
        lot_number="1234AB",
        expiry_date="2020-12-31",
        manufacture_date=date(2014, 12, 31),
        udi=IMDRF,
        device_identifier="09506000117843",
        issuer="gs1",
    )


@pytest.mark.parametrize(
    "gtin", ["51022222233336", "09506000117843", "00844588003288", "00643169001763", "12345678901231"]
)
def test_published_device_identifiers_that_check_out(gtin: str) -> None:
    assert parse_label(f"(01){gtin}").device_identifier == gtin


@pytest.mark.parametrize(
    ("gtin", "computed"), [("99994328998989", "6"), ("00208851107345", "7"), ("12345678901232", "1")]
)
def test_published_device_identifiers_that_do_not(gtin: str, computed: str) -> None:
    """Two of them stand as examples in published texts all the same."""
    for text in (f"(01){gtin}(17)281130", f"01{gtin}17281130", f"]d201{gtin}17281130"):
        with pytest.raises(LabelError, match=f"Expected {computed}, got {gtin[-1]}"):
            parse_label(text)


@pytest.mark.parametrize("digit", "012345789")
def test_every_other_check_digit_is_refused(digit: str) -> None:
    with pytest.raises(LabelError):
        parse_label(f"(01)5102222223333{digit}")


@pytest.mark.parametrize(
    ("coded", "meant"), [("130200", "2013-02-28"), ("160200", "2016-02-29"), ("281100", "2028-11-30")]
)
def test_day_zero_is_the_last_of_the_month(coded: str, meant: str) -> None:
    """GS1 General Specifications, section 3.4; no longer allowed on healthcare items since 2025 (GSCN 21-040)."""
    label = parse_label(f"(01)51022222233336(17){coded}")
    assert label.expiry_date == meant
    assert label.notes == (
        "day 00 read as the last day of the month; not allowed on healthcare items since 2025-01-01",
    )
    older = parse_label(f"(01)51022222233336(11)241231(17){coded}")
    assert older.notes == ("day 00 read as the last day of the month",)
    assert parse_label("(01)51022222233336(17)281130").notes == ()


@pytest.mark.parametrize("coded", ["281301", "280230", "280001", "28113", "abcdef", "281132"])
def test_dates_that_no_calendar_has(coded: str) -> None:
    with pytest.raises(LabelError):
        parse_label(f"(01)51022222233336(17){coded}")


def test_the_century_slides_with_the_year() -> None:
    """GS1 General Specifications 7.12: 49 years back to 50 ahead."""
    year = date.today().year
    for ahead in (-48, -1, 0, 49):
        coded = f"{(year + ahead) % 100:02}0615"
        assert parse_label(f"(01)51022222233336(17){coded}").expiry_date == f"{year + ahead}-06-15"


@pytest.mark.parametrize(
    "text",
    [
        "(17)281130(21)1234",  # no device identifier
        "(01)51022222233336(21)12(21)13",  # one identifier twice
        "(01)51022222233336(21)",  # an identifier without value
        "(01)51022222233336 (21)1234 ",  # stray space inside
        "(01)5102222223333621)1234",  # a bracket lost
        "015102222223333610LOTA17281130",  # no separator behind the lot
    ],
)
def test_broken_element_strings(text: str) -> None:
    with pytest.raises(LabelError):
        parse_label(text)


# ---- HIBC and ICCBBA -------------------------------------------------------------------------------------------------
def test_hibc_examples() -> None:
    """Check character computed over the published strings; two of the published ones are wrong."""
    assert parse_label("+A123BJC5D6E71G") == LensLabel(
        udi="+A123BJC5D6E71G", device_identifier="+A123BJC5D6E71", issuer="hibcc"
    )
    assert parse_label("+A999ABC123DE0/$+1234567Y").serial_number == "1234567"
    for wrong, computed in (
        ("+H123PARTNO1234567890120/$$420020216LOT123456789012345/SXYZ456789012345678/16D20130202C", "H"),
        ("+A999ABC123DE1/$+1234567Y", "Z"),
    ):
        with pytest.raises(LabelError, match=f"expected check character '{computed}'"):
            parse_label(wrong)


def test_the_long_hibc_example_with_its_check_character_put_right() -> None:
    code = "+H123PARTNO1234567890120/$$420020216LOT123456789012345/SXYZ456789012345678/16D20130202H"
    assert parse_label(code) == LensLabel(
        serial_number="XYZ456789012345678",
        lot_number="LOT123456789012345",
        expiry_date="2020-02-02",
        manufacture_date=date(2013, 2, 2),
        udi=code,
        device_identifier="+H123PARTNO1234567890120",
        issuer="hibcc",
    )


@pytest.mark.parametrize(
    ("secondary", "expected"),
    [
        ("$LOT1", {"lot_number": "LOT1"}),
        ("$$7LOT1", {"lot_number": "LOT1"}),
        ("$$1128LOT1", {"expiry_date": "2028-11", "lot_number": "LOT1"}),
        ("$$2113028LOT1", {"expiry_date": "2028-11-30", "lot_number": "LOT1"}),
        ("$$3281130LOT1", {"expiry_date": "2028-11-30", "lot_number": "LOT1"}),
        ("$$428113016LOT1", {"expiry_date": "2028-11-30", "lot_number": "LOT1"}),
        ("$$528335LOT1", {"expiry_date": "2028-11-30", "lot_number": "LOT1"}),
        ("$$62833516LOT1", {"expiry_date": "2028-11-30", "lot_number": "LOT1"}),
        ("$+S1", {"serial_number": "S1"}),
        ("$$+7S1", {"serial_number": "S1"}),
        ("$$+1128S1", {"expiry_date": "2028-11", "serial_number": "S1"}),
        ("$$+3281130S1", {"expiry_date": "2028-11-30", "serial_number": "S1"}),
        ("$$3281130", {"expiry_date": "2028-11-30"}),
        ("14D20281130", {"expiry_date": "2028-11-30"}),
        ("16D20250102", {"manufacture_date": date(2025, 1, 2)}),
    ],
)
def test_every_form_of_hibc_secondary_data(secondary: str, expected: dict[str, object]) -> None:
    """The table of IMDRF N48, Appendix A."""
    data = f"+A999ABC123DE0/{secondary}"
    label = parse_label(data + check_character(data))
    known = {"udi", "device_identifier", "issuer"}
    assert {k: v for k, v in label.model_dump(exclude_defaults=True).items() if k not in known} == expected


@pytest.mark.parametrize(
    "secondary", ["$$2131328L", "$$528367L", "$$527366L", "$$62833525L", "$$1328L", "$", "XX", "$$9L"]
)
def test_hibc_secondary_data_that_cannot_be(secondary: str) -> None:
    data = f"+A999ABC123DE0/{secondary}"
    with pytest.raises(LabelError):
        parse_label(data + check_character(data))


def test_iccbba_example() -> None:
    """014032 is the 32nd day of 2014: computed."""
    assert parse_label(ISBT) == LensLabel(
        serial_number="000025",
        lot_number="XYZ123",
        expiry_date="2014-02-01",
        manufacture_date=date(2013, 2, 1),
        udi=ISBT,
        device_identifier="A9999XYZ100T0944",
        issuer="iccbba",
    )


@pytest.mark.parametrize(
    "text", ["=/A9999XYZ100T0944=>014400", "=/A9999XYZ100T0944=>013366", "=,000025", "=/SHORT", ISBT + "=,000026"]
)
def test_iccbba_that_cannot_be(text: str) -> None:
    with pytest.raises(LabelError):
        parse_label(text)


# ---- any text at all -------------------------------------------------------------------------------------------------
GS1_LIKE = st.builds(
    lambda head, gtin, tail: f"{head}01{gtin}{tail}",
    st.sampled_from(["", "]d2", "\x1d", "]C1"]),
    st.from_regex(r"\d{14}", fullmatch=True),
    st.text(alphabet="0123456789ABC\x1d", max_size=30),
)
BRACKETED = st.builds(
    lambda gtin, tail: f"(01){gtin}{tail}",
    st.from_regex(r"\d{14}", fullmatch=True),
    st.from_regex(r"(\((17|11|10|21)\)[0-9A-Z]{1,8}){0,3}", fullmatch=True),
)
HIBC_LIKE = st.text(alphabet=ALPHABET, max_size=40).map(lambda s: "+" + s)
ANY = st.one_of(st.text(max_size=80), GS1_LIKE, BRACKETED, HIBC_LIKE, HIBC_LIKE.map(lambda s: s + check_character(s)))


@given(ANY)
def test_any_text_gives_a_label_or_a_label_error(text: str) -> None:
    held = _read(text)
    if isinstance(held, LensLabel):
        assert held.issuer is None or _checks_out(held)
    else:
        assert "\n" not in held


def _read(text: str) -> LensLabel | str:
    try:
        return parse_label(text)
    except LabelError as fault:
        return str(fault)


def _checks_out(label: LensLabel) -> bool:
    """The check digit again, by the published algorithm and not by the parser's."""
    identifier = label.device_identifier or ""
    if label.issuer == "gs1":
        weighted = [int(d) * (3 if i % 2 == 0 else 1) for i, d in enumerate(reversed(identifier[:-1]))]
        return (10 - sum(weighted) % 10) % 10 == int(identifier[-1])
    if label.issuer == "hibcc":
        values = [ALPHABET.index(c) for c in label.udi or ""]
        return sum(values[:-1]) % 43 == values[-1]
    return re.fullmatch(r"[A-Z0-9]{16}", identifier) is not None


@given(st.from_regex(r"\d{13}", fullmatch=True), st.integers(min_value=1, max_value=9))
def test_a_wrong_check_digit_is_never_valid(payload: str, off: int) -> None:
    weighted = [int(d) * (3 if i % 2 == 0 else 1) for i, d in enumerate(reversed(payload))]
    right = (10 - sum(weighted) % 10) % 10
    assert parse_label(f"(01){payload}{right}").device_identifier == f"{payload}{right}"
    with pytest.raises(LabelError):
        parse_label(f"(01){payload}{(right + off) % 10}")


def test_typed_labels() -> None:
    assert parse_label(
        '{"model": "AQ7", "power_d": 21.5, "serial_number": "33729", "expiry_date": "2028-11"}'
    ) == LensLabel(model="AQ7", power_d=21.5, serial_number="33729", expiry_date="2028-11")
    for text, words in (
        ('{"modle": "AQ7"}', "known fields are manufacturer, model"),
        ('{"expiry_date": "11/2028"}', "expiry_date"),
        ('{"model": ', "JSON object"),
        ("", "1 to 500 characters"),
        ("x" * 501, "1 to 500 characters"),
        ("AQ7", "GS1, HIBC or ICCBBA"),
    ):
        with pytest.raises(LabelError, match=re.escape(words)):
            parse_label(text)

"""Lens labels as pictures, and what a label does to a record."""

import re
import sys
from pathlib import Path

import pytest
from drafts import Draft, build, read_draft, shown, values_of

from zonule.errors import LabelError
from zonule.filling import facts_at
from zonule.gap_report import check
from zonule.labels import LensLabel, apply_label, decode_image, parse_label
from zonule.lexicon import Lexicon
from zonule.record import OperationRecord
from zonule.requirements import Requirements
from zonule.vocabulary import LensStatus, Origin

FDA = "(01)51022222233336(11)141231(17)150707(10)A213B1(21)1234"
ISBT = "=/A9999XYZ100T0944=,000025=A99971312345600=>014032=}013032&,1000000000000XYZ123"


# ---- pictures --------------------------------------------------------------------------------------------------------
def picture(path: Path, text: str, form: str, *, gs1: bool = False) -> Path:
    zxingcpp = pytest.importorskip("zxingcpp")
    image = pytest.importorskip("PIL.Image")
    barcode = zxingcpp.create_barcode(text, getattr(zxingcpp.BarcodeFormat, form), gs1=gs1)
    image.fromarray(barcode.to_image(scale=6)).save(path)
    return path


@pytest.mark.parametrize(("text", "form"), [("+A999ABC123DE0/$+1234567Y", "Code128"), (ISBT, "DataMatrix")])
def test_a_picture_of_a_label(text: str, form: str, tmp_path: Path) -> None:
    assert decode_image(picture(tmp_path / "label.png", text, form)) == parse_label(text)


@pytest.mark.parametrize("form", ["DataMatrix", "Code128", "QRCode"])
def test_a_picture_of_a_gs1_code(form: str, tmp_path: Path) -> None:
    assert decode_image(picture(tmp_path / "label.png", FDA, form, gs1=True)) == parse_label(FDA)


def test_pictures_without_a_label(tmp_path: Path) -> None:
    pytest.importorskip("zxingcpp")
    image = pytest.importorskip("PIL.Image")
    empty, broken = tmp_path / "empty.png", tmp_path / "broken.png"
    image.new("L", (80, 80), 255).save(empty)
    broken.write_bytes(b"no picture")
    for path, words in ((empty, "found none"), (broken, "PNG or JPEG"), (tmp_path / "absent.png", "PNG or JPEG")):
        with pytest.raises(LabelError, match=words):
            decode_image(path)
    with pytest.raises(LabelError, match="GS1, HIBC or ICCBBA"):
        decode_image(picture(tmp_path / "other.png", "https://example.org", "QRCode"))


# ---- over a record ---------------------------------------------------------------------------------------------------
LABEL = LensLabel(
    model="AQ 7",
    power_d=21.5,
    serial_number="33728",
    expiry_date="2028-11-30",
    udi="(01)51022222233336",
    lot_number="B1",
)


def test_the_label_wins_for_identity_and_the_difference_is_a_conflict(
    requirements: Requirements, lexicon: Lexicon
) -> None:
    record = apply_label(build(Draft()), LABEL)
    held = {
        slot: values_of(record, f"lens.{slot}")
        for slot in ("model", "serial_number", "lot_number", "expiry_date", "udi")
    }
    assert held == {
        "model": ["AQ 7"],
        "serial_number": ["33728"],
        "lot_number": ["B1"],
        "expiry_date": ["2028-11-30"],
        "udi": ["(01)51022222233336"],
    }
    assert {fact.origin for slot in held for fact in facts_at(record, f"lens.{slot}")} == {Origin.LABEL}
    assert [e.text for e in facts_at(record, "lens.model")[0].evidence] == ["AQ7"]
    assert [(c.id, c.evidence[0].text, c.detail) for c in record.conflicts] == [
        ("lens.serial_number.label", "33729", "33729 in the note, 33728 on the label")
    ]
    expected = ["conflict lens.serial_number.label must: 33729"]
    assert shown(check(record, requirements, lexicon)) == expected
    assert shown(check(record, requirements, lexicon, label=LABEL)) == expected


def test_a_dictated_power_is_compared_but_not_overwritten() -> None:
    record = apply_label(build(Draft()), LensLabel(power_d=22.0))
    (power,) = facts_at(record, "lens.power_d")
    assert (power.value, power.origin) == (21.5, Origin.DICTATION)
    assert [c.id for c in record.conflicts] == ["lens.power_d.label"]


def test_a_label_fills_what_was_not_dictated(requirements: Requirements, lexicon: Lexicon) -> None:
    said = {"remove": ["lens.model", "lens.power_d", "lens.serial_number", "lens.expiry_date"]}
    record = apply_label(build(read_draft(said)), LABEL)
    assert record.conflicts == ()
    assert shown(check(record, requirements, lexicon)) == []


def test_a_label_alone_makes_a_lens() -> None:
    (lens,) = apply_label(OperationRecord(), LABEL).lenses
    assert lens.status is LensStatus.IMPLANTED
    assert lens.serial_number is not None
    assert lens.serial_number.evidence == ()


def test_the_examples_of_the_page_are_labels() -> None:
    page = (Path(__file__).parents[2] / "docs" / "labels.md").read_text("utf-8")
    examples = re.findall(r"`(\(01\)[^`]+|\+[A-Z0-9/$+]+|=/[^`]+|\{[^`]+\})`", page)
    assert len(examples) == 4
    assert all(parse_label(example) for example in examples)


def test_without_the_extra_one_sentence_says_so(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """HIBC and ICCBBA codes and typed labels need no library."""
    for module in ("biip", "zxingcpp"):
        monkeypatch.setitem(sys.modules, module, None)
    with pytest.raises(LabelError, match=r"GS1 codes: expected the extra 'labels'"):
        parse_label(FDA)
    with pytest.raises(LabelError, match=r"Pictures: expected the extra 'labels'"):
        decode_image(tmp_path / "label.png")
    assert parse_label(ISBT).serial_number == "000025"

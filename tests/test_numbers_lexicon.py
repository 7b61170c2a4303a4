"""The numeric lexicon: faults name file, entry, expected and got; a clinic's folder is laid over the shipped one."""

import shutil
import tomllib
from pathlib import Path

import pytest

from zonule.annotation.quantities import find_quantities, load_units
from zonule.errors import LexiconError
from zonule.normalization.numbers import find_number_edits, load_number_words
from zonule.text import AlignedText

SHIPPED = Path(__file__).parents[1] / "lexicon" / "common"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in ("numbers.toml", "dates.toml", "units.toml"):
        shutil.copy(SHIPPED / name, tmp_path / name)
    return tmp_path


def spoil(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), "utf-8")


def test_missing_file(tmp_path: Path) -> None:
    with pytest.raises(LexiconError, match=r"numbers\.toml: expected a readable file in .*, got none\."):
        load_number_words(tmp_path)


def test_broken_toml(folder: Path) -> None:
    spoil(folder / "dates.toml", "[months]", "[months")
    with pytest.raises(LexiconError, match=r"dates\.toml: expected TOML in UTF-8, got "):
        load_number_words(folder)


def test_wrong_value(folder: Path) -> None:
    spoil(folder / "numbers.toml", "seven = 7", 'seven = "a few"')
    with pytest.raises(
        LexiconError, match=r"numbers\.toml: digits\.seven: expected input should be a valid integer.*, got 'a few'\."
    ):
        load_number_words(folder)


def test_wrong_unit_names_its_entry(folder: Path) -> None:
    spoil(folder / "units.toml", "factor = 0.001", 'factor = "small"')
    with pytest.raises(
        LexiconError,
        match=r"units\.toml: entry 'micron': factor: expected input should be a valid number.*, got 'small'\.",
    ):
        load_units(folder)


def test_rate_of_an_unknown_unit(folder: Path) -> None:
    spoil(folder / "units.toml", 'per = ["min"]', 'per = ["fortnight"]')
    with pytest.raises(LexiconError, match=r"units\.toml, entry 'mL/min': expected a known unit, got 'fortnight'\."):
        load_units(folder)


def test_a_clinic_adds_words_without_a_programmer(tmp_path: Path) -> None:
    (tmp_path / "numbers.toml").write_text("[digits]\nzwei = 2\n", "utf-8")
    (tmp_path / "units.toml").write_text(
        '[[unit]]\nid = "smidgen"\ndimension = "volume_ml"\nforms = ["smidgen"]\n', "utf-8"
    )
    units = load_units(SHIPPED, tmp_path)
    assert [e.replacement for e in find_number_edits("zwei point two", units.words)] == ["2.2"]
    assert [(q.dimension, q.value) for q in find_quantities("3 smidgens", units)] == [("volume_ml", 3.0)]


CASES = Path(__file__).parent / "cases" / "numbers"
LISTS = [
    (name, line.split(" = ")[0])
    for name in ("numbers.toml", "dates.toml", "units.toml")
    for line in (SHIPPED / name).read_text("utf-8").split("[words]", 1)[1].splitlines()
    if " = [" in line
]


def read_all_cases(folder: Path) -> list[str]:
    units = load_units(folder)
    said = [
        c["said"] for n in ("spoken.toml", "words_kept.toml") for c in tomllib.loads((CASES / n).read_text())["case"]
    ]
    read = [AlignedText.of(text).apply(find_number_edits(text, units.words)).text for text in said]
    typed = [c["text"] for c in tomllib.loads((CASES / "quantities.toml").read_text("utf-8"))["case"]]
    return read + [repr(find_quantities(text, units)) for text in [*typed, *read]]


@pytest.mark.parametrize(("name", "words"), LISTS)
def test_each_list_of_words_decides_a_case(folder: Path, name: str, words: str) -> None:
    before = read_all_cases(SHIPPED)
    path = folder / name
    lines = [
        f"{words} = []" if line.startswith(f"{words} = [") else line for line in path.read_text("utf-8").splitlines()
    ]
    path.write_text("\n".join(lines), "utf-8")
    assert read_all_cases(folder) != before

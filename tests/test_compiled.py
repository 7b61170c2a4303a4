"""The compiled lexicon: whatever stands in the cache folder, the reader reads the same."""

import json
import shutil
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from zonule import compiled
from zonule.compiled import Compiled, digest, load_compiled
from zonule.dictation import read_file, read_text
from zonule.pipeline import Reader
from zonule.record import OperationRecord
from zonule.settings import cache_folder, lexicon_folder

SAMPLES = sorted((Path(__file__).parents[1] / "samples").glob("*.txt"))


@pytest.fixture(scope="module")
def made() -> Compiled:
    return load_compiled((lexicon_folder(),), None)


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the compiled lexicon as it is written."""
    folder = tmp_path_factory.mktemp("kept")
    load_compiled((lexicon_folder(),), folder)
    return folder


@pytest.fixture
def cache(kept: Path, tmp_path: Path) -> Path:
    return shutil.copytree(kept, tmp_path / "cache")


def only_file(folder: Path) -> Path:
    (path,) = folder.iterdir()
    return path


def refuse(*_folders: Path) -> Compiled:
    raise AssertionError("the lexicon was compiled though a compiled one was there")


def test_what_is_kept_is_what_was_made(kept: Path, made: Compiled, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(compiled, "compile_lexicon", refuse)
    assert load_compiled((lexicon_folder(),), kept) == made


def test_no_folder_keeps_nothing_and_none_is_needed(made: Compiled, tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("a file where the folder should be")
    assert load_compiled((lexicon_folder(),), blocked) == made
    assert blocked.read_text() == "a file where the folder should be"


def damage(path: Path) -> Iterator[bytes]:
    """Contents that must not be taken for the compiled lexicon."""
    whole = path.read_bytes()
    head, _, body = whole.partition(b"\n")
    lexicon, _, tables = body.partition(b"\n")
    facts = json.loads(head)
    yield b""
    yield b"\xff\xfe\x00"
    yield b"[" * 100_000
    yield whole[: len(whole) // 2]
    yield whole.replace(b"phaco", b"fayco", 1)
    yield json.dumps({**facts, "made_from": "another lexicon"}).encode() + b"\n" + body
    for foreign in (b"{}\n{}", lexicon + b"\n[]", b"[]\n" + tables, lexicon):
        yield json.dumps({**facts, "sha256": digest(foreign)}).encode() + b"\n" + foreign


@pytest.mark.parametrize("number", range(10))
def test_a_damaged_or_foreign_file_is_made_anew(
    cache: Path, made: Compiled, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    monkeypatch.setattr(compiled, "compile_lexicon", lambda *_: made)
    path = only_file(cache)
    whole = path.read_bytes()
    path.write_bytes(list(damage(path))[number])
    assert load_compiled((lexicon_folder(),), cache) is made
    assert only_file(cache).read_bytes() == whole


def test_a_changed_lexicon_is_compiled_anew(cache: Path, tmp_path: Path) -> None:
    clinic = tmp_path / "clinic"
    clinic.mkdir()
    for form in ("quexal", "brimpol"):
        (clinic / "own.toml").write_text(f'[[term]]\nid = "own"\nkind = "thing"\nforms = ["{form}"]\n')
        held = load_compiled((lexicon_folder(), clinic), cache)
        assert form in held.tables["forms"]
        assert held.lexicon.by_key["thing", "own"].forms == (form,)


def test_the_folder_does_not_grow_without_end(
    cache: Path, made: Compiled, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(compiled, "KEPT", 2)
    monkeypatch.setattr(compiled, "compile_lexicon", lambda *_: made)
    for name in "abc":
        (tmp_path / name).mkdir()
        load_compiled((tmp_path / name,), cache)
    assert len(list(cache.iterdir())) == 2


def test_records_are_the_same_with_and_without(reader: Reader, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    records = []
    for place in ("off", str(tmp_path), str(tmp_path)):
        monkeypatch.setenv("ZONULE_CACHE", place)
        again = Reader(lexicon_folder())
        records.append([again.read(read_file(str(path))).model_dump_json() for path in SAMPLES])
    expected = [reader.read(read_file(str(path))).model_dump_json() for path in SAMPLES]
    assert records == [expected] * 3


def test_the_setting_moves_it_or_switches_it_off(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("ZONULE_CACHE", "off")
    assert cache_folder() is None
    monkeypatch.setenv("ZONULE_CACHE", "elsewhere")
    assert cache_folder() == Path("elsewhere")
    monkeypatch.delenv("ZONULE_CACHE")
    usual = cache_folder()
    assert usual is not None
    assert usual.name == "zonule"


def test_threads_may_share_a_reader(reader: Reader) -> None:
    texts = [path.read_text("utf-8") for path in SAMPLES] * 2
    fresh = Reader(lexicon_folder())
    with ThreadPoolExecutor(8) as pool:
        found = list(pool.map(lambda text: fresh.read(read_text(text)), texts))
    assert found == [reader.read(read_text(text)) for text in texts]


@pytest.mark.parametrize("place", ["", "common"])
def test_a_clinics_units_are_laid_over(reader: Reader, tmp_path: Path, place: str) -> None:
    """The number files of a later folder count in the whole reading, as its other files do."""
    folder = tmp_path / place
    folder.mkdir(exist_ok=True)
    unit = '[[unit]]\nid = "quexal"\ndimension = "length_mm"\nforms = ["quexal"]\n'
    (folder / "units.toml").write_text(unit, encoding="utf-8")
    text = "Right phacoemulsification with lens implant. A {} clear corneal main incision was made."
    said, meant = (read_text(text.format(width)) for width in ("two point two quexals", "2.2 mm"))
    assert width_of(reader.read(meant)) == 2.2
    assert width_of(reader.read(said)) is None
    assert width_of(Reader(lexicon_folder(), tmp_path).read(said)) == 2.2


def width_of(record: OperationRecord) -> float | None:
    incision = record.main_incision
    return incision.width_mm.value if incision and incision.width_mm else None

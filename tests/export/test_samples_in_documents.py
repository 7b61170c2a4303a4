"""The sample dictations in every format: what the DOCX tells, repeated bytes, FHIR and LibreOffice accept them."""

import re
import shutil
import subprocess
from datetime import UTC, date, datetime
from io import BytesIO
from pathlib import Path

import docx
import pytest
from fhir.resources.R4B.bundle import Bundle

from zonule.dictation import read_file
from zonule.export import RENDERERS, DocumentOptions, render_docx
from zonule.gap_report import check
from zonule.pipeline import Reader
from zonule.record import GapReport, OperationRecord, SlotValue, slot_values
from zonule.requirements import Requirements

SAMPLES = sorted(path for path in (Path(__file__).parents[2] / "samples").iterdir() if path.name[0] in "01")
OPTIONS = DocumentOptions(
    unit_name="Harrowmere Eye Unit", evidence=True, remarks=True, timeline=True,
    written_at=datetime(2026, 11, 25, 14, 0, tzinfo=UTC),
)  # fmt: skip
WORDED = {
    "time_out": "a surgical time-out was held", "skin_preparation": "the skin was prepared",
    "draping": "the eye was draped", "axis_marking": "axis was marked", "speculum": "lid speculum was inserted",
    "paracentesis": "paracentes", "main_incision": "incision was made", "capsulorhexis": "capsulorhexis was made",
    "viscoelastic_injection": "viscoelastic was injected", "pupil_expansion": "the pupil was",
    "hydrodissection": "hydrodissection",
    "hydrodelineation": "hydrodelineation",
    "synechiolysis": "synechiolysis", "nucleus_rotation": "nucleus was rotated", "nucleus_sculpting": "sculpted",
    "nucleus_cracking": "cracked", "nucleus_chopping": "chopped", "nucleus_removal": "removed by",
    "epinucleus_removal": "epinucleus", "cortex_removal": r"cortex (was|were) removed",
    "capsule_polishing": "capsule was polished", "anterior_vitrectomy": "anterior vitrectomy was performed",
    "dye_staining": "was stained", "lens_insertion": "intraocular lens was inserted",
    "lens_rotation": "the lens was (rotated|aligned)",
    "viscoelastic_removal": "viscoelastic was removed", "wound_hydration": "wounds were hydrated",
    "leak_check": "checked for leaks", "intracameral_antibiotic": "was given intracamerally",
    "dressing": "dressing was applied", "suturing": "suture", "suture": "suture",
}  # fmt: skip
"""Step → pattern of the words that tell it, as operation notes say it (common practice, no source)."""


def told(record: OperationRecord, report: GapReport) -> tuple[str, list[list[str]]]:
    """What stands on the paper: all text in reading order, and the rows of its tables."""
    document = docx.Document(BytesIO(render_docx(record, report)))
    header = document.sections[0].header
    cells = [[cell.text for cell in row.cells] for table in document.tables for row in table.rows]
    parts = [p.text for p in (*header.paragraphs, *document.paragraphs)] + [" ".join(row) for row in cells]
    return plain("\n".join(parts)), [[plain(cell) for cell in row] for row in cells]


def plain(text: str) -> str:
    """For comparison: lower case, hard spaces and underscores as spaces."""
    return text.replace("\N{NO-BREAK SPACE}", " ").replace("_", " ").casefold()


def stands_in(text: str, value: SlotValue) -> bool:
    """Whether the text holds the value of a slot as whole words."""
    pattern = WORDED[value.fact.value] if value.slot == "steps" else re.escape(plain(as_written(value)))
    return bool(re.search(rf"(?<!\w){pattern}", text))


def as_written(value: SlotValue) -> str:
    """The value of a slot as a person would write it on a form."""
    held, slot = value.fact.value, value.slot
    match slot:
        case "operation.eye":
            return f"{held} eye"
        case "operation.date":
            return f"{held.day} {held:%B} {held.year}" if isinstance(held, date) else str(held)
        case "lens.power_d":
            return f"power {held:+.2f} d"
        case "main_incision.width_mm":
            return f"{held:g} mm"
        case "plan.follow_up_days":
            return f"{held / 7:g} week" if held % 7 == 0 else f"{held:g} day"
        case "viscoelastic.removed":
            return "viscoelastic was removed" if held else "viscoelastic was not removed"
        case "sutures":
            return "no sutures" if held.material == "none" else f"{held.size} {held.material} suture"
        case "blood_loss":
            return f"blood loss: {value.text}"
        case "specimens":
            return f"specimens: {value.text}"
        case "complications.statement":
            return "complications: none" if value.text == "none" else ""
    return value.text.replace(" deg", "\N{DEGREE SIGN}").replace("sub_tenon", "sub-tenon")


def drug_told(value: SlotValue, rows: list[list[str]]) -> bool:
    """Whether the row of the drug holds its dose and its route."""
    given = value.fact.value
    name = plain(given.drug).replace("-", " ")
    wanted = [plain(given.route).replace("-", " ")] if given.route else []
    wanted += [f"{given.dose:g} {given.dose_unit}".casefold()] if given.dose is not None else []
    held = [" ".join(row).replace("-", " ") for row in rows if row[0].replace("-", " ") == name]
    return any(all(part in row for part in wanted) for row in held)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_paper_form_can_be_filled_from_the_docx_alone(reader: Reader, requirements: Requirements, path: Path) -> None:
    """Every stated value of the union of the requirement sets stands in the text of the DOCX."""
    record = reader.read(read_file(str(path)))
    text, rows = told(record, check(record, requirements, reader.lexicon))
    asked = {slot for item in requirements.of_set("default").items for slot in item.slots}
    values = [value for value in slot_values(record) if value.slot in asked]
    assert len(values) > 20
    stands = {v: drug_told(v, rows) if v.slot == "drugs" else stands_in(text, v) for v in values}
    missing = [(value.slot, value.text) for value, found in stands.items() if not found]
    assert missing == []


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_complications_stand_by_name(reader: Reader, requirements: Requirements, path: Path) -> None:
    record = reader.read(read_file(str(path)))
    text, _ = told(record, check(record, requirements, reader.lexicon))
    line = next(line for line in text.splitlines() if line.startswith("complications:"))
    names = [plain(event.value) for event in record.complications.events]
    assert [name for name in names if name not in line] == []
    assert names or "none" in line or "not stated" in line


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_every_format_is_made_and_repeats_itself(reader: Reader, requirements: Requirements, path: Path) -> None:
    record = reader.read(read_file(str(path)))
    report = check(record, requirements, reader.lexicon)
    for name, render in RENDERERS.items():
        made = render(record, report, OPTIONS)
        assert made
        assert made == render(record, report, OPTIONS), name
    Bundle.model_validate_json(str(RENDERERS["fhir"](record, report, OPTIONS)))


@pytest.mark.skipif(not shutil.which("soffice") or not shutil.which("pdfinfo"), reason="needs soffice and pdfinfo")
def test_libreoffice_opens_each_note_on_at_most_two_pages(
    reader: Reader, requirements: Requirements, tmp_path: Path
) -> None:
    notes = [tmp_path / f"{path.stem}.docx" for path in SAMPLES]
    for path, note in zip(SAMPLES, notes, strict=True):
        record = reader.read(read_file(str(path)))
        note.write_bytes(render_docx(record, check(record, requirements, reader.lexicon)))
    profile = f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
    command = ["soffice", profile, "--headless", "--convert-to", "pdf", "--outdir", str(tmp_path), *map(str, notes)]
    subprocess.run(command, check=True, capture_output=True)
    counts = {note.stem: _pages(note.with_suffix(".pdf")) for note in notes}
    assert {name: count for name, count in counts.items() if count not in (1, 2)} == {}


def _pages(path: Path) -> int:
    shown = subprocess.run(["pdfinfo", str(path)], check=True, capture_output=True, text=True).stdout
    return int(next(line.split()[1] for line in shown.splitlines() if line.startswith("Pages:")))

"""The theater log: whole lines, and cells that no spreadsheet runs as a formula (OWASP, CSV Injection)."""

import csv
from io import StringIO

import pytest
import records

from zonule.export.theatre_log import COLUMNS, log_csv, safe_cell
from zonule.record import OperationRecord, Patient


def test_whole_log() -> None:
    rows = list(csv.reader(StringIO(log_csv([records.routine(), records.complicated(), records.empty()]))))
    assert rows == [
        ["Date", "Start", "End", "Hospital number", "Patient", "Date of birth", "Eye", "Procedure", "Surgeon",
         "Assistant", "Anesthesia", "Lens model", "Lens power (D)", "Lens serial number", "Lens lot number",
         "Complications"],
        ["2026-11-25", "not stated", "not stated", "5390216", "Odile Fennimarch", "1941-05-03", "Right eye",
         "Phacoemulsification and intraocular lens insertion", "Aldous Penhallow", "Bryony Tarrow",
         "Topical and intracameral", "ZX40", "21.5", "77-3105-2", "not stated", "None"],
        ["not stated", "09:05", "09:50", "not stated", "Tobias <Grelling> & Son", "not stated", "Left eye",
         "Phacoemulsification and anterior vitrectomy", "not stated", "not stated", "Sub-Tenon", "TQ7", "-1.25",
         "not stated", "L-204", "Posterior capsule rupture and vitreous loss (also stated: none)"],
        ["not stated"] * len(COLUMNS),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "safe"),
    [
        ("=1+1", "'=1+1"),
        ("+44", "+44"),
        ("+cmd|x", "'+cmd|x"),
        ("-2+3", "'-2+3"),
        ("-1.25", "-1.25"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("\t=1", "'\t=1"),
        ("\r=1", "'\r=1"),
        ("  =1", "'  =1"),
        ("plain", "plain"),
        ("a=1", "a=1"),
    ],
)
def test_formula_starts_are_disarmed(text: str, safe: str) -> None:
    assert safe_cell(text) == safe


def test_a_dictated_formula_reaches_no_spreadsheet() -> None:
    record = OperationRecord(patient=Patient(name=records.typed('=HYPERLINK("x","y")')))
    row = list(csv.reader(StringIO(log_csv([record]))))[1]
    assert row[4] == '\'=HYPERLINK("x","y")'

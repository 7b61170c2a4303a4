"""All renderers together: formats, hostile words, one set of facts."""

import json
from datetime import UTC, datetime
from xml.etree import ElementTree

import pytest
import records

from zonule.export import RENDERERS, DocumentOptions
from zonule.record import (
    Evidence,
    GapReport,
    Lens,
    MainIncision,
    Operation,
    OperationRecord,
    Patient,
    Team,
    Unclear,
)
from zonule.vocabulary import LensStatus

NASTY = "a\x00b\x1b\ufffe<&>\"'\u202e]]>\t\n\rz"
SHOWN = (
    "a\N{REPLACEMENT CHARACTER}b\N{REPLACEMENT CHARACTER}\N{REPLACEMENT CHARACTER}<&>\"'\N{REPLACEMENT CHARACTER}]]>"
)
OPTIONS = DocumentOptions(
    unit_name=NASTY, signed_by=NASTY, evidence=True, written_at=datetime(2026, 11, 25, 14, 0, tzinfo=UTC)
)


def hostile() -> OperationRecord:
    """A record whose every word is hostile to some format."""
    word = records.typed(NASTY)
    return OperationRecord(
        operation=Operation(procedures=(word,), preoperative_diagnosis=(word,), start_time=word),
        patient=Patient(name=word, hospital_number=word),
        team=Team(surgeon=word, assistant=word),
        steps=(word.model_copy(update={"time_s": 1.0}),),
        main_incision=MainIncision(kind=word, site=word),
        lenses=(Lens(status=LensStatus.IMPLANTED, model=word, expiry_date=word, location=word, udi=word),),
        findings=(word,),
        unclear=(Unclear(id="x", evidence=(Evidence(start=0, end=len(NASTY), text=NASTY),), detail=NASTY),),
    )


def test_formats() -> None:
    assert list(RENDERERS) == ["docx", "html", "text", "fhir", "cda", "eye", "timeline"]


@pytest.mark.parametrize("name", RENDERERS)
@pytest.mark.parametrize(
    "record", [hostile(), records.complicated(), records.empty()], ids=["hostile", "full", "empty"]
)
def test_every_renderer_takes_any_words_and_repeats_itself(name: str, record: OperationRecord) -> None:
    first, second = (RENDERERS[name](record, GapReport(), OPTIONS) for _ in range(2))
    assert first
    assert first == second


@pytest.mark.parametrize("name", ["cda", "eye", "timeline"])
def test_xml_formats_stay_well_formed(name: str) -> None:
    text = RENDERERS[name](hostile(), GapReport(), OPTIONS)
    assert isinstance(text, str)
    told = "".join(ElementTree.fromstring(text).itertext())
    assert SHOWN in told.lower()


def test_fhir_narratives_stay_well_formed() -> None:
    found = json.loads(str(RENDERERS["fhir"](hostile(), GapReport(), OPTIONS)))
    divs = [entry["resource"]["text"]["div"] for entry in found["entry"]]
    told = ["".join(ElementTree.fromstring(div).itertext()) for div in divs]
    assert any(SHOWN in text for text in told)

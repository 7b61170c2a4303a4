"""The C-CDA Operative Note: well-formed, templates and codes, "none" only where stated.

Source: HL7 C-CDA R2.1, Operative Note (V3).
"""

from datetime import UTC, datetime
from xml.etree import ElementTree

import pytest
import records

from zonule.export import DocumentOptions
from zonule.export.cda import render_cda
from zonule.record import GapReport, OperationRecord

V3 = "{urn:hl7-org:v3}"
REQUIRED = {
    "59774-0": ("2.16.840.1.113883.10.20.22.2.25", "2014-06-09"),
    "55109-3": ("2.16.840.1.113883.10.20.22.2.37", "2015-08-01"),
    "10219-4": ("2.16.840.1.113883.10.20.22.2.34", "2015-08-01"),
    "59770-8": ("2.16.840.1.113883.10.20.18.2.9", None),
    "59776-5": ("2.16.840.1.113883.10.20.22.2.28", "2015-08-01"),
    "59773-2": ("2.16.840.1.113883.10.20.22.2.31", None),
    "29554-3": ("2.16.840.1.113883.10.20.22.2.27", None),
    "10218-6": ("2.16.840.1.113883.10.20.22.2.35", None),
}
OPTIONAL = {
    "10223-6": ("2.16.840.1.113883.10.20.7.14", None),
    "59771-6": ("2.16.840.1.113883.10.20.22.2.40", None),
    "18776-5": ("2.16.840.1.113883.10.20.22.2.10", "2014-06-09"),
}
RECORDS = {"routine": records.routine(), "complicated": records.complicated(), "empty": records.empty()}


def document(record: OperationRecord, options: DocumentOptions | None = None) -> ElementTree.Element:
    return ElementTree.fromstring(render_cda(record, GapReport(), options))


def sections(record: OperationRecord) -> dict[str, tuple[str | None, str | None]]:
    """LOINC code → template and extension."""
    found = {}
    for section in document(record).iter(f"{V3}section"):
        code, template = section.find(f"{V3}code"), section.find(f"{V3}templateId")
        assert code is not None
        assert template is not None
        found[code.attrib["code"]] = (template.get("root"), template.get("extension"))
    return found


def text(record: OperationRecord, loinc: str) -> list[str | None]:
    for section in document(record).iter(f"{V3}section"):
        code = section.find(f"{V3}code")
        if code is not None and code.attrib["code"] == loinc:
            return [paragraph.text for paragraph in section.iter(f"{V3}paragraph")]
    return []


@pytest.mark.parametrize("name", RECORDS)
def test_all_required_sections_with_their_templates(name: str) -> None:
    found = sections(RECORDS[name])
    assert {code: found.get(code) for code in REQUIRED} == REQUIRED
    others = {code: held for code, held in found.items() if code not in REQUIRED}
    assert others == {code: OPTIONAL[code] for code in others}


@pytest.mark.parametrize("name", RECORDS)
def test_document_templates_and_type(name: str) -> None:
    root = document(RECORDS[name])
    templates = [(t.get("root"), t.get("extension")) for t in root.findall(f"{V3}templateId")]
    assert templates == [
        ("2.16.840.1.113883.10.20.22.1.1", "2015-08-01"),
        ("2.16.840.1.113883.10.20.22.1.7", "2015-08-01"),
    ]
    code = root.find(f"{V3}code")
    assert code is not None
    assert (code.get("code"), code.get("codeSystem")) == ("11504-8", "2.16.840.1.113883.6.1")


def test_none_is_said_only_where_it_was_stated() -> None:
    codes = ("55109-3", "59773-2", "59770-8")
    assert [text(records.complicated(), code) for code in codes] == [
        ["Complications: Posterior capsule rupture and vitreous loss (also stated: none)"], ["None"], ["None"],
    ]  # fmt: skip
    assert text(records.routine(), "55109-3") == ["Complications: none"]
    assert [text(records.empty(), code) for code in codes] == [
        ["Complications: not stated in the dictation"],
        ["Procedure specimens taken: not stated in the dictation"],
        ["Procedure estimated blood loss: not stated in the dictation"],
    ]


def event_time(record: OperationRecord) -> list[tuple[str, dict[str, str]]]:
    period = document(record).find(f".//{V3}serviceEvent/{V3}effectiveTime")
    assert period is not None
    return [(part.tag.removeprefix(V3), part.attrib) for part in period]


def test_the_service_event_has_its_times_and_performers() -> None:
    assert event_time(records.routine()) == [("low", {"value": "20261125"}), ("high", {"nullFlavor": "UNK"})]
    record = records.routine()
    times = {"start_time": records.typed("09:05"), "end_time": records.typed("09:50")}
    timed = record.model_copy(update={"operation": record.operation.model_copy(update=times)})
    assert event_time(timed) == [("low", {"value": "202611250905"}), ("high", {"value": "202611250950"})]
    assert event_time(records.empty()) == [("low", {"nullFlavor": "UNK"}), ("high", {"nullFlavor": "UNK"})]
    performers = document(record).findall(f".//{V3}serviceEvent/{V3}performer")
    names = [(p.get("typeCode"), p.findtext(f".//{V3}name")) for p in performers]
    assert names == [("PPRF", "Aldous Penhallow"), ("SPRF", "Bryony Tarrow")]


def test_a_signed_note_names_its_signer_and_a_draft_says_so() -> None:
    options = DocumentOptions(signed_by="Aldous Penhallow", signed_at=datetime(2026, 11, 25, 14, 5, tzinfo=UTC))
    signed, draft = document(records.routine(), options), document(records.routine())
    assert signed.findtext(f".//{V3}legalAuthenticator//{V3}name") == "Aldous Penhallow"
    time = signed.find(f"{V3}legalAuthenticator/{V3}time")
    assert time is not None
    assert time.attrib == {"value": "20261125140500+0000"}
    assert draft.find(f"{V3}legalAuthenticator") is None
    titles = [root.findtext(f"{V3}title") for root in (signed, draft)]
    assert titles == ["Operation note", "Operation note (draft, not signed)"]


def test_a_note_that_lacks_what_it_must_hold_stays_a_draft() -> None:
    options = DocumentOptions(signed_by="Aldous Penhallow")
    root = ElementTree.fromstring(render_cda(records.complicated(), records.complicated_gaps(), options))
    assert root.findtext(f"{V3}title") == "Operation note (draft, not signed)"
    assert root.find(f"{V3}legalAuthenticator") is None


def test_codes_only_by_option() -> None:
    assert "415089008" not in render_cda(records.routine(), GapReport())
    coded = document(records.routine(), DocumentOptions(codes=True)).find(f".//{V3}serviceEvent/{V3}code")
    assert coded is not None
    assert (coded.get("code"), coded.get("codeSystem")) == ("415089008", "2.16.840.1.113883.6.96")


@pytest.mark.parametrize("name", RECORDS)
def test_same_input_gives_the_same_document(name: str) -> None:
    assert render_cda(RECORDS[name], GapReport()) == render_cda(RECORDS[name], GapReport())

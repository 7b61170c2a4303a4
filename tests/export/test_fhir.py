"""The FHIR document: read by a general model library, required elements, codes, ids, what is not stated."""

import json
import re
from datetime import UTC, datetime
from typing import Any

import pytest
import records
from fhir.resources.R4B.bundle import Bundle

from zonule.errors import InputError
from zonule.export import DocumentOptions
from zonule.export.fhir import render_fhir
from zonule.record import GapReport, OperationRecord

WRITTEN = DocumentOptions(written_at=datetime(2026, 11, 25, 14, 0, tzinfo=UTC))
CASES = {
    "routine": (records.routine(), DocumentOptions(codes=True)),
    "complicated": (records.complicated(), WRITTEN),
    "empty": (records.empty(), WRITTEN),
}
REQUIRED: dict[str, tuple[str, ...]] = {
    # FHIR R4, as listed in the type definitions; MedicationAdministration.effective[x] from memory.
    "Bundle": ("type", "identifier", "timestamp", "entry"),
    "Composition": ("status", "type", "date", "author", "title", "subject", "section"),
    "Procedure": ("status", "subject", "code"),
    "Condition": ("subject", "code"),
    "MedicationAdministration": ("status", "medicationCodeableConcept", "subject"),
    "BodyStructure": ("patient",),
    "Device": (),
    "Patient": (),
    "Practitioner": (),
}


def bundle(record: OperationRecord, options: DocumentOptions = WRITTEN) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(render_fhir(record, GapReport(), options))
    return found


def resources(found: dict[str, Any], kind: str) -> list[dict[str, Any]]:
    return [e["resource"] for e in found["entry"] if e["resource"]["resourceType"] == kind]


@pytest.mark.parametrize("name", CASES)
def test_a_general_model_library_reads_it_without_loss(name: str) -> None:
    text = render_fhir(CASES[name][0], GapReport(), CASES[name][1])
    read = Bundle.model_validate_json(text)
    assert json.loads(read.model_dump_json()) == json.loads(text)


@pytest.mark.parametrize("name", CASES)
def test_required_elements_are_there(name: str) -> None:
    found = bundle(*CASES[name])
    every = [found, *(entry["resource"] for entry in found["entry"])]
    missing = [
        (r["resourceType"], element) for r in every for element in REQUIRED[r["resourceType"]] if not r.get(element)
    ]
    assert missing == []
    assert found["type"] == "document"
    assert found["entry"][0]["resource"]["resourceType"] == "Composition"


@pytest.mark.parametrize("name", CASES)
def test_every_resource_has_text_and_every_reference_a_target(name: str) -> None:
    found = bundle(*CASES[name])
    assert [e["resource"]["id"] for e in found["entry"] if "<p>" not in e["resource"]["text"]["div"]] == []
    targets = {entry["fullUrl"] for entry in found["entry"]}
    assert len(targets) == len(found["entry"])
    assert [reference for reference in _references(found) if reference not in targets] == []


def _references(node: Any) -> list[str]:
    if isinstance(node, dict):
        own = [node["reference"]] if isinstance(node.get("reference"), str) else []
        return own + [found for value in node.values() for found in _references(value)]
    return [found for value in node for found in _references(value)] if isinstance(node, list) else []


@pytest.mark.parametrize("name", CASES)
def test_ids_are_the_same_each_time_and_differ_between_records(name: str) -> None:
    record, options = CASES[name]
    assert render_fhir(record, GapReport(), options) == render_fhir(record, GapReport(), options)
    other = record.model_copy(update={"findings": (records.typed("synechiae"),)})
    ours, theirs = bundle(record, options), bundle(other, options)
    assert {e["fullUrl"] for e in ours["entry"]} & {e["fullUrl"] for e in theirs["entry"]} == set()


def test_the_composition_names_the_note_and_its_sections() -> None:
    (composition,) = resources(bundle(records.routine()), "Composition")
    assert composition["type"]["coding"] == [
        {"system": "http://loinc.org", "code": "11504-8", "display": "Surgical operation note"}
    ]
    assert [section["code"]["coding"][0]["code"] for section in composition["section"]] == [
        "10219-4", "10218-6", "10223-6", "59774-0", "29554-3", "59776-5", "55109-3", "59773-2", "59770-8", "59771-6",
        "18776-5",
    ]  # fmt: skip


def test_a_draft_is_preliminary_and_a_signed_note_final() -> None:
    signed_at = datetime(2026, 11, 25, 14, 5, tzinfo=UTC)
    (draft,) = resources(bundle(records.routine()), "Composition")
    options = DocumentOptions(signed_by="Aldous Penhallow", signed_at=signed_at)
    (final,) = resources(bundle(records.routine(), options), "Composition")
    assert (draft["status"], "attester" in draft) == ("preliminary", False)
    assert (final["status"], final["attester"]) == (
        "final",
        [{"mode": "professional", "time": "2026-11-25T14:05:00Z", "party": {"display": "Aldous Penhallow"}}],
    )


def test_a_note_that_lacks_what_it_must_hold_stays_preliminary() -> None:
    options = DocumentOptions(signed_by="Aldous Penhallow", written_at=WRITTEN.written_at)
    found = json.loads(render_fhir(records.complicated(), records.complicated_gaps(), options))
    (composition,) = resources(found, "Composition")
    assert (composition["status"], "attester" in composition) == ("preliminary", False)


def test_the_lens_is_the_focal_device_with_what_its_label_says() -> None:
    lens = records.routine_lens().model_copy(update={"udi": records.typed("(01)01234567890128(21)77-3105-2")})
    found = bundle(records.routine().model_copy(update={"lenses": (lens,)}))
    (device,), (procedure,) = resources(found, "Device"), resources(found, "Procedure")
    kept = {key: value for key, value in device.items() if key not in {"id", "text", "patient"}}
    assert kept == {
        "resourceType": "Device",
        "udiCarrier": [
            {
                "deviceIdentifier": "01234567890128",
                "issuer": "http://hl7.org/fhir/NamingSystem/gs1-di",
                "carrierHRF": "(01)01234567890128(21)77-3105-2",
                "entryType": "manual",
            }
        ],
        "manufacturer": "Merrowlens",
        "expirationDate": "2028-11",
        "serialNumber": "77-3105-2",
        "modelNumber": "ZX40",
        "type": {"text": "Intraocular lens"},
        "property": [
            {
                "type": {"text": "Power"},
                "valueQuantity": [
                    {"value": 21.5, "unit": "diopter", "system": "http://unitsofmeasure.org", "code": "[diop]"}
                ],
            }
        ],
        "note": [{"text": "Lens implanted"}],
    }
    assert procedure["focalDevice"] == [
        {
            "action": {"text": "Implanted"},
            "manipulated": {"reference": f"urn:uuid:{device['id']}", "display": "ZX40 +21.50 D intraocular lens"},
        }
    ]


def test_a_lens_only_opened_is_a_device_of_nobody_and_no_focal_device() -> None:
    found = bundle(records.complicated())
    opened = [d for d in resources(found, "Device") if d.get("serialNumber") == "990-1"]
    assert [("patient" in device, device["note"]) for device in opened] == [
        (False, [{"text": "Lens opened, not implanted"}])
    ]
    (procedure,) = resources(found, "Procedure")
    assert [focal["manipulated"]["display"] for focal in procedure["focalDevice"]] == [
        "TQ7 −1.25 D intraocular lens",
        "capsular tension ring",
    ]


def test_drugs() -> None:
    found = bundle(records.complicated())
    assert [
        (d["status"], d["medicationCodeableConcept"]["text"], d.get("dosage"))
        for d in resources(found, "MedicationAdministration")
    ] == [
        (
            "completed",
            "Trypan blue",
            {
                "text": "0.06 %, intracameral",
                "dose": {
                    "extension": [
                        {"url": "http://hl7.org/fhir/StructureDefinition/data-absent-reason", "valueCode": "unknown"}
                    ]
                },
            },
        ),
        (
            "completed",
            "Gentamicin",
            {
                "text": "20 mg, 0.5 mL, subconjunctival",
                "route": {"text": "Subconjunctival"},
                "dose": {"value": 20.0, "unit": "mg", "system": "http://unitsofmeasure.org", "code": "mg"},
            },
        ),
        ("not-done", "Moxifloxacin", None),
    ]


def test_snomed_codes_only_by_option() -> None:
    plain = json.dumps(bundle(records.routine()))
    coded = bundle(records.routine(), DocumentOptions(codes=True))
    (procedure,), (eye,) = resources(coded, "Procedure"), resources(coded, "BodyStructure")
    assert "snomed" not in plain
    assert procedure["code"]["coding"] == [{"system": "http://snomed.info/sct", "code": "415089008"}]
    codes = (eye["location"]["coding"][0]["code"], eye["locationQualifier"][0]["coding"][0]["code"])
    assert codes == ("244486005", "24028007")
    (left,) = resources(
        bundle(records.complicated(), DocumentOptions(codes=True, written_at=WRITTEN.written_at)), "BodyStructure"
    )
    assert left["locationQualifier"] == [
        {"coding": [{"system": "http://snomed.info/sct", "code": "7771000"}], "text": "Left"}
    ]


def test_without_a_time_one_clear_sentence() -> None:
    sentence = (
        "A FHIR document needs a time: expected a date of operation, or when it was written or signed, got none; "
        "give --written-at (written_at), such as 2026-03-12T09:30Z."
    )
    with pytest.raises(InputError, match=f"^{re.escape(sentence)}$"):
        render_fhir(records.empty(), GapReport())


def test_the_date_of_operation_serves_when_nothing_else_is_known() -> None:
    found = bundle(records.routine(), DocumentOptions())
    assert (found["timestamp"], found["entry"][0]["resource"]["date"]) == ("2026-11-25T00:00:00Z", "2026-11-25")

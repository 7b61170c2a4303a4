"""The operation note as an HL7 FHIR R4 document: one Bundle, deterministic ids, text in every resource.

Source: HL7 FHIR R4 (4.0.1). LOINC 11504-8 is the surgical operation note; sections bear the LOINC codes of the C-CDA
Operative Note. SNOMED CT codes only by option, since it needs a license in some countries.
"""

import json
from datetime import UTC, datetime, time

from zonule.errors import InputError
from zonule.export import fhir_parts as part
from zonule.export import fhir_resources as resources
from zonule.export.fhir_parts import Json
from zonule.export.fhir_resources import Scene
from zonule.export.operative_sections import OperativeSection, operative_sections
from zonule.export.options import DocumentOptions
from zonule.record import GapReport, OperationRecord

NOTE_TYPE = ("11504-8", "Surgical operation note")


def render_fhir(record: OperationRecord, report: GapReport, options: DocumentOptions | None = None) -> str:
    """The Bundle as JSON; the same text for the same record and options.

    The Composition is preliminary until the note is signed. Raises InputError when no time is known: a FHIR document
    must bear one, so give `written_at` or `signed_at`, or state the date of operation.
    """
    return json.dumps(bundle(record, report, options or DocumentOptions()), indent=2, ensure_ascii=False) + "\n"


def bundle(record: OperationRecord, report: GapReport, options: DocumentOptions) -> Json:
    """The document Bundle as JSON data. Raises InputError when no time is known."""
    scene = Scene(record, part.ids_of(record), options.codes)
    sections = operative_sections(record)
    entries = [composition(scene, sections, options, options.signed(report)), *_others(scene, sections)]
    return {
        "resourceType": "Bundle",
        "id": scene.ids.of("bundle"),
        "identifier": {"system": "urn:ietf:rfc:3986", "value": f"urn:uuid:{scene.ids.of('document')}"},
        "type": "document",
        "timestamp": part.instant(_written(record, options)),
        "entry": [{"fullUrl": f"urn:uuid:{resource['id']}", "resource": resource} for resource in entries],
    }


def _written(record: OperationRecord, options: DocumentOptions) -> datetime:
    known = options.signed_at or options.written_at
    if known is None and record.operation.date:
        known = datetime.combine(record.operation.date.value, time(), UTC)
    if known is None:
        raise InputError(
            "A FHIR document needs a time: expected a date of operation, or when it was written or signed, got none; "
            "give --written-at (written_at), such as 2026-03-12T09:30Z."
        )
    return known


def _others(scene: Scene, sections: tuple[OperativeSection, ...]) -> list[Json]:
    eye = resources.body_structure(scene)
    return [
        resources.patient(scene),
        *resources.practitioners(scene),
        *([eye] if eye else []),
        *resources.conditions(scene),
        *resources.lens_devices(scene),
        *resources.implant_devices(scene),
        resources.procedure(scene, sections),
        *resources.drug_administrations(scene),
    ]


def composition(scene: Scene, sections: tuple[OperativeSection, ...], options: DocumentOptions, signed: bool) -> Json:
    """The head of the document with its sections."""
    code, display = NOTE_TYPE
    return scene.resource(
        "Composition",
        "composition",
        ("Operation note", *([resources.site_text(scene)] if scene.eye else ["Eye not stated"])),
        status="final" if signed else "preliminary",
        type=part.concept(display, part.coding(part.LOINC, code, display)),
        subject=scene.reference("patient"),
        date=_dated(scene, options),
        author=[resources.author(scene)],
        title="Operation note",
        attester=_attester(options) if signed else None,
        section=[_section(scene, section) for section in sections],
    )


def _dated(scene: Scene, options: DocumentOptions) -> str | None:
    known = options.signed_at or options.written_at
    return part.instant(known) if known else scene.day


def _attester(options: DocumentOptions) -> list[Json]:
    when = {"time": part.instant(options.signed_at)} if options.signed_at else {}
    return [{"mode": "professional", **when, "party": {"display": options.signed_by}}]


def _section(scene: Scene, section: OperativeSection) -> Json:
    kind = section.kind
    entries = _entries(scene, kind.id)
    return {
        "title": kind.title,
        "code": part.concept(kind.title, part.coding(part.LOINC, kind.loinc)),
        "text": part.narrative(*section.lines),
        **({"entry": entries} if entries else {}),
    }


def _entries(scene: Scene, section: str) -> list[Json]:
    """References from a section to the resources that it tells of."""
    match section:
        case "preoperative_diagnosis" | "postoperative_diagnosis":
            return resources.condition_references(scene, section.removesuffix("_diagnosis"))
        case "implants":
            return [_pointer(device) for device in (*resources.lens_devices(scene), *resources.implant_devices(scene))]
        case "description":
            return [scene.reference("procedure"), *map(_pointer, resources.drug_administrations(scene))]
    return []


def _pointer(resource: Json) -> Json:
    return {"reference": f"urn:uuid:{resource['id']}"}

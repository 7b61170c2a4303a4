"""The operation note as an HL7 C-CDA R2.1 Operative Note: header, and all required sections as text.

Source: HL7 C-CDA R2.1, Operative Note (V3), 2.16.840.1.113883.10.20.22.1.7:2015-08-01; header after the US Realm Header
(V3), from memory. The standard wants "none" said explicitly; it is said only where the dictation says it, and
otherwise the section says that nothing was stated. Header elements that are not stated bear a null flavor.
"""

from datetime import datetime
from xml.etree import ElementTree
from xml.etree.ElementTree import Element, SubElement

from zonule.export import fhir_parts
from zonule.export.operative_sections import CCDA, OperativeSection, operative_sections
from zonule.export.options import DocumentOptions
from zonule.export.wording import printable, words
from zonule.record import GapReport, OperationRecord
from zonule.record.operation_record import Text
from zonule.vocabulary import Eye

LOINC_OID, SNOMED_OID = "2.16.840.1.113883.6.1", "2.16.840.1.113883.6.96"
CONFIDENTIALITY_OID = "2.16.840.1.113883.5.25"
TEMPLATES = ((f"{CCDA}.22.1.1", "2015-08-01"), (f"{CCDA}.22.1.7", "2015-08-01"))
DECLARATION = '<?xml version="1.0" encoding="UTF-8"?>'
UNKNOWN, NO_INFORMATION = "UNK", "NI"


def render_cda(record: OperationRecord, report: GapReport, options: DocumentOptions | None = None) -> str:
    """The document as XML; the same text for the same record and options."""
    chosen = options or DocumentOptions()
    root = Element("ClinicalDocument", {"xmlns": "urn:hl7-org:v3"})
    signed = chosen.signed(report)
    _head(root, record, chosen, signed)
    _patient(root, record)
    _author(root, record, chosen)
    _custodian(root, chosen)
    if signed:
        _authenticator(root, chosen)
    _service_event(root, record, chosen)
    body = SubElement(SubElement(root, "component"), "structuredBody")
    for section in operative_sections(record):
        _section(body, section)
    ElementTree.indent(root)
    return f"{DECLARATION}\n{printable(ElementTree.tostring(root, encoding='unicode'))}\n"


def _head(root: Element, record: OperationRecord, options: DocumentOptions, signed: bool) -> None:
    SubElement(root, "realmCode", {"code": "US"})
    SubElement(root, "typeId", {"root": "2.16.840.1.113883.1.3", "extension": "POCD_HD000040"})
    for template, extension in TEMPLATES:
        SubElement(root, "templateId", {"root": template, "extension": extension})
    SubElement(root, "id", {"root": fhir_parts.ids_of(record).of("cda")})
    _code(root, "11504-8", "Surgical operation note")
    SubElement(root, "title").text = "Operation note" if signed else "Operation note (draft, not signed)"
    _time(root, "effectiveTime", options.signed_at or options.written_at)
    SubElement(root, "confidentialityCode", {"code": "N", "codeSystem": CONFIDENTIALITY_OID})
    SubElement(root, "languageCode", {"code": "en-US"})


def _code(parent: Element, code: str, display: str) -> None:
    attributes = {"code": code, "codeSystem": LOINC_OID, "codeSystemName": "LOINC", "displayName": display}
    SubElement(parent, "code", attributes)


def _time(parent: Element, tag: str, value: datetime | None) -> None:
    if value is None:
        SubElement(parent, tag, {"nullFlavor": UNKNOWN})
    else:
        zone = f"{value:%z}" if value.tzinfo else ""
        SubElement(parent, tag, {"value": f"{value:%Y%m%d%H%M%S}{zone}"})


def _patient(root: Element, record: OperationRecord) -> None:
    role = SubElement(SubElement(root, "recordTarget"), "patientRole")
    number = record.patient.hospital_number
    # The authority that issued the number is not dictated: the root stays unknown, the number is given as it is.
    SubElement(role, "id", {"nullFlavor": UNKNOWN, "extension": number.value} if number else {"nullFlavor": UNKNOWN})
    _contact(role)
    patient = SubElement(role, "patient")
    _name(patient, record.patient.name)
    SubElement(patient, "administrativeGenderCode", {"nullFlavor": UNKNOWN})
    born = record.patient.date_of_birth
    SubElement(patient, "birthTime", {"value": f"{born.value:%Y%m%d}"} if born else {"nullFlavor": UNKNOWN})


def _contact(parent: Element) -> None:
    for tag in ("addr", "telecom"):
        SubElement(parent, tag, {"nullFlavor": UNKNOWN})


def _name(parent: Element, fact: Text | None) -> None:
    if fact is None:
        SubElement(parent, "name", {"nullFlavor": UNKNOWN})
    else:
        SubElement(parent, "name").text = fact.value


def _author(root: Element, record: OperationRecord, options: DocumentOptions) -> None:
    author = SubElement(root, "author")
    _time(author, "time", options.signed_at or options.written_at)
    _assigned(author, "assignedAuthor", "assignedPerson", record.team.surgeon)


def _assigned(parent: Element, tag: str, person: str, fact: Text | None) -> None:
    entity = SubElement(parent, tag)
    SubElement(entity, "id", {"nullFlavor": NO_INFORMATION})
    _contact(entity)
    _name(SubElement(entity, person), fact)


def _custodian(root: Element, options: DocumentOptions) -> None:
    assigned = SubElement(SubElement(root, "custodian"), "assignedCustodian")
    organization = SubElement(assigned, "representedCustodianOrganization")
    SubElement(organization, "id", {"nullFlavor": NO_INFORMATION})
    if options.unit_name:
        SubElement(organization, "name").text = options.unit_name
    else:
        SubElement(organization, "name", {"nullFlavor": NO_INFORMATION})
    for tag in ("telecom", "addr"):
        SubElement(organization, tag, {"nullFlavor": UNKNOWN})


def _authenticator(root: Element, options: DocumentOptions) -> None:
    """Who signed."""
    signer = SubElement(root, "legalAuthenticator")
    _time(signer, "time", options.signed_at)
    SubElement(signer, "signatureCode", {"code": "S"})
    entity = SubElement(signer, "assignedEntity")
    SubElement(entity, "id", {"nullFlavor": NO_INFORMATION})
    _contact(entity)
    SubElement(SubElement(entity, "assignedPerson"), "name").text = options.signed_by


def _service_event(root: Element, record: OperationRecord, options: DocumentOptions) -> None:
    """What was done, from when to when, by whom."""
    event = SubElement(SubElement(root, "documentationOf"), "serviceEvent", {"classCode": "PCPR"})
    _procedure_code(event, record, options)
    period = SubElement(event, "effectiveTime")
    operation = record.operation
    for tag, clock in (("low", operation.start_time), ("high", operation.end_time)):
        stamp = _stamp(record, clock, day_alone=tag == "low")
        SubElement(period, tag, {"value": stamp} if stamp else {"nullFlavor": UNKNOWN})
    _performer(event, "PPRF", record.team.surgeon)
    if record.team.assistant:
        _performer(event, "SPRF", record.team.assistant)


def _procedure_code(event: Element, record: OperationRecord, options: DocumentOptions) -> None:
    done = [fact.value for fact in record.operation.procedures]
    coded = options.codes and {"phacoemulsification", "intraocular_lens_insertion"} <= set(done)
    snomed = {"code": fhir_parts.PHACO_WITH_LENS, "codeSystem": SNOMED_OID, "codeSystemName": "SNOMED CT"}
    code = SubElement(event, "code", snomed if coded else {"nullFlavor": "OTH" if done else UNKNOWN})
    if done:
        SubElement(code, "originalText").text = "; ".join(map(words, done)) + _eye(record)


def _eye(record: OperationRecord) -> str:
    eye = record.operation.eye
    return "" if eye is None else ", both eyes" if eye.value is Eye.BOTH else f", {eye.value.value} eye"


def _stamp(record: OperationRecord, clock: Text | None, day_alone: bool) -> str:
    """`YYYYMMDDhhmm`, or the day where no time is stated; nothing without a day."""
    day = record.operation.date
    if day is None or (clock is None and not day_alone):
        return ""
    return f"{day.value:%Y%m%d}{clock.value[:5].replace(':', '') if clock else ''}"


def _performer(event: Element, kind: str, fact: Text | None) -> None:
    performer = SubElement(event, "performer", {"typeCode": kind})
    _assigned(performer, "assignedEntity", "assignedPerson", fact)


def _section(body: Element, section: OperativeSection) -> None:
    kind = section.kind
    node = SubElement(SubElement(body, "component"), "section")
    template = {"root": kind.template, **({"extension": kind.extension} if kind.extension else {})}
    SubElement(node, "templateId", template)
    _code(node, kind.loinc, kind.title)
    SubElement(node, "title").text = kind.title
    text = SubElement(node, "text")
    for line in section.lines:
        SubElement(text, "paragraph").text = line

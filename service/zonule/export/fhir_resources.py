"""The resources of an operation note in FHIR R4: patient, people, diagnoses, devices, drugs, the procedure."""

import re
from dataclasses import dataclass
from typing import Any

from zonule.export import fhir_parts as part
from zonule.export.fhir_parts import Ids, Json
from zonule.export.operative_sections import OperativeSection, panel_text
from zonule.export.panels import TITLES, lens_panels
from zonule.export.quantities import number, signed_power
from zonule.export.wording import capitalized, listed, words
from zonule.record import DrugGiven, Fact, Implant, Lens, OperationRecord
from zonule.record.operation_record import Text
from zonule.vocabulary import Eye, LensStatus, Origin, Status

DEVICE_IDENTIFIER = re.compile(r"^\(01\)(\d{14})")
GS1 = "http://hl7.org/fhir/NamingSystem/gs1-di"
TARGET_SITE = "http://hl7.org/fhir/StructureDefinition/procedure-targetBodyStructure"
UCUM_UNITS = {"mg": "mg", "g": "g", "mL": "mL", "ml": "mL", "microgram": "ug", "mcg": "ug", "ug": "ug"}
ACTIONS = {LensStatus.IMPLANTED: "Implanted", LensStatus.EXPLANTED: "Explanted"}


@dataclass(frozen=True, slots=True)
class Scene:
    """What every resource needs to know: the record, its ids, and whether SNOMED CT codes may be used."""

    record: OperationRecord
    ids: Ids
    codes: bool

    def reference(self, name: str, display: str = "") -> Json:
        """A reference to another resource of the bundle."""
        return {"reference": f"urn:uuid:{self.ids.of(name)}", **({"display": display} if display else {})}

    def resource(self, kind: str, name: str, lines: tuple[str, ...], /, **elements: Any) -> Json:
        """A resource with its id and narrative; elements that are None or empty are left out."""
        held = {key: value for key, value in elements.items() if value not in (None, [], {}, "")}
        return {"resourceType": kind, "id": self.ids.of(name), "text": part.narrative(*lines), **held}

    @property
    def eye(self) -> Eye | None:
        """The operated eye, if stated."""
        return self.record.operation.eye.value if self.record.operation.eye else None

    @property
    def day(self) -> str | None:
        """The date of operation, if stated."""
        return self.record.operation.date.value.isoformat() if self.record.operation.date else None


def patient(scene: Scene) -> Json:
    """Who was operated on; what is not stated is absent."""
    stated = scene.record.patient
    name = stated.name.value if stated.name else ""
    return scene.resource(
        "Patient",
        "patient",
        (name or "Patient name not stated",),
        identifier=[{"value": stated.hospital_number.value}] if stated.hospital_number else None,
        name=[{"text": name}] if name else None,
        birthDate=stated.date_of_birth.value.isoformat() if stated.date_of_birth else None,
    )


TEAM = ("surgeon", "assistant", "supervisor", "anesthetist", "scrub")


def practitioners(scene: Scene) -> list[Json]:
    """The people named, each once."""
    return [
        scene.resource("Practitioner", role, (f"{capitalized(role)}: {fact.value}",), name=[{"text": fact.value}])
        for role, fact in _named(scene)
    ]


def _named(scene: Scene) -> list[tuple[str, Text]]:
    team = scene.record.team
    return [(role, fact) for role in TEAM if (fact := getattr(team, role)) is not None]


def author(scene: Scene) -> Json:
    """The surgeon, or words that say that none was stated."""
    surgeon = scene.record.team.surgeon
    if surgeon is None:
        return {"display": "Surgeon not stated in the dictation"}
    return scene.reference("surgeon", surgeon.value)


def conditions(scene: Scene) -> list[Json]:
    """Preoperative and postoperative diagnoses."""
    operation = scene.record.operation
    groups = (("preoperative", operation.preoperative_diagnosis), ("postoperative", operation.postoperative_diagnosis))
    return [_condition(scene, group, position, fact) for group, facts in groups for position, fact in enumerate(facts)]


def condition_references(scene: Scene, group: str) -> list[Json]:
    """References to the `preoperative` or `postoperative` diagnoses."""
    operation = scene.record.operation
    facts = operation.preoperative_diagnosis if group == "preoperative" else operation.postoperative_diagnosis
    return [scene.reference(f"{group}-{position}", words(fact.value)) for position, fact in enumerate(facts)]


def _condition(scene: Scene, group: str, position: int, fact: Text) -> Json:
    text = capitalized(words(fact.value))
    return scene.resource(
        "Condition",
        f"{group}-{position}",
        (f"{capitalized(group)} diagnosis: {text}",),
        code=part.concept(text),
        bodySite=[part.concept(site)] if (site := site_text(scene)) else None,
        subject=scene.reference("patient"),
    )


def site_text(scene: Scene) -> str:
    """The operated eye in words, or nothing."""
    eye = scene.eye
    return "" if eye is None else "Both eyes" if eye is Eye.BOTH else f"{capitalized(eye.value)} eye"


def body_structure(scene: Scene) -> Json | None:
    """The operated eye as a structure with its side; nothing unless one side is stated."""
    if scene.eye not in (Eye.RIGHT, Eye.LEFT):
        return None
    side = part.RIGHT if scene.eye is Eye.RIGHT else part.LEFT
    sides = [part.coding(part.SNOMED, side)] if scene.codes else []
    eyes = [part.coding(part.SNOMED, part.WHOLE_EYE)] if scene.codes else []
    return scene.resource(
        "BodyStructure",
        "eye",
        (site_text(scene),),
        location=part.concept("Eye", *eyes),
        locationQualifier=[part.concept(capitalized(scene.eye.value), *sides)],
        patient=scene.reference("patient"),
    )


def lens_devices(scene: Scene) -> list[Json]:
    """Each lens as a device; only a lens in the eye names its patient."""
    order = list(TITLES)
    lenses = sorted(scene.record.lenses, key=lambda lens: order.index(lens.status))
    texts = [panel_text(panel) for panel in lens_panels(scene.record)]
    return [_lens(scene, n, lens, text) for n, (lens, text) in enumerate(zip(lenses, texts, strict=False))]


def _lens(scene: Scene, position: int, lens: Lens, text: str) -> Json:
    inside = lens.status is LensStatus.IMPLANTED
    expiry = lens.expiry_date.value if lens.expiry_date else ""
    return scene.resource(
        "Device",
        f"lens-{position}",
        (text,),
        udiCarrier=[_udi(lens.udi)] if lens.udi else None,
        manufacturer=_value(lens.manufacturer),
        expirationDate=expiry if part.FHIR_DATE.fullmatch(expiry) else None,
        lotNumber=_value(lens.lot_number),
        serialNumber=_value(lens.serial_number),
        modelNumber=_value(lens.model),
        type=part.concept("Intraocular lens"),
        property=_optics(lens),
        patient=scene.reference("patient") if inside else None,
        note=[{"text": TITLES[lens.status]}],
    )


def _value(fact: Text | None) -> str | None:
    return fact.value if fact else None


def _udi(udi: Text) -> Json:
    """The carrier as it reads; dictated and typed ones count as entered by hand."""
    found = DEVICE_IDENTIFIER.match(udi.value)
    entry = "unknown" if udi.origin in (Origin.LABEL, Origin.WORKLIST) else "manual"
    device = {"deviceIdentifier": found[1], "issuer": GS1} if found else {}
    return {**device, "carrierHRF": udi.value, "entryType": entry}


def _optics(lens: Lens) -> list[Json]:
    stated = (
        ("Power", lens.power_d, "diopter", "[diop]"),
        ("Cylinder", lens.cylinder_d, "diopter", "[diop]"),
        ("Axis", lens.axis_deg, "degree", "deg"),
        ("Target refraction", lens.target_refraction_d, "diopter", "[diop]"),
    )
    return [
        {"type": part.concept(name), "valueQuantity": [part.quantity(fact.value, unit, code)]}
        for name, fact, unit, code in stated
        if fact
    ]


def implant_devices(scene: Scene) -> list[Json]:
    """Other implants; the record's one number may be a serial or a lot number, so it is given as an identifier."""
    done = [fact for fact in scene.record.other_implants if fact.status is Status.DONE]
    return [_implant(scene, position, fact.value) for position, fact in enumerate(done)]


def _implant(scene: Scene, position: int, implant: Implant) -> Json:
    name = capitalized(words(implant.kind))
    told = (name, implant.identifier or "", "(temporary)" if implant.temporary else "")
    return scene.resource(
        "Device",
        f"implant-{position}",
        (" ".join(text for text in told if text),),
        identifier=[{"value": implant.identifier}] if implant.identifier else None,
        type=part.concept(name),
        patient=None if implant.temporary else scene.reference("patient"),
    )


def drug_administrations(scene: Scene) -> list[Json]:
    """Drugs given, and drugs withheld as not done."""
    shown = [f for f in scene.record.drugs if f.status in (Status.DONE, Status.NOT_DONE)]
    return [_administration(scene, position, fact) for position, fact in enumerate(shown)]


def _administration(scene: Scene, position: int, fact: Fact[DrugGiven]) -> Json:
    drug = fact.value
    given = fact.status is Status.DONE
    name = capitalized(words(drug.drug))
    said = _dosage_text(drug)
    day = {"effectiveDateTime": scene.day} if scene.day else {"effectivePeriod": part.absent()}
    return scene.resource(
        "MedicationAdministration",
        f"drug-{position}",
        (f"{name}: {said or 'dose and route not stated'}" + ("" if given else " (withheld)"),),
        status="completed" if given else "not-done",
        medicationCodeableConcept=part.concept(name),
        subject=scene.reference("patient"),
        **day,
        partOf=[scene.reference("procedure")],
        dosage=_dosage(drug, said) if given else None,
    )


def _dosage_text(drug: DrugGiven) -> str:
    dose = f"{number(drug.dose)} {drug.dose_unit or ''}".strip() if drug.dose is not None else ""
    volume = f"{number(drug.volume_ml)} mL" if drug.volume_ml is not None else ""
    return ", ".join(text for text in (dose, drug.strength or "", volume, words(drug.route or "")) if text)


def _dosage(drug: DrugGiven, said: str) -> Json | None:
    """Dose and route. FHIR asks for a dose in every dosage: a stated volume, or words that it is not known."""
    if drug.dose is not None:
        dose = part.quantity(drug.dose, drug.dose_unit or "", UCUM_UNITS.get(drug.dose_unit or "", ""))
    elif drug.volume_ml is not None:
        dose = part.quantity(drug.volume_ml, "mL", "mL")
    else:
        return {"text": said, "dose": part.absent()} if said else None
    route = {"route": part.worded(drug.route)} if drug.route else {}
    return {"text": said, **route, "dose": {key: value for key, value in dose.items() if value != ""}}


def procedure(scene: Scene, sections: tuple[OperativeSection, ...]) -> Json:
    """The operation: what, where, by whom, with what complications and devices."""
    operation = scene.record.operation
    done = [f.value for f in operation.procedures if f.status is Status.DONE]
    text = capitalized(listed([words(name) for name in done])) or "Procedure not stated in the dictation"
    coded = scene.codes and {"phacoemulsification", "intraocular_lens_insertion"} <= set(done)
    events = [f.value for f in scene.record.complications.events if f.status is Status.DONE]
    told = next(" ".join(section.lines) for section in sections if section.kind.id == "description")
    eye = body_structure(scene)
    return scene.resource(
        "Procedure",
        "procedure",
        (text, *([site_text(scene)] if scene.eye else [])),
        extension=[{"url": TARGET_SITE, "valueReference": scene.reference("eye")}] if eye else None,
        status="completed",
        code=part.concept(text, *([part.coding(part.SNOMED, part.PHACO_WITH_LENS)] if coded else [])),
        subject=scene.reference("patient"),
        performedDateTime=scene.day,
        performer=_performers(scene),
        reasonReference=condition_references(scene, "preoperative"),
        bodySite=[part.concept(site_text(scene))] if scene.eye else None,
        complication=[part.worded(event) for event in events],
        focalDevice=_focal_devices(scene),
        note=[{"text": told}],
    )


def _performers(scene: Scene) -> list[Json]:
    return [
        {"function": part.concept(capitalized(role)), "actor": scene.reference(role, fact.value)}
        for role, fact in _named(scene)
    ]


def _focal_devices(scene: Scene) -> list[Json]:
    """Devices that were put in or taken out; a lens only opened is no focal device."""
    order = list(TITLES)
    lenses = sorted(scene.record.lenses, key=lambda lens: order.index(lens.status))
    devices = [
        {"action": part.concept(ACTIONS[lens.status]), "manipulated": scene.reference(f"lens-{n}", _lens_name(lens))}
        for n, lens in enumerate(lenses)
        if lens.status in ACTIONS
    ]
    done = [fact for fact in scene.record.other_implants if fact.status is Status.DONE]
    return devices + [
        {"action": part.concept("Implanted"), "manipulated": scene.reference(f"implant-{n}", words(fact.value.kind))}
        for n, fact in enumerate(done)
    ]


def _lens_name(lens: Lens) -> str:
    power = signed_power(lens.power_d.value) if lens.power_d else ""
    return " ".join(text for text in (_value(lens.model) or "", power, "intraocular lens") if text)

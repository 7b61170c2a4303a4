"""Small parts of FHIR resources: references, concepts, narrative, dates, ids."""

import hashlib
import re
import uuid
from dataclasses import dataclass
from datetime import UTC, datetime
from html import escape
from typing import Any

from zonule.export.wording import capitalized, printable, words
from zonule.record import OperationRecord

Json = dict[str, Any]
NAMESPACE = uuid.UUID("6f1d3a52-8d0a-5e0e-9b6c-2f4b7f0c1a90")
"""Ours, drawn once: ids are made from it by name (RFC 4122, version 5), so the same record gives the same ids."""
LOINC = "http://loinc.org"
SNOMED = "http://snomed.info/sct"
UCUM = "http://unitsofmeasure.org"
ABSENT = "http://hl7.org/fhir/StructureDefinition/data-absent-reason"
FHIR_DATE = re.compile(r"\d{4}-(?:0[1-9]|1[0-2])(?:-(?:0[1-9]|[12]\d|3[01]))?")
RIGHT, LEFT, WHOLE_EYE = "24028007", "7771000", "244486005"
"""SNOMED CT qualifiers of side, and the entire eye (examples of the HL7 Eyecare guide, 0.1.0 ballot)."""
PHACO_WITH_LENS = "415089008"
"""SNOMED CT: phacoemulsification of cataract with insertion of a lens (CMS value set "Cataract Surgery", 2021)."""


@dataclass(frozen=True, slots=True)
class Ids:
    """Ids for the parts of one record, made from its content."""

    digest: str

    def of(self, name: str) -> str:
        """The id of a part; the same for the same record and name."""
        return str(uuid.uuid5(NAMESPACE, f"{self.digest}/{name}"))


def ids_of(record: OperationRecord) -> Ids:
    """The id maker of a record."""
    return Ids(hashlib.sha256(record.model_dump_json().encode()).hexdigest())


def coding(system: str, code: str, display: str = "") -> Json:
    """A coding; without a display where the publisher's wording may not be passed on."""
    return {"system": system, "code": code, **({"display": display} if display else {})}


def concept(text: str, *codings: Json) -> Json:
    """A concept: text always, codes where given."""
    return {**({"coding": list(codings)} if codings else {}), "text": text}


def worded(name: str) -> Json:
    """An id of the record as a concept in words."""
    return concept(capitalized(words(name)))


def narrative(*lines: str) -> Json:
    """The text of a resource, one paragraph a line."""
    body = "".join(f"<p>{escape(printable(line))}</p>" for line in lines)
    return {"status": "generated", "div": f'<div xmlns="http://www.w3.org/1999/xhtml">{body}</div>'}


def instant(value: datetime) -> str:
    """A point in time with its zone; a time without a zone counts as UTC."""
    zoned = value if value.tzinfo else value.replace(tzinfo=UTC)
    return zoned.isoformat(timespec="seconds").replace("+00:00", "Z")


def absent(reason: str = "unknown") -> Json:
    """Said in place of a required element that the dictation does not state."""
    return {"extension": [{"url": ABSENT, "valueCode": reason}]}


def quantity(value: float, unit: str, code: str = "") -> Json:
    """A quantity, with its UCUM code where there is one."""
    return {"value": value, "unit": unit, **({"system": UCUM, "code": code} if code else {})}

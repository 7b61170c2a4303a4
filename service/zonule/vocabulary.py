"""The closed vocabularies of the record contract (version 1). Open ones (steps, drugs, …) live in the lexicon."""

from enum import StrEnum


class Status(StrEnum):
    """What was said of a fact. Only `DONE` may fill a slot."""

    DONE = "done"
    NOT_DONE = "not_done"
    PLANNED = "planned"
    HABITUAL = "habitual"
    HYPOTHETICAL = "hypothetical"
    HISTORICAL = "historical"
    OTHER_EYE = "other_eye"


class Origin(StrEnum):
    """Where a value comes from."""

    DICTATION = "dictation"
    LABEL = "label"
    WORKLIST = "worklist"
    PERSON = "person"


class Eye(StrEnum):
    """The operated side."""

    RIGHT = "right"
    LEFT = "left"
    BOTH = "both"


class Urgency(StrEnum):
    """How soon the operation had to be done."""

    ELECTIVE = "elective"
    URGENT = "urgent"
    EMERGENCY = "emergency"


class LensStatus(StrEnum):
    """What became of a lens."""

    IMPLANTED = "implanted"
    OPENED_NOT_IMPLANTED = "opened_not_implanted"
    EXPLANTED = "explanted"


class Limit(StrEnum):
    """How a setting's value binds."""

    FIXED = "fixed"
    MAXIMUM = "maximum"
    RANGE = "range"


class ComplicationStatement(StrEnum):
    """Silence is `NOT_STATED`, never `NONE`."""

    NONE = "none"
    PRESENT = "present"
    NOT_STATED = "not_stated"


class GapKind(StrEnum):
    """The kinds of lines in a gap report (record contract, section 5)."""

    MISSING = "missing"
    CONFLICT = "conflict"
    IMPLAUSIBLE = "implausible"
    UNCLEAR = "unclear"
    REVIEW = "review"


class Severity(StrEnum):
    """`MUST` blocks a signature, `SHOULD` asks, `NOTE` only shows."""

    MUST = "must"
    SHOULD = "should"
    NOTE = "note"

"""What of a record can be drawn on an eye, and what was not stated or cannot be placed."""

from dataclasses import dataclass

from zonule.export import quantities
from zonule.export.eye_geometry import VIEWS, View, degrees_of_hour, degrees_of_site, side_at
from zonule.export.wording import capitalized, listed, words
from zonule.record import Lens, OperationRecord
from zonule.vocabulary import Eye, LensStatus, Status

RELAXING = {"relaxing_incision", "corneal_relaxing_incisions"}


@dataclass(frozen=True, slots=True)
class Wound:
    """The main incision; `degrees` is None when it cannot be placed, `width_mm` when no width is stated."""

    kind: str
    site: str
    degrees: float | None
    width_mm: float | None


@dataclass(frozen=True, slots=True)
class EyeMarks:
    """Everything that the diagram shows. For `relaxing` and `sutures` the record holds no place: only named."""

    eye: Eye | None
    wound: Wound | None
    ports: tuple[float, ...]
    odd_ports: tuple[float, ...]
    lens: bool
    location: str
    axis_deg: float | None
    relaxing: bool
    sutures: str


def marks_of(record: OperationRecord) -> EyeMarks:
    """The marks of a record: stated, done facts alone."""
    hours = [f.value for f in record.paracentesis.clock_hours if f.status is Status.DONE]
    implanted = [lens for lens in record.lenses if lens.status is LensStatus.IMPLANTED]
    lens = implanted[0] if len(implanted) == 1 else None
    eye = record.operation.eye.value if record.operation.eye else None
    named = {fact.value for fact in (*record.steps, *record.operation.procedures) if fact.status is Status.DONE}
    return EyeMarks(
        eye=None if eye is Eye.BOTH else eye,
        wound=_wound(record, eye),
        ports=tuple(hour for hour in hours if degrees_of_hour(hour) is not None),
        odd_ports=tuple(hour for hour in hours if degrees_of_hour(hour) is None),
        lens=bool(implanted),
        location=lens.location.value if lens and lens.location else "",
        axis_deg=_axis(lens),
        relaxing=bool(named & RELAXING),
        sutures=listed([quantities.sutures(f.value) for f in record.sutures if f.status is Status.DONE]),
    )


def _axis(lens: Lens | None) -> float | None:
    axis = lens.axis_deg.value if lens and lens.axis_deg else None
    return axis if axis is not None and 0 <= axis <= 180 else None


def _wound(record: OperationRecord, eye: Eye | None) -> Wound | None:
    stated = record.main_incision
    if stated.kind is None and stated.site is None and stated.width_mm is None:
        return None
    site = stated.site.value if stated.site else ""
    return Wound(
        kind=stated.kind.value if stated.kind else "",
        site=site,
        degrees=degrees_of_site(site, eye) if site else None,
        width_mm=stated.width_mm.value if stated.width_mm else None,
    )


def describe_marks(marks: EyeMarks, view: View) -> str:
    """The diagram in words, in the order in which one would read it."""
    eye = f"{capitalized(marks.eye.value)} eye" if marks.eye else "Eye not stated: nasal and temporal are not marked"
    parts = [f"{eye}; drawn {VIEWS[view]}", _describe_wound(marks), _describe_ports(marks), _describe_lens(marks)]
    if marks.relaxing:
        parts.append("Relaxing incisions stated; their place is not recorded, so they are not drawn")
    if marks.sutures:
        parts.append(f"{capitalized(marks.sutures)}{'' if 'no sutures' in marks.sutures else '; not drawn'}")
    return ". ".join(parts) + "."


def _describe_wound(marks: EyeMarks) -> str:
    wound = marks.wound
    if wound is None:
        return "Main incision not stated"
    width = f"{quantities.number(wound.width_mm)} mm" if wound.width_mm is not None else "width not stated"
    parts = [words(wound.kind) if wound.kind else "", width, _describe_site(wound, marks.eye)]
    return f"Main incision: {', '.join(part for part in parts if part)}"


def _describe_site(wound: Wound, eye: Eye | None) -> str:
    if not wound.site:
        return "place not stated, so it is not drawn"
    said = quantities.site(wound.site)
    if wound.degrees is None:
        return f"{said}, which cannot be placed, so it is not drawn"
    side = side_at(wound.degrees, eye)
    return f"{said} ({side})" if side and side not in said else said


def _describe_ports(marks: EyeMarks) -> str:
    if not marks.ports and not marks.odd_ports:
        return "Side ports not stated"
    drawn = f"at {listed([quantities.clock_hour(h) for h in marks.ports])} o'clock" if marks.ports else ""
    odd = listed([quantities.number(h) for h in marks.odd_ports])
    refused = f"{odd} o'clock is on no clock, so it is not drawn" if odd else ""
    return f"Side ports {'; '.join(part for part in (drawn, refused) if part)}"


def _describe_lens(marks: EyeMarks) -> str:
    if not marks.lens:
        return "Lens not stated"
    location = words(marks.location) if marks.location else "location not stated"
    axis = f", axis {quantities.number(marks.axis_deg)}°" if marks.axis_deg is not None else ""
    return f"Lens: {location}{axis}"

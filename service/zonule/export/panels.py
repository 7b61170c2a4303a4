"""The boxes nobody may overlook: the operated eye, and each lens."""

from collections.abc import Callable

from zonule.export import quantities
from zonule.export.blocks import AnyFact, Entry, Panel, Phrase, Tone
from zonule.export.wording import capitalized, listed, name_shown, words
from zonule.record import Fact, Lens, OperationRecord
from zonule.vocabulary import Eye, LensStatus, Origin

TITLES = {
    LensStatus.IMPLANTED: "Lens implanted",
    LensStatus.OPENED_NOT_IMPLANTED: "Lens opened, not implanted",
    LensStatus.EXPLANTED: "Lens explanted",
}
IN_BOLD = {"Model", "Power"}
EYES = {Eye.RIGHT: "RIGHT EYE", Eye.LEFT: "LEFT EYE", Eye.BOTH: "BOTH EYES STATED"}


def eye_panel(record: OperationRecord) -> Panel:
    """The operated eye in capitals, or that it is not stated; both eyes in one note is an alarm."""
    eye = record.operation.eye
    if eye is None:
        return Panel("eye", "EYE NOT STATED", (), Tone.ALERT)
    tone = Tone.ALERT if eye.value is Eye.BOTH else Tone.STRONG
    return Panel("eye", EYES[eye.value], (), tone)


def lens_panels(record: OperationRecord) -> tuple[Panel, ...]:
    """One panel for each lens, the implanted first; one that says so when no lens is stated."""
    order = list(TITLES)
    lenses = sorted(record.lenses, key=lambda lens: order.index(lens.status))
    if not lenses:
        entry = Entry("Lens", (Phrase("not stated in the dictation", (), Tone.MUTED),))
        return (Panel("lens", "Lens", (entry,), Tone.ALERT),)
    return tuple(_lens_panel(lens) for lens in lenses)


def _lens_panel(lens: Lens) -> Panel:
    asked = _asked if lens.status is LensStatus.IMPLANTED else _told
    entries = [
        _asked("Model", lens.model, str),
        _told("Manufacturer", lens.manufacturer, name_shown),
        asked("Power", lens.power_d, quantities.signed_power),
        _cylinder(lens),
        _serial(lens),
        _told("Lot number", lens.lot_number, str),
        asked("Expiry", lens.expiry_date, quantities.spoken_day),
        asked("Location", lens.location, lambda value: capitalized(words(value))),
        _told("Material", lens.material, lambda value: capitalized(words(value))),
        _told("Target refraction", lens.target_refraction_d, quantities.signed_power),
        _told("UDI", lens.udi, str),
        _label_check(lens),
    ]
    tone = Tone.STRONG if lens.status is LensStatus.IMPLANTED else Tone.ALERT
    return Panel("lens", TITLES[lens.status], tuple(entry for entry in entries if entry), tone)


def _told(label: str, fact: Fact[str] | Fact[float] | None, show: Callable[..., str]) -> Entry | None:
    tone = Tone.STRONG if label in IN_BOLD else Tone.PLAIN
    return Entry(label, (Phrase(show(fact.value), (fact,), tone),)) if fact else None


def _asked(label: str, fact: Fact[str] | Fact[float] | None, show: Callable[..., str]) -> Entry | None:
    """An item that every lens has: shown as not stated when it is missing."""
    if fact is None:
        return Entry(label, (Phrase("not stated", (), Tone.MUTED),))
    return _told(label, fact, show)


def _serial(lens: Lens) -> Entry | None:
    """The serial number; it is missed only when there is no lot number either (some lenses carry one of the two)."""
    if lens.serial_number is None and lens.lot_number is not None:
        return None
    return _asked("Serial number", lens.serial_number, str)


def _cylinder(lens: Lens) -> Entry | None:
    if lens.cylinder_d is None and lens.axis_deg is None:
        return None
    phrases = (
        _part(lens.cylinder_d, quantities.signed_power, "cylinder not stated"),
        _part(lens.axis_deg, lambda value: f"axis {quantities.number(value)}°", "axis not stated"),
    )
    return Entry("Cylinder", phrases)


def _part(fact: Fact[float] | None, show: Callable[[float], str], missing: str) -> Phrase:
    return Phrase(show(fact.value), (fact,), Tone.STRONG) if fact else Phrase(missing, (), Tone.MUTED)


CHECKED = {
    "model": "model", "power_d": "power", "cylinder_d": "cylinder", "axis_deg": "axis",
    "serial_number": "serial number", "lot_number": "lot number", "expiry_date": "expiry", "udi": "UDI",
}  # fmt: skip


def _label_check(lens: Lens) -> Entry:
    """Which items come from the printed or scanned label rather than from speech."""
    read = {name: fact for name in CHECKED if (fact := getattr(lens, name)) and fact.origin is Origin.LABEL}
    if not read:
        return Entry("Label", (Phrase("not checked", (), Tone.MUTED),))
    facts: tuple[AnyFact, ...] = tuple(read.values())
    return Entry("Label", (Phrase(f"checked for {listed([CHECKED[name] for name in read])}", facts),))

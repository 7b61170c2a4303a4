"""The eye diagram: notation of both eyes, every hour, every 15 degrees, both views; stated facts only.

Source: ophthalmic charting convention; common practice, no source.
"""

import cmath
import math
from xml.etree import ElementTree

import pytest
import records

from zonule.export.eye_diagram import CENTER, DEGREES, HOURS, LIMBUS, describe_eye, eye_svg
from zonule.export.eye_geometry import View, degrees_of_hour, degrees_of_site, place, side_at
from zonule.export.eye_raster import svg_to_png
from zonule.record import Fact, Lens, MainIncision, Operation, OperationRecord, Paracentesis
from zonule.vocabulary import Eye, LensStatus

SVG = "{http://www.w3.org/2000/svg}"
VIEWS: tuple[View, ...] = ("facing", "from_head")
EYES = (Eye.RIGHT, Eye.LEFT)
DEGREES_OF_HOURS = {12: 90, 1: 60, 2: 30, 3: 0, 4: 330, 5: 300, 6: 270, 7: 240, 8: 210, 9: 180, 10: 150, 11: 120}
SIDE_OF_HOURS_RIGHT = {
    12: "", 1: "nasal", 2: "nasal", 3: "nasal", 4: "nasal", 5: "nasal",
    6: "", 7: "temporal", 8: "temporal", 9: "temporal", 10: "temporal", 11: "temporal",
}  # fmt: skip
SIDE_OF_HOURS_LEFT = {
    12: "", 1: "temporal", 2: "temporal", 3: "temporal", 4: "temporal", 5: "temporal",
    6: "", 7: "nasal", 8: "nasal", 9: "nasal", 10: "nasal", 11: "nasal",
}  # fmt: skip


def eye_record(eye: Eye | None = None, **parts: object) -> OperationRecord:
    operation = Operation(eye=records.typed(eye)) if eye else Operation()
    return OperationRecord(operation=operation).model_copy(update=parts)


def tree(record: OperationRecord, view: View = "facing") -> ElementTree.Element:
    return ElementTree.fromstring(eye_svg(record, view))


def labels(record: OperationRecord, view: View = "facing") -> dict[str, tuple[float, float]]:
    """Every text on the drawing and its center, the lowering of its baseline taken off."""
    return {
        str(t.text): (float(t.attrib["x"]), round(float(t.attrib["y"]) - 0.35 * float(t.attrib["font-size"]), 2))
        for t in tree(record, view).iter(f"{SVG}text")
    }


def test_hours_in_degrees() -> None:
    assert {hour: degrees_of_hour(hour) for hour in range(1, 13)} == DEGREES_OF_HOURS
    assert [degrees_of_hour(h) for h in (0, 0.5, 13, 14)] == [None] * 4
    assert [degrees_of_hour(h) for h in (12.5, 7.5, 1.5)] == [75, 225, 45]


@pytest.mark.parametrize(("eye", "sides"), [(Eye.RIGHT, SIDE_OF_HOURS_RIGHT), (Eye.LEFT, SIDE_OF_HOURS_LEFT)])
def test_sides_of_hours(eye: Eye, sides: dict[int, str]) -> None:
    assert {hour: side_at(degrees, eye) for hour, degrees in DEGREES_OF_HOURS.items()} == sides


@pytest.mark.parametrize("eye", [None, Eye.BOTH])
def test_no_side_without_an_eye(eye: Eye | None) -> None:
    assert {side_at(degrees, eye) for degrees in range(0, 360, 15)} == {""}


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("degrees", range(0, 360, 15))
def test_meridians_run_counter_clockwise(degrees: int, view: View) -> None:
    # The complex plane with its y axis turned down, as an independent reckoning.
    turn = -1 if view == "from_head" else 1
    point = complex(*CENTER) + (turn * 100 * cmath.exp(1j * math.radians(degrees))).conjugate()
    assert place(degrees, 100, CENTER, view) == (round(point.real, 2), round(point.imag, 2))


def test_quarter_points_facing_and_from_the_head() -> None:
    x, y = CENTER
    quarter = (0, 90, 180, 270)
    facing = [(x + 10, y), (x, y - 10), (x - 10, y), (x, y + 10)]
    assert [place(d, 10, CENTER, "facing") for d in quarter] == facing
    assert [place(d, 10, CENTER, "from_head") for d in quarter] == [*facing[2:], *facing[:2]]


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("eye", EYES)
def test_the_drawing_bears_hours_degrees_and_sides(eye: Eye, view: View) -> None:
    found = labels(eye_record(eye), view)
    hours = {str(hour): place(d, HOURS, CENTER, view) for hour, d in DEGREES_OF_HOURS.items()}
    degrees = {f"{d}°": place(d, DEGREES, CENTER, view) for d in range(0, 360, 30)}
    assert {key: found[key] for key in (*hours, *degrees)} == hours | degrees
    nasal_on_the_right = found["NASAL"][0] > CENTER[0]
    assert nasal_on_the_right == ((eye is Eye.RIGHT) == (view == "facing"))
    assert (found["TEMPORAL"][0] > CENTER[0]) != nasal_on_the_right


def test_without_an_eye_no_sides_and_it_says_so() -> None:
    found = labels(eye_record())
    assert {"NASAL", "TEMPORAL"} & set(found) == set()
    assert "as charted facing the patient; eye not stated" in found
    assert describe_eye(eye_record()) == (
        "Eye not stated: nasal and temporal are not marked; drawn as charted facing the patient. "
        "Main incision not stated. Side ports not stated. Lens not stated."
    )


def port_tips(record: OperationRecord, view: View = "facing") -> list[tuple[float, float]]:
    ports = tree(record, view).findall(f"{SVG}polygon")
    return [tuple(map(float, p.attrib["points"].split()[0].split(","))) for p in ports]  # type: ignore[misc]


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("eye", EYES)
def test_side_ports_at_every_hour(eye: Eye, view: View) -> None:
    hours = tuple(records.typed(float(hour)) for hour in DEGREES_OF_HOURS)
    record = eye_record(eye, paracentesis=Paracentesis(clock_hours=hours))
    assert port_tips(record, view) == [place(d, LIMBUS - 16, CENTER, view) for d in DEGREES_OF_HOURS.values()]


def test_an_hour_that_no_clock_has_is_not_drawn_but_named() -> None:
    hours = (records.typed(14.0),)
    record = eye_record(Eye.LEFT, paracentesis=Paracentesis(clock_hours=hours))
    assert port_tips(record) == []
    assert "Side ports 14 o'clock is on no clock, so it is not drawn." in describe_eye(record)


SITES = [
    ("7 o'clock", 240, 240),
    ("7:30 o'clock", 225, 225),
    ("7.5 o'clock", 225, 225),
    ("75 deg", 75, 75),
    ("180 deg", 180, 180),
    ("temporal", 180, 0),
    ("nasal", 0, 180),
    ("superior", 90, 90),
    ("inferior", 270, 270),
    ("superotemporal", 135, 45),
    ("supero-temporal", 135, 45),
    ("superonasal", 45, 135),
    ("inferotemporal", 225, 315),
    ("inferonasal", 315, 225),
    ("13 o'clock", None, None),
    ("400 deg", None, None),
    ("twelvish o'clock", None, None),
    ("on axis", None, None),
]


@pytest.mark.parametrize(("site", "right", "left"), SITES)
def test_sites(site: str, right: float | None, left: float | None) -> None:
    found = [degrees_of_site(site, eye) for eye in (Eye.RIGHT, Eye.LEFT)]
    assert [None if d is None else round(d, 6) for d in found] == [right, left]


def test_temporal_cannot_be_placed_without_an_eye() -> None:
    assert degrees_of_site("temporal", None) is None
    assert degrees_of_site("superior", None) == 90
    record = eye_record(main_incision=MainIncision(site=records.typed("temporal"), width_mm=records.typed(2.2)))
    assert "Main incision: 2.2 mm, temporal, which cannot be placed, so it is not drawn." in describe_eye(record)
    assert tree(record).findall(f"{SVG}path") == []


def wound_ends(width: float | None) -> list[float]:
    """The degrees at which the drawn wound at 12 o'clock ends."""
    wide = records.typed(width) if width else None
    record = eye_record(Eye.RIGHT, main_incision=MainIncision(site=records.typed("12 o'clock"), width_mm=wide))
    path = tree(record).findall(f"{SVG}path")[0].attrib["d"]
    start, end = path[1:].split("A")[0].split(), path.split()[-2:]
    points = [(float(x), float(y)) for x, y in (start, end)]
    return [round(math.degrees(math.atan2(CENTER[1] - y, x - CENTER[0])), 1) for x, y in points]


def test_the_wound_is_as_wide_as_stated() -> None:
    # 3 mm on the circle of a 12 mm cornea is a quarter of its radian measure: 3 / 6 rad = 28.6 degrees.
    assert wound_ends(3.0) == [75.7, 104.3]


def test_a_wound_without_width_says_so() -> None:
    record = eye_record(Eye.RIGHT, main_incision=MainIncision(site=records.typed("12 o'clock")))
    assert "main incision: width not stated" in labels(record)
    assert tree(record).findall(f"{SVG}path")[0].get("stroke-dasharray") == "3 3"


def lens_record(axis: float | None, location: str | None = "capsular_bag") -> OperationRecord:
    axis_fact: Fact[float] | None = records.typed(axis) if axis is not None else None
    where = records.typed(location) if location else None
    lens = Lens(status=LensStatus.IMPLANTED, axis_deg=axis_fact, location=where)
    return eye_record(Eye.LEFT, lenses=(lens,))


def axis_ends(record: OperationRecord, view: View = "facing") -> list[tuple[float, float]]:
    lines = [line.attrib for line in tree(record, view).findall(f"{SVG}line") if "stroke-dasharray" in line.attrib]
    return [(float(line[f"x{n}"]), float(line[f"y{n}"])) for line in lines for n in (1, 2)]


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("axis", range(0, 181, 15))
def test_lens_axis(axis: int, view: View) -> None:
    ends = [place(axis + turn, LIMBUS - 14, CENTER, view) for turn in (0, 180)]
    assert axis_ends(lens_record(float(axis)), view) == ends


def test_an_axis_over_180_degrees_or_none_is_not_drawn() -> None:
    assert axis_ends(lens_record(190.0)) == axis_ends(lens_record(None)) == []


def test_lens_location_is_named() -> None:
    assert "lens: capsular bag, axis 90°" in labels(lens_record(90.0))
    assert "lens: location not stated" in labels(lens_record(None, None))
    assert describe_eye(lens_record(90.0)).endswith("Lens: capsular bag, axis 90°.")


def test_relaxing_incisions_and_sutures_are_named_not_drawn() -> None:
    record = records.complicated().model_copy(update={"steps": (records.typed("relaxing_incision"),)})
    assert describe_eye(record).endswith(
        "Relaxing incisions stated; their place is not recorded, so they are not drawn. "
        "Three 10-0 nylon sutures; not drawn."
    )


def test_words_are_escaped() -> None:
    record = eye_record(Eye.RIGHT, main_incision=MainIncision(site=records.typed("<b>&x")))
    description = tree(record).find(f"{SVG}desc")
    assert description is not None
    assert "<b>&x" in (description.text or "")


def test_drawings_are_the_same_bytes_each_time() -> None:
    record = records.routine()
    assert eye_svg(record) == eye_svg(record)
    assert svg_to_png(eye_svg(record)) == svg_to_png(eye_svg(record))
    assert svg_to_png(eye_svg(record))[:8] == b"\x89PNG\r\n\x1a\n"

"""The operated eye as SVG: clock hours and degrees, nasal and temporal, wounds, lens. Own design, stated facts only."""

import math
from xml.sax.saxutils import escape

from zonule.export.eye_geometry import VIEWS, View, degrees_of_hour, place, side_at
from zonule.export.eye_marks import EyeMarks, Wound, describe_marks, marks_of
from zonule.export.options import DocumentOptions
from zonule.export.quantities import clock_hour, number
from zonule.export.wording import printable, words
from zonule.record import GapReport, OperationRecord

LEFT, TOP, WIDTH, HEIGHT = 0, 14, 400, 404
CENTER = (200.0, 180.0)
LIMBUS, OPTIC, PUPIL = 96.0, 48.0, 38.0
CORNEA_MM = 12.0
"""The white-to-white diameter that wound widths are drawn against; nominal, about the adult mean (common practice)."""
HOURS, TICKS, DEGREES, SIDES = 115.0, (128.0, 134.0), 153.0, 186.0
WOUND_RADIUS = {"clear_corneal": LIMBUS - 5, "scleral_tunnel": LIMBUS + 7}
INK, WOUND, PORT, AXIS = "#1a1a1a", "#a4001d", "#00605c", "#17365d"


def eye_svg(record: OperationRecord, view: View = "facing") -> str:
    """The diagram of the operated eye; `from_head` turns it by half a turn. The same text for the same record."""
    marks = marks_of(record)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{LEFT} {TOP} {WIDTH} {HEIGHT}" role="img" '
        'font-family="Liberation Sans, Arial, sans-serif" text-anchor="middle">',
        "<title>Eye diagram</title>",
        f"<desc>{escape(describe_marks(marks, view))}</desc>",
        f'<rect y="{TOP}" width="{WIDTH}" height="{HEIGHT}" fill="#ffffff"/>',
        *_globe(marks),
        *_scale(view),
        *_sides(marks, view),
        *_axis(marks, view),
        *_main_wound(marks.wound, view),
        *(_port(hour, view) for hour in marks.ports),
        *_legend(marks, view),
        "</svg>",
    ]
    return printable("\n".join(parts) + "\n")


def render_eye(record: OperationRecord, _report: GapReport, options: DocumentOptions | None = None) -> str:
    """The diagram alone, in the view of the options."""
    return eye_svg(record, (options or DocumentOptions()).diagram_view)


def describe_eye(record: OperationRecord, view: View = "facing") -> str:
    """The diagram in words: its alternative text."""
    return describe_marks(marks_of(record), view)


def _text(x: float, y: float, text: str, size: float, color: str = INK, extra: str = "") -> str:
    """Text centered on a point, in height too: by a third of its size, as few programs know a middle baseline."""
    shown = f'<text x="{x:g}" y="{y + size * 0.35:g}" font-size="{size:g}" fill="{color}"{extra}>'
    return f"{shown}{escape(text)}</text>"


def _circle(radius: float, fill: str, stroke: str, width: float) -> str:
    x, y = CENTER
    line = f'stroke="{stroke}" stroke-width="{width:g}"'
    return f'<circle cx="{x:g}" cy="{y:g}" r="{radius:g}" fill="{fill}" {line}/>'


def _globe(marks: EyeMarks) -> list[str]:
    parts = [_circle(LIMBUS, "#f1f4f8", INK, 2), _circle(PUPIL, "#ffffff", "#9aa7b8", 1)]
    if marks.lens:
        parts.append(_circle(OPTIC, "none", AXIS, 1.5))
    return parts


def _scale(view: View) -> list[str]:
    parts = [_tick(degrees, view) for degrees in range(0, 360, 15)]
    for hour in range(1, 13):
        degrees = degrees_of_hour(hour)
        assert degrees is not None
        parts.append(_text(*place(degrees, HOURS, CENTER, view), str(hour), 19))
        parts.append(_text(*place(degrees, DEGREES, CENTER, view), f"{degrees:g}°", 14, "#595959"))
    return parts


def _tick(degrees: int, view: View) -> str:
    (x1, y1), (x2, y2) = (place(degrees, radius, CENTER, view) for radius in TICKS)
    return f'<line x1="{x1:g}" y1="{y1:g}" x2="{x2:g}" y2="{y2:g}" stroke="#9aa7b8" stroke-width="1.2"/>'


def _sides(marks: EyeMarks, view: View) -> list[str]:
    """The words nasal and temporal, written upward at their sides; nothing when the eye is not stated."""
    parts = []
    for degrees in (0, 180):
        side = side_at(degrees, marks.eye)
        if side:
            x, y = place(degrees, SIDES, CENTER, view)
            turn = f' transform="rotate(-90 {x:g} {y:g})" letter-spacing="2"'
            parts.append(_text(x, y, side.upper(), 16, AXIS, turn))
    return parts


def _axis(marks: EyeMarks, view: View) -> list[str]:
    if marks.axis_deg is None:
        return []
    (x1, y1), (x2, y2) = (place(marks.axis_deg + turn, LIMBUS - 14, CENTER, view) for turn in (0, 180))
    line = f'<line x1="{x1:g}" y1="{y1:g}" x2="{x2:g}" y2="{y2:g}" stroke="{AXIS}" stroke-width="3"'
    dots = [place(marks.axis_deg + turn, OPTIC - 8, CENTER, view) for turn in (0, 180)]
    return [f'{line} stroke-dasharray="9 5"/>', *(_dot(x, y) for x, y in dots)]


def _dot(x: float, y: float) -> str:
    return f'<circle cx="{x:g}" cy="{y:g}" r="4.5" fill="{AXIS}"/>'


def _main_wound(wound: Wound | None, view: View) -> list[str]:
    """An arc as long as the wound is wide, to the scale of the cornea; a dashed short arc when no width is stated."""
    if wound is None or wound.degrees is None:
        return []
    radius = WOUND_RADIUS.get(wound.kind, LIMBUS)
    half = math.degrees((wound.width_mm or 2.0) / CORNEA_MM)
    (x1, y1), (x2, y2) = (place(wound.degrees + turn, radius, CENTER, view) for turn in (-half, half))
    large = int(half > 90)
    dashes = "" if wound.width_mm is not None else ' stroke-dasharray="3 3"'
    arc = (
        f'<path d="M{x1:g} {y1:g}A{radius:g} {radius:g} 0 {large} 0 {x2:g} {y2:g}" fill="none" '
        f'stroke="{WOUND}" stroke-width="9"{dashes}/>'
    )
    return [arc]


def _port(hour: float, view: View) -> str:
    """A side port: a wedge that points to the middle of the eye."""
    degrees = degrees_of_hour(hour)
    assert degrees is not None
    tip = place(degrees, LIMBUS - 16, CENTER, view)
    base = [place(degrees + turn, LIMBUS + 4, CENTER, view) for turn in (-5, 5)]
    points = " ".join(f"{x:g},{y:g}" for x, y in (tip, *base))
    return f'<polygon points="{points}" fill="{PORT}"><title>Side port {clock_hour(hour)} o\'clock</title></polygon>'


def _legend(marks: EyeMarks, view: View) -> list[str]:
    """Two lines below the eye: what the signs mean, and what is not stated."""
    view_line = VIEWS[view] if marks.eye else f"{VIEWS[view]}; eye not stated"
    return [*_signs(marks), _text(WIDTH / 2, 408, view_line, 15, "#595959")]


def _signs(marks: EyeMarks) -> list[str]:
    signs = [(f'<rect x="0" y="-4" width="18" height="8" fill="{WOUND}"/>', _wound_sign(marks.wound))]
    ports = "side port" if marks.ports else "not stated"
    signs.append((f'<polygon points="2,-7 16,-7 9,8" fill="{PORT}"/>', ports))
    if marks.lens:
        signs.append((f'<circle cx="9" cy="0" r="7" fill="none" stroke="{AXIS}" stroke-width="2"/>', _lens_sign(marks)))
    return [_sign(drawing, text, row) for row, (drawing, text) in enumerate(signs)]


def _wound_sign(wound: Wound | None) -> str:
    if wound is None:
        return "main incision: not stated"
    if wound.degrees is None:
        return "main incision: place not stated" if not wound.site else "main incision: cannot be placed"
    width = f" {number(wound.width_mm)} mm" if wound.width_mm is not None else ": width not stated"
    return f"main incision{width}"


def _lens_sign(marks: EyeMarks) -> str:
    location = words(marks.location) if marks.location else "location not stated"
    axis = f", axis {number(marks.axis_deg)}°" if marks.axis_deg is not None else ""
    return f"lens: {location}{axis}"


def _sign(drawing: str, text: str, row: int) -> str:
    """One sign of the legend with its words."""
    x, y = ((26, 363), (276, 363), (26, 386))[row]
    words_at = f'<text x="26" y="5.5" font-size="16" fill="{INK}" text-anchor="start">{escape(text)}</text>'
    return f'<g transform="translate({x} {y})">{drawing}{words_at}</g>'

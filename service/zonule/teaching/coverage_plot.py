"""Coverage over several dictations or months as SVG: a line each, told apart by sign as well as color.

The marks and letters of this plot serve the other plots of the house too.
"""

from dataclasses import dataclass
from html import escape

from zonule.export.wording import printable

WIDTH, HEIGHT = 760, 330
LEFT, RIGHT, TOP, BOTTOM = 56, 200, 20, 46
"""Margins around the axes; the legend stands in the right one."""
INK, MUTED, GRID = "#1a1a1a", "#595959", "#e1e6ed"
COLORS = ("#17365d", "#a4001d", "#00605c", "#7a4b00", "#5b2a86")
SIGNS = ("disk", "square", "triangle", "diamond", "ring")
WIDE_LINE, THIN_LINE = 3, 1.5
MOST_NUMBERS = 20
"""So many dictations can be numbered along the axis without touching."""
MOST_NAMES = 8
"""So many months can be named along it."""
IN_ORDER, BY_DICTATION = "dictation, in the order given", "dictation by dictation"


@dataclass(frozen=True, slots=True)
class Line:
    """One requirement set or item: the share that each dictation or month states, in percent."""

    name: str
    shares_pct: tuple[float, ...]


def describe_coverage(lines: tuple[Line, ...], each: str = BY_DICTATION) -> str:
    """The plot in words."""
    told = [f"{line.name}: {', '.join(f'{share:.0f} %' for share in line.shares_pct)}" for line in lines]
    return f"Share of the items stated, {each}. {'; '.join(told)}."


def coverage_svg(
    lines: tuple[Line, ...], points: tuple[str, ...] = (), axis: str = IN_ORDER, each: str = BY_DICTATION
) -> str:
    """The plot; the first line is the chosen one and is drawn last and thickest.

    `points` name the places along the axis, which are numbered without them; `axis` says what they are.
    """
    count = max((len(line.shares_pct) for line in lines), default=0)
    order = range(len(lines) - 1, -1, -1)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        'font-family="Liberation Sans, Arial, sans-serif" font-size="13">',
        f"<title>Coverage</title><desc>{escape(describe_coverage(lines, each))}</desc>",
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#ffffff"/>',
        *_axes(count, points, axis),
        *(part for at in order for part in _drawn(lines[at], at, count)),
        *(part for at, line in enumerate(lines) for part in _legend(line, at)),
        "</svg>",
    ]
    return printable("\n".join(parts) + "\n")


def _axes(count: int, points: tuple[str, ...], axis: str) -> list[str]:
    """Shares from 0 to 100 %, dictations by their number or months by their name."""
    shares = [part for share in range(0, 101, 20) for part in _grid_line(share)]
    every = -(-count // (MOST_NAMES if points else MOST_NUMBERS)) if count else 1
    bottom = HEIGHT - BOTTOM + 18
    names = points or tuple(str(at + 1) for at in range(count))
    numbers = [text_at(_x(at, count), bottom, names[at], MUTED, "middle") for at in range(0, count, every)]
    middle = (LEFT + WIDTH - RIGHT) / 2
    return [*shares, *numbers, text_at(middle, HEIGHT - 8, axis, MUTED, "middle")]


def _grid_line(share: int) -> list[str]:
    y = _y(share)
    return [
        f'<line x1="{LEFT}" y1="{y:g}" x2="{WIDTH - RIGHT}" y2="{y:g}" stroke="{MUTED if share == 0 else GRID}"/>',
        text_at(LEFT - 8, y + 4.5, f"{share} %", MUTED, "end"),
    ]


def _drawn(line: Line, at: int, count: int) -> list[str]:
    points = [(_x(position, count), _y(share)) for position, share in enumerate(line.shares_pct)]
    path = " ".join(f"{x:g},{y:g}" for x, y in points)
    width = THIN_LINE if at else WIDE_LINE
    stroke = f'<polyline points="{path}" fill="none" stroke="{color_of(at)}" stroke-width="{width}"/>'
    return [stroke, *(sign_at(at, x, y) for x, y in points)]


def _legend(line: Line, at: int) -> list[str]:
    x, y = WIDTH - RIGHT + 24, TOP + 12 + 24 * at
    return [sign_at(at, x, y), text_at(x + 14, y + 4.5, line.name, INK)]


def sign_at(at: int, x: float, y: float) -> str:
    """The sign of the line number `at`."""
    color = color_of(at)
    match SIGNS[at % len(SIGNS)]:
        case "disk":
            return f'<circle cx="{x:g}" cy="{y:g}" r="5.5" fill="{color}"/>'
        case "square":
            return f'<rect x="{x - 4.5:g}" y="{y - 4.5:g}" width="9" height="9" fill="{color}"/>'
        case "triangle":
            return f'<path d="M{x:g} {y - 6:g} l6 10.5 h-12 z" fill="{color}"/>'
        case "diamond":
            return f'<path d="M{x:g} {y - 6.5:g} l6.5 6.5 l-6.5 6.5 l-6.5 -6.5 z" fill="{color}"/>'
    return f'<circle cx="{x:g}" cy="{y:g}" r="4.5" fill="#ffffff" stroke="{color}" stroke-width="2"/>'


def color_of(at: int) -> str:
    """The color of the line number `at`."""
    return COLORS[at % len(COLORS)]


def _x(position: int, count: int) -> float:
    """A single dictation stands in the middle; several from margin to margin, a little inside."""
    inner = WIDTH - RIGHT - LEFT - 40
    return round(LEFT + 20 + (inner * position / (count - 1) if count > 1 else inner / 2), 2)


def _y(share_pct: float) -> float:
    return round(TOP + (HEIGHT - TOP - BOTTOM) * (1 - share_pct / 100), 2)


def text_at(x: float, y: float, text: str, color: str, anchor: str = "start") -> str:
    """Words at a point."""
    return f'<text x="{x:g}" y="{y:g}" fill="{color}" text-anchor="{anchor}">{escape(text)}</text>'

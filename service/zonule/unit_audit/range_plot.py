"""Ranges as SVG: a row each, with a line from low to high, a sign at the value, and a box where quartiles are known."""

from dataclasses import dataclass
from html import escape

from zonule.export.wording import printable
from zonule.record.slots import format_number
from zonule.teaching.coverage_plot import GRID, INK, MUTED, color_of, sign_at, text_at

WIDTH, LEFT, RIGHT, TOP, ROW, BOTTOM = 760, 300, 24, 16, 28, 46
TICKS = 5
MOST_LETTERS = 44
"""So many letters of a name fit beside its row."""


@dataclass(frozen=True, slots=True)
class Range:
    """One row; without a value nothing but the line is drawn, and it is gray."""

    name: str
    low: float
    value: float | None
    high: float
    lower: float | None = None
    upper: float | None = None


def describe_ranges(title: str, rows: tuple[Range, ...]) -> str:
    """The plot in words."""
    return f"{title}. {'; '.join(map(_told, rows)) or 'Nothing to show'}."


def ranges_svg(title: str, rows: tuple[Range, ...], axis: str) -> str:
    """The plot; `axis` says what is drawn. The axis begins at 0 and ends at a round number."""
    height = TOP + ROW * max(len(rows), 1) + BOTTOM
    end = _round_end(max((row.high for row in rows), default=0))
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" role="img" '
        'font-family="Liberation Sans, Arial, sans-serif" font-size="13">',
        f"<title>{escape(title)}</title><desc>{escape(describe_ranges(title, rows))}</desc>",
        f'<rect width="{WIDTH}" height="{height}" fill="#ffffff"/>',
        *(part for tick in range(TICKS + 1) for part in _tick(end * tick / TICKS, end, height)),
        *(part for at, row in enumerate(rows) for part in _drawn(row, at, end)),
        text_at((LEFT + WIDTH - RIGHT) / 2, height - 8, axis, MUTED, "middle"),
        "</svg>",
    ]
    return printable("\n".join(parts) + "\n")


def _told(row: Range) -> str:
    value = format_number(round(row.value, 1)) if row.value is not None else "unknown"
    return f"{row.name}: {value}, from {format_number(round(row.low, 1))} to {format_number(round(row.high, 1))}"


def _tick(value: float, end: float, height: int) -> list[str]:
    x, bottom = _x(value, end), height - BOTTOM + 4
    return [
        f'<line x1="{x:g}" y1="{TOP}" x2="{x:g}" y2="{bottom}" stroke="{GRID if value else MUTED}"/>',
        text_at(x, bottom + 16, format_number(value), MUTED, "middle"),
    ]


def _drawn(row: Range, at: int, end: float) -> list[str]:
    y = TOP + ROW * at + ROW / 2
    color = MUTED if row.value is None else color_of(0)
    name = row.name if len(row.name) <= MOST_LETTERS else f"{row.name[: MOST_LETTERS - 1]}…"
    line = f'<line x1="{_x(row.low, end):g}" y1="{y:g}" x2="{_x(row.high, end):g}" y2="{y:g}" stroke="{color}"'
    parts = [text_at(LEFT - 12, y + 4.5, name, INK, "end"), f'{line} stroke-width="2"/>']
    if row.lower is not None and row.upper is not None:
        left, right = _x(row.lower, end), _x(row.upper, end)
        parts.append(
            f'<rect x="{left:g}" y="{y - 7:g}" width="{right - left:g}" height="14" fill="#ffffff" stroke="{color}" '
            'stroke-width="1.5"/>'
        )
    return [*parts, *([sign_at(0, _x(row.value, end), y)] if row.value is not None else [])]


def _round_end(highest: float) -> float:
    """The next 1, 2, 2.5 or 5 of a power of ten."""
    if highest <= 0:
        return 1.0
    power = 10.0 ** (len(f"{highest:.0f}") - 1) if highest >= 1 else 0.1
    return next(step * power for step in (1, 2, 2.5, 5, 10, 20) if step * power >= highest)


def _x(value: float, end: float) -> float:
    return round(LEFT + (WIDTH - RIGHT - LEFT) * value / end, 2)

"""Steps and settings over the time of the recording, as SVG; for dictations whose source has time marks."""

from dataclasses import dataclass
from xml.sax.saxutils import escape

from zonule.export.blocks import AnyFact, Block, Diagram
from zonule.export.options import DocumentOptions
from zonule.export.quantities import mark_of_time, setting_amount
from zonule.export.settings_table import parameter_label
from zonule.export.step_order import named_before
from zonule.export.wording import capitalized, printable, words
from zonule.record import GapReport, OperationRecord
from zonule.vocabulary import Status

WIDTH, ROW, TOP, FOOT = 760, 22, 46, 30
LEFT, RIGHT = 70, 330
"""The axis runs between `LEFT` and `WIDTH - RIGHT`; the words stand to its right."""
INK, MUTED, STEP, SETTING = "#1a1a1a", "#595959", "#17365d", "#00605c"
NO_TIMES = "No time marks: this dictation was not timed."


MOST_ROWS = 32
"""So many moments can be read in a drawing of one page."""


@dataclass(frozen=True, slots=True)
class Moment:
    """Something said at a time: a step or a setting."""

    time_s: float
    kind: str
    text: str


def render_timeline(record: OperationRecord, _report: GapReport, _options: DocumentOptions | None = None) -> str:
    """The timeline as SVG. Times are those at which things were said; without any, the drawing says so."""
    return timeline_svg(record)


def timeline_blocks(record: OperationRecord) -> tuple[Block, ...]:
    """The drawing for the note, in parts that fit on a page; nothing where the dictation has no time marks."""
    shown = moments(record)
    parts = [shown[at : at + MOST_ROWS] for at in range(0, len(shown), MOST_ROWS)]
    last = shown[-1].time_s if shown else 0.0
    title = "Timeline of the operation"
    return tuple(Diagram(_drawing(part, last), _description(part), title, whole_width=True) for part in parts)


def moments(record: OperationRecord) -> list[Moment]:
    """Timed steps and settings that were done, in the order of their times, then as recorded.

    A step told by the operation's name alone is left out: when the name was said tells nothing of the step.
    """
    done = [step for step in record.steps if step.status is Status.DONE]
    unplaced = named_before(record, done)
    found = [_moment(step, "step", capitalized(words(step.value))) for step in done if step not in unplaced]
    for fact in record.settings:
        setting = fact.value
        phase = f"{capitalized(words(setting.phase))}: " if setting.phase else ""
        text = f"{phase}{parameter_label(setting.parameter)} {setting_amount(setting)}"
        found.append(_moment(fact, "setting", text))
    return sorted((moment for moment in found if moment), key=lambda moment: moment.time_s)


def _moment(fact: AnyFact, kind: str, text: str) -> Moment | None:
    if fact.time_s is None or fact.status is not Status.DONE:
        return None
    return Moment(fact.time_s, kind, text)


def timeline_svg(record: OperationRecord) -> str:
    """One row for each moment: its time mark, a sign on the axis of time, its words."""
    shown = moments(record)
    return _drawing(shown, shown[-1].time_s if shown else 0.0)


def _drawing(shown: list[Moment], last: float) -> str:
    """Some moments on an axis that ends at `last` seconds."""
    height = TOP + ROW * max(1, len(shown)) + FOOT
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" role="img" '
        'font-family="Liberation Sans, Arial, sans-serif" font-size="13">',
        f"<title>Timeline of the operation</title><desc>{escape(_description(shown))}</desc>",
        f'<rect width="{WIDTH}" height="{height}" fill="#ffffff"/>',
        *(_axis(last, height) if shown else [_text(LEFT, TOP, NO_TIMES, MUTED)]),
        *(line for row, moment in enumerate(shown) for line in _row(moment, row, last)),
        "</svg>",
    ]
    return printable("\n".join(parts) + "\n")


def _description(shown: list[Moment]) -> str:
    told = [f"{mark_of_time(moment.time_s)} {moment.text}" for moment in shown]
    return "; ".join(told) if told else NO_TIMES


def _axis(last: float, height: int) -> list[str]:
    """The axis of time with its ends named, and what the two signs mean."""
    bottom, end = height - FOOT + 4, WIDTH - RIGHT
    return [
        f'<line x1="{LEFT}" y1="{bottom}" x2="{end}" y2="{bottom}" stroke="{MUTED}"/>',
        _text(LEFT, bottom + 18, "0:00", MUTED),
        _text(end, bottom + 18, mark_of_time(last), MUTED, anchor="end"),
        _sign("step", LEFT + 6, 20),
        _text(LEFT + 18, 24.5, "step", INK),
        _sign("setting", LEFT + 76, 20),
        _text(LEFT + 88, 24.5, "setting", INK),
        _text(LEFT + 160, 24.5, "time of speaking", MUTED),
    ]


def _row(moment: Moment, row: int, last: float) -> list[str]:
    y = TOP + ROW * row + ROW / 2
    x = LEFT + (WIDTH - RIGHT - LEFT) * (moment.time_s / last if last else 0)
    return [
        f'<line x1="{LEFT}" y1="{y:g}" x2="{WIDTH - RIGHT}" y2="{y:g}" stroke="#e1e6ed"/>',
        _text(LEFT - 8, y + 4.5, mark_of_time(moment.time_s), MUTED, anchor="end"),
        _sign(moment.kind, round(x, 2), y),
        _text(WIDTH - RIGHT + 14, y + 4.5, moment.text, INK),
    ]


def _sign(kind: str, x: float, y: float) -> str:
    """A disk for a step, a square for a setting: told apart by shape as well as color."""
    if kind == "step":
        return f'<circle cx="{x:g}" cy="{y:g}" r="6" fill="{STEP}"/>'
    return f'<rect x="{x - 5:g}" y="{y - 5:g}" width="10" height="10" fill="{SETTING}"/>'


def _text(x: float, y: float, text: str, color: str, anchor: str = "start") -> str:
    return f'<text x="{x:g}" y="{y:g}" fill="{color}" text-anchor="{anchor}">{escape(text)}</text>'

"""SVG → PNG for documents that hold no SVG, with the font that comes along, so that every machine draws alike."""

from pathlib import Path

import resvg_py

FONT_FILE = Path(__file__).parent / "fonts" / "LiberationSans-Regular.ttf"
FONT_FAMILY = "Liberation Sans"
PIXELS = 1000
"""Wide enough for print: about 480 pixels an inch at the width it has in the note."""
WIDE_PIXELS = 2000
"""For a drawing over the width of the page: about 290 pixels an inch."""


def svg_to_png(svg: str, pixels: int = PIXELS) -> bytes:
    """The drawing as PNG, `pixels` wide; system fonts are not looked at."""
    drawn: list[int] | bytes = resvg_py.svg_to_bytes(
        svg_string=svg,
        width=pixels,
        skip_system_fonts=True,
        font_files=[str(FONT_FILE)],
        font_family=FONT_FAMILY,
        sans_serif_family=FONT_FAMILY,
        background="#ffffff",
    )
    return bytes(drawn)

"""Where things are on an eye: clock hours, meridians and words of place, in degrees.

As charted facing the patient: 12 o'clock is on top, degrees run counter-clockwise from 0° at 3 o'clock in both eyes
(so 12 o'clock is 90°). In the right eye 3 o'clock is nasal and 9 temporal; in the left eye 3 is temporal and 9 nasal.
Source: the usual notation of ophthalmic charts and of cylinder axes; common practice, no source.
"""

import math
from typing import Literal

from zonule.export.quantities import MERIDIAN
from zonule.vocabulary import Eye

View = Literal["facing", "from_head"]
VIEWS = {"facing": "as charted facing the patient", "from_head": "as seen from the patient's head"}
VERTICAL = {"superior": 1, "supero": 1, "inferior": -1, "infero": -1}
HORIZONTAL = ("temporal", "nasal")
O_CLOCK = " o'clock"


def degrees_of_hour(hour: float) -> float | None:
    """A clock hour in degrees (0-360): 3 is 0°, 12 is 90°, 9 is 180°; nothing for an hour that no clock has."""
    return (90 - 30 * hour) % 360 if 1 <= hour < 13 else None


def degrees_of_site(site: str, eye: Eye | None) -> float | None:
    """A wound's site in degrees: `7 o'clock`, `75 deg`, or a word; nothing where it cannot be placed.

    Temporal and nasal words can be placed only when the eye is stated.
    """
    meridian = MERIDIAN.fullmatch(site)
    if meridian:
        return float(meridian[1]) if 0 <= float(meridian[1]) <= 360 else None
    if site.endswith(O_CLOCK):
        return _degrees_of_spoken_hour(site.removesuffix(O_CLOCK))
    return _degrees_of_word(site.replace("_", "").replace("-", "").replace(" ", ""), eye)


def _degrees_of_spoken_hour(text: str) -> float | None:
    hour, _, minutes = text.partition(":")
    try:
        return degrees_of_hour(float(hour) + (float(minutes) / 60 if minutes else 0))
    except ValueError:
        return None


def _degrees_of_word(word: str, eye: Eye | None) -> float | None:
    up = next((sign for part, sign in VERTICAL.items() if word.startswith(part)), 0)
    side = next((name for name in HORIZONTAL if word.endswith(name)), "")
    rest = word
    for part in (*VERTICAL, *HORIZONTAL):
        rest = rest.replace(part, "")
    if rest or not (up or side) or (side and eye not in (Eye.RIGHT, Eye.LEFT)):
        return None
    across = 0 if not side else 1 if (side == "nasal") == (eye is Eye.RIGHT) else -1
    return math.degrees(math.atan2(up, across)) % 360


def side_at(degrees: float, eye: Eye | None) -> str:
    """`nasal` or `temporal`, or nothing exactly above and below, and when the eye is not stated."""
    across = round(math.cos(math.radians(degrees)), 9)
    if eye not in (Eye.RIGHT, Eye.LEFT) or not across:
        return ""
    return "nasal" if (across > 0) == (eye is Eye.RIGHT) else "temporal"


def place(degrees: float, radius: float, center: tuple[float, float], view: View) -> tuple[float, float]:
    """Where a meridian meets a circle on the drawing (x to the right, y down), rounded to a hundredth."""
    turned = math.radians(degrees + (180 if view == "from_head" else 0))
    return round(center[0] + radius * math.cos(turned), 2), round(center[1] - radius * math.sin(turned), 2)

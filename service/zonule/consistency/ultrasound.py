"""What the machine counted, recomputed where its parts are dictated."""

from collections.abc import Iterator

from zonule.consistency.finding import Checked, Found, Rule
from zonule.record.slots import format_number

TOLERANCE = 0.1
"""A tenth: displayed means are rounded."""
LEAST_S = 0.5
TORSIONAL_FACTOR = 0.4
"""Weight of torsional time in the dissipated energy (from memory)."""


def find_wrong_effective_time(checked: Checked) -> Iterator[Found]:
    """Effective phaco time is total ultrasound time times the mean power fraction (from memory)."""
    held = checked.record.ultrasound
    time, power, effective = held.phaco_time_s, held.average_power_pct, held.effective_phaco_time_s
    if not (time and power and effective):
        return
    computed = time.value * power.value / 100
    if abs(computed - effective.value) > max(LEAST_S, TOLERANCE * computed):
        words = {"said": format_number(effective.value), "computed": format_number(round(computed, 1))}
        slots = ("ultrasound.effective_phaco_time_s", "ultrasound.phaco_time_s", "ultrasound.average_power_pct")
        yield Found((effective, time, power), slots, words)


def find_wrong_dissipated_energy(checked: Checked) -> Iterator[Found]:
    """Dissipated energy lies between time times power, all longitudinal, and 0.4 of it, all torsional (from memory)."""
    held = checked.record.ultrasound
    time, power, energy = held.phaco_time_s, held.average_power_pct, held.cumulative_dissipated_energy
    if not (time and power and energy):
        return
    most = time.value * power.value / 100
    low, high = TORSIONAL_FACTOR * most * (1 - TOLERANCE), most * (1 + TOLERANCE)
    if not low - LEAST_S <= energy.value <= high + LEAST_S:
        words = {"said": format_number(energy.value), "range": f"{low:.1f} to {high:.1f}"}
        slots = ("ultrasound.cumulative_dissipated_energy", "ultrasound.phaco_time_s", "ultrasound.average_power_pct")
        yield Found((energy, time, power), slots, words)


def find_effective_over_total(checked: Checked) -> Iterator[Found]:
    """An effective time longer than the time ultrasound was on."""
    held = checked.record.ultrasound
    time, effective = held.phaco_time_s, held.effective_phaco_time_s
    if time and effective and held.average_power_pct is None and effective.value > time.value:
        words = {"said": format_number(effective.value), "total": format_number(time.value)}
        yield Found((effective, time), ("ultrasound.effective_phaco_time_s", "ultrasound.phaco_time_s"), words)


RULES: dict[str, Rule] = {
    "ultrasound.effective_phaco_time": find_wrong_effective_time,
    "ultrasound.cumulative_dissipated_energy": find_wrong_dissipated_energy,
    "ultrasound.effective_over_total": find_effective_over_total,
}

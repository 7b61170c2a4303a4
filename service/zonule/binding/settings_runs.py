"""Numbers ↔ parameters: a run of both is paired as a whole, so that its own pattern tells which stands in front."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from zonule.annotation.mentions import Mention
from zonule.assertion import Asserted
from zonule.binding.reading import Reading
from zonule.binding.runs import Toll, pair_row

TOTALS = frozenset({"cumulative_dissipated_energy", "phaco_time_s", "average_power_pct", "effective_phaco_time_s"})
"""What the machine counted over the whole operation: one number each."""
CUTTER = "cut_rate_cpm"
"""Whoever cuts at 12 cuts at an hour: a bare number below the possible is no rate."""
FAR = 9.0
"""Cost of the words between a parameter and its number from which the two have nothing to do with each other."""
LONGEST_GAP = 15
"""Words; longer stretches are not even looked at."""
BEFORE = 4
"""Words that may stand between a number and the parameter behind it ("30 cc of")."""
UNPAIRED_PARAMETER = 2.5
UNBOUND = 4.5
SECOND = 5.0
"""A further number for one parameter: more than a number without any."""
FURTHER = 0.5
"""The same where its own phase is said right behind ("50 and 30 for the pieces")."""
IN_FRONT = 0.5
ODD = 2.0
"""A bare number outside what is usual for the parameter."""
ABSURD = 6.0
"""A bare number that the parameter cannot have."""
BEYOND = 10
"""Times the possible; a bare number above is a serial or a date, not a setting."""
BARRIER = 5.0
TOLLS = {",": 2.0, "and": 2.0, "then": 3.0, "but": 3.0, ":": 0.3, "(": 0.5, ")": 0.5, "-": 0.5, "=": 0.1}
LIGHT = frozenset(
    {
        "of", "at", "was", "is", "to", "the", "a", "an", "set", "fixed", "maximum", "max", "limit", "up", "for", "in",
        "with", "during", "on", "were", "ran", "run", "running", "by", "about", "around", "just", "as", "went",
        "stayed", "kept", "held", "only", "my", "our", "it", "level", "value", "setting", "settings", "linear",
        "limited", "capped", "preset", "position", "foot", "pedal", "memory", "been", "had", "being",
    }
)  # fmt: skip
"""Words that tie a number to its parameter or tell how it is given."""
CORRECTING = frozenset({".", ",", ";", ":", "-", "it", "was", "is", "the", "that", "should", "be", "at"})
"""Words beside wording of correction that say nothing else."""
LEADING = LIGHT | {",", ":", "(", ")", "-", "=", "and", "i", "had", "used", "have"}
"""Words between a phase and a number that is led by it."""
OPENING = frozenset({"and", "then", "but", ",", ";"})
"""Words between a number and a phase behind which something new is told of the phase."""
BARRIERS = frozenset(
    {
        "step", "drug", "viscoelastic", "lens_field", "lens_type", "lens_location", "complication", "implant",
        "suture_material", "anesthesia", "incision_kind", "field", "nucleus_grade", "diagnosis", "eye", "procedure",
    }
)  # fmt: skip
"""Kinds that begin talk of something else."""
FIT_UNIT = {"length_cm": "height_cm", "pressure_cmh2o": "height_cm"}
"""A bottle height may be given in centimeters or centimeters of water."""


PIECES = frozenset({"thing:fragment", "thing:groove"})
MOST_PIECES = 8
"""Pieces that a nucleus is broken into."""


@dataclass(frozen=True, slots=True)
class Pair:
    """A number and the parameter it was given for."""

    value: Asserted
    parameter: Asserted

    @property
    def start(self) -> int:
        """The first word of both."""
        return min(self.value.mention.start, self.parameter.mention.start)

    @property
    def end(self) -> int:
        """Behind the last word of both."""
        return max(self.value.mention.end, self.parameter.mention.end)


def pair_settings(reading: Reading, parameters: Sequence[Asserted], values: Sequence[Asserted]) -> Iterator[Pair]:
    """Every number with its parameter, in the order of the text; a number that fits none is left out."""
    for run in _runs(reading, parameters, values):
        yield from _pair(reading, run)


def _runs(reading: Reading, parameters: Sequence[Asserted], values: Sequence[Asserted]) -> Iterator[list[Asserted]]:
    """Stretches of parameters and numbers with no end of sentence and no long talk between."""
    run: list[Asserted] = []
    for item in sorted([*parameters, *values], key=lambda a: (a.mention.start, a.mention.end)):
        if run and _parted(reading, run[-1].mention, item.mention):
            yield run
            run = []
        run.append(item)
    if run:
        yield run


def _parted(reading: Reading, first: Mention, second: Mention) -> bool:
    sentences = {reading.annotation.sentence_of(first.start), reading.annotation.sentence_of(second.start)}
    if len(sentences) > 1 and reading.gap(first.end, second.start) == ("?",):
        return False
    if len(sentences) > 1:
        return not _corrected_between(reading, first.end, second.start)
    return second.start - first.end > LONGEST_GAP


def _corrected_between(reading: Reading, start: int, end: int) -> bool:
    """ "Vacuum 450. Let me correct myself, 400": only what was taken back and its wording stand between."""
    dead = reading.dead_words
    left = [reading.words[i] for i in range(start, end) if i not in dead]
    return len(left) < end - start and CORRECTING.issuperset(left)


def _pair(reading: Reading, run: list[Asserted]) -> Iterator[Pair]:
    def cost(parameter: Asserted, value: Asserted, used: bool) -> float | None:
        return _price(reading, parameter.mention, value.mention, used)

    row = [(item, item.mention.kind == "parameter") for item in run]
    for value, parameter in pair_row(row, cost, Toll(UNPAIRED_PARAMETER, UNBOUND)):
        asked = reading.gap(parameter.mention.end, value.mention.start) == ("?",)
        yield Pair(value, Asserted(parameter.mention, value.status, value.cue) if asked else parameter)


def _price(reading: Reading, parameter: Mention, value: Mention, used: bool) -> float | None:
    """What it costs to give a parameter a number that stands behind it or right in front."""
    misfit = _misfit(reading, parameter, value)
    if misfit is None:
        return None
    if value.start < parameter.start:
        between = _between(reading, value, parameter)
        far = parameter.start - value.end > BEFORE or between >= 1
        return None if far else misfit + between + IN_FRONT
    between = _between(reading, parameter, value)
    if used:
        between = _further(reading, parameter, value, between)
    return misfit + between if between <= FAR else None


def _further(reading: Reading, parameter: Mention, value: Mention, between: float) -> float:
    """What a second number for one parameter costs: little where a phase of its own is said with it."""
    if parameter.id in TOTALS:
        return FAR + 1
    inside = reading.between(parameter.end, value.start)
    phases = [a.mention for a in inside if a.mention.kind == "phase"]
    numbers = [a.mention.start for a in inside if a.mention.kind == "quantity"]
    led = bool(phases) and phases[-1].start > max(numbers, default=0)
    if led and LEADING.issuperset(reading.gap(phases[-1].end, value.start)):
        return FURTHER
    return between + (FURTHER if _own_phase(reading, value) else SECOND)


def _own_phase(reading: Reading, value: Mention) -> bool:
    """Whether the phase of a number is said right behind it ("and 30 for the quadrants")."""
    for asserted in reading.between(value.end, value.end + 4):
        if asserted.mention.kind == "phase":
            gap = reading.gap(value.end, asserted.mention.start + 1)
            return not {"for", "in", "during"}.isdisjoint(gap) and OPENING.isdisjoint(gap)
    return False


def _between(reading: Reading, first: Mention, second: Mention) -> float:
    """What the words between two mentions cost: ties little, talk of something else much."""
    inside = [a.mention for a in reading.between(first.end, second.start) if a.mention.kind != "word"]
    light = {i for m in inside if m.kind in ("phase", "quantity") for i in range(m.start, m.end)}
    phased = {m.start for m in inside if m.kind == "phase"}
    cost = sum(BARRIER for m in inside if m.kind in BARRIERS and m.start not in phased)
    cost += sum(BARRIER for m in inside if m.key in ("thing:lens", "thing:wound"))
    for i in range(first.end, second.start):
        if i in reading.dead_words:
            continue
        word = reading.words[i]
        cost += TOLLS.get(word, 0.2 if i in light or word in LIGHT else 1.0)
    return cost


def _counts_pieces(reading: Reading, value: Mention) -> bool:
    """ "Four quadrants vacuum 450": how many pieces or grooves, and no setting."""
    amount = value.quantity.value if value.id == "number" and value.quantity is not None else None
    if not isinstance(amount, float | int) or amount > MOST_PIECES:
        return False
    return any(a.mention.key in PIECES for a in reading.between(value.end, value.end + 1))


def _misfit(reading: Reading, parameter: Mention, value: Mention) -> float | None:
    """How ill a number fits a parameter; None where it cannot be its value."""
    if not accepts(parameter, value) or _lens_power(reading, parameter, value):
        return None
    amount = value.quantity.value if value.quantity is not None else 0
    if _counts_pieces(reading, value):
        return None
    if value.id != "number" or parameter.term is None or not isinstance(amount, float | int):
        return 0.0
    if amount % 1 and parameter.id not in TOTALS:
        return ABSURD
    possible, usual = parameter.term.possible, parameter.term.usual
    if parameter.id == CUTTER and possible is not None and amount < possible.low:
        return None
    if possible is not None and not possible.low <= amount <= possible.high:
        return ABSURD if amount <= BEYOND * possible.high else None
    return ODD if usual is not None and not usual.low <= amount <= usual.high else 0.0


def accepts(parameter: Mention, value: Mention) -> bool:
    """Whether the unit of a number is one of the parameter's; a bare number fits all."""
    classes = parameter.term.classes if parameter.term is not None else ()
    return value.id in classes or FIT_UNIT.get(value.id) in classes or (value.id == "number" and bool(classes))


def _lens_power(reading: Reading, power: Mention, value: Mention) -> bool:
    """Whether "power" speaks of a lens: one is named nearby, and no other machine setting."""
    if power.id != "ultrasound_power_pct" or value.id != "number":
        return False
    near = [a.mention for a in reading.between(max(0, power.start - 9), power.end + 9)]
    others = any(m.kind in ("parameter", "phase") and m.start != power.start for m in near)
    lens = any(m.id == "lens" or m.kind in ("lens_type", "lens_location", "lens_field") for m in near)
    if lens:
        return not others or _fractional(value)
    return bool(power.term and power.term.near) and not others and power.end - power.start == 1


def _fractional(value: Mention) -> bool:
    """A number with a part behind its point is no percentage of power but may be diopters ("20.5")."""
    amount = value.quantity.value if value.quantity is not None else 0
    return isinstance(amount, float) and amount % 1 != 0

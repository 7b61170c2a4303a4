"""Which machine settings each surgeon dictates, phase by phase."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import quantiles

from zonule.export.settings_table import parameter_label
from zonule.export.wording import capitalized, words
from zonule.record import Setting
from zonule.store import RecordedNote
from zonule.unit_audit.range_plot import Range, ranges_svg
from zonule.unit_audit.rates import NOT_NAMED
from zonule.vocabulary import Limit, Status

KINDS = {Limit.FIXED: "", Limit.MAXIMUM: ", at most", Limit.RANGE: ", upper end of a range"}
Key = tuple[str, str, Limit, str]


@dataclass(frozen=True, slots=True)
class SettingSpread:
    """The values of one setting in the notes of one surgeon, in the unit of the parameter."""

    parameter: str
    phase: str
    limit: Limit
    surgeon: str
    count: int
    lowest: float
    lower_quartile: float
    median: float
    upper_quartile: float
    highest: float

    @property
    def name(self) -> str:
        """Parameter and phase in words."""
        phase = f"{capitalized(words(self.phase))}: " if self.phase else ""
        return f"{phase}{parameter_label(self.parameter)}{KINDS[self.limit]}"


def settings_by_surgeon(notes: Iterable[RecordedNote]) -> tuple[SettingSpread, ...]:
    """By parameter, phase and surgeon. Fixed values, maxima and ranges are told apart; of a range its end counts."""
    held: dict[Key, list[float]] = defaultdict(list)
    names: dict[str, str] = {}
    for note in notes:
        name = note.surgeon or NOT_NAMED
        surgeon = names.setdefault(" ".join(name.casefold().split()), name)
        for fact in note.record.settings:
            amount = _amount(fact.value)
            if fact.status is Status.DONE and amount is not None:
                held[fact.value.parameter, fact.value.phase or "", fact.value.limit, surgeon].append(amount)
    return tuple(_spread(key, held[key]) for key in sorted(held))


def settings_svg(spreads: tuple[SettingSpread, ...]) -> str:
    """One setting, a row for each surgeon: quartiles as a box, the median as a sign, all values as a line."""
    rows = tuple(
        Range(f"{s.surgeon} ({s.count})", s.lowest, s.median, s.highest, s.lower_quartile, s.upper_quartile)
        for s in spreads
    )
    title = spreads[0].name if spreads else "Settings"
    return ranges_svg(title, rows, "median, quartiles, lowest and highest")


def _amount(setting: Setting) -> float | None:
    return setting.high if setting.limit is Limit.RANGE else setting.value


def _spread(key: Key, values: list[float]) -> SettingSpread:
    lower, middle, upper = quantiles(values, n=4, method="inclusive") if len(values) > 1 else values * 3
    parameter, phase, limit, surgeon = key
    return SettingSpread(parameter, phase, limit, surgeon, len(values), min(values), lower, middle, upper, max(values))

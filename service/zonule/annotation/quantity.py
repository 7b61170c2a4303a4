"""What a quantity is: a number, date, time, size or dose with its unit and limit, and where it stands."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Quantity:
    """Characters `start` to `end` of the normalized text say `value` of `dimension`.

    The span holds the unit, and the limit words that stand directly before the number.

    `dimension` ends in the unit of `value`: `number`, `length_mm`, `length_cm`, `diopter`, `percent`, `degrees`,
    `clock_hour` (7.5 is half past seven on the dial), `clock_hours_extent`, `pressure_mmhg`, `pressure_cmh2o`,
    `volume_ml`, `flow_ml_min`, `mass_mg`, `international_units`, `concentration_mg_ml`, `concentration_iu_ml`,
    `dose_in_volume` (value is the dose in mg, `high` the volume in mL), `duration_s`, `duration_days`,
    `duration_years`, `rate_pps`, `rate_cpm`, `frequency_khz`, `gauge`, `frequency` (times a day), `times` ("x 4"),
    `fraction` (value is the fraction, as a number), and with a text as value `time_of_day` (HH:MM), `date`
    (YYYY-MM-DD), `month` (YYYY-MM), `day_month` (--MM-DD, no year said), `suture_size` ("10-0"), `ratio` ("1:10000"),
    `acuity` ("6/9"), `by` ("6 x 4", factors in `low` and `high`), `unreadable_date` and `unreadable_number` (the words:
    a person must settle them).

    `limit` is `fixed`, `maximum` (`high` is the value), `minimum` (`low` is the value) or `range` (`low` to `high`, the
    value is the upper end). `unit` is the id of the unit said, None where none was; of a time of day it is `12-hour`
    where the half of the day was not said.
    """

    start: int
    end: int
    dimension: str
    value: float | str
    low: float | None = None
    high: float | None = None
    limit: str = "fixed"
    unit: str | None = None

"""The unit's own audit: completeness over time, complication rates with intervals, settings by surgeon.

For the unit to learn from. A rate tells nothing of how hard the cases were; names of patients appear nowhere.
"""

from zonule.unit_audit.coverage import ItemOverTime, MonthShare, cover_months, coverage_over_time_svg
from zonule.unit_audit.rates import Rate, complication_rates, rates_by_surgeon, rates_svg, wilson_interval
from zonule.unit_audit.review import CAUTIONS, UnitAudit, audit_unit
from zonule.unit_audit.surgeon_settings import SettingSpread, settings_by_surgeon, settings_svg

__all__ = [
    "CAUTIONS", "ItemOverTime", "MonthShare", "Rate", "SettingSpread", "UnitAudit", "audit_unit",
    "complication_rates", "cover_months", "coverage_over_time_svg", "rates_by_surgeon", "rates_svg",
    "settings_by_surgeon", "settings_svg", "wilson_interval",
]  # fmt: skip

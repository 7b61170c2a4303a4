"""All consistency rules, one room each, run over a record."""

from collections.abc import Mapping
from datetime import date

from zonule.case_data import CaseData
from zonule.consistency import course, doses, lens, plan, ranges, said, times, ultrasound
from zonule.consistency.finding import Checked, Rule, as_gap
from zonule.labels import LensLabel
from zonule.lexicon import Lexicon
from zonule.record import Gap, OperationRecord
from zonule.requirements import Requirements

RULES: Mapping[str, Rule] = {
    **said.RULES,
    **ranges.RULES,
    **lens.RULES,
    **plan.RULES,
    **times.RULES,
    **course.RULES,
    **ultrasound.RULES,
    **doses.RULES,
}
"""Every rule by its id; its wording stands under the same id in `lexicon/requirements/findings.toml`."""


def find_inconsistencies(
    record: OperationRecord,
    lexicon: Lexicon,
    requirements: Requirements,
    case: CaseData | None = None,
    label: LensLabel | None = None,
    today: date | None = None,
    *,
    rules: Mapping[str, Rule] = RULES,
) -> tuple[Gap, ...]:
    """What in the record contradicts itself, the case data or the label, or lies outside what the trade would use.

    A rule without wording in `requirements` is silent; without `today` no date is called future.
    """
    checked = Checked(record, lexicon, requirements, case, label, today)
    wordings = requirements.finding_of
    return tuple(
        as_gap(wordings[name], found) for name, rule in rules.items() if name in wordings for found in rule(checked)
    )

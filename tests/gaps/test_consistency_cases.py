"""Every consistency rule has cases that show it at work and cases that must stay silent, and is guarded by them."""

from collections.abc import Callable

import pytest
from casefiles import Case, collect
from drafts import build, read_draft, read_extras

from zonule.consistency import RULES, find_inconsistencies
from zonule.gap_report import check
from zonule.lexicon import Lexicon
from zonule.requirements import Requirements

CASES = collect("consistency")
Change = Callable[[Requirements], Requirements]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.label)
def test_case(case: Case, requirements: Requirements, lexicon: Lexicon) -> None:
    assert case.report(requirements, lexicon) == case.data["expect"]


def test_every_rule_has_its_wording_and_both_kinds_of_cases(requirements: Requirements) -> None:
    assert sorted(RULES) == sorted(requirements.finding_of)
    for positive in (True, False):
        assert sorted({case.id for case in CASES if case.positive is positive}) == sorted(RULES)


@pytest.mark.parametrize("name", sorted(RULES))
def test_a_rule_taken_out_is_noticed(name: str, requirements: Requirements, lexicon: Lexicon) -> None:
    left = requirements.model_copy(update={"findings": tuple(f for f in requirements.findings if f.id != name)})
    positive = [case for case in CASES if case.id == name and case.positive]
    assert positive
    for case in positive:
        assert case.report(left, lexicon) != case.data["expect"], case.label


def test_rules_can_be_run_alone(requirements: Requirements, lexicon: Lexicon) -> None:
    case = next(case for case in CASES if case.id == "lens.expired" and case.positive)
    record = build(read_draft(case.data))
    alone = find_inconsistencies(record, lexicon, requirements, rules={"lens.expired": RULES["lens.expired"]})
    assert [gap.id for gap in alone] == ["lens.expired"]
    assert find_inconsistencies(record, lexicon, requirements, rules={}) == ()


@pytest.mark.parametrize("case", [case for case in CASES if case.positive], ids=lambda case: case.label)
def test_every_question_is_whole(case: Case, requirements: Requirements, lexicon: Lexicon) -> None:
    """No brace is left, and every finding asks something and says who asks for it."""
    record = build(read_draft(case.data))
    for gap in check(record, requirements, lexicon, **read_extras(case.data)).gaps:
        assert "?" in gap.question or "onfirm" in gap.question or "lease" in gap.question
        assert "{" not in gap.question
        assert gap.sources
        assert gap.why

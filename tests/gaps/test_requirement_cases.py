"""Every requirement has cases that show it at work and cases that must stay silent, and each is guarded by them."""

import pytest
from casefiles import Case, collect

from zonule.lexicon import Lexicon
from zonule.requirements import Requirements

CASES = collect("requirements")


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.label)
def test_case(case: Case, requirements: Requirements, lexicon: Lexicon) -> None:
    assert case.report(requirements, lexicon) == case.data["expect"]


def test_every_requirement_has_both_kinds_of_cases(requirements: Requirements) -> None:
    ids = [item.id for item in requirements.items]
    for positive in (True, False):
        assert sorted({case.id for case in CASES if case.positive is positive}) == sorted(ids)


@pytest.mark.parametrize("name", sorted({case.id for case in CASES}))
def test_a_requirement_taken_out_is_noticed(name: str, requirements: Requirements, lexicon: Lexicon) -> None:
    left = requirements.model_copy(update={"items": tuple(item for item in requirements.items if item.id != name)})
    positive = [case for case in CASES if case.id == name and case.positive]
    assert positive
    for case in positive:
        assert case.report(left, lexicon) != case.data["expect"], case.label


@pytest.mark.parametrize("name", sorted({case.id for case in CASES}))
def test_a_condition_taken_out_is_noticed(name: str, requirements: Requirements, lexicon: Lexicon) -> None:
    """A requirement that always applies turns one of its silent cases red, if it has a condition."""
    item = next(item for item in requirements.items if item.id == name)
    if item.when is None:
        return
    always = item.model_copy(update={"when": None})
    loose = requirements.model_copy(update={"items": tuple(always if i is item else i for i in requirements.items)})
    assert any(case.report(loose, lexicon) != case.data["expect"] for case in CASES if case.id == name)


CHANGES: dict[str, object] = {"stated": None, "lacking": None, "may_be_none": False, "must_when": None, "silent_in": ()}


@pytest.mark.parametrize("name", sorted({case.id for case in CASES}))
@pytest.mark.parametrize("field", ["stated", "lacking", "may_be_none", "must_when"])
def test_a_clause_taken_out_is_noticed(name: str, field: str, requirements: Requirements, lexicon: Lexicon) -> None:
    """Every clause of a requirement is guarded by one of its cases."""
    item = next(item for item in requirements.items if item.id == name)
    if getattr(item, field) == CHANGES[field]:
        return
    changed = item.model_copy(update={field: CHANGES[field]})
    loose = requirements.model_copy(update={"items": tuple(changed if i is item else i for i in requirements.items)})
    assert any(case.report(loose, lexicon) != case.data["expect"] for case in CASES if case.id == name)


def test_a_circumstance_taken_out_is_noticed(requirements: Requirements, lexicon: Lexicon) -> None:
    """Every named condition is guarded by one of the cases."""
    for condition in requirements.conditions:
        never = condition.model_copy(update={"path": "`false`"})
        conditions = tuple(never if c is condition else c for c in requirements.conditions)
        loose = requirements.model_copy(update={"conditions": conditions})
        assert any(case.report(loose, lexicon) != case.data["expect"] for case in CASES), condition.id

"""A step told only by the operation's name has no place of its own in the telling."""

from zonule.export.step_order import steps_in_order
from zonule.export.timeline import moments
from zonule.record import Evidence, Fact, Operation, OperationRecord


def said(value: str, words: str, start: int) -> Fact[str]:
    evidence = Evidence(start=start, end=start + len(words), text=words)
    return Fact(value=value, evidence=(evidence,), time_s=float(start))


NAME = Operation(procedures=(said("phacoemulsification", "phaco", 3),))
HEAD = said("nucleus_removal", "phaco", 3)


def order(*steps: Fact[str]) -> list[str]:
    return [step.value for step in steps_in_order(OperationRecord(operation=NAME, steps=steps))]


def test_it_follows_its_stage() -> None:
    others = (
        said("speculum", "speculum", 20),
        said("nucleus_sculpting", "sculpt", 40),
        said("cortex_removal", "IA", 60),
    )
    assert order(HEAD, *others) == ["speculum", "nucleus_sculpting", "nucleus_removal", "cortex_removal"]


def test_without_others_of_its_stage_it_stands_before_a_later_one_or_last() -> None:
    assert order(HEAD, said("speculum", "speculum", 20), said("cortex_removal", "IA", 60)) == [
        "speculum",
        "nucleus_removal",
        "cortex_removal",
    ]
    assert order(HEAD, said("speculum", "speculum", 20)) == ["speculum", "nucleus_removal"]


def test_the_lens_and_the_vitreous_come_before_what_closes_the_eye() -> None:
    named = Operation(
        procedures=(said("anterior_vitrectomy", "vitrectomy", 3), said("intraocular_lens_insertion", "IOL", 14)),
    )
    steps = (
        said("anterior_vitrectomy", "vitrectomy", 3),
        said("lens_insertion", "IOL", 14),
        said("speculum", "speculum", 20),
        said("viscoelastic_removal", "visco out", 40),
        said("dressing", "shield", 60),
    )
    told = [step.value for step in steps_in_order(OperationRecord(operation=named, steps=steps))]
    assert told == ["speculum", "anterior_vitrectomy", "lens_insertion", "viscoelastic_removal", "dressing"]


def test_said_among_the_steps_it_stays() -> None:
    steps = (said("nucleus_removal", "removed", 20), said("speculum", "speculum", 40))
    assert order(*steps) == ["nucleus_removal", "speculum"]
    within = OperationRecord(
        operation=Operation(procedures=(said("phacoemulsification", "phaco", 30),)),
        steps=(said("speculum", "speculum", 20), said("nucleus_removal", "phaco", 30), said("draping", "drape", 50)),
    )
    assert [step.value for step in steps_in_order(within)] == ["speculum", "nucleus_removal", "draping"]


def test_the_timeline_does_not_tell_it() -> None:
    record = OperationRecord(operation=NAME, steps=(HEAD, said("speculum", "speculum", 20)))
    assert [moment.text for moment in moments(record)] == ["Speculum"]

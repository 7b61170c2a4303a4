"""The operation as a surgeon would write it: past tense, one clause a step, nothing that the facts do not say."""

import re
from collections.abc import Callable
from dataclasses import dataclass, field

from zonule.export.blocks import AnyFact
from zonule.export.quantities import COUNTS, clock_hour, dose, number, signed_power, site, sutures
from zonule.export.step_order import stage_of, steps_in_order
from zonule.export.wording import capitalized, listed, with_article, wording, words
from zonule.record import DrugGiven, Fact, Lens, OperationRecord
from zonule.record.operation_record import Text
from zonule.vocabulary import LensStatus, Status

MOST_CLAUSES = 3
"""More than three joined clauses no longer read as a sentence."""

CLAUSE = re.compile(r"(.+?) (was|were) (.+)")
"""A clause: its subject, its verb, and what was done."""


@dataclass(frozen=True, slots=True)
class Clause:
    """What was done, without capital and full stop, with the facts that say so."""

    step: str
    text: str
    facts: tuple[AnyFact, ...]


@dataclass(frozen=True, slots=True)
class Sentence:
    """A sentence and the facts it was written from."""

    text: str
    facts: tuple[AnyFact, ...]


@dataclass(slots=True)
class _Told:
    """Facts already told, so that a step's particulars are told once, at its first mention."""

    facts: set[AnyFact] = field(default_factory=set)

    def fresh(self, facts: tuple[AnyFact | None, ...]) -> tuple[AnyFact, ...]:
        """The facts among `facts` that are done and not yet told; they count as told from now on."""
        new = tuple(f for f in facts if f is not None and f.status is Status.DONE and f not in self.facts)
        self.facts.update(new)
        return new


Teller = Callable[[OperationRecord, Text, _Told], Clause]


def clauses(record: OperationRecord) -> list[Clause]:
    """One clause for each step in the order told, then what was stated of steps that were not named themselves."""
    told = _Told()
    return [_clause(record, step, told) for step in steps_in_order(record)] + _unnamed(record, told)


def sentences(record: OperationRecord) -> list[Sentence]:
    """The operation as prose: neighboring clauses of one stage share a sentence."""
    grouped: list[list[Clause]] = []
    for clause in clauses(record):
        if grouped and _joins(grouped[-1], clause):
            grouped[-1].append(clause)
        else:
            grouped.append([clause])
    return [_sentence(group) for group in grouped]


def sentence_of(clause: Clause) -> Sentence:
    """A clause alone as a sentence."""
    return _sentence([clause])


def _sentence(group: list[Clause]) -> Sentence:
    text = _joined([clause.text for clause in group])
    return Sentence(capitalized(text) + ".", tuple(fact for clause in group for fact in clause.facts))


def _joined(texts: list[str]) -> str:
    """Clauses joined as one would write them, the words that two neighbors share said once.

    `hydrodissection and hydrodelineation were performed`; `the nucleus was cracked and removed`.
    """
    parts: list[tuple[list[str], str, list[str]]] = []
    for text in texts:
        found = CLAUSE.fullmatch(text)
        subject, verb, predicate = found.groups() if found else ("", "", text)
        if parts and verb and parts[-1][2] == [predicate]:
            parts[-1] = ([*parts[-1][0], subject], "were", [predicate])
        elif parts and verb and parts[-1][0] == [subject]:
            parts[-1][2].append(predicate)
        else:
            parts.append(([subject], verb, [predicate]))
    return listed([" ".join(filter(None, (listed(who), verb, listed(what)))) for who, verb, what in parts])


def _joins(group: list[Clause], clause: Clause) -> bool:
    stage = stage_of(clause.step)
    return bool(stage) and stage_of(group[0].step) == stage and len(group) < MOST_CLAUSES and "," not in clause.text


def _clause(record: OperationRecord, step: Text, told: _Told) -> Clause:
    teller = TELLERS.get(step.value)
    return teller(record, step, told) if teller else _plain(step)


def _plain(step: Text, *facts: AnyFact, text: str = "") -> Clause:
    known = wording()["clause"].get(step.value)
    return Clause(step.value, text or known or f"{words(step.value)} was performed", (step, *facts))


def _paracentesis(record: OperationRecord, step: Text, told: _Told) -> Clause:
    hours = told.fresh(record.paracentesis.clock_hours)
    count = told.fresh((record.paracentesis.count,))
    if not hours and not count:
        return _plain(step)
    return _plain(step, *hours, *count, text=_side_ports(hours, count))


def _side_ports(hours: tuple[AnyFact, ...], count: tuple[AnyFact, ...]) -> str:
    total = count[0].value if count else len(hours)
    place = f" at {listed([clock_hour(hour.value) for hour in hours])} o'clock" if hours else ""
    if total == 1:
        return f"a paracentesis was made{place}"
    amount = f"{COUNTS[int(total)]} " if count and total in range(len(COUNTS)) else ""
    return f"{amount}paracenteses were made{place}"


def _main_incision(record: OperationRecord, step: Text, told: _Told) -> Clause:
    width = told.fresh((record.main_incision.width_mm,))
    kind = told.fresh((record.main_incision.kind,))
    place = told.fresh((record.main_incision.site,))
    if not width and not kind:
        return _plain(step, *place, text=f"the main incision was made{_placed(place)}")
    noun = [f"{number(f.value)} mm" for f in width] + ([words(f.value) for f in kind] or ["main"]) + ["incision"]
    return _plain(step, *width, *kind, *place, text=f"{with_article(' '.join(noun))} was made{_placed(place)}")


def _placed(place: tuple[AnyFact, ...]) -> str:
    if not place:
        return ""
    where = site(place[0].value)
    return f" at {where}" if where[:1].isdigit() else f" {where}ly" if where.isalpha() else f" ({where})"


def _dye_staining(record: OperationRecord, step: Text, told: _Told) -> Clause:
    dyes = tuple(f for f in record.drugs if f.status is Status.DONE and f.value.drug in wording()["dye"]["ids"])
    told.fresh(dyes)
    if len(dyes) != 1:
        return _plain(step)
    return _plain(step, *dyes, text=f"the capsule was stained with {words(dyes[0].value.drug)}")


def _viscoelastic_injection(record: OperationRecord, step: Text, told: _Told) -> Clause:
    kinds = told.fresh(record.viscoelastic.kinds)
    names = listed([words(kind.value) for kind in kinds])
    if not kinds:
        return _plain(step)
    if len(kinds) == 1:
        return _plain(step, *kinds, text=f"{names} viscoelastic was injected")
    return _plain(step, *kinds, text=f"viscoelastic was injected ({names} viscoelastic was used)")


def _capsulorhexis(record: OperationRecord, step: Text, told: _Told) -> Clause:
    complete = told.fresh((record.capsulorhexis.complete,))
    diameter = told.fresh((record.capsulorhexis.diameter_mm,))
    whole = ["complete"] if complete and complete[0].value else []
    noun = whole + [f"{number(f.value)} mm" for f in diameter] + ["capsulorhexis"]
    ending = " but was not complete" if complete and not complete[0].value else ""
    return _plain(step, *complete, *diameter, text=f"{with_article(' '.join(noun))} was made{ending}")


def _nucleus(record: OperationRecord, step: Text, told: _Told) -> Clause:
    named = {s.value for s in record.steps if s.status is Status.DONE}
    if step.value != "nucleus_removal" and "nucleus_removal" in named:
        return _plain(step)
    technique = told.fresh(record.nucleus.technique)
    if not technique:
        return _plain(step)
    plain = wording()["clause"][step.value]
    return _plain(step, *technique, text=f"{plain} by {listed([words(f.value) for f in technique])}")


def _lens_insertion(record: OperationRecord, step: Text, told: _Told) -> Clause:
    implanted = [lens for lens in record.lenses if lens.status is LensStatus.IMPLANTED]
    if len(implanted) != 1:
        return _plain(step)
    lens = implanted[0]
    facts = told.fresh((lens.model, lens.power_d, lens.location))
    return _plain(step, *facts, text=_inserted(lens, facts))


def _inserted(lens: Lens, facts: tuple[AnyFact, ...]) -> str:
    model = lens.model.value if lens.model in facts and lens.model else ""
    power = signed_power(lens.power_d.value) if lens.power_d in facts and lens.power_d else ""
    noun = " ".join(part for part in ("the", model, power, "intraocular lens was inserted") if part)
    if lens.location is None or lens.location not in facts:
        return noun
    place = lens.location.value
    return f"{noun} {wording()['into'].get(place, f'({words(place)})')}"


def _viscoelastic_removal(record: OperationRecord, step: Text, told: _Told) -> Clause:
    removed = record.viscoelastic.removed
    return _plain(step, *(told.fresh((removed,)) if removed and removed.value else ()))


def _suture(record: OperationRecord, step: Text, told: _Told) -> Clause:
    used = told.fresh(tuple(f for f in record.sutures if f.value.material != "none"))
    if not used:
        return _plain(step)
    plural = len(used) > 1 or (used[0].value.count or 1) > 1
    text = f"{listed([sutures(f.value) for f in used])} {'were' if plural else 'was'} placed"
    return _plain(step, *used, text=text)


def _intracameral_antibiotic(record: OperationRecord, step: Text, told: _Told) -> Clause:
    named = {f.value for f in record.antibiotic_prophylaxis if f.status is Status.DONE}
    return _given(step, [f for f in _by_route(record, "intracameral") if f.value.drug in named], told)


def _subconjunctival_injection(record: OperationRecord, step: Text, told: _Told) -> Clause:
    return _given(step, _by_route(record, "subconjunctival"), told)


def _by_route(record: OperationRecord, route: str) -> list[Fact[DrugGiven]]:
    return [f for f in record.drugs if f.status is Status.DONE and f.value.route == route]


def _given(step: Text, drugs: list[Fact[DrugGiven]], told: _Told) -> Clause:
    fresh = told.fresh(tuple(drugs))
    if not fresh:
        return _plain(step)
    names = listed([f"{words(f.value.drug)} {dose(f.value)}".strip() for f in fresh])
    verb = "was" if len(fresh) == 1 else "were"
    return _plain(step, *fresh, text=f"{names} {verb} given {wording()['by_route'][fresh[0].value.route]}")


def _unnamed(record: OperationRecord, told: _Told) -> list[Clause]:
    """Particulars whose own step was not named: told as they stand, after the steps."""
    found = [
        ("paracentesis", _ports_alone(record, told)),
        ("main_incision", _wound_alone(record, told)),
        ("capsulorhexis", _rhexis_alone(record, told)),
        ("nucleus_removal", _technique_alone(told.fresh(record.nucleus.technique))),
        ("viscoelastic_injection", _kinds_alone(told.fresh(record.viscoelastic.kinds))),
        ("viscoelastic_removal", _removed_alone(told.fresh((record.viscoelastic.removed,)))),
    ]
    return [Clause(step, text, facts) for step, (text, facts) in found if facts]


Told = tuple[str, tuple[AnyFact, ...]]


def _ports_alone(record: OperationRecord, told: _Told) -> Told:
    hours = told.fresh(record.paracentesis.clock_hours)
    count = told.fresh((record.paracentesis.count,))
    places = [f"at {listed([clock_hour(f.value) for f in hours])} o'clock"] if hours else []
    return f"side ports: {', '.join([*(number(f.value) for f in count), *places])}", (*hours, *count)


def _wound_alone(record: OperationRecord, told: _Told) -> Told:
    wound = record.main_incision
    facts = told.fresh((wound.width_mm, wound.kind, wound.site))
    parts = [f"{number(f.value)} mm" if f is wound.width_mm else words(site(f.value)) for f in facts]
    return f"main incision: {', '.join(parts)}", facts


def _rhexis_alone(record: OperationRecord, told: _Told) -> Told:
    facts = told.fresh((record.capsulorhexis.diameter_mm, record.capsulorhexis.complete))
    parts = [_complete(f.value) if isinstance(f.value, bool) else f"{number(f.value)} mm" for f in facts]
    return f"capsulorhexis: {', '.join(parts)}", facts


def _complete(value: bool) -> str:
    return "complete" if value else "not complete"


def _technique_alone(facts: tuple[AnyFact, ...]) -> Told:
    return f"nucleus technique: {listed([words(f.value) for f in facts])}", facts


def _kinds_alone(facts: tuple[AnyFact, ...]) -> Told:
    return f"{listed([words(f.value) for f in facts])} viscoelastic was used", facts


def _removed_alone(facts: tuple[AnyFact, ...]) -> Told:
    removed = bool(facts) and bool(facts[0].value)
    return f"the viscoelastic was {'' if removed else 'not '}removed", facts


TELLERS: dict[str, Teller] = {
    "paracentesis": _paracentesis,
    "main_incision": _main_incision,
    "dye_staining": _dye_staining,
    "viscoelastic_injection": _viscoelastic_injection,
    "capsulorhexis": _capsulorhexis,
    "nucleus_sculpting": _nucleus,
    "nucleus_cracking": _nucleus,
    "nucleus_chopping": _nucleus,
    "nucleus_removal": _nucleus,
    "lens_insertion": _lens_insertion,
    "viscoelastic_removal": _viscoelastic_removal,
    "suture": _suture,
    "intracameral_antibiotic": _intracameral_antibiotic,
    "subconjunctival_injection": _subconjunctival_injection,
}
"""Steps whose clause takes in particulars; every other step is told by its plain clause."""

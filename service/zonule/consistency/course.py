"""The course of the operation: complications against their statement, steps against their order, sutures counted."""

from collections.abc import Iterator
from itertools import combinations

from zonule.consistency.finding import Checked, Found, Rule, first_of, present, spoken_id
from zonule.record import Evidence, Fact, SutureUse
from zonule.vocabulary import ComplicationStatement

OPENING = frozenset({"time_out", "axis_marking", "skin_preparation", "draping", "speculum", "bridle_suture"})
"""Steps that begin an operation and never stand in its title: what is told before them may be a heading."""
CATARACT = frozenset(
    {"phacoemulsification", "extracapsular_extraction", "small_incision_extraction", "laser_assisted_cataract_surgery"}
)
WITH_VITRECTOMY = frozenset({"intraocular_lens_exchange", "secondary_lens_insertion", "pars_plana_vitrectomy"})
"""Operations in which a vitrectomy may be planned."""
HEADING = 12
"""Characters between the name of a phase and the first of its settings ("cortex removal: vacuum ...")."""
INTACT = ("posterior_capsule_intact", "capsule_intact", "intact_capsule", "intact_posterior_capsule")


def find_denied_complications(checked: Checked) -> Iterator[Found]:
    """ "No complications" beside a complication."""
    held = checked.record.complications
    stated = held.statement_fact
    denied = ComplicationStatement.NONE in (held.statement, stated.value if stated else None)
    conflicts = [c for c in checked.record.conflicts if c.id == "complications.statement"]
    if not conflicts and not (denied and held.events):
        return
    yield Found(
        facts=(*present([stated]), *held.events),
        slots=("complications.statement", "complications.events"),
        words={"events": ", ".join(spoken_id(event.value) for event in held.events) or "a complication"},
        id="complications.statement",
        evidence=tuple(e for conflict in conflicts for e in conflict.evidence),
    )


def find_unexplained_vitrectomies(checked: Checked) -> Iterator[Found]:
    """A vitrectomy although no complication was stated."""
    held, procedures = checked.record.complications, checked.record.operation.procedures
    named = {fact.value for fact in procedures}
    vitrectomy = first_of((*checked.record.steps, *procedures), "anterior_vitrectomy")
    unplanned = bool(named & CATARACT) and not named & WITH_VITRECTOMY
    if vitrectomy and unplanned and held.statement is ComplicationStatement.NONE and not held.events:
        yield Found((*present([held.statement_fact]), vitrectomy), ("complications.events",))


def find_intact_and_broken(checked: Checked) -> Iterator[Found]:
    """A capsule called intact beside its rupture."""
    broken = first_of(checked.record.complications.events, "posterior_capsule_rupture")
    intact = first_of(checked.record.findings, *INTACT)
    if broken and intact:
        yield Found((broken, intact), ("complications.events", "findings"))


def find_steps_out_of_order(checked: Checked) -> Iterator[Found]:
    """A step told only before another that it must follow, where it is no heading."""
    steps = _told(checked)
    places: dict[str, list[int]] = {}
    for at, fact in enumerate(steps):
        places.setdefault(fact.value, []).append(at)
    for order in checked.requirements.orders:
        if order.earlier in places and order.later in places and max(places[order.later]) < min(places[order.earlier]):
            facts = tuple(steps[places[name][0]] for name in (order.later, order.earlier))
            words = {"earlier": spoken_id(order.earlier), "later": spoken_id(order.later)}
            yield Found(facts, ("steps",), {**words, "why": order.why, "source": order.source})


def _told(checked: Checked) -> list[Fact[str]]:
    """The steps from the first that begins an operation on, without phases whose machine settings are read out."""
    spans = [e for setting in checked.record.settings for e in setting.evidence]
    steps = [fact for fact in checked.record.steps if not _stands_in(fact, spans)]
    first = next((at for at, fact in enumerate(steps) if fact.value in OPENING), len(steps))
    return steps[first:]


def _stands_in(fact: Fact[str], spans: list[Evidence]) -> bool:
    """Whether the step's words belong to a setting, or stand right before one as its heading."""
    return any(e.start < span.end and span.start < e.end + HEADING for e in fact.evidence for span in spans)


def find_sutures_counted_twice(checked: Checked) -> Iterator[Found]:
    """One kind of suture told twice: two of them, or one counted again."""
    for one, other in combinations(_placed(checked), 2):
        if one.value.material == other.value.material and one.value.size in (other.value.size, None):
            yield Found((one, other), ("sutures",), {"one": _shown(one.value), "other": _shown(other.value)})


def find_denied_sutures(checked: Checked) -> Iterator[Found]:
    """ "No sutures" beside a suture."""
    none = tuple(fact for fact in checked.record.sutures if fact.value.material == "none")
    placed = (*_placed(checked), *present([first_of(checked.record.steps, "suture")]))
    if none and placed:
        yield Found((*none, *placed), ("sutures",))


def find_denied_specimens(checked: Checked) -> Iterator[Found]:
    """ "No specimens" beside a specimen."""
    held = checked.record.specimens
    if len(held) > 1 and first_of(held, "none"):
        named = ", ".join(spoken_id(fact.value) for fact in held if fact.value != "none")
        yield Found(held, ("specimens",), {"specimens": named})


def _placed(checked: Checked) -> tuple[Fact[SutureUse], ...]:
    return tuple(fact for fact in checked.record.sutures if fact.value.material != "none")


def _shown(suture: SutureUse) -> str:
    parts = (str(part) for part in (suture.count, suture.size, suture.material) if part is not None)
    return spoken_id(" ".join(parts))


RULES: dict[str, Rule] = {
    "complications.denied": find_denied_complications,
    "complications.vitrectomy": find_unexplained_vitrectomies,
    "complications.capsule_intact": find_intact_and_broken,
    "steps.order": find_steps_out_of_order,
    "sutures.counted_twice": find_sutures_counted_twice,
    "sutures.denied": find_denied_sutures,
    "specimens.denied": find_denied_specimens,
}

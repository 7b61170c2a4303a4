"""Machine settings as a table: a row for each phase, a column for each parameter."""

from zonule.export.blocks import Phrase, Table, Tone
from zonule.export.quantities import bare_amount, setting_amount, setting_place
from zonule.export.wording import capitalized, label, wording, words
from zonule.record import Fact, OperationRecord, Setting
from zonule.vocabulary import Status

MOST_WIDE_COLUMNS = 4
"""With more parameters the column of phases gives up its extra width."""
NO_PHASE = "Phase not stated"


def settings_table(record: OperationRecord) -> Table | None:
    """The table, phases in the order said; nothing when no setting is stated."""
    settings = [fact for fact in record.settings if fact.status is Status.DONE]
    if not settings:
        return None
    phases = list(dict.fromkeys(fact.value.phase for fact in settings))
    used = {fact.value.parameter for fact in settings}
    known = [name for name in wording()["parameter"] if name in used]
    parameters = known + sorted(used - set(known))
    rows = tuple(_row(phase, parameters, settings) for phase in phases)
    shares = (15, *[10] * len(parameters)) if len(parameters) > MOST_WIDE_COLUMNS else ()
    return Table("Machine settings by phase", ("Phase", *map(parameter_label, parameters)), rows, shares)


def parameter_label(parameter: str) -> str:
    """The parameter in words with its unit: `Vacuum (mmHg)`."""
    named = wording()["parameter"].get(parameter)
    return f"{named[0]} ({named[1]})" if named else label(parameter)


def _row(phase: str | None, parameters: list[str], settings: list[Fact[Setting]]) -> tuple[Phrase, ...]:
    """One phase. A foot position or memory that holds for all its settings is named once, beside the phase."""
    ours = [fact for fact in settings if fact.value.phase == phase]
    shared = {setting_place(fact.value) for fact in ours}
    place = shared.pop() if phase and len(ours) > 1 == len(shared) else ""
    name = capitalized(words(phase)) if phase else NO_PHASE
    head = Phrase(f"{name} ({place})" if place else name)
    return (head, *(_cell([f for f in ours if f.value.parameter == name], bool(place)) for name in parameters))


def _cell(facts: list[Fact[Setting]], placed: bool) -> Phrase:
    if not facts:
        return Phrase("\N{EN DASH}", (), Tone.MUTED)
    show = bare_amount if placed else setting_amount
    return Phrase("; ".join(show(fact.value) for fact in facts), tuple(facts))

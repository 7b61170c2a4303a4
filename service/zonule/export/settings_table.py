"""Machine settings as a table: a row for each phase, a column for each parameter."""

from zonule.export.blocks import Phrase, Table, Tone
from zonule.export.quantities import setting_amount
from zonule.export.wording import capitalized, label, wording, words
from zonule.record import Fact, OperationRecord, Setting
from zonule.vocabulary import Status

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
    return Table("Machine settings by phase", ("Phase", *map(parameter_label, parameters)), rows)


def parameter_label(parameter: str) -> str:
    """The parameter in words with its unit: `Vacuum (mmHg)`."""
    named = wording()["parameter"].get(parameter)
    return f"{named[0]} ({named[1]})" if named else label(parameter)


def _row(phase: str | None, parameters: list[str], settings: list[Fact[Setting]]) -> tuple[Phrase, ...]:
    ours = [fact for fact in settings if fact.value.phase == phase]
    head = Phrase(capitalized(words(phase)) if phase else NO_PHASE)
    return (head, *(_cell([f for f in ours if f.value.parameter == name]) for name in parameters))


def _cell(facts: list[Fact[Setting]]) -> Phrase:
    if not facts:
        return Phrase("\N{EN DASH}", (), Tone.MUTED)
    return Phrase("; ".join(setting_amount(fact.value) for fact in facts), tuple(facts))

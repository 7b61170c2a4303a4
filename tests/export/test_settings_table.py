"""The settings table: rows by phase, columns by parameter, what holds for a whole phase named once."""

import records

from zonule.export.settings_table import settings_table
from zonule.record import Fact, OperationRecord, Setting
from zonule.vocabulary import Limit, Origin, Status


def texts(*settings: Setting) -> list[list[str]]:
    record = OperationRecord(settings=tuple(records.typed(setting) for setting in settings))
    table = settings_table(record)
    return [list(table.header), *([cell.text for cell in row] for row in table.rows)] if table else []


def test_rows_by_phase_and_columns_by_parameter() -> None:
    assert texts(
        Setting(phase="chop", parameter="vacuum_mmhg", value=420),
        Setting(phase="sculpt", parameter="vacuum_mmhg", value=65, limit=Limit.MAXIMUM),
        Setting(phase="sculpt", parameter="ultrasound_power_pct", low=10, high=45, limit=Limit.RANGE),
        Setting(parameter="tip_bevel_deg", value=30),
    ) == [
        ["Phase", "Ultrasound power (%)", "Vacuum (mmHg)", "Tip bevel (°)"],
        ["Chop", "–", "420", "–"],
        ["Sculpt", "10–45", "max 65", "–"],
        ["Phase not stated", "–", "–", "30"],
    ]


def test_two_values_of_one_parameter_stand_in_one_cell() -> None:
    assert texts(
        Setting(phase="chop", parameter="vacuum_mmhg", value=200, foot_position=2),
        Setting(phase="chop", parameter="vacuum_mmhg", value=420, foot_position=3),
    )[1] == ["Chop", "200 (foot position 2); 420 (foot position 3)"]


def test_a_memory_of_all_settings_of_a_phase_is_named_once() -> None:
    assert texts(
        Setting(phase="chop", parameter="vacuum_mmhg", value=420, memory=2),
        Setting(phase="chop", parameter="aspiration_flow_ml_min", value=30, memory=2),
    )[1] == ["Chop (memory 2)", "420", "30"]


def test_no_table_without_done_settings() -> None:
    planned: Fact[Setting] = Fact(
        value=Setting(parameter="vacuum_mmhg", value=65), origin=Origin.PERSON, status=Status.PLANNED
    )
    assert settings_table(OperationRecord(settings=(planned,))) is None

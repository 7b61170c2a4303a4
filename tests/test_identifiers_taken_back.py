"""A serial or lot number said again at once replaces the first; what follows a correction and is none does not.

Source: common practice, no source.
"""

import pytest

from zonule.dictation import read_text
from zonule.pipeline import Reader
from zonule.record.slots import slot_values


@pytest.mark.parametrize(
    ("said", "numbers"),
    [
        ("The lens is a QD7, serial number B7-009, correction, B7-008, in the bag.", {"B7-008"}),
        (
            "lens serial number capital b seven hyphen double oh nine correction b seven hyphen double oh eight",
            {"B7-008"},
        ),
        ("lens serial 4471-2, no wait, sorry, 4471-3, lot 881", {"4471-3", "881"}),
        ("lens serial four four one two sorry nineteen point five diopters", {"4412"}),
        ("lens serial number 4471 no complications", {"4471"}),
        ("lens serial number 4471-2 no 10-0 nylon used", {"4471-2"}),
    ],
)
def test_the_number_said_last_counts(said: str, numbers: set[str], reader: Reader) -> None:
    record = reader.read(read_text(said), addendum=True)
    found = {v.text for v in slot_values(record) if v.slot in ("lens.serial_number", "lens.lot_number")}
    assert found == numbers

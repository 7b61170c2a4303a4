"""Work grows in proportion to the text: counted in lines of code executed, since tests time nothing."""

import sys
import threading
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

from zonule.dictation import read_text
from zonule.pipeline import Reader

SAMPLES = Path(__file__).parents[1] / "samples"
COPIES, MANY = 8, 40
SLACK = 1.25
"""How much more than in proportion the work may grow; what is done in pairs (quadratic) grows fivefold here."""


def lines_executed(reader: Reader, text: str) -> int:
    """Lines of Python executed while reading; traced in a thread of its own, so that coverage is left alone."""
    count = 0

    def trace(_frame: FrameType, event: str, _argument: Any) -> Any:
        nonlocal count
        count += event == "line"
        return trace

    def work() -> None:
        sys.settrace(trace)
        try:
            reader.read(read_text(text))
        finally:
            sys.settrace(None)

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    return count


@pytest.mark.parametrize("name", ["02-raw-recognizer.txt", "05-teaching-talk.txt", "06-self-corrections.txt"])
def test_work_grows_in_proportion_to_the_text(reader: Reader, name: str) -> None:
    text = (SAMPLES / name).read_text("utf-8") + "\n"
    reader.read(read_text(text))
    few, many = (lines_executed(reader, text * copies) for copies in (COPIES, MANY))
    assert many / few <= MANY / COPIES * SLACK

"""The timeline: timed steps and settings in the order of their times."""

from xml.etree import ElementTree

import records

from zonule.export.timeline import NO_TIMES, Moment, moments, timeline_svg
from zonule.record import Fact, OperationRecord, Setting
from zonule.vocabulary import Origin, Status

SVG = "{http://www.w3.org/2000/svg}"


def at(value: object, time_s: float | None, status: Status = Status.DONE) -> Fact[object]:
    return Fact(value=value, origin=Origin.PERSON, time_s=time_s, status=status)


RECORD = OperationRecord.model_validate(
    {
        "steps": (
            at("capsulorhexis", 130.0),
            at("speculum", 12.0),
            at("suture", None),
            at("iridectomy", 1.0, Status.NOT_DONE),
        ),
        "settings": (at(Setting(phase="sculpt", parameter="vacuum_mmhg", value=65), 200.0),),
    }
)


def test_moments_in_the_order_of_time() -> None:
    assert moments(RECORD) == [
        Moment(12.0, "step", "Speculum"),
        Moment(130.0, "step", "Capsulorhexis"),
        Moment(200.0, "setting", "Sculpt: Vacuum (mmHg) 65"),
    ]


def test_each_moment_stands_at_its_time() -> None:
    root = ElementTree.fromstring(timeline_svg(RECORD))
    # The first sign of each shape is that of the legend; the axis of 200 s runs from 70 to 430.
    steps = [float(c.attrib["cx"]) for c in root.findall(f"{SVG}circle")[1:]]
    settings = [float(r.attrib["x"]) + 5 for r in root.findall(f"{SVG}rect")[2:]]
    assert (steps, settings) == ([91.6, 304.0], [430.0])


def test_a_dictation_without_times_says_so() -> None:
    root = ElementTree.fromstring(timeline_svg(records.routine()))
    assert [text.text for text in root.findall(f"{SVG}text")] == [NO_TIMES]


def test_words_are_escaped_and_the_drawing_is_the_same_each_time() -> None:
    record = RECORD.model_copy(update={"steps": (at("<b>&", 3.0),)})
    assert "&lt;b&gt;&amp;" in timeline_svg(record)
    assert timeline_svg(record) == timeline_svg(record)

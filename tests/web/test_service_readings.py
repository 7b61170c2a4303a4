"""The answer to a reading: every mark spans its words, every requirement has its line, and page and command agree."""

import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from running_service import API, OPEN, ROOT, ROUTINE, Service, running

from zonule.casework import Casework, Given, load_all_requirements, work_case
from zonule.dictation import read_text
from zonule.errors import InputError
from zonule.record import slot_lines
from zonule.web.reading_room import MOST_WAITING, ReadingRoom, today

SAMPLES = sorted((ROOT / "samples").glob("[0-9]*"))


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    with running(tmp_path_factory.mktemp("readings")) as service:
        yield service


@pytest.fixture(scope="module")
def author(service: Service) -> TestClient:
    return service.client("author")


def read(client: TestClient, text: str, **given: Any) -> dict[str, Any]:
    answer = client.post(f"{API}/readings", json={"dictation": text, **given})
    assert answer.status_code == 200, answer.text
    held: dict[str, Any] = answer.json()
    return held


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_the_reading_is_the_one_of_the_command_line(service: Service, author: TestClient, path: Path) -> None:
    text = path.read_text("utf-8")
    shown = read(author, text)
    reader = service.app.state.reading_room.reader
    work = work_case(reader, load_all_requirements(), read_text(text), Given(today=today()))
    assert shown["record"] == work.record.model_dump(mode="json")
    assert shown["gaps"] == work.report.model_dump(mode="json")
    lines = "".join(f"{held['slot']}\t{held['value']}\t{held['place']}\n" for held in shown["slots"])
    assert lines == slot_lines(work.record)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_marks_are_in_order_and_hold_every_evidence_span(author: TestClient, path: Path) -> None:
    text = path.read_text("utf-8")
    shown = read(author, text)
    marks = shown["marks"]
    assert marks == sorted(marks, key=lambda mark: (mark["start"], -mark["end"]))
    assert all(0 <= mark["start"] < mark["end"] <= len(text) for mark in marks)
    marked = {(mark["start"], mark["end"]) for mark in marks}
    assert {(slot["start"], slot["end"]) for slot in shown["slots"] if slot["start"] is not None} <= marked
    repairs = [mark for mark in marks if mark["kind"] == "repair"]
    assert [(mark["heard"], mark["reading"]) for mark in repairs] == [
        (held["reading"]["heard"], held["reading"]["read_as"])
        for held in sorted(shown["record"]["repairs"], key=lambda held: held["evidence"]["start"])
    ]


def test_the_checklist_has_a_line_for_every_requirement_in_the_order_of_telling(author: TestClient) -> None:
    shown = read(author, OPEN)
    states = {item["id"]: item["state"] for item in shown["checklist"]}
    asked = {gap["id"] for gap in shown["gaps"]["gaps"] if gap["kind"] == "missing"}
    items = load_all_requirements().of_set("default").items
    assert set(states) == {item.id for item in items}
    assert {name for name, state in states.items() if state == "open"} == asked
    assert set(states.values()) == {"stated", "stated_none", "open", "not_applicable"} - (
        set() if "stated_none" in states.values() else {"stated_none"}
    )
    order = list(states)
    told = ["patient.name", "operation.eye", "anesthesia", "main_incision", "lens.model", "plan"]
    assert [name for name in order if name in told] == told


def test_an_answer_closes_its_question(author: TestClient) -> None:
    before, after = read(author, OPEN), read(author, OPEN, answers={"lens.model": "Fernhill 1"})
    assert (before["blocks_signature"], after["blocks_signature"]) == (True, False)
    state = {item["id"]: item["state"] for item in after["checklist"]}
    assert state["lens.model"] == "stated"


def test_what_is_given_with_the_dictation_counts(author: TestClient) -> None:
    shown = read(
        author,
        "Phacoemulsification of the left eye. A foldable lens was implanted.",
        case={"patient": "Ada Fenwick", "planned_eye": "right"},
        label="(01)09506000134352(17)281130(10)LB771(21)53902168",
        addenda=["Addendum: no complications."],
    )
    values = {(slot["slot"], slot["value"], slot["origin"]) for slot in shown["slots"]}
    assert {
        ("patient.name", "Ada Fenwick", "worklist"),
        ("lens.serial_number", "53902168", "label"),
        ("complications.statement", "none", "dictation"),
    } <= values
    assert [gap["id"] for gap in shown["gaps"]["gaps"] if gap["kind"] == "conflict"] == ["operation.eye.case"]


def test_a_timed_dictation_says_when(author: TestClient) -> None:
    text = (ROOT / "samples/09-minute-marks.txt").read_text("utf-8")
    assert any(slot["time_s"] is not None for slot in read(author, text)["slots"])


def test_a_text_that_is_no_note_says_so(author: TestClient) -> None:
    shown = read(author, "Shopping: milk, bread and two lemons.")
    assert (shown["is_operation_note"], shown["blocks_signature"], shown["slots"], shown["marks"]) == (
        False,
        True,
        [],
        [],
    )


def test_a_reading_is_not_kept(service: Service, author: TestClient) -> None:
    before = len(service.store.notes.page(200).items)
    read(author, ROUTINE)
    assert len(service.store.notes.page(200).items) == before


def test_requirements_and_slots_are_listed(author: TestClient) -> None:
    shown = author.get(f"{API}/requirements", params={"standard": "accreditation"}).json()
    items = load_all_requirements().of_set("accreditation").items
    assert {item["id"] for item in shown["items"]} == {item.id for item in items}
    assert "default" in shown["sets"]
    assert author.get(f"{API}/requirements", params={"standard": "nobody"}).status_code == 404
    assert "operation.eye" in author.get(f"{API}/slots").json()


def test_a_long_dictation_keeps_no_page_waiting_and_too_many_are_told_to_come_back(
    service: Service, author: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = service.app.state.reading_room
    held = threading.Event()
    begun = threading.Semaphore(0)

    def wait(*_: object) -> Casework:
        begun.release()
        held.wait(60)
        raise InputError("done waiting")

    text = "Left eye. " * 4000
    with monkeypatch.context() as patched, ThreadPoolExecutor(MOST_WAITING) as pool:
        patched.setattr("zonule.web.reading_room.work_case", wait)
        long = pool.submit(room.work, read_text(text), Given())
        begun.acquire()
        patched.undo()
        shown = read(author, OPEN)
        patched.setattr("zonule.web.reading_room.work_case", wait)
        others = [pool.submit(room.work, read_text(OPEN), Given()) for _ in range(MOST_WAITING - 1)]
        begun.acquire()
        while room._places._value:  # until the last of them waits
            time.sleep(0.001)
        refused = author.post(f"{API}/readings", json={"dictation": OPEN})
        held.set()
        faults = {type(waiting.exception()) for waiting in (long, *others)}
    assert (shown["is_operation_note"], refused.status_code, refused.headers["retry-after"]) == (True, 503, "5")
    assert faults == {InputError}
    assert read(author, OPEN) == shown


def test_a_wrong_value_is_told_with_the_names_that_may_stand_there(author: TestClient) -> None:
    answer = author.post(f"{API}/readings", json={"dictation": OPEN, "case": {"planned_eye": "middle"}})
    assert answer.json()["detail"] == "body.case.planned_eye: Input should be 'right', 'left' or 'both'."


def test_after_many_readings_the_reader_is_built_anew(service: Service, monkeypatch: pytest.MonkeyPatch) -> None:
    """It keeps every word that it ever met."""
    room = ReadingRoom(service.app.state.metrics)
    first = room.reader
    monkeypatch.setattr("zonule.web.reading_room.LOOK_EVERY_S", 0.0)
    monkeypatch.setattr("zonule.web.reading_room.RENEW_AFTER", 2)
    told = [(room.work(read_text(OPEN), Given()).record, room.reader is first) for _ in range(5)]
    assert [kept for _, kept in told] == [True, True, True, False, False]
    assert all(record == told[0][0] for record, _ in told)

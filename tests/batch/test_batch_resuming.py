"""A run that is killed goes on without redoing or losing a note, here and on a cluster, and gives the same bytes."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from threading import Thread
from types import SimpleNamespace
from typing import Any

import pytest
from distributed import KilledWorker

from zonule.batch import engine
from zonule.batch.archive import Order, read_archive
from zonule.batch.chunk_reading import Chunk, Job
from zonule.batch.parts import Parts
from zonule.batch.sources import Item
from zonule.errors import InputError, OutputError

ROOT = Path(__file__).parents[2]
SENTENCES = "Right eye phacoemulsification under topical anesthesia. Vacuum {} mmHg for the pieces. Power {} diopters."
NOTES, CHUNK = 60, 5
PATIENCE = 120
"""Seconds after which a process that should have come so far is given up."""


@pytest.fixture
def archive(tmp_path: Path) -> Path:
    path = tmp_path / "notes.jsonl"
    texts = [SENTENCES.format(200 + number, 10 + number / 4) for number in range(NOTES)]
    path.write_text("".join(json.dumps({"text": text}) + "\n" for text in texts))
    return path


@pytest.fixture
def undisturbed(archive: Path, tmp_path: Path) -> dict[str, bytes]:
    run(archive, tmp_path / "undisturbed")
    return contents(tmp_path / "undisturbed")


def run(archive: Path, output: Path, **options: Any) -> list[int]:
    """Reads the archive; returns the steps of the progress bar."""
    steps: list[int] = []
    bar = SimpleNamespace(total=0, update=steps.append, refresh=lambda: None)
    read_archive(Order(archive, output, chunk=CHUNK, **options), bar)
    return steps


def contents(folder: Path) -> dict[str, bytes]:
    """Everything that was written, by its path; the lock is no output."""
    files = (path for path in folder.rglob("*") if path.is_file() and path.name != ".lock")
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


def wait_for(condition: Callable[[], bool]) -> None:
    """Waits until something has come so far."""
    end = time.monotonic() + PATIENCE
    while not condition():
        assert time.monotonic() < end, "it never came so far"
        time.sleep(0.01)


def test_three_kills_change_nothing(archive: Path, tmp_path: Path, undisturbed: dict[str, bytes]) -> None:
    output = tmp_path / "out"
    command = [sys.executable, "-m", "zonule.cli", "batch", str(archive), str(output), "--workers", "1"]
    for kills in range(1, 4):
        parts = len(list(output.glob("records/part-*")))
        process = subprocess.Popen([*command, "--chunk", str(CHUNK)], stdout=subprocess.DEVNULL)
        wait_for(lambda so_far=parts: len(list(output.glob("records/part-*"))) > so_far)  # type: ignore[misc]
        process.send_signal(signal.SIGKILL)
        process.wait()
        assert len(list(output.glob("records/part-*"))) >= kills
    read = {path: path.stat().st_mtime_ns for path in output.glob("records/part-*")}
    run(archive, output)
    assert contents(output) == undisturbed
    assert {path: path.stat().st_mtime_ns for path in read} == read


def test_a_finished_run_reads_nothing_again(
    archive: Path, tmp_path: Path, undisturbed: dict[str, bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engine, "read_chunk", lambda *_: pytest.fail("read again"))
    run(archive, tmp_path / "undisturbed")
    assert contents(tmp_path / "undisturbed") == undisturbed


def test_own_workers_give_the_same(archive: Path, tmp_path: Path, undisturbed: dict[str, bytes]) -> None:
    run(archive, tmp_path / "out", workers=2)
    assert contents(tmp_path / "out") == undisturbed


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[tuple[str, list[subprocess.Popen[bytes]]]]:
    """The address of a scheduler on loopback, and its two workers."""
    place = tmp_path / "scheduler.json"
    start = [sys.executable, "-m"]
    log = (tmp_path / "cluster.log").open("wb")
    options = ["--scheduler-file", str(place), "--host", "127.0.0.1", "--no-dashboard"]
    scheduler = subprocess.Popen(
        [*start, "distributed.cli.dask_scheduler", "--port", "0", *options], stdout=log, stderr=log
    )
    wait_for(place.exists)
    worker = [*start, "distributed.cli.dask_worker", "--nthreads", "1", "--no-nanny", "--memory-limit", "0", *options]
    workers = [subprocess.Popen(worker, stdout=log, stderr=log, cwd=tmp_path, env=dict(os.environ)) for _ in range(2)]
    yield json.loads(place.read_text())["address"], workers
    for process in (*workers, scheduler):
        process.kill()
        process.wait()
    log.close()


@pytest.mark.filterwarnings("ignore::ResourceWarning", "ignore::pytest.PytestUnraisableExceptionWarning")
def test_a_cluster_that_loses_a_worker_gives_the_same(
    archive: Path,
    tmp_path: Path,
    undisturbed: dict[str, bytes],
    cluster: tuple[str, list[subprocess.Popen[bytes]]],
) -> None:
    address, workers = cluster
    output = tmp_path / "out"
    faults: list[BaseException] = []

    def read() -> None:
        try:
            run(archive, output, scheduler=address)
        except BaseException as fault:
            faults.append(fault)

    reading = Thread(target=read)
    reading.start()
    wait_for(lambda: bool(faults) or len(list(output.glob("records/part-*"))) > 0)
    workers[0].kill()
    reading.join(PATIENCE)
    assert faults == []
    assert contents(output) == undisturbed


def test_a_note_that_takes_its_workers_down_is_given_up_alone() -> None:
    worker: Any = None

    def submit(_work: object, _chunk: Chunk, _job: Job, **_: object) -> SimpleNamespace:
        def result() -> None:
            raise KilledWorker("task", worker, 3)

        return SimpleNamespace(result=result)

    client = SimpleNamespace(submit=submit)
    (note,) = engine._read_alone(client, Chunk(0, (Item(7, "seven", b"words"),)), Job("", "default"))
    assert [row["fault"] for row in note.tables["records"]] == [engine.LOST]


def test_a_folder_of_something_else_is_refused(archive: Path, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "letter.txt").write_text("mine")
    with pytest.raises(OutputError, match="expected an empty folder or one of a batch, got others' files"):
        run(archive, tmp_path / "out")


def test_another_input_or_option_is_refused(archive: Path, tmp_path: Path) -> None:
    run(archive, tmp_path / "out")
    with pytest.raises(OutputError, match="begun with the same input and options, got another format, keep"):
        run(archive, tmp_path / "out", format="jsonl", keep=("cap",))
    archive.write_text(json.dumps({"text": "other"}) + "\n")
    with pytest.raises(OutputError, match="got another archive"):
        run(archive, tmp_path / "out")


def test_two_runs_keep_out_of_each_others_way(archive: Path, tmp_path: Path) -> None:
    order = Order(archive, tmp_path / "out")
    plan: Any = SimpleNamespace()
    (tmp_path / "out").mkdir()
    held = Parts(order.output, plan)
    held._check_plan = lambda: None  # type: ignore[method-assign]
    with held.held(), pytest.raises(OutputError, match="got one in use"):
        run(archive, tmp_path / "out")


def test_no_scheduler_there_gets_one_sentence(archive: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Nobody:
        def Client(self, *_: object, **__: object) -> None:  # noqa: N802
            raise OSError("nobody")

    monkeypatch.setattr(engine, "_library", Nobody)
    with pytest.raises(InputError, match="expected the address of a running scheduler, got"):
        run(archive, tmp_path / "out", scheduler="tcp://127.0.0.1:1")


def test_a_worker_with_another_lexicon_refuses(archive: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("zonule.batch.archive.lexicon_fingerprint", lambda _: "f" * 64)
    with pytest.raises(Exception, match="Worker: expected the lexicon ffffffffffff, got"):
        run(archive, tmp_path / "out")

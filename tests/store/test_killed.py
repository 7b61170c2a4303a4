"""`kill -9` during 500 saves: every acknowledged one is there, and the store is as it was written."""

import signal
import subprocess
import sys
from pathlib import Path

import pytest
from store_samples import QUICK

from zonule.store import Store, open_store
from zonule.store.verifying import verify_store

WRITER = Path(__file__).parents[1] / "store_writer.py"
SAVES = 500
Acknowledged = list[tuple[str, int, int]]


def write_until_killed(url: str, first: int, kill_after: int, kill: object = None) -> Acknowledged:
    """Starts the writer and kills it, or what `kill` says, after so many acknowledged saves."""
    command = [sys.executable, str(WRITER), url, str(first), str(SAVES)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as writer:
        assert writer.stdout is not None
        lines = [writer.stdout.readline() for _ in range(kill_after)]
        if callable(kill):
            kill()
        else:
            writer.kill()
        lines += list(writer.stdout)
    assert writer.returncode == (1 if callable(kill) else -signal.SIGKILL)
    whole = [line.split() for line in lines if line.endswith("\n")]
    return [(note_id, int(version), int(number)) for note_id, version, number in whole]


def check_kept(store: Store, acknowledged: Acknowledged) -> None:
    assert verify_store(store.database).faults == ()
    for note_id, version, number in acknowledged:
        assert store.notes.version(note_id, version).draft.dictation == f"Words of save {number}."
    for note_id in {note_id for note_id, _, _ in acknowledged}:
        note = store.notes.get(note_id)
        serial = note.record.lenses[0].serial_number
        assert serial is not None
        assert [found.note_id for found in store.find.recall(serial=serial.value)] == [note_id]


def test_a_killed_writer_loses_nothing_acknowledged(url: str) -> None:
    """Killed three times at different points; the store goes on with the next writer as if nothing had been."""
    acknowledged: Acknowledged = []
    for first, kill_after in ((0, 7), (1000, 133), (2000, 401)):
        ours = write_until_killed(url, first, kill_after)
        assert kill_after <= len(ours) < SAVES
        acknowledged += ours
        with open_store(url, hasher=QUICK) as store:
            check_kept(store, acknowledged)


def test_a_killed_server_loses_nothing_acknowledged(request: pytest.FixtureRequest) -> None:
    """`kill -9` of the PostgreSQL server itself: it recovers from its log."""
    server = request.getfixturevalue("postgresql")
    url = server.create_database()
    acknowledged = write_until_killed(url, 0, 250, kill=server.kill)
    server.start()
    assert 250 <= len(acknowledged) < SAVES
    with open_store(url, hasher=QUICK) as store:
        check_kept(store, acknowledged)

"""docs/api.md is true: its examples run against a service on loopback, and every route of the table stands in it."""

import os
import re
import subprocess
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import uvicorn
from running_service import API, ROOT, Service, running

from zonule.web.security.access import ACCESS

PAGE = (ROOT / "docs/api.md").read_text("utf-8")


@contextmanager
def listening(service: Service) -> Iterator[str]:
    """The service on a free port of this machine; its address."""
    config = uvicorn.Config(service.app, host="127.0.0.1", port=0, lifespan="off", log_config=None)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    port = server.servers[0].sockets[0].getsockname()[1]
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join()


def test_the_examples_run_as_they_stand(tmp_path: Path) -> None:
    blocks = re.findall(r"^```sh\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
    assert len(blocks) == 8
    (tmp_path / "samples").symlink_to(ROOT / "samples")
    with running(tmp_path) as service, listening(service) as address:
        script = "set -euo pipefail\n" + "\necho; echo ---\n".join(blocks)
        environment = {**os.environ, "ZONULE": address}
        done = subprocess.run(
            ["bash", "-c", script], cwd=tmp_path, env=environment, capture_output=True, text=True, timeout=120
        )
        assert (done.returncode, done.stderr) == (0, ""), done.stdout[-2000:]
        note = service.store.notes.page(10).items[0]
    told = done.stdout.split("\n---\n")
    assert '"is_operation_note":true' in told[1]
    assert told[3].strip() == "complete"
    assert told[4].lstrip().startswith("2\n")
    assert told[5].split() == ["signed", "signed"]
    assert f'"note_id":"{note.id}"' in told[6]
    assert told[6].endswith("}1\n")
    assert (note.state, note.number) == ("signed", 2)
    assert (tmp_path / "operation-note.docx").read_bytes()[:2] == b"PK"


def test_every_route_stands_in_the_table_with_its_roles() -> None:
    rows = re.findall(r"^\| (`[A-Z]+ /.*?) \| (.*?) \|", PAGE, re.MULTILINE)
    told = {
        (method, f"{API}{path}"): who
        for routes, who in rows
        for method, path in re.findall(r"`([A-Z]+) (/\S*?)`", routes)
    }
    assert set(told) == {route for route in ACCESS if route[1].startswith(API)}
    for route, who in told.items():
        allowed = ACCESS[route]
        named = {role for role in ("author", "signer", "auditor", "administrator") if re.search(rf"\b{role}\b", who)}
        if allowed is None:
            assert who.startswith("anyone"), route
        elif len(allowed) == 4:
            assert "signed in" in who, route
        else:
            assert named == allowed, route


@pytest.mark.parametrize("status", [400, 401, 403, 404, 405, 409, 413, 415, 422, 429, 500, 503])
def test_every_status_of_a_problem_is_explained(status: int) -> None:
    assert f"| `{status}` |" in PAGE

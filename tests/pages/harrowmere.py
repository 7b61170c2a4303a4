"""The invented Harrowmere Eye Unit as a running service, with its invented people and their list, and a browser."""

import datetime
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from playwright.sync_api import Browser, Page, sync_playwright

from zonule.case_data import parse_cases
from zonule.store import Role, Store
from zonule.web.service_settings import ServiceSettings

if TYPE_CHECKING:
    import uvicorn

SAMPLES = Path(__file__).parents[2] / "samples"
DAY = datetime.date(2026, 3, 12)
PASSWORD = "seven quiet lanterns"
PEOPLE = (
    ("delacombe", "Farah Delacombe", (Role.AUTHOR, Role.SIGNER)),
    ("wrenfield", "Tobias Wrenfield", (Role.AUTHOR,)),
    ("marchbank", "Solveig Marchbank", (Role.AUDITOR,)),
    ("tarrow", "Imogen Tarrow", (Role.ADMINISTRATOR,)),
)
CHROMIUM = "/usr/bin/chromium"
SWITCHES = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip
PATIENCE_S = 60


@dataclass(frozen=True)
class Unit:
    """Where the service answers, and its store."""

    address: str
    store: Store


def sample(name: str) -> str:
    """The text of a sample whose file name begins so."""
    (found,) = SAMPLES.glob(f"{name}*")
    return found.read_text("utf-8")


@contextmanager
def running_unit(folder: Path) -> Iterator[Unit]:
    """The service on a free port of the loopback; it ends with the block."""
    import uvicorn

    from zonule.web.app import create_app

    app = create_app(ServiceSettings(store=f"sqlite:///{folder / 'unit.db'}", unit_name="Harrowmere Eye Unit"))
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=0, log_level="warning"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    try:
        address = f"http://127.0.0.1:{_port(server, thread)}"
        _people_and_list(app.state.store)
        yield Unit(address, app.state.store)
    finally:
        server.should_exit = True
        thread.join(PATIENCE_S)


def _port(server: "uvicorn.Server", thread: threading.Thread) -> int:
    while not server.started:
        if not thread.is_alive():
            raise RuntimeError("the service ended before it started")
        time.sleep(0.05)
    port: int = server.servers[0].sockets[0].getsockname()[1]
    return port


def _people_and_list(store: Store) -> None:
    for name, full_name, roles in PEOPLE:
        store.users.add(name, full_name, roles, PASSWORD)
    cases = parse_cases((SAMPLES / "list.csv").read_text("utf-8"))
    store.cases.import_list(DAY, [case for case in cases if case.date == DAY], "delacombe")


@contextmanager
def browser() -> Iterator[Browser]:
    """Debian's Chromium without a window."""
    with sync_playwright() as started:
        opened = started.chromium.launch(executable_path=CHROMIUM, args=list(SWITCHES))
        yield opened
        opened.close()


def sign_in(page: Page, unit: Unit, name: str, onward: str = "/") -> None:
    """Signs in on the login page and goes on."""
    page.goto(f"{unit.address}/login?next={onward}")
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_url(lambda address: "/login" not in address)

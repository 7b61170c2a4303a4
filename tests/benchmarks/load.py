"""Measures the service under load, for docs/benchmarks.md. Run by hand, never by the tests.

    python tests/benchmarks/load.py [--readings 600] [--requests 20000] [--clients 4]

It starts `zonule serve` on a free port of this machine with one worker and with two, and has some clients read pages at
once; then one worker answers many short readings, each with words it has not seen before, while its memory is watched.
"""

import argparse
import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from statistics import quantiles

import psutil
from measure import build_note, collect_pieces, name_machine

from zonule.store import open_store

PASSWORD = "a passphrase for measuring"
WORDS = 320
"""Of a page."""
LOOKS = 10
"""How often memory is looked at."""


class Client:
    """One signed-in client on one connection."""

    def __init__(self, port: int) -> None:
        self._connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        self._headers = {"Content-Type": "application/json"}
        answer = self._post("/api/v1/session", {"name": "bench", "password": PASSWORD})
        self._headers["X-CSRF-Token"] = answer["csrf_token"]

    def read(self, text: str) -> float:
        """Reads one dictation; the seconds it took."""
        began = time.perf_counter()
        self._post("/api/v1/readings", {"dictation": text})
        return time.perf_counter() - began

    def _post(self, path: str, body: dict[str, str]) -> dict[str, str]:
        self._connection.request("POST", path, json.dumps(body), self._headers)
        answer = self._connection.getresponse()
        content = answer.read()
        if answer.status != 200:
            raise SystemExit(f"{path}: expected 200, got {answer.status}")
        if cookie := answer.headers.get("set-cookie"):
            self._headers["Cookie"] = cookie.partition(";")[0]
        held: dict[str, str] = json.loads(content)
        return held


def read_all(client: Client, pages: list[str]) -> list[float]:
    """The seconds of each page, one after the other."""
    return [client.read(page) for page in pages]


@contextmanager
def serving(workers: int) -> Iterator[tuple[int, psutil.Process]]:
    """The service on a free port, as it is started in a unit: the port and the process."""
    with tempfile.TemporaryDirectory() as folder, socket.socket() as free:
        url = f"sqlite:///{folder}/zonule.db"
        with open_store(url) as store:
            store.users.add("bench", "Bench", ("author",), PASSWORD)
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
        free.close()
        command = [sys.executable, "-m", "zonule.cli", "serve", "--port", str(port), "--store", url]
        with Path(os.devnull).open("w") as nowhere:
            process = subprocess.Popen([*command, "--workers", str(workers)], stdout=nowhere, stderr=nowhere)
        try:
            wait_for(port)
            yield port, psutil.Process(process.pid)
        finally:
            process.send_signal(signal.SIGTERM)
            process.wait(30)


def wait_for(port: int) -> None:
    """Until the service answers; a minute at most."""
    for _ in range(600):
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
            time.sleep(3)  # the other worker
            return
        except OSError:
            time.sleep(0.1)
    raise SystemExit("the service does not answer")


def measure_readings(workers: int, readings: int, clients: int) -> None:
    """Readings of pages in a second, and how long they took."""
    pieces = collect_pieces()
    pages = [build_note(pieces, WORDS, seed) for seed in range(readings)]
    with serving(workers) as (port, _):
        ready = [Client(port) for _ in range(clients)]
        shares = [pages[start::clients] for start in range(clients)]
        for client in ready:
            client.read(pages[0])
        began = time.perf_counter()
        with ThreadPoolExecutor(clients) as pool:
            told = list(
                pool.map(lambda pair: [pair[0].read(page) for page in pair[1]], zip(ready, shares, strict=True))
            )
        elapsed = time.perf_counter() - began
    times = sorted(seconds for share in told for seconds in share)
    cuts = quantiles(times, n=100)
    print(
        f"| {workers} | {clients} | {len(times) / elapsed:.1f} | {cuts[49] * 1000:.0f} | {cuts[94] * 1000:.0f} "
        f"| {cuts[98] * 1000:.0f} |",
        flush=True,
    )


def measure_memory(requests: int) -> None:
    """Memory of one worker over many readings of words it has not seen before."""
    pieces = collect_pieces()
    with serving(1) as (port, process):
        client, began = Client(port), time.perf_counter()
        for number in range(requests + 1):
            if number % (requests // LOOKS) == 0:
                print(f"| {number:,} | {process.memory_info().rss / 1e6:.0f} |", flush=True)
            client.read(f"{build_note(pieces, 12, number)} Serial number Q{number:06d}X, Dr. Ba{number:x}el.")
        print(f"{requests:,} requests in {time.perf_counter() - began:.0f} s")


def main() -> None:
    """Prints the tables."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--readings", type=int, default=600)
    parser.add_argument("--requests", type=int, default=20_000)
    parser.add_argument("--clients", type=int, default=4)
    options = parser.parse_args()
    name_machine()
    print(
        "| workers | clients | readings a second | median ms | p95 ms | p99 ms |\n| --- | --- | --- | --- | --- | --- |"
    )
    for workers, clients in ((1, 1), (1, options.clients), (2, options.clients)):
        measure_readings(workers, options.readings, clients)
    print("| requests | memory (MB) |\n| --- | --- |")
    measure_memory(options.requests)


if __name__ == "__main__":
    main()

"""Measures `zonule batch` over an archive of made-up notes, for docs/benchmarks.md. Run by hand, never by the tests.

    python tests/benchmarks/archive.py [--notes 100000] [--words 150] [--keep FOLDER]

It makes the archive from a seed, reads a tenth of it with one process and with two, reads all of it undisturbed while
it watches memory, and reads it once more, killed and started again three times, to compare every byte.
"""

import argparse
import hashlib
import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import median

import psutil
from measure import build_note, collect_pieces, name_machine

TABLES = ("records", "slots", "gaps", "repairs")
KILLS = (0.2, 0.45, 0.7)
"""Shares of the archive that are read when the run is killed."""
PAUSE = 0.5
"""Seconds between two looks at a run."""


def write_archive(path: Path, notes: int, words: int) -> None:
    """One note a line, each with another seed."""
    pieces = collect_pieces()
    with path.open("w", encoding="utf-8") as file:
        for seed in range(notes):
            text = build_note(pieces, words // 2 + seed % words, seed)
            file.write(json.dumps({"id": f"note-{seed:06d}", "text": text}) + "\n")


def command(archive: Path, output: Path, workers: int) -> list[str]:
    """The command line of one run."""
    return [
        sys.executable,
        "-m",
        "zonule.cli",
        "batch",
        str(archive),
        str(output),
        "--id",
        "id",
        "--workers",
        str(workers),
    ]


def start(archive: Path, output: Path, workers: int) -> "subprocess.Popen[bytes]":
    """A run in a process group of its own."""
    return subprocess.Popen(
        command(archive, output, workers), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
    )


def done(output: Path) -> int:
    """Parts that stand whole."""
    return len(list(output.glob("records/part-*")))


def watch(process: "subprocess.Popen[bytes]", output: Path) -> Iterator[tuple[float, int, float]]:
    """Seconds, parts done and megabytes of the run and all its workers, again and again until it ends."""
    begin = time.monotonic()
    while process.poll() is None:
        yield time.monotonic() - begin, done(output), _megabytes(process.pid)
        time.sleep(PAUSE)


def _megabytes(pid: int) -> float:
    try:
        own = psutil.Process(pid)
        family = [own, *own.children(recursive=True)]
        return sum(member.memory_info().rss for member in family if member.is_running()) / 2**20
    except psutil.Error:
        return 0.0


def rate(looks: list[tuple[float, int, float]], chunk: int) -> float:
    """Notes per second between the first part and the last look: building the workers is left out."""
    working = [(seconds, parts) for seconds, parts, _ in looks if parts]
    (first, few), (last, many) = working[0], working[-1]
    return (many - few) * chunk / (last - first)


def digest(output: Path) -> str:
    """One hash over every part of every table."""
    held = hashlib.sha256()
    for table in TABLES:
        for part in sorted((output / table).glob("part-*")):
            held.update(part.name.encode() + part.read_bytes())
    return held.hexdigest()


def kill_and_resume(archive: Path, output: Path, parts: int) -> None:
    """A run that is killed with all its workers at each share of KILLS, and then ends undisturbed."""
    for share in KILLS:
        process = start(archive, output, 2)
        _wait(lambda share=share: done(output) >= share * parts)  # type: ignore[misc]
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()
        print(f"killed at {done(output):,} of {parts:,} parts", flush=True)
    start(archive, output, 2).wait()


def _wait(condition: Callable[[], bool]) -> None:
    while not condition():
        time.sleep(PAUSE)


def measure(folder: Path, notes: int, words: int, chunk: int = 100) -> None:
    """All of it."""
    name_machine()
    archive, tenth = folder / "notes.jsonl", folder / "tenth.jsonl"
    write_archive(archive, notes, words)
    with archive.open("rb") as whole, tenth.open("wb") as part:
        part.writelines(line for line, _ in zip(whole, range(notes // 10), strict=False))
    print(f"{notes:,} notes, {archive.stat().st_size / 2**20:.0f} MB", flush=True)
    rates = [rate(list(watch(start(tenth, folder / f"tenth{n}", n), folder / f"tenth{n}")), chunk) for n in (1, 2)]
    print(
        f"one process {rates[0]:.1f} notes/s, two {rates[1]:.1f}: x{rates[1] / rates[0]:.2f} (goal >= 1.8)", flush=True
    )
    looks = list(watch(start(archive, folder / "whole", 2), folder / "whole"))
    parts = done(folder / "whole")
    early = [mb for _, n, mb in looks if 0.05 * parts <= n <= 0.15 * parts]
    late = [mb for _, n, mb in looks if 0.9 * parts <= n < parts]
    print(
        f"whole: {looks[-1][0]:.0f} s, {rate(looks, chunk):.1f} notes/s; memory of all processes {median(early):.0f} MB"
    )
    print(f"early, {median(late):.0f} MB late: x{median(late) / median(early):.2f} (goal within 10 %)", flush=True)
    kill_and_resume(archive, folder / "killed", parts)
    same = digest(folder / "whole") == digest(folder / "killed")
    print(f"killed three times and resumed: {'the same bytes' if same else 'OTHER BYTES'}")


def main() -> None:
    """The measurement."""
    parser = argparse.ArgumentParser(description="Prints the figures of archives in docs/benchmarks.md.")
    parser.add_argument("--notes", type=int, default=100_000)
    parser.add_argument("--words", type=int, default=150, help="median words of a note")
    parser.add_argument("--keep", type=Path, help="an empty folder for archive and tables; else a temporary one")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as temporary:
        measure(asked.keep or Path(temporary), asked.notes, asked.words)


if __name__ == "__main__":
    main()

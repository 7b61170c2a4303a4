"""Measures speed, growth, memory and start-up for docs/benchmarks.md. Run by hand, never by the tests.

    python tests/benchmarks/measure.py [--reference FOLDER]

FOLDER is a virtual environment that holds medspaCy; it is made, from the package index, if it is missing. All times are
CPU seconds on one core, so that other work on the machine weighs less; each is the median of several rounds.

The notes are recombined from the sentences of the annotated dictations: no note repeats another, numbers are drawn
anew, and every round reads notes of its own. They make no clinical sense and serve for nothing else.
"""

import argparse
import cProfile
import gc
import importlib
import json
import os
import pstats
import random
import re
import subprocess
import sys
import tempfile
import time
import venv
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from importlib.metadata import version
from pathlib import Path
from statistics import median
from typing import Any
from unittest.mock import patch

ROOT = Path(__file__).parents[2]
NOTES, WORDS, ROUNDS = 200, 300, 5
RUNS = 11  # of what is short
STAGES = {
    "normalization": ("Normalizer.normalize",),
    "annotation": ("Annotator.annotate",),
    "corrections": ("apply_corrections",),
    "assertion": ("assert_mentions", "tell_sides_apart"),
    "binding": ("Reading", "bind_facts"),
    "assembly": ("assemble_record", "reads_as_operation"),
}
"""What of `zonule.pipeline` belongs to each stage."""
SMALL = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def collect_pieces() -> list[tuple[float, str]]:
    """Sentences of the dictations, or runs of a dozen words where nothing is punctuated, each with its place (0-1)."""
    pieces: dict[str, float] = {}
    for path in sorted([*ROOT.glob("samples/*.txt"), *ROOT.glob("tests/cases/corpus_*/*.txt")]):
        text = re.sub(r"(?m)^\[[\d:]+\] *", "", path.read_text("utf-8"))
        parts = [part for cut in re.split(r"(?<=[.;?!])\s+|\n+", text) for part in _shorten(cut.split())]
        pieces.update({part: number / len(parts) for number, part in enumerate(parts)})
    return [(place, piece) for piece, place in pieces.items()]


def _shorten(words: list[str]) -> Iterator[str]:
    size = 12 if len(words) > 45 else 45
    for first in range(0, len(words), size):
        yield " ".join(words[first : first + size])


def build_note(pieces: list[tuple[float, str]], words: int, seed: int) -> str:
    """One text of about so many words: pieces drawn without putting back, in the order of an operation."""
    draw = random.Random(seed)
    drawn: list[tuple[float, str]] = []
    for piece in draw.sample(pieces, len(pieces)):
        drawn.append(piece)
        words -= piece[1].count(" ") + 1
        if words <= 0:
            break
    return "\n".join(_vary(text, draw) for _, text in sorted(drawn))


def _vary(text: str, draw: random.Random) -> str:
    """Other numbers: the last digit of each, and spoken ones below ten."""
    text = re.sub(r"\d(?!\d)", lambda _: str(draw.randint(1, 9)), text)
    return re.sub(rf"\b(?:{'|'.join(SMALL)})\b", lambda _: draw.choice(SMALL), text)


def build_rounds(pieces: list[tuple[float, str]], first: int) -> list[list[str]]:
    """Notes nobody has read yet: each measurement has a `first` of its own, as a note met again is read quicker."""
    seeds = range(first * 100_000, first * 100_000 + ROUNDS * NOTES, NOTES)
    return [[build_note(pieces, WORDS, seed + i) for i in range(NOTES)] for seed in seeds]


def seconds(work: Callable[..., object], *arguments: object) -> float:
    """CPU seconds of one run."""
    begin = time.process_time()
    work(*arguments)
    return time.process_time() - begin


def _each(work: Callable[[str], object], notes: list[str]) -> None:
    for note in notes:
        work(note)


def read_all(reader: Any, notes: list[str]) -> None:
    """Reads notes one by one, as they would come in."""
    read_text = importlib.import_module("zonule.dictation").read_text
    for note in notes:
        reader.read(read_text(note))


def build_reader(*extra: Path) -> Any:
    """A reader of the shipped lexicon and further folders."""
    folder = importlib.import_module("zonule.settings").lexicon_folder()
    return importlib.import_module("zonule.pipeline").Reader(folder, *extra)


def compare_speed(reader: Any, rounds: list[list[str]], reference: Path) -> None:
    """Notes per second of the whole reading, the bare tokenizer and the reference, round by round."""
    make_doc = importlib.import_module("spacy").blank("en").make_doc
    forms = sorted({form for term in reader.lexicon.terms for form in term.forms})
    figures: dict[str, list[float]] = {"Zonule": [], "tokenizer": [], "medspaCy": []}
    for notes in rounds:
        figures["Zonule"].append(NOTES / seconds(read_all, reader, notes))
        figures["tokenizer"].append(NOTES / seconds(_each, make_doc, notes))
        figures["medspaCy"].append(NOTES / _call_self(reference, "medspacy", {"notes": notes, "forms": forms}))
    ours, bare, theirs = (median(figures[name]) for name in ("Zonule", "tokenizer", "medspaCy"))
    print("| notes per second | median | lowest | highest |\n| --- | --- | --- | --- |")
    for name, values in figures.items():
        print(f"| {name} | {median(values):.1f} | {min(values):.1f} | {max(values):.1f} |")
    print(f"\nZonule / medspaCy: {ours / theirs:.1f} (goal >= 20)")
    print(f"Zonule / tokenizer: {ours / bare:.3f} (goal >= 0.333)\n")


def time_stages(reader: Any, rounds: list[list[str]]) -> None:
    """Milliseconds per note in each stage; the clock that is read around each stage costs next to nothing."""
    pipeline = importlib.import_module("zonule.pipeline")
    found: list[defaultdict[str, float]] = []
    for notes in rounds:
        spent: defaultdict[str, float] = defaultdict(float)
        with ExitStack() as stack:
            for stage, names in STAGES.items():
                for name in names:
                    stack.enter_context(_clocked(pipeline, name, stage, spent))
            spent["whole"] = seconds(read_all, reader, notes)
        found.append(spent)
    whole = median(spent["whole"] for spent in found)
    print("| stage | ms per note | share |\n| --- | --- | --- |")
    for stage in (*STAGES, "whole"):
        part = median(spent[stage] for spent in found)
        print(f"| {stage} | {part / NOTES * 1000:.2f} | {part / whole:.0%} |")
    print()


@contextmanager
def _clocked(module: Any, name: str, stage: str, spent: defaultdict[str, float]) -> Iterator[None]:
    owner, last = (getattr(module, name.split(".")[0]), name.split(".")[1]) if "." in name else (module, name)
    inner = getattr(owner, last)

    def outer(*arguments: Any, **named: Any) -> Any:
        begin = time.process_time()
        try:
            return inner(*arguments, **named)
        finally:
            spent[stage] += time.process_time() - begin

    with patch.object(owner, last, outer):
        yield


def name_hottest(reader: Any, notes: list[str], count: int = 3) -> None:
    """The functions that take most time themselves, callees left out."""
    profile = cProfile.Profile()
    profile.runcall(read_all, reader, notes)
    stats: dict[tuple[str, int, str], tuple[int, int, float, float, Any]] = vars(pstats.Stats(profile))["stats"]
    total = sum(entry[2] for entry in stats.values())
    own = {place: entry for place, entry in stats.items() if "zonule" in place[0]}
    print("| function | calls per note | own time | with callees |\n| --- | --- | --- | --- |")
    for (file, _, name), entry in sorted(own.items(), key=lambda item: -item[1][2])[:count]:
        room = Path(file).with_suffix("").as_posix().rpartition("zonule/")[2].replace("/", ".")
        print(f"| `{room}.{name}` | {entry[1] / len(notes):.0f} | {entry[2] / total:.1%} | {entry[3] / total:.1%} |")
    print()


def measure_growth(reader: Any, pieces: list[tuple[float, str]]) -> None:
    """Ten times the length: one long dictation copied ten times, and ten texts joined against the same ten apart.

    Without garbage collection, whose cost depends on all that the process holds; the cost of one is told beside it.
    """
    longest = max((p.read_text("utf-8") for p in ROOT.glob("samples/*.txt")), key=lambda text: len(text.split())) + "\n"
    parts = [build_note(pieces, 1000, seed) + "\n" for seed in range(10)]
    gc.disable()
    for what, ones in (("longest sample, copied", [longest] * 10), ("ten different texts, joined", parts)):
        whole = ["".join(ones)]
        few, many = (median(seconds(read_all, reader, t) for _ in range(RUNS)) * 1000 for t in (ones, whole))
        print(f"x10 length, {what}: {few / 10:.1f} -> {many:.1f} ms, x{many / few * 10:.2f} (goal <= 11)")
    gc.enable()
    print(f"one full garbage collection: {median(seconds(gc.collect) for _ in range(RUNS)) * 1000:.0f} ms")


def measure_lexicon(notes: list[str], size: int = 20) -> None:
    """Ten times the terms, the further ones said in invented words; two new readers, notes first met, then again."""
    reader = build_reader()
    with tempfile.TemporaryDirectory() as folder:
        _write_terms(reader.lexicon.terms, Path(folder) / "more.toml")
        large = build_reader(Path(folder))
    for each in (reader, large):
        read_all(each, notes[:size])
    print(f"x10 lexicon: {len(reader.lexicon.terms):,} -> {len(large.lexicon.terms):,} terms (goal <= 1.5)")
    parts = [notes[first : first + size] for first in range(size, size * 4, size)]
    for what in ("first met", "met again"):
        times = [[seconds(read_all, r, part) / size * 1000 for r in (reader, large)] for part in parts]
        few, many = (median(column) for column in zip(*times, strict=True))
        print(f"  notes {what}: {few:.1f} -> {many:.1f} ms per note, x{median(t[1] / t[0] for t in times):.2f}")


def _write_terms(terms: Any, path: Path) -> None:
    draw = random.Random(1)
    with path.open("w", encoding="utf-8") as file:
        for number in range(9):
            words: defaultdict[str, str] = defaultdict(lambda: _invent(draw))
            for term in terms:
                forms = json.dumps([" ".join(words[word] for word in form.split()) for form in term.forms])
                kind = term.kind or "word"
                file.write(f'[[term]]\nid = "{term.id}_{number}"\nkind = "{kind}"\nforms = {forms}\n')


def _invent(draw: random.Random) -> str:
    return "".join(draw.choice("bdfgklmnprstvz") + draw.choice("aeiou") for _ in range(draw.randint(3, 5)))


def peak_megabytes() -> float:
    """The most memory this process has held, in MB; Linux only."""
    status = Path("/proc/self/status").read_text("utf-8")
    return int(re.findall(r"VmHWM:\s*(\d+) kB", status)[0]) / 1024


def measure_memory(rounds: list[list[str]]) -> None:
    """Peak memory of a process that builds the reader and reads a round of notes, and of one that reads 1 MB."""
    notes = rounds[0]
    long = "\n".join("\n".join(n) for n in rounds).encode()[:1_000_000].decode("utf-8", "ignore")
    for what, texts in (("one note", notes[:1]), (f"{NOTES} notes", notes), ("one dictation of 1 MB", [long])):
        peak = _call_self(Path(sys.executable), "memory", {"notes": texts})
        print(f"peak memory, {what}: {peak:.0f} MB (goal < 300)")


def measure_start() -> None:
    """User CPU of a process: importing spaCy, and the whole of `zonule read` on the first sample, started again."""
    sample = str(ROOT / "samples/01-routine-punctuated.txt")
    commands = {
        "import spacy": [sys.executable, "-c", "import spacy"],
        "zonule read": [str(Path(sys.executable).parent / "zonule"), "read", sample],
    }
    times: dict[str, list[float]] = {name: [] for name in commands}
    for _ in range(RUNS):
        for name, command in commands.items():
            times[name].append(_user_seconds(command))
    bare, ours = (median(times[name][1:]) for name in commands)
    print(f"\nstart-up, user CPU: import spacy {bare:.3f} s, zonule read {ours:.3f} s, x{ours / bare:.2f} (goal < 1.5)")


def _user_seconds(command: list[str]) -> float:
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        sys.exit(f"{command[0]} ended with {process.returncode}; expected 0. Run it by itself to see why.")
    return usage.ru_utime


def _call_self(python: Path, task: str, data: dict[str, Any]) -> float:
    with tempfile.NamedTemporaryFile("w", suffix=".json", encoding="utf-8") as file:
        json.dump(data, file)
        file.flush()
        call = [str(python), __file__, f"--task={task}", file.name]
        done = subprocess.run(call, stdout=subprocess.PIPE, check=True, text=True)
    return float(done.stdout.split()[-1])


def make_reference(folder: Path) -> Path:
    """The interpreter of an environment with medspaCy, made if it is missing."""
    python = folder / "bin/python"
    if not python.exists():
        venv.create(folder, with_pip=True)
        subprocess.run([python, "-m", "pip", "install", "-q", "medspacy==1.3.1"], check=True, stdout=sys.stderr)
    return python


def run_reference(notes: list[str], forms: list[str]) -> float:
    """CPU seconds of medspaCy: its own default pipeline (PyRuSH, target matcher, ConText), every form a target rule.

    Its log is switched off, which makes it quicker; building it and a first note are not counted.
    """
    importlib.import_module("loguru").logger.remove()
    nlp = importlib.import_module("medspacy").load()
    rule = importlib.import_module("medspacy.target_matcher").TargetRule
    nlp.get_pipe("medspacy_target_matcher").add([rule(form, "TERM") for form in forms])
    nlp(notes[-1])
    return seconds(_each, nlp, notes)


def name_machine() -> None:
    """Processor, versions and how busy the machine is."""
    model = re.search(r"model name\s*: (.*)", Path("/proc/cpuinfo").read_text("utf-8"))
    print(f"{model.group(1) if model else 'unknown processor'}, {os.cpu_count()} cores, one used;", end=" ")
    print(f"Python {sys.version.split()[0]}, spaCy {version('spacy')}, rapidfuzz {version('rapidfuzz')},", end=" ")
    print(f"pydantic {version('pydantic')}; load at the start {os.getloadavg()[0]:.1f}")


def measure(reference: Path) -> None:
    """All of it, in the order of the page."""
    name_machine()
    pieces = collect_pieces()
    speed, stages, hottest, lexicon = (build_rounds(pieces, first) for first in range(1, 5))
    lengths = [len(note.split()) for notes in speed for note in notes]
    print(f"{ROUNDS} rounds of {NOTES} notes, {len(pieces):,} pieces, median {median(lengths):.0f} words a note\n")
    reader = build_reader()
    first = seconds(read_all, reader, build_rounds(pieces, 0)[0])
    print(f"the first {NOTES} notes of a process: {NOTES / first:.1f} notes per second; thereafter:\n")
    compare_speed(reader, speed, make_reference(reference))
    time_stages(reader, stages)
    name_hottest(reader, hottest[0])
    measure_growth(reader, pieces)
    measure_lexicon(lexicon[0])
    measure_memory(speed)
    measure_start()
    print(f"load at the end {os.getloadavg()[0]:.1f}")


def main() -> None:
    """The measurement, or one task of it in a process of its own."""
    parser = argparse.ArgumentParser(description="Prints the figures of docs/benchmarks.md.")
    parser.add_argument("--reference", type=Path, default=Path(tempfile.gettempdir()) / "medspacy-environment")
    parser.add_argument("--task", choices=("memory", "medspacy"), help=argparse.SUPPRESS)
    parser.add_argument("file", type=Path, nargs="?", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    os.sched_setaffinity(0, {0})
    if asked.task is None:
        measure(asked.reference)
        return
    data = json.loads(asked.file.read_text("utf-8"))
    if asked.task == "medspacy":
        print(run_reference(**data))
    else:
        read_all(build_reader(), data["notes"])
        print(peak_megabytes())


if __name__ == "__main__":
    main()

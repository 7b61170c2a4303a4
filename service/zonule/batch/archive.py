"""A whole archive: read what is not yet read, then sum up."""

import json
from collections.abc import Iterable, Iterator
from contextlib import AbstractContextManager, ExitStack
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

from zonule import __version__
from zonule.batch.chunk_reading import Chunk, Job
from zonule.batch.engine import Done, read_here, read_on, workers_at, workers_here
from zonule.batch.parts import Parts, Plan
from zonule.batch.sources import Source, open_source
from zonule.batch.summary import Summary, summarize
from zonule.casework import load_all_requirements
from zonule.lexicon.fingerprint import lexicon_fingerprint
from zonule.output import write_whole
from zonule.settings import lexicon_folders


@dataclass(frozen=True)
class Order:
    """What a person asked for. `workers` is how many processes read here; `scheduler` sends the work to a cluster."""

    archive: Path
    output: Path
    column: str | None = None
    key: str | None = None
    format: str = "parquet"
    documents: bool = False
    standard: str = "default"
    keep: tuple[str, ...] = ()
    chunk: int = 100
    workers: int = 1
    scheduler: str | None = None


def read_archive(order: Order, bar: Any) -> Summary:
    """Reads the archive into the output folder and returns what it holds; a run that was stopped goes on.

    `bar` shows the progress: `bar.total`, `bar.update(notes)`. Raises InputError or OutputError for an archive, a
    scheduler or a folder that cannot be used, and UnknownNameError for a requirement set that nobody defined.
    """
    load_all_requirements().of_set(order.standard)
    source = open_source(order.archive, order.column, order.key)
    job = Job(lexicon_fingerprint(lexicon_folders()), order.standard, order.keep, order.documents)
    parts = Parts(order.output, _plan(order, source, job))
    with parts.held():
        bar.total = source.count()
        bar.refresh()
        for chunk, notes in _read(order, _open_chunks(source, order.chunk, parts.done(), bar), job):
            parts.write(chunk.number, notes)
            bar.update(len(chunk.items))
        summary = summarize(parts, source.left_out())
        write_whole(order.output / "summary.json", (json.dumps(summary.as_dict(), indent=2) + "\n").encode())
    return summary


def _plan(order: Order, source: Source, job: Job) -> Plan:
    return Plan(
        source.fingerprint(), order.column, order.key, order.chunk, order.format, order.documents, order.standard,
        order.keep, job.lexicon, __version__,
    )  # fmt: skip


def _open_chunks(source: Source, size: int, done: frozenset[int], bar: Any) -> Iterator[Chunk]:
    """The chunks that are not yet done."""
    items = source.items()
    number = 0
    while held := tuple(islice(items, size)):
        if number in done:
            bar.update(len(held))
        else:
            yield Chunk(number, held)
        number += 1


def _read(order: Order, chunks: Iterable[Chunk], job: Job) -> Iterator[Done]:
    with ExitStack() as stack:
        workers: AbstractContextManager[Any] | None = None
        if order.scheduler:
            workers = workers_at(order.scheduler)
        elif order.workers > 1:
            workers = workers_here(order.workers)
        yield from read_on(stack.enter_context(workers), chunks, job) if workers else read_here(chunks, job)

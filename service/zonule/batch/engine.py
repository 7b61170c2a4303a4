"""Who reads the chunks: this process, workers on this machine, or the workers of a cluster. The rows are the same."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from importlib import import_module
from itertools import islice
from typing import Any

from zonule.batch.chunk_reading import Chunk, Job, read_chunk
from zonule.batch.rows import NoteRows, fault_rows
from zonule.errors import InputError

AHEAD = 3
"""Chunks under way for each worker: enough that none waits, few enough that memory stays flat."""
FORGETFUL = {"distributed.worker.profile.enabled": False, "distributed.admin.low-level-log-length": 10}
"""Workers otherwise keep a growing tree of their own calls, and the scheduler the last thousand chunks it sent."""
LOST = "the worker was lost while reading it, more than once."
Done = tuple[Chunk, list[NoteRows]]


def read_here(chunks: Iterable[Chunk], job: Job) -> Iterator[Done]:
    """Reads in this process."""
    for chunk in chunks:
        yield chunk, read_chunk(chunk, job)


def read_on(client: Any, chunks: Iterable[Chunk], job: Job) -> Iterator[Done]:
    """Reads on the workers of a Dask client, in the order in which they finish."""
    dask = _library()
    left = iter(chunks)
    ahead = AHEAD * max(1, sum(client.nthreads().values()))
    under_way = {_submit(client, chunk, job): chunk for chunk in islice(left, ahead)}
    finished = dask.as_completed(list(under_way))
    for future in finished:
        chunk = under_way.pop(future)
        try:
            notes = future.result()
        except dask.KilledWorker:
            notes = [note for item in chunk.items for note in _read_alone(client, Chunk(chunk.number, (item,)), job)]
        yield chunk, notes
        for following in islice(left, 1):
            submitted = _submit(client, following, job)
            under_way[submitted] = following
            finished.add(submitted)


@contextmanager
def workers_here(count: int) -> Iterator[Any]:
    """A Dask client with its own workers on this machine; they listen on loopback only."""
    dask = _library()
    with import_module("dask").config.set(FORGETFUL):
        own = dask.LocalCluster(
            n_workers=count, threads_per_worker=1, host="127.0.0.1", dashboard_address=None, memory_limit=0
        )
        with own as cluster, dask.Client(cluster) as client:
            yield client


@contextmanager
def workers_at(scheduler: str) -> Iterator[Any]:
    """A Dask client of the scheduler at an address such as `tcp://10.0.0.5:8786`.

    Raises InputError when nobody answers there.
    """
    try:
        client = _library().Client(scheduler, timeout="20s")
    except (OSError, ValueError) as fault:
        raise InputError(
            f"--scheduler: expected the address of a running scheduler, got {scheduler!r}, where none answers. "
            "Start one, or leave the option out."
        ) from fault
    with client:
        yield client


def _library() -> Any:
    """Dask's distributed part; it carries no types, and only a run with workers loads it."""
    return import_module("distributed")


def _submit(client: Any, chunk: Chunk, job: Job) -> Any:
    return client.submit(read_chunk, chunk, job, pure=False)


def _read_alone(client: Any, chunk: Chunk, job: Job) -> list[NoteRows]:
    """The note of a chunk that took its workers down, on its own: only the one at fault is given up."""
    dask = _library()
    try:
        notes: list[NoteRows] = _submit(client, chunk, job).result()
    except dask.KilledWorker:
        item = chunk.items[0]
        return [fault_rows(item.place, item.key, item.data, LOST)]
    return notes

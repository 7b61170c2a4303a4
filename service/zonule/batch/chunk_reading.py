"""What a worker does: read a chunk of notes. It builds the pipeline once, on the first chunk."""

from dataclasses import dataclass
from functools import lru_cache

from zonule.batch.rows import NoteRows, fault_rows, note_rows
from zonule.batch.sources import Item
from zonule.casework import Given, load_all_requirements, work_case
from zonule.dictation import read_bytes
from zonule.errors import LexiconError, ZonuleError
from zonule.export import RENDERERS
from zonule.lexicon.fingerprint import lexicon_fingerprint
from zonule.pipeline import Reader
from zonule.requirements import Requirements
from zonule.settings import lexicon_folders


@dataclass(frozen=True)
class Chunk:
    """Notes that are read together and make one part of the output."""

    number: int
    items: tuple[Item, ...]


@dataclass(frozen=True)
class Job:
    """How every note is read. `lexicon` is the fingerprint of the lexicon that all workers must hold."""

    lexicon: str
    standard: str
    keep: tuple[str, ...] = ()
    documents: bool = False


def read_chunk(chunk: Chunk, job: Job) -> list[NoteRows]:
    """The rows of each note of the chunk, in order. Raises LexiconError on a machine with another lexicon."""
    reader, requirements = _pipeline(job.lexicon)
    given = Given(keep=job.keep, standard=job.standard)
    return [_read(item, reader, requirements, given, job.documents) for item in chunk.items]


@lru_cache(maxsize=1)
def _pipeline(lexicon: str) -> tuple[Reader, Requirements]:
    folders = lexicon_folders()
    held = lexicon_fingerprint(folders)
    if held != lexicon:
        raise LexiconError(
            f"Worker: expected the lexicon {lexicon[:12]}, got {held[:12]}. "
            "Give every machine the same version and the same clinic folder."
        )
    return Reader(*folders), load_all_requirements()


def _read(item: Item, reader: Reader, requirements: Requirements, given: Given, documents: bool) -> NoteRows:
    if item.fault:
        return fault_rows(item.place, item.key, item.data, item.fault)
    try:
        work = work_case(reader, requirements, read_bytes(item.data, item.key), given)
        wanted = documents and work.record.is_operation_note
        made = RENDERERS["docx"](work.record, work.report, None) if wanted else None
    except ZonuleError as fault:
        return fault_rows(item.place, item.key, item.data, str(fault))
    except Exception as fault:  # one note must not stop an archive; its words must not reach the reason
        return fault_rows(item.place, item.key, item.data, f"an internal fault ({type(fault).__name__}).")
    return note_rows(item.place, item.key, item.data, work, made if isinstance(made, bytes) else None)

"""From a dictation to its record: the whole way on one page."""

import gc
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from pathlib import Path

from zonule.annotation.annotator import Annotator
from zonule.annotation.quantities import Units
from zonule.assembly import assemble_record
from zonule.assertion import assert_mentions
from zonule.binding.facts import bind_facts
from zonule.binding.reading import Reading
from zonule.binding.unread import find_unread
from zonule.compiled import load_compiled
from zonule.corrections import apply_corrections
from zonule.dictation import Dictation
from zonule.normalization.normalizer import Normalizer
from zonule.normalization.numbers import load_number_words
from zonule.recognition import reads_as_operation
from zonule.record import OperationRecord
from zonule.settings import cache_folder
from zonule.sides import tell_sides_apart


@contextmanager
def built_to_stay() -> Iterator[None]:
    """Building the reader makes many objects that all stay: looking among them for garbage only costs time."""
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        if collecting:
            gc.enable()


def _number_folders(shipped: Path, *others: Path) -> list[Path]:
    """Where the files of the number grammar stand; in a clinic's folder they may lie at the top."""
    return [shipped / "common", *(place for folder in others for place in (folder, folder / "common"))]


class Reader:
    """Reads dictations; built once from the lexicon folders, the shipped one first. Several threads may share one."""

    def __init__(self, *folders: Path) -> None:
        with built_to_stay():
            self.lexicon, tables = load_compiled(folders, cache_folder())
            numbers = load_number_words(*_number_folders(*folders))
            self._normalizer = Normalizer(self.lexicon, tables, numbers)
            self._annotator = Annotator(self.lexicon, tables, Units(numbers))

    def read(self, dictation: Dictation, keep: Collection[str] = (), *, addendum: bool = False) -> OperationRecord:
        """The record of one dictation.

        `keep` are heard words that must not be repaired. An `addendum` may hold single facts; any other text that does
        not read as an operation note yields none.
        """
        aligned = self._normalizer.normalize(dictation, keep)
        corrected = apply_corrections(self._annotator.annotate(aligned))
        said_instead = frozenset(r.by.start for r in corrected.retracted if r.by is not None and r.by.kind == "eye")
        asserted = tell_sides_apart(corrected.annotation, assert_mentions(corrected.annotation), said_instead)
        taken = frozenset(i for r in corrected.retracted for i in range(r.mention.start, r.mention.end))
        instead = {r.by.start: r.mention for r in reversed(corrected.retracted) if r.by is not None}
        reading = Reading(
            corrected.annotation, tuple(asserted), self.lexicon, self._annotator.grammar, corrected.cues, taken, instead
        )
        facts = bind_facts(reading)
        unread = find_unread(reading, facts)
        del reading, asserted
        record = assemble_record(dictation, corrected.annotation, facts, corrected.retracted, unread)
        return record if addendum or reads_as_operation(record) else OperationRecord(is_operation_note=False)

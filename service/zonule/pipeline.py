"""From a dictation to its record: the whole way on one page."""

import gc
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from pathlib import Path

from zonule.annotation.annotator import Annotator
from zonule.annotation.quantities import load_units
from zonule.assembly import assemble_record
from zonule.assertion import assert_mentions
from zonule.binding.facts import bind_facts
from zonule.binding.reading import Reading
from zonule.corrections import apply_corrections
from zonule.dictation import Dictation
from zonule.lexicon import Lexicon, load_lexicon
from zonule.normalization.normalizer import Normalizer
from zonule.recognition import reads_as_operation
from zonule.record import OperationRecord
from zonule.sides import tell_sides_apart


@contextmanager
def no_collection() -> Iterator[None]:
    """Building the reader makes many small objects that all stay: looking for garbage meanwhile only costs time."""
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()


class Reader:
    """Reads dictations; built once from the lexicon folders, the shipped one first."""

    def __init__(self, *folders: Path) -> None:
        with no_collection():
            self.lexicon: Lexicon = load_lexicon(*folders)
            self._normalizer = Normalizer(self.lexicon, folders[0])
            self._annotator = Annotator(self.lexicon, load_units(folders[0] / "common"))

    def read(self, dictation: Dictation, keep: Collection[str] = (), *, addendum: bool = False) -> OperationRecord:
        """The record of one dictation.

        `keep` are heard words that must not be repaired. An `addendum` may hold single facts; any other text that does
        not read as an operation note yields none.
        """
        aligned = self._normalizer.normalize(dictation, keep)
        corrected = apply_corrections(self._annotator.annotate(aligned))
        asserted = tell_sides_apart(corrected.annotation, assert_mentions(corrected.annotation))
        taken = frozenset(i for r in corrected.retracted for i in range(r.mention.start, r.mention.end))
        reading = Reading(
            corrected.annotation, tuple(asserted), self.lexicon, self._annotator.grammar, corrected.cues, taken
        )
        facts = bind_facts(reading)
        record = assemble_record(dictation, corrected.annotation, facts, corrected.retracted)
        return record if addendum or reads_as_operation(record) else OperationRecord(is_operation_note=False)

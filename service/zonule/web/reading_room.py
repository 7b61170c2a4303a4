"""The reader of the service: built once, used by all requests, built anew when the unit's lexicon changes."""

import threading
import time
from datetime import date

from zonule.answers import answerable_slots
from zonule.case_data import CaseData
from zonule.casework import Casework, Given, load_all_requirements, work_case
from zonule.dictation import Dictation
from zonule.errors import InputError
from zonule.export import RENDERERS
from zonule.labels import LensLabel
from zonule.lexicon import Lexicon
from zonule.pipeline import Reader
from zonule.requirements import Requirements
from zonule.settings import lexicon_folders
from zonule.web.metrics import Metrics
from zonule.web.problems import ProblemError

AT_ONCE = 2
"""Readings under way at the same time; more only wait for each other."""
PATIENCE_S = 30.0
"""How long a reading waits for its turn."""


class ReadingRoom:
    """Reads dictations for many requests at once."""

    def __init__(self, metrics: Metrics) -> None:
        self._metrics = metrics
        self._turns = threading.BoundedSemaphore(AT_ONCE)
        self.reload()

    def reload(self) -> None:
        """Builds the reader and the requirements from the folders as they are now."""
        self.reader = Reader(*lexicon_folders())
        self.requirements: Requirements = load_all_requirements()

    @property
    def lexicon(self) -> Lexicon:
        """The lexicon in use."""
        return self.reader.lexicon

    def work(self, dictation: Dictation, given: Given) -> Casework:
        """Works one case; raises what `work_case` raises, and ProblemError 503 when too many wait."""
        if not self._turns.acquire(timeout=PATIENCE_S):
            raise ProblemError(503, "Too many readings at once; try again in a moment.", {"retry-after": "5"})
        began = time.perf_counter()
        try:
            return work_case(self.reader, self.requirements, dictation, given)
        except RecursionError as fault:
            raise InputError("The dictation: expected plain text, got one nested too deeply; shorten it.") from fault
        finally:
            self._turns.release()
            self._metrics.count_reading(time.perf_counter() - began)


def known_names(room: ReadingRoom) -> frozenset[str]:
    """Names of the program itself, which an error may quote: slots, terms, sets, formats, columns."""
    return frozenset(
        (
            *answerable_slots(),
            *(term.id for term in room.lexicon.terms),
            *(s.id for s in room.requirements.sets),
            *RENDERERS,
            *CaseData.model_fields,
            *LensLabel.model_fields,
        )
    )


def today() -> date:
    """The day on this machine."""
    return date.today()

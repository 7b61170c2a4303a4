"""The reader of the service: built once, used by all requests, built anew when the unit's lexicon changes."""

import logging
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from enum import StrEnum

from zonule.answers import answerable_slots
from zonule.case_data import CaseData
from zonule.casework import Casework, Given, load_all_requirements, work_case
from zonule.dictation import Dictation
from zonule.errors import InputError, LexiconError
from zonule.export import RENDERERS
from zonule.labels import LensLabel
from zonule.lexicon import Lexicon
from zonule.pipeline import Reader
from zonule.settings import clinic_folder, lexicon_folders
from zonule.store import CaseState, CorrectionKind, NoteState, Role
from zonule.vocabulary import Eye
from zonule.web.metrics import Metrics
from zonule.web.problems import ProblemError

log = logging.getLogger("zonule.service")
LONG = 30_000
"""Characters from which a dictation waits in the lane of long ones, so that nobody's page waits for it."""
LOOK_EVERY_S = 2.0
"""How often the unit's folder is looked at for changes."""
PATIENCE_S = 30.0
"""How long a reading waits for its turn."""
RENEW_AFTER = 20_000
"""Readings after which the reader is built anew: it keeps every word that it ever met, a patient's name too."""
MOST_WAITING = 20
"""Readings that may wait or run at once: the rest of the service needs its threads too."""

VOCABULARIES: tuple[type[StrEnum], ...] = (Role, NoteState, CaseState, CorrectionKind, Eye)


class ReadingRoom:
    """Reads dictations for many requests at once."""

    def __init__(self, metrics: Metrics) -> None:
        self._metrics = metrics
        # Reading keeps a processor busy: two at once would only take turns, and both take twice as long.
        self._lanes = (threading.Lock(), threading.Lock())
        self._places = threading.BoundedSemaphore(MOST_WAITING)
        self._renewing = threading.Lock()
        self.reload()

    def reload(self) -> None:
        """Builds the reader and the requirements from the folders as they are now."""
        self._state, self._looked, self._readings = _state_of_unit_folder(), time.monotonic(), 0
        reader, requirements = Reader(*lexicon_folders()), load_all_requirements()
        self.reader, self.requirements = reader, requirements

    def refresh(self) -> None:
        """Reloads after many readings, and when somebody, here or in another process, has changed the unit's lexicon.

        A folder that became broken leaves the reader as it was: the log says so.
        """
        if time.monotonic() - self._looked < LOOK_EVERY_S or not self._renewing.acquire(blocking=False):
            return
        try:
            self._looked = time.monotonic()
            if self._readings > RENEW_AFTER or _state_of_unit_folder() != self._state:
                self.reload()
        except LexiconError as fault:
            log.error("lexicon of the unit not reloaded: %s", fault)
        finally:
            self._renewing.release()

    @property
    def lexicon(self) -> Lexicon:
        """The lexicon in use."""
        return self.reader.lexicon

    def work(self, dictation: Dictation, given: Given) -> Casework:
        """Works one case; raises what `work_case` raises, and ProblemError 503 when too many wait."""
        with self._turn(len(dictation.text)):
            began = time.perf_counter()
            try:
                self.refresh()
                self._readings += 1
                return work_case(self.reader, self.requirements, dictation, given)
            except RecursionError as fault:
                raise InputError("The dictation: expected plain text, got it nested too deep; shorten it.") from fault
            finally:
                self._metrics.count_reading(time.perf_counter() - began)

    @contextmanager
    def _turn(self, length: int) -> Iterator[None]:
        """A place in the lane for dictations of this length."""
        lane = self._lanes[length >= LONG]
        if not self._places.acquire(blocking=False):
            raise _busy()
        try:
            if not lane.acquire(timeout=PATIENCE_S):
                raise _busy()
            try:
                yield
            finally:
                lane.release()
        finally:
            self._places.release()


def _busy() -> ProblemError:
    return ProblemError(503, "Too many readings at once; try again in a moment.", {"retry-after": "5"})


def known_names(room: ReadingRoom) -> frozenset[str]:
    """Names of the program itself, which an error may quote: slots, terms, sets, formats, columns, vocabularies."""
    return frozenset(
        (
            *answerable_slots(),
            *(term.id for term in room.lexicon.terms),
            *(s.id for s in room.requirements.sets),
            *RENDERERS,
            *CaseData.model_fields,
            *LensLabel.model_fields,
            *(member.value for kind in VOCABULARIES for member in kind),
        )
    )


def _state_of_unit_folder() -> tuple[tuple[str, int, int], ...]:
    """Name, time and size of every file of the unit's own lexicon."""
    folder = clinic_folder()
    files = sorted(folder.rglob("*.toml")) if folder and folder.is_dir() else []
    return tuple((str(file), file.stat().st_mtime_ns, file.stat().st_size) for file in files)


def today() -> date:
    """The day on this machine."""
    return date.today()

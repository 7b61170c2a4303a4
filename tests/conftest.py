"""What tests share: the reader of the shipped lexicon, built once, and the settings of the property tests."""

import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, settings

if TYPE_CHECKING:
    from zonule.pipeline import Reader
    from zonule.requirements import Requirements

# Nothing is timed, and the same cases are drawn on every machine.
settings.register_profile(
    "zonule", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
settings.load_profile("zonule")

# The compiled lexicon of the tests is none of the user's.
os.environ["ZONULE_CACHE"] = str(Path(tempfile.gettempdir()) / "zonule-tests")


@pytest.fixture(scope="session")
def reader() -> "Reader":
    """Reads with the shipped lexicon alone. Imported here, so that tests of other rooms start without it."""
    from zonule.pipeline import Reader
    from zonule.settings import lexicon_folder

    return Reader(lexicon_folder())


@pytest.fixture(scope="session")
def requirements() -> "Requirements":
    """What the shipped lexicon asks of a note."""
    from zonule.requirements import load_requirements
    from zonule.settings import lexicon_folder

    return load_requirements(lexicon_folder())

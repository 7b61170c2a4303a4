"""What the tests of gaps share: the shipped lexicon and requirements, read once."""

import pytest

from zonule.lexicon import Lexicon, load_lexicon
from zonule.requirements import Requirements, load_requirements
from zonule.settings import lexicon_folder


@pytest.fixture(scope="session")
def lexicon() -> Lexicon:
    """The shipped lexicon."""
    return load_lexicon(lexicon_folder())


@pytest.fixture(scope="session")
def requirements() -> Requirements:
    """The shipped requirements."""
    return load_requirements(lexicon_folder())

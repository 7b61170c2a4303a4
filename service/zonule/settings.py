"""Where things are found: the lexicon folders, the store, the cache. All else is an option of the command line."""

import os
from pathlib import Path

PACKAGED = Path(__file__).parent / "_lexicon"
CHECKOUT = Path(__file__).parents[2] / "lexicon"


def lexicon_folder() -> Path:
    """The shipped lexicon: the packaged copy, or the one of the checkout in an editable install."""
    return PACKAGED if PACKAGED.is_dir() else CHECKOUT


def clinic_folder() -> Path | None:
    """The clinic's own lexicon folder, laid over the shipped one: `ZONULE_LEXICON`, or none."""
    named = os.environ.get("ZONULE_LEXICON")
    return Path(named) if named else None


def lexicon_folders() -> list[Path]:
    """The lexicon folders in use, the shipped one first."""
    clinic = clinic_folder()
    return [lexicon_folder(), *([clinic] if clinic else [])]


def store_url() -> str:
    """The store: `ZONULE_STORE`, or a SQLite file in the user's folder for data."""
    named = os.environ.get("ZONULE_STORE")
    home = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return named or f"sqlite:///{home}/zonule/zonule.db"


def cache_folder() -> Path | None:
    """Where the compiled lexicon is kept: `ZONULE_CACHE`, or the user's cache folder; None where that is `off`."""
    named = os.environ.get("ZONULE_CACHE")
    if named:
        return None if named == "off" else Path(named)
    return Path(os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")) / "zonule"

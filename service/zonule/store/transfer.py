"""Everything out of one store and into another."""

from pathlib import Path

from zonule.store.database import Database


class Transfer:
    """Export and import of everything."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def export_all(self, path: Path) -> None:
        """Writes everything to a zip file."""
        raise NotImplementedError

    def import_all(self, path: Path) -> None:
        """Reads everything from a zip file into an empty store."""
        raise NotImplementedError

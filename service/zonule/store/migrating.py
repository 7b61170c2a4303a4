"""Brings a store to the newest form of its tables; every step is a file in `migrations/versions`."""

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection
from sqlalchemy.exc import DatabaseError

from zonule.errors import StoreError
from zonule.store.database import WRITES, Database, take_turn

MIGRATIONS = Path(__file__).parent / "migrations"


def migrate(database: Database, target: str = "head") -> tuple[str | None, str | None]:
    """Goes up or down to `target`; gives the form before and after. Whoever else migrates waits."""
    with database.connected() as connection:
        held = current_form(connection)
        if held == target or (target == "head" and held == newest_form()):
            return held, held
    with database.connected() as connection:
        connection.execution_options(**WRITES)
        with connection.begin():
            take_turn(connection, "migrations")
            held = current_form(connection)
            _check_known(held)
            if held != newest_form() or target != "head":
                try:
                    _run(connection, target, held)
                except DatabaseError:
                    raise _foreign() from None
            return held, current_form(connection)


def current_form(connection: Connection) -> str | None:
    """The form that the tables have; None for a store that is empty."""
    try:
        return MigrationContext.configure(connection).get_current_revision()
    except DatabaseError:
        raise _foreign() from None


def newest_form() -> str | None:
    """The form that this version of Zonule works with."""
    return _scripts().get_current_head()


def _run(connection: Connection, target: str, held: str | None) -> None:
    config = _config()
    config.attributes["connection"] = connection
    forms = [script.revision for script in _scripts().walk_revisions()][::-1]
    places = {"base": -1, "head": len(forms) - 1, **{form: at for at, form in enumerate(forms)}}
    if places[target] >= places.get(held or "base", -1):
        command.upgrade(config, target)
    else:
        command.downgrade(config, target)


def _check_known(held: str | None) -> None:
    if held is not None and held not in {script.revision for script in _scripts().walk_revisions()}:
        raise StoreError(f"Store: made by a newer Zonule (form {held}), this one knows {newest_form()}; update Zonule.")


def _foreign() -> StoreError:
    return StoreError("Store: expected an empty database or a zonule store, got another one; check the URL.")


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    return config


def _scripts() -> ScriptDirectory:
    return ScriptDirectory.from_config(_config())

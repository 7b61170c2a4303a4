"""`zonule store …`: everything out and in, backup and restore, verification, the newest form."""

import argparse
import getpass
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from zonule.errors import StoreError
from zonule.settings import store_url

if TYPE_CHECKING:
    from zonule.commands import Commands

ALTERED = 1
"""Exit code for a store that is not as it was written."""


def add_to(commands: "Commands") -> None:
    """Adds the commands."""
    parser = commands.add_parser(
        "store",
        help="export, back up, verify the notes",
        description="Works on the store of the service: a SQLite file or a PostgreSQL database.",
    )
    actions = parser.add_subparsers(title="actions", metavar="ACTION", required=True)
    for name, run, what in (
        ("export", run_export, "write everything to a zip of JSON lines"),
        ("import", run_import, "read an export into an empty store"),
        ("backup", run_backup, "write a backup while the service works on"),
        ("restore", run_restore, "make the store from a backup"),
        ("verify", run_verify, "check the file, the audit trail and every note"),
        ("upgrade", run_upgrade, "bring the store to the newest form of its tables"),
    ):
        action = actions.add_parser(name, help=what, description=f"{what[0].upper()}{what[1:]}.")
        if name not in ("verify", "upgrade"):
            action.add_argument("path", metavar="FILE", type=Path, help="the export or backup")
        if name == "restore":
            action.add_argument("--replace", action="store_true", help="put a SQLite store that is there aside")
        if name == "verify":
            action.add_argument("--hash", metavar="HASH", help="a last hash written down earlier, to be found")
        add_store_option(action)
        action.set_defaults(run=run)


def add_store_option(parser: argparse.ArgumentParser) -> None:
    """Which store; never with a password, which the list of processes would show."""
    parser.add_argument("--store", metavar="URL", help="the store; ZONULE_STORE if absent")


def chosen_store(options: argparse.Namespace) -> str:
    """The URL of the store that a command works on."""
    return options.store or store_url()


def existing_store(options: argparse.Namespace) -> str:
    """The same; raises StoreError for a file that is not there: a mistyped URL should make no empty store."""
    from zonule.store.database import parse_url, sqlite_file

    url = chosen_store(options)
    file = sqlite_file(parse_url(url))
    if file is not None and not file.is_file():
        raise StoreError(f"Store {file}: expected a store, got no file; check --store or ZONULE_STORE.")
    return url


def name_actor() -> str:
    """Who the audit trail names for what is done at the machine itself."""
    try:
        return "console:" + "".join(getpass.getuser().split())[:64]
    except (KeyError, OSError):
        return "console"


def run_export(options: argparse.Namespace) -> int:
    """Writes everything, and enters that into the audit trail."""
    from zonule.store import open_store

    with open_store(existing_store(options)) as store:
        store.trail.append(name_actor(), "store.export", "store")
        store.transfer.export_all(options.path)
    sys.stdout.write(f"Everything is in {options.path}. It holds patients' words: keep it as you keep the store.\n")
    return 0


def run_import(options: argparse.Namespace) -> int:
    """Reads everything into an empty store."""
    from zonule.store import open_store

    with open_store(chosen_store(options)) as store:
        store.transfer.import_all(options.path)
        store.trail.append(name_actor(), "store.import", "store")
    sys.stdout.write("Everything was read in and is as it was written.\n")
    return 0


def run_backup(options: argparse.Namespace) -> int:
    """Writes a backup."""
    from zonule.store import open_store
    from zonule.store.backup import back_up

    url = existing_store(options)
    with open_store(url) as store:
        store.trail.append(name_actor(), "store.backup", "store")
    back_up(url, options.path)
    sys.stdout.write(f"The backup is in {options.path}. It holds patients' words: keep it as you keep the store.\n")
    return 0


def run_restore(options: argparse.Namespace) -> int:
    """Makes the store from a backup and verifies it."""
    from zonule.store import open_store
    from zonule.store.backup import restore

    url = chosen_store(options)
    aside = restore(url, options.path, replace=options.replace)
    with open_store(url) as store:
        store.trail.append(name_actor(), "store.restore", "store")
    if aside:
        sys.stdout.write(f"The store that was there is now {aside}.\n")
    return run_verify(options)


def run_verify(options: argparse.Namespace) -> int:
    """Prints what is not as it was written; 1 when there is anything."""
    from zonule.store import open_store
    from zonule.store.verifying import verify_store

    with open_store(existing_store(options)) as store:
        found = verify_store(store.database, getattr(options, "hash", None))
    for fault in found.faults:
        sys.stdout.write(f"{fault}\n")
    if found.faults:
        return ALTERED
    sys.stdout.write(f"The store is as it was written: {found.entries} entries, the last one {found.last_hash}.\n")
    return 0


def run_upgrade(options: argparse.Namespace) -> int:
    """Brings the tables to the newest form."""
    from zonule.store.database import Database
    from zonule.store.migrating import migrate

    database = Database(chosen_store(options))
    try:
        before, after = migrate(database)
    finally:
        database.close()
    earlier = "" if before == after else f", before that {before or 'none'}"
    sys.stdout.write(f"The store has form {after}{earlier}.\n")
    return 0

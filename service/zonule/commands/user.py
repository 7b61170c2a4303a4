"""`zonule user …`: who works with the service. Passwords are asked for or read from standard input, never given."""

import argparse
import getpass
import sys
from typing import TYPE_CHECKING

from zonule.commands.store import add_store_option, chosen_store, existing_store, name_actor
from zonule.errors import InputError

if TYPE_CHECKING:
    from zonule.commands import Commands

ROLES = ("author", "signer", "auditor", "administrator")


def add_to(commands: "Commands") -> None:
    """Adds the commands."""
    parser = commands.add_parser(
        "user", help="who works with the service", description="Adds and changes the users of the service."
    )
    actions = parser.add_subparsers(title="actions", metavar="ACTION", required=True)
    add = _add(actions, "add", run_add, "add a user")
    add.add_argument("--full-name", metavar="NAME", required=True, help="as it stands under a note")
    _add_roles(add)
    add.add_argument("--no-password", action="store_true", help="the user logs in by single sign-on alone")
    _add(actions, "password", run_password, "set a user's password and end their sessions")
    _add_roles(_add(actions, "roles", run_roles, "set what a user may do"))
    disable = _add(actions, "disable", run_disable, "let a user no longer log in; what they signed stays")
    disable.add_argument("--undo", action="store_true", help="let the user log in again")
    listing = actions.add_parser("list", help="list the users", description="Name, full name, roles, state.")
    add_store_option(listing)
    listing.set_defaults(run=run_list)


def run_add(options: argparse.Namespace) -> int:
    """Adds a user."""
    from zonule.store import open_store

    password = None if options.no_password else _read_password()
    with open_store(chosen_store(options)) as store:
        user = store.users.add(options.name, options.full_name, options.roles, password, by=name_actor())
    sys.stdout.write(f"{user.name} was added.\n")
    return 0


def run_password(options: argparse.Namespace) -> int:
    """Sets a password."""
    from zonule.store import open_store

    with open_store(existing_store(options)) as store:
        store.users.get(options.name)
        store.users.set_password(options.name, _read_password(), by=name_actor())
    sys.stdout.write(f"The password of {options.name} is set; their sessions ended.\n")
    return 0


def run_roles(options: argparse.Namespace) -> int:
    """Sets roles."""
    from zonule.store import open_store

    with open_store(existing_store(options)) as store:
        user = store.users.set_roles(options.name, options.roles, by=name_actor())
    sys.stdout.write(f"{user.name}: {', '.join(user.roles)}.\n")
    return 0


def run_disable(options: argparse.Namespace) -> int:
    """Shuts a user out, or lets them in again."""
    from zonule.store import open_store

    with open_store(existing_store(options)) as store:
        change = store.users.enable if options.undo else store.users.disable
        user = change(options.name, by=name_actor())
    sys.stdout.write(f"{user.name} can {'no longer' if user.disabled else 'again'} log in.\n")
    return 0


def run_list(options: argparse.Namespace) -> int:
    """Prints the users, one a line."""
    from zonule.store import open_store

    with open_store(existing_store(options)) as store:
        users = store.users.all()
    for user in users:
        state = "disabled" if user.disabled else "active"
        sys.stdout.write(f"{user.name}\t{user.full_name}\t{','.join(user.roles)}\t{state}\n")
    return 0


def _add(actions: "Commands", name: str, run: object, what: str) -> argparse.ArgumentParser:
    action = actions.add_parser(name, help=what, description=f"{what[0].upper()}{what[1:]}.")
    action.add_argument("name", metavar="USER", help="small letters, digits, points, hyphens, underscores")
    add_store_option(action)
    action.set_defaults(run=run)
    return action


def _add_roles(action: argparse.ArgumentParser) -> None:
    action.add_argument(
        "--role", dest="roles", metavar="ROLE", choices=ROLES, action="append", required=True,
        help=f"{', '.join(ROLES)}; may be given again",
    )  # fmt: skip


def _read_password() -> str:
    """Asked for twice at a terminal; otherwise the first line of standard input."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    password = getpass.getpass("Password: ")
    if getpass.getpass("Again: ") != password:
        raise InputError("Password: expected the same twice, got two; try again.")
    return password

"""`zonule requirements`: what a note must hold, why, and who asks for it."""

import argparse
import sys
from typing import TYPE_CHECKING

from zonule.settings import lexicon_folders

if TYPE_CHECKING:
    from zonule.commands import Commands


def add_to(commands: "Commands") -> None:
    """Adds the command."""
    parser = commands.add_parser(
        "requirements",
        help="list what a note must hold, with sources",
        description="Lists the requirements of one set, each with its severity, question and published sources.",
    )
    parser.add_argument("--standard", metavar="NAME", default="default", help="the requirement set")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Prints the set."""
    from zonule.requirements import load_requirements

    folders = [f / "requirements" for f in lexicon_folders() if (f / "requirements").is_dir()]
    for item in load_requirements(*folders).of_set(options.standard).items:
        sys.stdout.write(f"{item.severity.value:6} {item.id}\n       {item.question}\n")
        for source in item.sources:
            sys.stdout.write(f"       - {source}\n")
    return 0

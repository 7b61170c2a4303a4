"""`zonule label`: what a lens label says."""

import argparse
import sys
from typing import TYPE_CHECKING

from zonule.commands.case_options import read_label

if TYPE_CHECKING:
    from zonule.commands import Commands


def add_to(commands: "Commands") -> None:
    """Adds the command."""
    parser = commands.add_parser(
        "label",
        help="read a lens label",
        description="Reads the code of a lens label (GS1, HIBC or ICCBBA, as scanned or printed), or a picture of it, "
        "verifies its check digit and prints what it says.",
    )
    parser.add_argument("codes", metavar="CODE|IMAGE", nargs="+", help="the code, or a picture with the code in it")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Prints each label's fields."""
    for code in options.codes:
        label = read_label(code)
        for name, value in label.model_dump(mode="json").items():
            if value not in (None, "", [], ()):
                sys.stdout.write(f"{name}\t{value}\n")
    return 0

"""`zonule log`: the theater log of a list as CSV."""

import argparse
import sys
from typing import TYPE_CHECKING

from zonule.commands.case_options import add_case_options, read_case
from zonule.settings import lexicon_folders

if TYPE_CHECKING:
    from zonule.commands import Commands


def add_to(commands: "Commands") -> None:
    """Adds the command."""
    parser = commands.add_parser(
        "log",
        help="print the theater log of a list as CSV",
        description="Reads the dictations of a list and prints one row an operation, safe to open in a spreadsheet.",
    )
    parser.add_argument("files", metavar="FILE", nargs="+", help="dictations")
    add_case_options(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Prints the log."""
    from zonule.export.theatre_log import log_csv
    from zonule.pipeline import Reader

    reader = Reader(*lexicon_folders())
    sys.stdout.write(log_csv(read_case(reader, name, options).record for name in options.files))
    return 0

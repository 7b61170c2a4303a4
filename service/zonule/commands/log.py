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
    """Prints the log; a text that is no operation note gets no row and is named on standard error."""
    from zonule.casework import NOT_A_NOTE
    from zonule.export.theatre_log import log_csv
    from zonule.pipeline import Reader

    reader = Reader(*lexicon_folders())
    works = [read_case(reader, name, options) for name in options.files]
    sys.stdout.write(log_csv(work.record for work in works if work.record.is_operation_note))
    for work in works:
        if not work.record.is_operation_note:
            print(f"{work.dictation.name}: {NOT_A_NOTE}; it has no row.", file=sys.stderr)
    return 0

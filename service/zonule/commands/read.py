"""`zonule read`: the record of one dictation on standard output."""

import argparse
import sys
from typing import TYPE_CHECKING

from zonule.commands.case_options import add_case_options, read_case
from zonule.settings import lexicon_folders

if TYPE_CHECKING:
    from zonule.commands import Commands

FORMATS = ("text", "json", "slots", "gaps", "report")


def add_to(commands: "Commands") -> None:
    """Adds the command."""
    parser = commands.add_parser(
        "read",
        help="print the record of one dictation",
        description="Reads one dictation (text, SRT, VTT, or lines that start with [m:ss]) and prints its record.",
    )
    parser.add_argument("file", metavar="FILE", help="the dictation; - reads standard input")
    parser.add_argument(
        "--format",
        choices=FORMATS,
        default="text",
        help="text: for reading; json: the whole record; slots: one value a line; gaps: one gap a line; "
        "report: all gaps as JSON",
    )
    add_case_options(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Prints the record in the chosen format."""
    from zonule.pipeline import Reader

    work = read_case(Reader(*lexicon_folders()), options.file, options)
    sys.stdout.write(work.show(options.format))
    return 0

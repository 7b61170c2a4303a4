"""`zonule batch`: an archive of dictations into tables."""

import argparse
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from zonule.errors import InputError

if TYPE_CHECKING:
    from zonule.commands import Commands

STOPPED = 130
"""Exit code of a run that was stopped from the keyboard."""


def add_to(commands: "Commands") -> None:
    """Adds the command."""
    parser = commands.add_parser(
        "batch",
        help="read an archive of dictations into tables",
        description="Reads a folder of dictations, or a column of a JSONL, CSV or Parquet file, into tables of "
        "records, slots, gaps and repairs. A run that was stopped goes on when it is started again; a note that cannot "
        "be read is a row with its reason.",
    )
    parser.add_argument("archive", metavar="IN", type=Path, help="a folder, or a .jsonl, .csv or .parquet file")
    parser.add_argument("output", metavar="OUT", type=Path, help="the folder for the tables")
    parser.add_argument("--column", metavar="NAME", help="the column that holds the words (dictation, text or note)")
    parser.add_argument("--id", metavar="NAME", dest="key", help="the column that names each note")
    parser.add_argument("--format", choices=("parquet", "jsonl"), default="parquet", help="how the tables are written")
    parser.add_argument("--docx", action="store_true", help="write the note of each operation too")
    parser.add_argument("--standard", metavar="NAME", default="default", help="requirement set (see: requirements)")
    parser.add_argument("--keep", metavar="HEARD", action="append", default=[], help="do not repair these heard words")
    parser.add_argument("--chunk", metavar="N", type=int, default=100, help="notes that are read and written together")
    parser.add_argument("--workers", metavar="N", type=int, default=os.cpu_count() or 1, help="processes (every core)")
    parser.add_argument("--scheduler", metavar="ADDRESS", help="read on the Dask cluster of this scheduler instead")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Reads the archive and prints the summary."""
    for name in ("chunk", "workers"):
        if getattr(options, name) < 1:
            raise InputError(f"--{name}: expected a number from 1 up, got {getattr(options, name)}.")
    try:
        from tqdm import tqdm

        from zonule.batch.archive import Order, read_archive
    except ModuleNotFoundError as fault:
        raise InputError(
            f"zonule batch needs {fault.name}, which is not installed. Install it with: pip install 'zonule[batch]'."
        ) from fault
    named = {k: v for k, v in vars(options).items() if k in Order.__dataclass_fields__}
    order = Order(**{**named, "keep": tuple(options.keep), "documents": options.docx})
    try:
        with tqdm(unit=" notes", disable=None, dynamic_ncols=True) as bar:
            summary = read_archive(order, bar)
    except KeyboardInterrupt:
        print("zonule: stopped; the same command goes on from here.", file=sys.stderr)
        return STOPPED
    sys.stdout.write(summary.text())
    return 0

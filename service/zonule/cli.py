"""The command line. Heavy rooms are imported only by the command that needs them, so that help is quick."""

import argparse
import gc
import io
import sys
from collections.abc import Sequence

from zonule import __version__
from zonule.commands import batch, label, lexicon, log, note, read, requirements, score, serve, store, teach, user
from zonule.errors import ZonuleError

FAILED = 2
"""Exit code for input that cannot be used."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command; returns its exit code. Faults of the user's input become one sentence on standard error."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    parser = build_parser()
    options = parser.parse_args(arguments)
    if not hasattr(options, "run"):
        parser.print_help()
        return FAILED
    # Most of what a command builds stays until it ends: garbage is looked for rarely.
    gc.set_threshold(200_000, 50, 50)
    try:
        return int(options.run(options))
    except ZonuleError as fault:
        print(f"zonule: {fault}", file=sys.stderr)
        return FAILED
    except BrokenPipeError:
        sys.stderr.close()
        return 0


def build_parser() -> argparse.ArgumentParser:
    """All commands and options."""
    parser = argparse.ArgumentParser(
        prog="zonule",
        description="Reads a dictated eye operation into a structured record, says what is missing or contradictory, "
        "and writes the operation note. Nothing leaves this machine.",
        epilog="A note is a draft until its surgeon has read and signed it. Doses defer to the local formulary.",
    )
    parser.add_argument("--version", action="version", version=f"zonule {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")
    for command in (note, read, label, log, requirements, teach, score, batch, serve, store, user, lexicon):
        command.add_to(commands)
    return parser


if __name__ == "__main__":
    sys.exit(main())

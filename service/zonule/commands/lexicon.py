"""`zonule lexicon check`: validates the lexicon files."""

import argparse
import sys
from typing import TYPE_CHECKING

from zonule.settings import lexicon_folders

if TYPE_CHECKING:
    from zonule.commands import Commands


def add_to(commands: "Commands") -> None:
    """Adds the command."""
    parser = commands.add_parser("lexicon", help="validate the lexicon", description="Works on the lexicon files.")
    actions = parser.add_subparsers(title="actions", metavar="ACTION", required=True)
    check = actions.add_parser("check", help="validate every file", description="Names file, entry, expected and got.")
    check.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Loads everything; a fault is raised as LexiconError."""
    del options
    from zonule.pipeline import Reader
    from zonule.requirements import load_requirements

    folders = lexicon_folders()
    reader = Reader(*folders)
    requirements = load_requirements(*[f / "requirements" for f in folders if (f / "requirements").is_dir()])
    terms = len(reader.lexicon.terms)
    forms = sum(len(t.forms) for t in reader.lexicon.terms)
    sys.stdout.write(
        f"The lexicon is sound: {terms} terms with {forms} forms, {len(reader.lexicon.cues)} cues, "
        f"{len(reader.lexicon.frames)} frames, {len(requirements.items)} requirements.\n"
    )
    return 0

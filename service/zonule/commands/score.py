"""`zonule score`: annotated dictations against what is read from them."""

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from zonule.settings import lexicon_folders

if TYPE_CHECKING:
    from zonule.commands import Commands
    from zonule.scoring import Score

BELOW = 1
"""Exit code for a score below its threshold."""


def add_to(commands: "Commands") -> None:
    """Adds the command."""
    parser = commands.add_parser(
        "score",
        help="score annotated dictations",
        description="Reads the dictations that gold.toml in FOLDER names; prints hits, misses, extras and F1 of each "
        "slot, and false facts: values that the gold says must never appear.",
    )
    parser.add_argument("folder", metavar="FOLDER", type=Path, nargs="+")
    parser.add_argument("--threshold", type=float, default=0.0, metavar="F1", help="exit 1 when F1 is below this")
    parser.add_argument("--false-facts", type=int, metavar="N", help="exit 1 when there are more false facts than this")
    parser.add_argument("--details", action="store_true", help="list every miss, extra and false fact")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Prints the score; 1 when it fails a threshold."""
    from zonule.pipeline import Reader
    from zonule.scoring import Score, score_folder

    reader = Reader(*lexicon_folders())
    total = Score()
    for folder in options.folder:
        total.add(score_folder(folder, reader.read))
    sys.stdout.write(format_score(total, details=options.details))
    too_many = options.false_facts is not None and len(total.false_facts) > options.false_facts
    return BELOW if total.f1 < options.threshold or too_many else 0


def format_score(score: "Score", *, details: bool) -> str:
    """The score as a table."""
    lines = [f"{'slot':38} {'hits':>5} {'miss':>5} {'extra':>5} {'F1':>7}"]
    lines += [f"{slot:38} {h:5d} {m:5d} {e:5d} {f1:7.3f}" for slot, h, m, e, f1 in score.by_slot()]
    hits, misses, extras = sum(score.hits.values()), len(score.misses), len(score.extras)
    lines.append(f"{'all':38} {hits:5d} {misses:5d} {extras:5d} {score.f1:7.3f}")
    lines.append(f"false facts: {len(score.false_facts)}")
    if details:
        for name, rows in (("miss", score.misses), ("extra", score.extras), ("false", score.false_facts)):
            lines += [f"{name}\t{file}\t{slot}\t{value}" for file, slot, value in rows]
    return "\n".join(lines) + "\n"

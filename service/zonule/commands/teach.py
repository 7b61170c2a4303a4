"""`zonule teach`: the guide to a full note, a marked dictation, two notes side by side."""

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from zonule.commands.read import add_case_options
from zonule.settings import lexicon_folders

if TYPE_CHECKING:
    from zonule.commands import Commands
    from zonule.export import Outline


def add_to(commands: "Commands") -> None:
    """Adds the command."""
    parser = commands.add_parser("teach", help="teach what a full note holds", description="For those who learn.")
    actions = parser.add_subparsers(title="actions", metavar="ACTION", required=True)
    guide = actions.add_parser("guide", help="write the guide to a full operation note")
    guide.add_argument("--standard", metavar="NAME", default="default", help="the requirement set")
    guide.set_defaults(run=_guide)
    mark = actions.add_parser("mark", help="mark dictations: what was covered by which words, what was missed")
    mark.add_argument("files", metavar="FILE", nargs="+", help="dictations; the output is a folder for several")
    add_case_options(mark)
    mark.set_defaults(run=_mark)
    compare = actions.add_parser("compare", help="set two notes side by side")
    compare.add_argument("files", metavar="FILE", nargs=2, help="two dictations")
    add_case_options(compare)
    compare.set_defaults(run=_compare)
    for action in (guide, mark, compare):
        action.add_argument("-o", "--output", metavar="OUT", help="a .docx or .html; without it, text on the terminal")


def _guide(options: argparse.Namespace) -> int:
    from zonule.requirements import load_requirements
    from zonule.teaching import guide

    return _put(guide(load_requirements(*lexicon_folders()), options.standard), options.output)


def _mark(options: argparse.Namespace) -> int:
    from zonule.casework import read_case
    from zonule.pipeline import Reader
    from zonule.requirements import load_requirements
    from zonule.teaching import mark, marked_note

    reader, requirements = Reader(*lexicon_folders()), load_requirements(*lexicon_folders())
    for name in options.files:
        work = read_case(reader, name, options)
        outline = marked_note(mark(work.record, requirements, options.standard), work.dictation.name)
        several = len(options.files) > 1 and options.output
        _put(outline, str(Path(options.output) / f"{Path(name).stem}-marked.docx") if several else options.output)
    return 0


def _compare(options: argparse.Namespace) -> int:
    from zonule.casework import read_case
    from zonule.pipeline import Reader
    from zonule.teaching import compare, comparison

    reader = Reader(*lexicon_folders())
    first, second = (read_case(reader, name, options) for name in options.files)
    differences = compare(first.record, second.record)
    return _put(comparison(differences, (first.dictation.name, second.dictation.name)), options.output)


def _put(outline: "Outline", output: str | None) -> int:
    """Writes a document by the ending of its name, or text to the terminal."""
    from zonule.export import DocumentOptions
    from zonule.export.docx import write_docx
    from zonule.export.html import write_html
    from zonule.export.plain_text import write_plain_text
    from zonule.output import write_whole

    if output is None:
        sys.stdout.write(write_plain_text(outline))
        return 0
    html = output.lower().endswith((".html", ".htm"))
    data = write_html(outline).encode() if html else write_docx(outline, DocumentOptions())
    write_whole(Path(output), data)
    sys.stdout.write(f"written to {output}\n")
    return 0

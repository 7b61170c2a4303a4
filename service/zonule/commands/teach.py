"""`zonule teach`: the guide to a full note, marked dictations and progress over them, two notes side by side."""

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from zonule.commands.case_options import add_case_options, read_case
from zonule.errors import OutputError
from zonule.settings import lexicon_folders

if TYPE_CHECKING:
    from zonule.commands import Commands
    from zonule.export import Outline

ENDINGS = ("docx", "html")
FILE_ENDINGS = (".docx", ".html", ".htm")
PROGRESS = "progress"
"""Name of the document that tells of several dictations."""


def add_to(commands: "Commands") -> None:
    """Adds the command."""
    parser = commands.add_parser("teach", help="teach what a full note holds", description="For those who learn.")
    actions = parser.add_subparsers(title="actions", metavar="ACTION", required=True)
    guide = actions.add_parser("guide", help="write the guide to a full operation note")
    guide.add_argument("--standard", metavar="NAME", default="default", help="the requirement set")
    guide.set_defaults(run=_guide)
    mark = actions.add_parser("mark", help="mark dictations: what was covered by which words, what was missed")
    mark.add_argument("files", metavar="FILE", nargs="+", help="dictations; several give the progress over them too")
    mark.add_argument("--format", choices=ENDINGS, default="docx", help="what is written into a folder")
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
    """Each dictation marked; several also give their progress, in the order given."""
    from zonule.pipeline import Reader
    from zonule.requirements import load_requirements
    from zonule.teaching import cover, marked_note, progress

    targets = _mark_targets(options)
    reader, requirements = Reader(*lexicon_folders()), load_requirements(*lexicon_folders())
    coverages = []
    for name, target in zip(options.files, targets, strict=False):
        work = read_case(reader, name, options)
        coverages.append(cover(work.dictation.name, work.record, requirements, options.standard))
        _put(marked_note(coverages[-1].markings[0], work.dictation.name), target)
    if len(coverages) > 1:
        _put(progress(tuple(coverages)), targets[-1])
    return 0


def _mark_targets(options: argparse.Namespace) -> list[str | None]:
    """Where each marked dictation goes, and last the progress over several.

    Raises OutputError when several would go into one file.
    """
    output, several = options.output, len(options.files) > 1
    if output is None or (not several and Path(output).suffix.lower() in FILE_ENDINGS):
        return [output] * (len(options.files) + 1)
    names = [*(f"{_stem(name)}-marked" for name in options.files), PROGRESS]
    if Path(output).suffix.lower() in FILE_ENDINGS or len(set(names)) < len(names):
        raise OutputError(
            f"{output}: several documents would get the same name; expected a folder and files of different names."
        )
    return [str(Path(output) / f"{name}.{options.format}") for name in names]


def _stem(name: str) -> str:
    return "dictation" if name == "-" else Path(name).stem


def _compare(options: argparse.Namespace) -> int:
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

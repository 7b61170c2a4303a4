"""`zonule note`: the operation note of each dictation as DOCX, its gaps on the terminal."""

import argparse
import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from zonule.commands.case_options import add_case_options, read_case
from zonule.commands.read import FORMATS
from zonule.errors import InputError, OutputError
from zonule.settings import lexicon_folders

if TYPE_CHECKING:
    from zonule.casework import Casework
    from zonule.commands import Commands
    from zonule.export import DocumentOptions

ENDINGS = {
    "docx": ".docx", "html": ".html", "text": ".txt", "fhir": ".fhir.json", "cda": ".cda.xml", "eye": ".eye.svg",
    "timeline": ".timeline.svg",
}  # fmt: skip
"""Format id → ending of the file."""
OPEN_GAP = 1
"""Exit code of --strict when a `must` gap is open."""


def add_to(commands: "Commands") -> None:
    """Adds the command."""
    parser = commands.add_parser(
        "note",
        help="write the operation note of each dictation",
        description="Writes an operation note (DOCX) for each dictation and prints what is missing, contradictory, "
        "implausible, unclear or repaired, with the words and where they stand.",
    )
    parser.add_argument("files", metavar="FILE", nargs="+", help="dictations; - reads standard input")
    parser.add_argument("-o", "--output", metavar="OUT", help="a .docx for one dictation, or a folder (default: here)")
    parser.add_argument("--show", choices=FORMATS, help="also print the record in this format")
    parser.add_argument("--answer", metavar="SLOT=VALUE", action="append", default=[], help="answer a gap by hand")
    parser.add_argument(
        "--addendum", metavar="FILE", action="append", default=[], help="a dictation that adds or corrects"
    )
    parser.add_argument("--format", choices=tuple(ENDINGS), default="docx", help="document or exchange format")
    parser.add_argument("--unit", metavar="NAME", help="name of the unit for the page header")
    parser.add_argument("--remarks", action="store_true", help="add what was said but was not part of this operation")
    parser.add_argument("--codes", action="store_true", help="let exchange formats carry codes that may need a license")
    parser.add_argument("--view", choices=("facing", "from_head"), default="facing", help="how the eye is drawn")
    parser.add_argument("--paper", choices=("A4", "letter"), default="A4", help="page size")
    parser.add_argument("--steps", choices=("prose", "list"), default="prose", help="how the operation is told")
    parser.add_argument("--evidence", action="store_true", help="add the words behind each value as end notes")
    parser.add_argument("--template", metavar="DOCX", help="a template of the clinic's own")
    parser.add_argument("--timeline", action="store_true", help="add steps and settings over time, where it is timed")
    parser.add_argument(
        "--signed-by", metavar="NAME", help="who has read and signed it; a note with open items stays a draft"
    )
    parser.add_argument("--signed-at", metavar="ISO", help="when it was signed, such as 2026-03-12T14:05+00:00")
    parser.add_argument("--written-at", metavar="ISO", help="when it was written; fhir needs a time")
    parser.add_argument("--strict", action="store_true", help="exit 1 when something that must be stated is missing")
    add_case_options(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Writes the notes; returns 1 with --strict when a `must` gap is open."""
    from zonule.export import RENDERERS
    from zonule.output import write_whole
    from zonule.pipeline import Reader

    chosen = _document_options(options)
    targets = [_target(name, options) for name in options.files]
    if len(set(targets)) < len(targets):
        raise OutputError(f"{options.output}: two notes would get the same name; expected a folder. Name a folder.")
    reader = Reader(*lexicon_folders())
    blocked = False
    for name, target in zip(options.files, targets, strict=True):
        work = read_case(reader, name, options)
        if options.show:
            sys.stdout.write(work.show(options.show) + "\n")
        sys.stdout.write(work.gap_list())
        if work.record.is_operation_note:
            made = RENDERERS[options.format](work.record, work.report, chosen)
            write_whole(target, made if isinstance(made, bytes) else made.encode())
            sys.stdout.write(_outcome(work, target, chosen))
        blocked = blocked or work.report.blocks_signature or not work.record.is_operation_note
    return OPEN_GAP if options.strict and blocked else 0


def _outcome(work: "Casework", target: Path, chosen: "DocumentOptions") -> str:
    """Where the note is; and, when it was to be signed and cannot be, that it stays a draft."""
    name = work.dictation.name
    refused = chosen.signed_by is not None and not chosen.signed(work.report)
    draft = (
        f"{name}: not signed: something that must be stated is open, so the note stays a draft.\n" if refused else ""
    )
    return f"{name}: note written to {target}\n{draft}"


def _document_options(options: argparse.Namespace) -> "DocumentOptions":
    """What was chosen for the document. Raises InputError for an unreadable time or a signature without name."""
    from zonule.export import DocumentOptions

    if options.signed_by is not None and not options.signed_by.strip():
        raise InputError("--signed-by: expected the name of who signed, got none; give a name.")
    if options.signed_at and not options.signed_by:
        raise InputError("--signed-at: expected the name of who signed with it, got none; give --signed-by NAME too.")
    return DocumentOptions(
        paper=options.paper,
        steps=options.steps,
        evidence=options.evidence,
        template=Path(options.template) if options.template else None,
        signed_by=options.signed_by,
        signed_at=_time("--signed-at", options.signed_at),
        written_at=_time("--written-at", options.written_at),
        unit_name=options.unit,
        diagram_view=options.view,
        remarks=options.remarks,
        timeline=options.timeline,
        codes=options.codes,
    )


def _time(option: str, given: str | None) -> datetime | None:
    if given is None:
        return None
    try:
        return datetime.fromisoformat(given)
    except ValueError as fault:
        raise InputError(
            f"{option}: expected a time such as 2026-03-12T14:05+00:00, got {given!r}; give one."
        ) from fault


def _target(name: str, options: argparse.Namespace) -> Path:
    stem = "dictation" if name == "-" else Path(name).stem
    ending = ENDINGS[options.format]
    if options.output is None:
        return Path(f"{stem}{ending}")
    output = Path(options.output)
    if output.suffix.lower() == f".{ending.rpartition('.')[2]}" and not output.is_dir():
        return output
    return output / f"{stem}{ending}"

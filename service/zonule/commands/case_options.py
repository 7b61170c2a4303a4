"""What the commands that read a case take besides the dictation: case data, label, addenda, answers."""

import argparse
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from zonule.errors import InputError

if TYPE_CHECKING:
    from zonule.case_data import CaseData
    from zonule.casework import Casework
    from zonule.labels import LensLabel
    from zonule.pipeline import Reader

LONGEST_NAME = 255
"""Characters of a file name; what is longer is a code."""


def add_case_options(parser: argparse.ArgumentParser) -> None:
    """Options that `read`, `note` and `log` share."""
    parser.add_argument("--case", metavar="FILE", help="case data that need not be dictated (JSON, or CSV of a list)")
    parser.add_argument("--patient", metavar="NUMBER", help="the hospital number of the case in a CSV list")
    parser.add_argument("--label", metavar="CODE|IMAGE", action="append", default=[], help="the lens label as scanned")
    parser.add_argument("--keep", metavar="HEARD", action="append", default=[], help="do not repair these heard words")
    parser.add_argument("--standard", metavar="NAME", default="default", help="requirement set (see: requirements)")


def read_case(reader: "Reader", name: str, options: argparse.Namespace) -> "Casework":
    """Reads one dictation and everything given with it."""
    from zonule.casework import Given, load_all_requirements, work_case
    from zonule.dictation import read_file

    given = Given(
        addenda=tuple(read_file(addendum) for addendum in getattr(options, "addendum", [])),
        cases=_cases(options),
        label=_label(options),
        answers=_answers(getattr(options, "answer", [])),
        keep=tuple(options.keep),
        standard=options.standard,
        today=date.today(),
    )
    return work_case(reader, load_all_requirements(), read_file(name), given)


def read_label(code: str) -> "LensLabel":
    """The label of a code as scanned, or of a picture with the code in it."""
    from zonule.labels import decode_image, parse_label

    if len(code) <= LONGEST_NAME and Path(code).is_file():
        return decode_image(Path(code))
    return parse_label(code)


def _cases(options: argparse.Namespace) -> "tuple[CaseData, ...]":
    if not options.case:
        return ()
    from zonule.case_data import read_cases

    cases = read_cases(Path(options.case))
    if options.patient:
        cases = tuple(c for c in cases if c.hospital_number == options.patient)
        if not cases:
            raise InputError(f"Case data: expected a case with hospital number {options.patient!r}, got none.")
    return cases


def _label(options: argparse.Namespace) -> "LensLabel | None":
    labels = [read_label(code) for code in options.label]
    if len(labels) > 1:
        raise InputError(f"Labels: expected one lens label for one operation, got {len(labels)}; give one.")
    return labels[0] if labels else None


def _answers(given: list[str]) -> dict[str, str]:
    answers = {}
    for answer in given:
        slot, sign, value = answer.partition("=")
        if not sign:
            raise InputError(f"Answer {answer!r}: expected SLOT=VALUE, such as operation.eye=left.")
        answers[slot] = value
    return answers

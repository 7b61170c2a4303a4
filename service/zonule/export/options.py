"""What a person may choose about a document."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Literal

from zonule.record import GapReport


@dataclass(frozen=True, slots=True)
class DocumentOptions:
    """Choices for one document.

    `paper` is A4 (210 by 297 mm) or US Letter (8.5 by 11 in); `steps` writes the operation as prose or as a numbered
    list; `evidence` adds the words behind each value as end notes; `template` is a clinic's own .docx with the styles
    named in docs/documents.md. A document is a draft until `signed_by` names who has read and signed it, and stays one
    while the gap report blocks a signature; `signed_at` says when, `written_at` when the document was made (exchange
    formats need a time). `unit_name` stands in the page header. `diagram_view` draws the eye facing the patient or as
    seen from the patient's head. `remarks` adds what was said but was not part of this operation. `timeline`
    adds the drawing of steps and settings over time, where the dictation has time marks. `codes` lets exchange formats
    carry SNOMED CT codes, which need a license in some countries.
    """

    paper: Literal["A4", "letter"] = "A4"
    steps: Literal["prose", "list"] = "prose"
    evidence: bool = False
    template: Path | None = None
    signed_by: str | None = None
    signed_at: datetime | None = None
    written_at: datetime | None = None
    unit_name: str | None = None
    diagram_view: Literal["facing", "from_head"] = "facing"
    remarks: bool = False
    timeline: bool = False
    codes: bool = False

    def signed(self, report: GapReport) -> bool:
        """Whether someone has signed it and nothing is open that must be stated first: such a note stays a draft."""
        return bool(self.signed_by) and not report.blocks_signature

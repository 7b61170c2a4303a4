"""A note as a document: a draft until it is signed."""

from dataclasses import dataclass
from enum import StrEnum

from zonule.export import RENDERERS, DocumentOptions
from zonule.store import Note
from zonule.web.problems import ProblemError

Format = StrEnum("Format", {name: name for name in RENDERERS})  # type: ignore[misc]
"""The formats of a document."""
KINDS = {
    "docx": ("application/vnd.openxmlformats-officedocument.wordprocessingml.document", ".docx"),
    "html": ("text/html; charset=utf-8", ".html"),
    "text": ("text/plain; charset=utf-8", ".txt"),
    "fhir": ("application/fhir+json", ".fhir.json"),
    "cda": ("application/xml", ".cda.xml"),
    "eye": ("image/svg+xml", ".eye.svg"),
    "timeline": ("image/svg+xml", ".timeline.svg"),
}
"""Format → media type and ending of the file."""


@dataclass(frozen=True, slots=True)
class Document:
    """A rendered note; its file name holds no patient's words."""

    content: bytes
    media_type: str
    file_name: str


def render_document(note: Note, name: str, unit_name: str | None) -> Document:
    """The note in one format, with its signature when it has one.

    Raises ProblemError 404 for a format that nobody defined, 409 for a text that is no operation note.
    """
    if name not in RENDERERS:
        raise ProblemError(404, f"There is no such format: expected one of {', '.join(RENDERERS)}.")
    if not note.record.is_operation_note:
        raise ProblemError(409, "This text does not read as an operation note: no document is made of it.")
    signature = note.signature
    options = DocumentOptions(
        signed_by=signature.signed_name if signature else None,
        signed_at=signature.signed_at if signature else None,
        written_at=note.version.saved_at,
        unit_name=unit_name,
    )
    made = RENDERERS[name](note.record, note.report, options)
    media_type, ending = KINDS[name]
    content = made if isinstance(made, bytes) else made.encode()
    return Document(content, media_type, f"operation-note-{note.id[:8]}-v{note.number}{ending}")

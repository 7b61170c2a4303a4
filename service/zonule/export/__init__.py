"""Documents and exchange formats: every one made from the record and its gap report by `RENDERERS[format]`."""

from collections.abc import Callable

from zonule.export.blocks import Outline
from zonule.export.cda import render_cda
from zonule.export.docx import render_docx
from zonule.export.eye_diagram import render_eye
from zonule.export.fhir import render_fhir
from zonule.export.html import render_html
from zonule.export.options import DocumentOptions
from zonule.export.outline import build_outline
from zonule.export.plain_text import render_plain_text
from zonule.export.timeline import render_timeline
from zonule.record import GapReport, OperationRecord

Renderer = Callable[[OperationRecord, GapReport, DocumentOptions | None], str | bytes]

RENDERERS: dict[str, Renderer] = {
    "docx": render_docx,
    "html": render_html,
    "text": render_plain_text,
    "fhir": render_fhir,
    "cda": render_cda,
    "eye": render_eye,
    "timeline": render_timeline,
}
"""Format id → renderer. Text formats give str (UTF-8), binary ones bytes; the same input gives the same output."""

__all__ = ["RENDERERS", "DocumentOptions", "Outline", "Renderer", "build_outline", "render_docx"]

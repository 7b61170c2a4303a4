"""For those who learn to dictate: what a full note holds, notes marked against it, two notes side by side, progress.

Every document is an outline, which `export` writes as DOCX, HTML or plain text. The marks are about what a note
holds, not about how the operation went.
"""

from zonule.teaching.comparison import Difference, compare, comparison
from zonule.teaching.marking import Mark, Marking, guide, mark, marked_note
from zonule.teaching.progress import Coverage, cover, progress

__all__ = [
    "Coverage",
    "Difference",
    "Mark",
    "Marking",
    "compare",
    "comparison",
    "cover",
    "guide",
    "mark",
    "marked_note",
    "progress",
]

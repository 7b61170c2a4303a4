"""Two saves of one note that met: both texts side by side, nobody's words lost."""

import re
from collections.abc import Sequence
from difflib import SequenceMatcher

from starlette.requests import Request
from starlette.responses import HTMLResponse

from zonule.store.faults import ConflictError, SignedError
from zonule.web.pages.note_view import Filled
from zonule.web.pages.rendering import page

Compared = list[tuple[bool, str]]
"""Words in order; True where they stand in one text only."""
MOST_WORDS = 20_000
"""Longer texts are shown unmarked: comparing them word by word would keep people waiting."""


def show_conflict(request: Request, filled: Filled, fault: ConflictError | SignedError) -> HTMLResponse:
    """The page on which two versions are brought together."""
    current = fault.current
    theirs, yours = compare(current.draft.dictation, filled.dictation)
    return page(
        request,
        "conflict.html",
        409,
        current=current,
        aside=fault.set_aside,
        filled=filled,
        theirs=theirs,
        yours=yours,
        together=together(theirs, yours),
        answers={**current.draft.answers, **filled.answers},
        keep=tuple(dict.fromkeys((*current.draft.keep, *filled.keep))),
    )


def compare(theirs: str, yours: str) -> tuple[Compared, Compared]:
    """Both texts in runs of words that stand in both, or in one only. The runs join to exactly the texts."""
    one, other = (re.findall(r"\S+\s*|\s+", text) for text in (theirs, yours))
    if len(one) + len(other) > MOST_WORDS:
        return [(False, theirs)], [(False, yours)]
    left: Compared = []
    right: Compared = []
    for tag, a, b, c, d in SequenceMatcher(None, _bare(one), _bare(other), autojunk=False).get_opcodes():
        left += [(tag != "equal", "".join(one[a:b]))] if b > a else []
        right += [(tag != "equal", "".join(other[c:d]))] if d > c else []
    return left, right


def together(theirs: Compared, yours: Compared) -> str:
    """Their text with the words that only you have behind it, for a person to put right."""
    whole = "".join(text for _, text in theirs)
    added = [text.strip() for changed, text in yours if changed and text.strip()]
    return f"{whole.rstrip()}\n\n{chr(10).join(added)}" if added else whole


def _bare(words: Sequence[str]) -> list[str]:
    return [word.strip() for word in words]

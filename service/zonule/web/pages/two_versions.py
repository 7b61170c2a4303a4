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
Run = tuple[bool, tuple[int, int], tuple[int, int]]
"""Whether words changed, and from where to where in one text and in the other."""
FEW = 5
"""Like words between unlike ones that are too few to stand alone."""
MOST_WORDS = 6_000
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
    for changed, (a, b), (c, d) in _runs(one, other):
        left += [(changed, "".join(one[a:b]))] if b > a else []
        right += [(changed, "".join(other[c:d]))] if d > c else []
    return left, right


def _runs(one: Sequence[str], other: Sequence[str]) -> list[Run]:
    """Runs of words that are alike or not. A few like words between unlike ones go with them, as does the begin of a
    sentence before them: single words torn out of their sentence tell nobody anything."""
    codes = SequenceMatcher(None, _bare(one), _bare(other), autojunk=False).get_opcodes()
    runs: list[Run] = []
    for number, (tag, a, b, c, d) in enumerate(codes):
        inner = 0 < number < len(codes) - 1
        whole = inner and _ends(one[a - 1]) and _ends(one[b - 1])
        if tag != "equal" or (inner and b - a < FEW and not whole):
            _join(runs, (True, (a, b), (c, d)))
            continue
        back = _begun(one[a:b]) if number < len(codes) - 1 else 0
        _join(runs, (False, (a, b - back), (c, d - back)))
        _join(runs, (True, (b - back, b), (d - back, d)))
    return runs


def _join(runs: list[Run], run: Run) -> None:
    """Adds a run, to the one before it when both are changed or both are not."""
    changed, (_, end), (_, other_end) = run
    if runs and runs[-1][0] is changed:
        runs[-1] = (changed, (runs[-1][1][0], end), (runs[-1][2][0], other_end))
    elif run[1][0] < end or run[2][0] < other_end:
        runs.append(run)


def _begun(words: Sequence[str]) -> int:
    """How many of the last words begin a sentence that goes on; none where it began longer ago."""
    for count in range(min(FEW, len(words))):
        if _ends(words[-1 - count]):
            return count
    return 0


def _ends(word: str) -> bool:
    """Whether a sentence or a line ends with the word."""
    return word.rstrip(" ").endswith((".", "\n", "?", "!"))


def together(theirs: Compared, yours: Compared) -> str:
    """Their text with the words that only you have behind it, for a person to put right."""
    whole = "".join(text for _, text in theirs)
    added = [text.strip() for changed, text in yours if changed and text.strip()]
    return f"{whole.rstrip()}\n\n{chr(10).join(added)}" if added else whole


def _bare(words: Sequence[str]) -> list[str]:
    return [word.strip() for word in words]

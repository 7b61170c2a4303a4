"""Measures the reading of negation against a general reference, negspacy, on the cases of `cases/status/`.

Run by hand, never by the tests: with the project installed `python tests/compare_negation.py export > marks.jsonl`,
then `python tests/compare_negation.py reference marks.jsonl` in a virtual environment that holds negspacy alone. The
figures stand in docs/accuracy.md.

A mark counts when it says done or not done. Zonule is right when it fills the slot exactly when it was done; the
reference is told which words to judge and is right when it calls exactly the others negated.
"""

import importlib
import json
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

DENIALS = ("held", "lens_fate", "no", "none_after", "no_shield", "not", "not_after", "standby")
"""The cues that deny, and the wording that only looks like it."""


def export() -> None:
    """Prints every mark that counts, with what Zonule made of it, one JSON object a line."""
    for line in _marks():
        print(json.dumps(line, ensure_ascii=False))


def _marks() -> Iterator[dict[str, Any]]:
    cases = importlib.import_module("test_status_cases")
    pipeline = importlib.import_module("zonule.pipeline")
    dictation = importlib.import_module("zonule.dictation")
    reader = pipeline.Reader(cases.lexicon_folder())
    for cue, case in ((cue, case) for cue, held in cases.BY_CUE.items() for case in held):
        record = reader.read(dictation.read_text(case.text), addendum=True)
        for mark in case.marks:
            if mark.wording in ("done", "not_done") and (mark.slot, mark.value) != ("sutures", "none"):
                yield {
                    "cue": cue,
                    "text": case.text,
                    "start": mark.start,
                    "end": mark.end,
                    "denied": mark.wording == "not_done",
                    "zonule": not cases._fills(record, mark, case),
                }


def judge(path: Path) -> None:
    """Prints accuracy, precision and recall of both on the marks that `export` wrote."""
    lines = [json.loads(line) for line in path.read_text("utf-8").splitlines()]
    for line, denied in zip(lines, _reference(lines), strict=True):
        line["negspacy"] = denied
    groups = (("cues of denial", [x for x in lines if x["cue"] in DENIALS]), ("all files", lines))
    for name, marks in groups:
        print(f"{name}: {len(marks)} marks, {sum(x['denied'] for x in marks)} of them not done")
        for who in ("zonule", "negspacy"):
            print(f"  {who}: {_figures(marks, who)}")


def _reference(lines: list[dict[str, Any]]) -> Iterator[bool]:
    spacy = importlib.import_module("spacy")
    importlib.import_module("negspacy.negation")
    nlp = spacy.blank("en")
    nlp.add_pipe("sentencizer")
    negex = nlp.create_pipe("negex")
    for line in lines:
        doc = nlp(line["text"])
        doc.ents = (doc.char_span(line["start"], line["end"], label="MARK", alignment_mode="expand"),)
        yield bool(negex(doc).ents[0]._.negex)


def _figures(marks: list[dict[str, Any]], who: str) -> str:
    counts = Counter((x["denied"], x[who]) for x in marks)
    right, false, missed = counts[True, True], counts[False, True], counts[True, False]
    accuracy = (right + counts[False, False]) / len(marks)
    return f"accuracy {accuracy:.3f}, precision {right / (right + false):.3f}, recall {right / (right + missed):.3f}"


if __name__ == "__main__":
    if sys.argv[1:] == ["export"]:
        export()
    elif sys.argv[1:2] == ["reference"] and len(sys.argv) == 3:
        judge(Path(sys.argv[2]))
    else:
        sys.exit("Expected `export` or `reference FILE`.")

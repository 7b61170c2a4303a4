"""The words behind each value, as numbered end notes in reading order."""

from collections.abc import Iterator
from dataclasses import replace

from zonule.export.blocks import AnyFact, EndNote, Outline, Phrase, note_keys, phrases_of
from zonule.export.quantities import mark_of_time
from zonule.record import Evidence
from zonule.vocabulary import Origin

SOURCES = {
    Origin.DICTATION: "dictation",
    Origin.LABEL: "lens label",
    Origin.WORKLIST: "case data given with the dictation",
    Origin.PERSON: "typed in by a person",
}


def with_end_notes(outline: Outline) -> Outline:
    """The outline with one note for each passage of the dictation (or other source) that its phrases come from."""
    first: dict[Evidence | str, AnyFact] = {}
    for phrase in _phrases(outline):
        for fact in phrase.facts:
            for key in note_keys(fact):
                first.setdefault(key, fact)
    marks = {key: number for number, key in enumerate(first, start=1)}
    notes = tuple(_note(number, key, first[key]) for key, number in marks.items())
    return replace(outline, notes=notes, marks=marks)


def _phrases(outline: Outline) -> Iterator[Phrase]:
    identity = outline.identity
    if identity:
        yield from (identity.name, identity.number, identity.born, identity.eye, identity.date)
    for section in outline.sections:
        for block in section.blocks:
            yield from phrases_of(block)


def _note(number: int, key: Evidence | str, fact: AnyFact) -> EndNote:
    words = key.text if isinstance(key, Evidence) else ""
    time = mark_of_time(fact.time_s) if fact.time_s is not None else ""
    return EndNote(number, words, SOURCES[fact.origin], time)


def note_words(note: EndNote) -> str:
    """The words of an end note in quotation marks, or where else it is from; and when it was said."""
    shown = f"“{' '.join(note.words.split())}”" if note.words else f"From: {note.source}"
    return shown + (f" ({note.time})" if note.time else "")

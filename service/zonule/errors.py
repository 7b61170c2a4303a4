"""The one tree of errors.

ZonuleError
├── InputError      the dictation or case data cannot be used (missing, empty, binary, too long, …)
├── OutputError     a document cannot be written where it was asked for
├── LexiconError    a lexicon file is broken: file, entry, expected, got
├── LabelError      a lens label cannot be read
├── StoreError      the store cannot keep or find what it was given; finer ones stand in `store.faults`
└── UnknownNameError  an id that nobody defined (a format, a slot, a requirement set)

Anything wrong with the *note* is no error: it is a gap with its words.
"""


class ZonuleError(Exception):
    """One clear sentence for the user: what, got, expected, what to do."""


class InputError(ZonuleError):
    """Input that cannot be read as a dictation or as case data."""


class OutputError(ZonuleError):
    """A place that cannot be written."""


class LexiconError(ZonuleError):
    """A lexicon file that breaks its schema; names file, entry, expected and got."""


class LabelError(ZonuleError):
    """A lens label whose code or image cannot be read."""


class UnknownNameError(ZonuleError):
    """An id that the lexicon or the program does not define."""


class StoreError(ZonuleError):
    """Something that the store cannot keep, find or open."""

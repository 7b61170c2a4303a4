"""The lexicon: TOML files of trade knowledge, read into one frozen, validated `Lexicon`."""

from zonule.lexicon.loading import load_lexicon
from zonule.lexicon.schema import Action, Correction, Cue, Frame, Lexicon, Mark, Mishearing, Range, Shorthand, Term

__all__ = [
    "Action", "Correction", "Cue", "Frame", "Lexicon", "Mark", "Mishearing", "Range", "Shorthand", "Term",
    "load_lexicon",
]  # fmt: skip

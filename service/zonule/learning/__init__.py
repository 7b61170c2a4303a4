"""What a unit learns from its corrections: proposals become entries of its own lexicon folder, if a person says so."""

from zonule.learning.entries import ProposedEntry, entry_of
from zonule.learning.unit_lexicon import CHANGES, LEARNED, accept, refuse

__all__ = ["CHANGES", "LEARNED", "ProposedEntry", "accept", "entry_of", "refuse"]

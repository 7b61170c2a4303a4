"""The order of normalization: unspoken characters, misheard terms, spoken punctuation and numbers, short forms."""

from collections.abc import Collection

from zonule.dictation import Dictation
from zonule.lexicon import Lexicon
from zonule.lexicon.tables import Tables
from zonule.normalization.date_orders import find_date_orders
from zonule.normalization.decimal_commas import find_decimal_commas
from zonule.normalization.headings import HeadingReader
from zonule.normalization.mishearings import MishearingRepair
from zonule.normalization.number_words import NumberWords
from zonule.normalization.numbers import find_number_edits
from zonule.normalization.punctuation import SpokenPunctuation
from zonule.normalization.shorthand import ShorthandReader
from zonule.text import AlignedText


class Normalizer:
    """Built once from the lexicon, its tables and its number words."""

    def __init__(self, lexicon: Lexicon, tables: Tables, numbers: NumberWords) -> None:
        self._mishearings = MishearingRepair(lexicon, tables)
        self._punctuation = SpokenPunctuation(lexicon.marks, numbers)
        self._headings = HeadingReader(lexicon.terms)
        self._numbers = numbers
        self._shorthand = ShorthandReader(lexicon.shorthands)

    def normalize(self, dictation: Dictation, keep: Collection[str] = ()) -> AlignedText:
        """The dictation as it is read, every rewriting an edit that can be seen and undone."""
        aligned = AlignedText.of(dictation.text).apply(dictation.edits())
        aligned = aligned.apply(self._mishearings.find_edits(aligned.text, keep))
        aligned = aligned.apply(find_decimal_commas(aligned.text, self._numbers))
        aligned = aligned.apply(self._punctuation.find_edits(aligned.text))
        aligned = aligned.apply(self._headings.find_edits(aligned.text))
        aligned = aligned.apply(find_number_edits(aligned.text, self._numbers))
        aligned = aligned.apply(find_date_orders(aligned.text))
        return aligned.apply(self._shorthand.find_edits(aligned.text))

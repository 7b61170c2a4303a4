"""Short forms with several senses: written out where what stands beside them tells which, else left as they are.

Source of all cases: common practice, no source.
"""

import pytest

from zonule.lexicon import load_lexicon
from zonule.normalization.shorthand import ShorthandReader
from zonule.settings import lexicon_folders
from zonule.text import AlignedText

WRITTEN_OUT = {
    "PI 5%, drape, spec.": "povidone-iodine 5%, drape, spec.",
    "5% PI to sac, draped": "5% povidone-iodine to sac, draped",
    "PI prep and drape": "povidone-iodine prep and drape",
    "lids p i 10 percent": "lids povidone-iodine 10 percent",
    "pi 5 % to the fornices": "povidone-iodine 5 % to the fornices",
    "US 1 min 04 s, av 14%, CDE 11.42.": "phaco time 1 min 04 s, average power 14%, CDE 11.42.",
    "U/S: 48 s. Ave 9 %": "phaco time: 48 s. average power 9 %",
    "phaco 0:52, avg. 12%": "phaco time 0:52, avg. 12%",
    "IOL P20, sn 0371-5529": "IOL P20, serial number 0371-5529",
    "u s 45 seconds": "phaco time 45 seconds",
}
KEPT = [
    "PI done at 12 o'clock",
    "superior PI, AC formed",
    "surgical PI x1, pad",
    "US 60%, vac 75",
    "US time 45 s, av power 12%",
    "that took us 5 minutes",
    "AV with the cutter, 2500 cpm",
    "on average 5% of these drop",
    "phaco and IOL, 20 minutes in all",
    "hospital number SN20417",
    "scrub sn Gwen Arkwright",
    "12 mm Hg, 60%\nPI",
]


@pytest.fixture(scope="module")
def shorthand() -> ShorthandReader:
    return ShorthandReader(load_lexicon(*lexicon_folders()).shorthands)


@pytest.mark.parametrize(("said", "read"), WRITTEN_OUT.items())
def test_short_form_is_written_out(said: str, read: str, shorthand: ShorthandReader) -> None:
    assert AlignedText.of(said).apply(shorthand.find_edits(said)).text == read
    assert shorthand.find_edits(read) == []


@pytest.mark.parametrize("said", KEPT)
def test_short_form_in_another_sense_stays(said: str, shorthand: ShorthandReader) -> None:
    assert shorthand.find_edits(said) == []

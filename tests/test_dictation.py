"""Plain and timed dictations, and input that is none."""

from pathlib import Path

import pytest

from zonule.dictation import LIMIT_BYTES, Dictation, TimeMark, read_bytes, read_file, read_text
from zonule.errors import InputError
from zonule.text import AlignedText, Span

SRT = "1\n00:00:01,500 --> 00:00:04,000\nright eye\n\n2\n00:01:02,000 --> 00:01:05,000\ntopical drops\n"
VTT = "WEBVTT - note\n\n00:01.500 --> 00:04.000\nright eye\n\n01:00:02.000 --> 01:00:05.000\ntopical drops\n"
MINUTES = "[0:05] right eye\n[12:40] topical drops\n[1:02:03] patched"
CARRIAGE = SRT.replace("\n", "\r\n")


def spoken(dictation: Dictation) -> str:
    """The words without the characters that nobody spoke, spaces evened out."""
    return " ".join(AlignedText.of(dictation.text).apply(dictation.edits()).text.split())


def times(dictation: Dictation, *words: str) -> list[float | None]:
    return [dictation.seconds_at(dictation.text.index(word)) for word in words]


def test_plain_text_stays_as_it_is_and_has_no_times() -> None:
    dictation = read_text("right eye\nat 10:30 topical drops", "a note")
    assert dictation == Dictation("right eye\nat 10:30 topical drops", "a note")
    assert times(dictation, "right", "drops") == [None, None]


@pytest.mark.parametrize(
    ("text", "seconds"), [(SRT, [1.5, 62.0]), (CARRIAGE, [1.5, 62.0]), (VTT, [1.5, 3602.0]), (MINUTES, [5.0, 760.0])]
)
def test_timed_text_keeps_its_words_as_received_and_tells_the_time(text: str, seconds: list[float]) -> None:
    dictation = read_text(text)
    assert dictation.text == text
    assert times(dictation, "right", "topical") == seconds
    assert spoken(dictation).removesuffix(" patched") == "right eye topical drops"


def test_words_before_the_first_mark_have_no_time() -> None:
    assert times(read_text("note\n[0:05] right eye"), "note", "right") == [None, 5.0]


def test_minutes_in_brackets_within_a_line_are_words() -> None:
    assert read_text("the case took [2:10] in all").marks == ()


def test_marks_stand_where_the_words_begin() -> None:
    dictation = read_text("[0:05] right eye")
    assert (dictation.marks, dictation.silent) == ((TimeMark(7, 5.0),), (Span(0, 7),))


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "note.txt: empty; expected the words of a dictation. Check the file."),
        (b" \n\t ", "note.txt: empty; expected the words of a dictation. Check the file."),
        (
            b"PK\x03\x04\x00\x00",
            "note.txt: binary data; expected a dictation as UTF-8 text, SRT or VTT. Export it as text.",
        ),
        ("Anästhesie".encode("latin-1"), "note.txt: not UTF-8 at byte 2; expected UTF-8 text. Save it as UTF-8."),
        (
            b"a" * (LIMIT_BYTES + 1),
            "note.txt: more than 1,000,000 bytes; expected one dictation of at most 1 MB. Split it.",
        ),
    ],
    ids=["empty", "blank", "binary", "latin-1", "too long"],
)
def test_unusable_bytes_are_refused_in_one_sentence(data: bytes, sentence: str) -> None:
    with pytest.raises(InputError) as fault:
        read_bytes(data, "note.txt")
    assert str(fault.value) == sentence


def test_one_megabyte_is_read() -> None:
    assert len(read_bytes(b"a" * LIMIT_BYTES, "note.txt").text) == LIMIT_BYTES


def test_a_byte_order_mark_is_part_of_the_text_as_received(tmp_path: Path) -> None:
    path = tmp_path / "note.txt"
    path.write_text("\ufeffWEBVTT\n\n00:01.000 --> 00:02.000\nright eye\n", "utf-8")
    dictation = read_file(str(path))
    assert dictation.text[0] == "\ufeff"
    assert spoken(dictation) == "right eye"


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file; expected a dictation"):
        read_file(str(tmp_path / "none.txt"))
    with pytest.raises(InputError, match="a folder; expected a file with one dictation"):
        read_file(str(tmp_path))

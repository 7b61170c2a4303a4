"""The HTML page: well-formed, self-contained, escaped, and saying what the plain text says."""

import re
from html.parser import HTMLParser

import pytest
import records

from zonule.export import DocumentOptions
from zonule.export.html import render_html
from zonule.record import GapReport, OperationRecord

VOID = {"meta"}
CASES = {
    "routine": (records.routine(), records.gaps(), DocumentOptions(evidence=True)),
    "complicated": (records.complicated(), records.complicated_gaps(), DocumentOptions(steps="list")),
    "empty": (records.empty(), GapReport(), DocumentOptions(signed_by="A <b>")),
}


class Reader(HTMLParser):
    """Tags that are open, faults, ids, links and headings."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.faults: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.headings: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.ids += [str(value) for name, value in attrs if name == "id"]
        self.links += [str(value) for name, value in attrs if name in {"href", "src"}]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        pass

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.faults.append(tag)

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] in {"h1", "h2"}:
            self.headings.append(data)


def read(record: OperationRecord, report: GapReport, options: DocumentOptions) -> Reader:
    reader = Reader()
    reader.feed(render_html(record, report, options))
    return reader


@pytest.mark.parametrize("name", CASES)
def test_tags_close_in_order_and_links_stay_on_the_page(name: str) -> None:
    reader = read(*CASES[name])
    assert (reader.open, reader.faults) == ([], [])
    assert [link for link in reader.links if link.removeprefix("#") not in reader.ids] == []
    assert len(set(reader.ids)) == len(reader.ids)


@pytest.mark.parametrize("name", CASES)
def test_no_script_and_no_outside_resource(name: str) -> None:
    page = render_html(*CASES[name]).replace("http://www.w3.org/2000/svg", "")
    assert re.findall(r"<script|https?:|url\(|@import", page) == []


def test_headings() -> None:
    assert read(*CASES["complicated"]).headings == [
        "Operation note", "Eye and lens", "Operation", "Description of the operation", "Complications and closure",
        "Machine settings", "Drugs", "Not stated in the dictation", "To confirm", "Signature",
    ]  # fmt: skip


def test_words_are_escaped() -> None:
    assert "Tobias &lt;Grelling&gt; &amp; Son" in render_html(*CASES["complicated"])
    assert "Read and signed by A &lt;b&gt;." in render_html(*CASES["empty"])


def test_same_input_gives_the_same_page() -> None:
    assert render_html(*CASES["routine"]) == render_html(*CASES["routine"])

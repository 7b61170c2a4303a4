"""A note from raw words to a signed record, on the pages, in Chromium."""

import re
import zipfile
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pytest
from harrowmere import DAY, Unit, browser, running_unit, sample, sign_in
from playwright.sync_api import Browser, Page, expect

LABEL = "(01)09521101530001(17)281130(21)9052144"
"""A lens label in GS1 form; its company prefix is the one that GS1 keeps for examples."""


@pytest.fixture(scope="module")
def unit(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Unit]:
    with running_unit(Path(tmp_path_factory.mktemp("unit"))) as started:
        yield started


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with browser() as opened:
        yield opened


@pytest.fixture
def page(chromium: Browser, unit: Unit) -> Iterator[Page]:
    """A page of the surgeon, in a context of its own. A script that fails or that the policy stops fails the test."""
    context = chromium.new_context(accept_downloads=True)
    context.set_default_timeout(10_000)
    opened = context.new_page()
    faults: list[str] = []
    opened.on("pageerror", lambda fault: faults.append(str(fault)))
    opened.on("console", lambda told: faults.append(told.text) if "Content Security Policy" in told.text else None)
    sign_in(opened, unit, "delacombe")
    yield opened
    assert faults == []
    context.close()


def _tell(page: Page, words: str) -> None:
    """Types words into the field and waits until they were read."""
    with page.expect_response("**/notes/reading"):
        page.locator("#dictation").fill(words)


def _item(page: Page, name: str) -> str | None:
    return page.locator(f"[data-item='{name}']").get_attribute("data-state")


def test_from_raw_words_to_a_signed_note_found_again(page: Page, unit: Unit) -> None:
    page.get_by_role("link", name="Dictate case 2").click()
    _tell(page, sample("02"))
    expect(page.locator("#head")).to_contain_text("LEFT EYE")
    expect(page.locator("#tally")).to_contain_text("1 needed before signing")
    assert _item(page, "lens.model") == "needed"

    with page.expect_response("**/notes/reading"):
        page.locator("[data-item='lens.model'] input").fill("FK52")
        page.keyboard.press("Enter")
    expect(page.locator("[data-item='lens.model']")).to_have_attribute("data-state", "stated")
    expect(page.locator("#tally")).not_to_contain_text("needed")
    expect(page.locator("#spoken")).to_contain_text("Stated now: Lens model")

    with page.expect_response("**/notes/reading"):
        page.locator("#label").fill(LABEL)
        page.keyboard.press("Enter")
    expect(page.locator(".lens-box")).to_contain_text("checked for serial number, expiry and UDI")

    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#state")).to_have_text("Complete, to be signed")
    page.get_by_label("I have read this note").check()
    page.get_by_role("button", name="Sign as Farah Delacombe").click()
    expect(page.locator("#finish")).to_contain_text("Read and signed by Farah Delacombe")
    expect(page.locator("#dictation")).to_have_attribute("readonly", "")

    with page.expect_download() as started:
        page.get_by_role("link", name="DOCX", exact=True).click()
    with zipfile.ZipFile(BytesIO(started.value.path().read_bytes())) as document:
        assert "FK52" in document.read("word/document.xml").decode()
    for format, words in (("FHIR", '"resourceType"'), ("Text", "FK52")):
        with page.expect_download() as started:
            page.get_by_role("link", name=format, exact=True).click()
        assert words in started.value.path().read_text("utf-8")

    page.get_by_label("Add to this note").fill("Addendum. The operation ended at 10:40.")
    page.get_by_role("button", name="Add, with name and time").click()
    expect(page.locator("blockquote")).to_contain_text("ended at 10:40")
    expect(page.locator("[data-item='operation.end_time']")).to_contain_text("10:40")

    page.get_by_role("link", name="Find", exact=True).click()
    page.get_by_label("Serial number").fill("9052144")
    page.get_by_role("button", name="Find", exact=True).click()
    expect(page.get_by_role("row").nth(1)).to_contain_text("Desmond Hallowell")
    page.get_by_role("link", name="Note of Desmond Hallowell").click()
    expect(page.locator("#state")).to_have_text("Signed")

    page.goto(f"{unit.address}/days/{DAY}")
    assert page.locator(".case .state").all_inner_texts() == ["No dictation", "Signed"]


def test_a_value_shows_its_words_and_words_their_value(page: Page, unit: Unit) -> None:
    page.goto(f"{unit.address}/notes/new")
    _tell(page, sample("02"))
    page.locator("[data-item='lens.power_d'] .chip").click()
    taken = page.locator("#dictation").evaluate("(f) => f.value.slice(f.selectionStart, f.selectionEnd)")
    assert taken == "plus twenty two point five dioptres"
    assert taken in page.locator("#marks .lit").all_inner_texts()
    expect(page.locator("#became")).to_have_text("Lens power (D): +22.50 D")
    page.locator("#dictation").evaluate(
        "(f) => { const at = f.value.indexOf('nuclear sclerotic'); f.focus(); f.setSelectionRange(at + 3, at + 3); }"
    )
    page.keyboard.press("ArrowRight")
    expect(page.locator("#became")).to_have_text("Operation preoperative diagnosis: nuclear sclerotic cataract")
    expect(page.locator(".chip.lit")).to_have_text(re.compile("nuclear sclerotic cataract"))


def test_words_and_their_marks_scroll_together(page: Page, unit: Unit) -> None:
    page.goto(f"{unit.address}/notes/new")
    _tell(page, sample("07") * 3)
    page.locator("[data-item='plan'] .chip").last.click()
    heights = page.evaluate(
        "['dictation', 'marks'].map((id) => document.getElementById(id)).map((e) => [e.scrollTop, e.clientHeight])"
    )
    assert heights[0] == heights[1]
    assert heights[0][1] > page.locator("#sheet").evaluate("(sheet) => sheet.clientHeight") * 2
    assert page.locator("#marks .lit").first.is_visible()


def test_one_key_accepts_or_refuses_a_misheard_term(page: Page, unit: Unit) -> None:
    page.goto(f"{unit.address}/notes/new")
    _tell(page, sample("02"))
    before = page.locator("#repairs [data-open]").count()
    page.keyboard.press("F9")
    expect(page.locator("#h0")).to_be_focused()
    with page.expect_response("**/notes/reading"):
        page.keyboard.press("a")
    expect(page.locator("#repairs [data-open]")).to_have_count(before - 1)
    expect(page.locator("#h0")).to_contain_text("accepted")
    refused = page.locator("#repairs [data-open]").first.get_attribute("data-heard")
    page.locator("#repairs [data-open]").first.focus()
    with page.expect_response("**/notes/reading"):
        page.keyboard.press("r")
    assert refused == "paris synthesis"
    expect(page.locator(".repair.kept")).to_contain_text("paris synthesis")
    assert page.locator("[data-item='paracentesis']").count() == 0
    found = [(held.kind.value, held.heard, held.reading) for held in unit.store.corrections.proposals()]
    assert ("repair_accepted", "fake oh", "phaco") in found


def test_unsaved_words_survive_a_reload_and_go_with_the_session(page: Page, unit: Unit) -> None:
    page.goto(f"{unit.address}/notes/new")
    _tell(page, sample("06"))
    page.reload()
    expect(page.locator("#dictation")).to_have_value(sample("06"))
    expect(page.locator("#saved")).to_have_text("Not saved yet")
    page.get_by_role("button", name=re.compile("Sign out")).click()
    page.wait_for_url("**/login")
    assert page.evaluate("Object.keys(sessionStorage).length") == 0


def test_words_of_a_session_that_ended_come_back_after_signing_in_again(page: Page, unit: Unit) -> None:
    page.goto(f"{unit.address}/notes/new")
    _tell(page, sample("06"))
    page.context.clear_cookies()
    with page.expect_response("**/notes/reading"):
        page.locator("#dictation").press_sequentially(" ")
    expect(page.locator("#became")).to_contain_text("You are signed out")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    sign_in(page, unit, "delacombe", "/notes/new")
    expect(page.locator("#dictation")).to_have_value(re.compile(re.escape(sample("06")[:200])))
    page.context.clear_cookies()
    sign_in(page, unit, "wrenfield", "/notes/new")
    expect(page.locator("#dictation")).to_have_value("")


def test_a_term_that_begins_a_sentence_is_refused_too(page: Page, unit: Unit) -> None:
    page.goto(f"{unit.address}/notes/new")
    _tell(page, "Right eye phaco and lens, topical. Paris synthesis at five o'clock. Rhexis. Lens into the bag.")
    page.locator("#repairs [data-heard='Paris synthesis']").focus()
    with page.expect_response("**/notes/reading"):
        page.keyboard.press("r")
    expect(page.locator(".kept")).to_contain_text("paris synthesis")
    expect(page.locator("#repairs [data-open]")).to_have_count(0)


def test_two_who_save_the_same_note_lose_no_words(page: Page, unit: Unit) -> None:
    page.goto(f"{unit.address}/notes/new")
    _tell(page, sample("01"))
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#saved")).to_contain_text("Saved")
    other = page.context.new_page()
    other.goto(page.url.partition("?")[0])
    _tell(other, sample("01") + "\nThe pupil was small, said by the other.")
    other.get_by_role("button", name="Save", exact=True).click()
    expect(other.locator("#saved")).to_contain_text("Saved")
    _tell(page, sample("01") + "\nThe iris was floppy, said here.")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Somebody saved before you")
    expect(page.locator(".there")).to_have_text("The pupil was small, said by the other.")
    expect(page.locator(".mine")).to_have_text("The iris was floppy, said here.")
    together = page.locator("#together").input_value()
    assert "The pupil was small, said by the other." in together
    assert "The iris was floppy, said here." in together
    page.get_by_role("button", name=re.compile("^Save as version")).click()
    expect(page.locator("#dictation")).to_have_value(together)
    assert [held.set_aside for held in unit.store.notes.versions(page.url.split("/notes/")[1][:32])] == [
        False, False, True, False,
    ]  # fmt: skip


def test_a_dictation_with_scripts_in_it_stays_text(page: Page, unit: Unit) -> None:
    hostile = '<script>document.title="taken"</script><img src=x onerror="alert(1)"> </textarea> '
    words = hostile + sample("01") + hostile
    page.goto(f"{unit.address}/notes/new")
    _tell(page, words)
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#dictation")).to_have_value(words)
    assert page.locator("#marks").evaluate("(marks) => marks.textContent") == words + "\n"
    assert page.title() == "Note · Zonule"
    assert page.locator("main img, main script").count() == 0
    page.goto(f"{page.url.partition('?')[0]}/versions/1")
    assert page.locator("pre").evaluate("(pre) => pre.textContent") == words


def test_a_value_read_wrongly_is_changed_and_its_words_stay(page: Page, unit: Unit) -> None:
    page.goto(f"{unit.address}/notes/new")
    _tell(page, sample("02"))
    page.locator("[data-item='main_incision'] .chip", has_text="2.2 mm").click()
    expect(page.locator("#change-to")).to_have_value("2.2")
    page.locator("#change-to").fill("wide")
    with page.expect_response("**/notes/reading"):
        page.keyboard.press("Enter")
    expect(page.locator(".given .problem")).to_have_text(
        "Value of 'main_incision.width_mm': expected a number such as 21.5, got 'wide'; please correct it."
    )
    page.locator("[data-item='main_incision'] .chip", has_text="2.2 mm").click()
    page.locator("#change-to").fill("2.4")
    with page.expect_response("**/notes/reading"):
        page.get_by_role("button", name="Take it").click()
    expect(page.locator("[data-item='main_incision']")).to_contain_text("2.4 mm typed in")
    expect(page.locator("#dictation")).to_have_value(sample("02"))
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("[data-item='main_incision']")).to_contain_text("2.4 mm typed in")

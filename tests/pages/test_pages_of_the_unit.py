"""The other ways through the pages: files, pictures, recordings, keys alone, no script at all, and the unit's pages."""

import wave
from collections.abc import Iterator
from pathlib import Path

import pytest
from harrowmere import DAY, SAMPLES, Unit, browser, running_unit, sample, sign_in
from playwright.sync_api import Browser, Page, expect

from zonule.vocabulary import Severity

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
def page(chromium: Browser) -> Iterator[Page]:
    context = chromium.new_context()
    context.set_default_timeout(10_000)
    yield context.new_page()
    context.close()


def test_a_text_file_is_opened_behind_the_words_that_stand_there(page: Page, unit: Unit, tmp_path: Path) -> None:
    file = tmp_path / "dictation.srt"
    file.write_bytes(sample("08").replace("\n", "\r\n").encode())
    sign_in(page, unit, "delacombe", "/notes/new")
    page.locator("#dictation").fill("A word before.")
    with page.expect_response("**/notes/reading"):
        page.locator("#text-file").set_input_files(file)
    expect(page.locator("#dictation")).to_have_value("A word before.\n" + sample("08"))
    file.write_bytes(b"\xff\xfe\x00binary")
    page.locator("#text-file").set_input_files(file)
    expect(page.locator("#became")).to_have_text("Expected a text file in UTF-8, SRT or VTT; export it as text.")
    expect(page.locator("#dictation")).to_have_value("A word before.\n" + sample("08"))


def test_a_value_plays_the_recording_from_its_time(page: Page, unit: Unit, tmp_path: Path) -> None:
    recording = tmp_path / "recording.wav"
    with wave.open(str(recording), "wb") as written:
        written.setnchannels(1)
        written.setsampwidth(1)
        written.setframerate(8000)
        written.writeframes(b"\x80" * 8000 * 900)
    sign_in(page, unit, "delacombe", "/notes/new")
    with page.expect_response("**/notes/reading"):
        page.locator("#dictation").fill(sample("08"))
    page.locator("#recording-file").set_input_files(recording)
    expect(page.locator("#recording")).to_have_js_property("duration", 900)
    chip = page.locator("[data-item='lens.model'] .chip")
    expect(chip).to_contain_text("9:48")
    chip.click()
    expect(page.locator("#recording")).to_have_js_property("paused", False)
    assert 588 <= page.locator("#recording").evaluate("(player) => player.currentTime") < 600


def test_a_photographed_label_becomes_its_code(page: Page, unit: Unit, tmp_path: Path) -> None:
    zxingcpp = pytest.importorskip("zxingcpp")
    from PIL import Image

    made = zxingcpp.create_barcode(LABEL.replace("(", "").replace(")", ""), zxingcpp.BarcodeFormat.DataMatrix)
    picture = tmp_path / "label.png"
    Image.fromarray(zxingcpp.write_barcode_to_image(made, scale=6)).save(picture)
    sign_in(page, unit, "delacombe", "/notes/new")
    with page.expect_response("**/notes/reading"):
        page.locator("#dictation").fill(sample("02"))
    page.locator("#label-picture").set_input_files(picture)
    expect(page.locator("#label")).to_have_value(LABEL)
    Image.new("RGB", (200, 200), "white").save(picture)
    page.locator("#label-picture").set_input_files(picture)
    expect(page.locator("#picture-problem")).to_contain_text("expected a barcode, found none")
    expect(page.locator("#label")).to_have_value(LABEL)


def test_keys_alone_are_enough(page: Page, unit: Unit) -> None:
    page.goto(f"{unit.address}/login")
    page.keyboard.type("delacombe")
    page.keyboard.press("Tab")
    page.keyboard.type("seven quiet lanterns")
    page.keyboard.press("Enter")
    page.wait_for_url(f"{unit.address}/")
    page.keyboard.press("Tab")
    expect(page.locator(".skip")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#main")).to_be_focused()
    for _ in range(20):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent") == "A note without a case":
            break
    page.keyboard.press("Enter")
    page.wait_for_url("**/notes/new")
    page.keyboard.press("F2")
    with page.expect_response("**/notes/reading"):
        page.keyboard.insert_text(sample("02"))
    expect(page.locator("#tally")).to_contain_text("needed before signing")
    page.keyboard.press("F8")
    expect(page.locator("[data-item='operation.start_time'] input")).to_be_focused()
    for _ in range(12):
        if page.evaluate("document.activeElement.name") == "answer.lens.model":
            break
        page.keyboard.press("F8")
    page.keyboard.type("FK52")
    with page.expect_response("**/notes/reading"):
        page.keyboard.press("Enter")
    expect(page.locator("[data-item='lens.model']")).to_have_attribute("data-state", "stated")
    page.keyboard.press("Escape")
    expect(page.locator("#dictation")).to_be_focused()
    page.keyboard.press("Control+s")
    expect(page.locator("#state")).to_have_text("Complete, to be signed")


def test_an_answer_of_one_press_can_be_taken_back(page: Page, unit: Unit) -> None:
    sign_in(page, unit, "delacombe", "/notes/new")
    with page.expect_response("**/notes/reading"):
        page.locator("#dictation").fill("Right eye, phacoemulsification with lens insertion. Capsulorhexis complete.")
    item = page.locator("[data-item='team.assistant']")
    with page.expect_response("**/notes/reading"):
        item.get_by_role("button", name="None").click()
    expect(item).to_contain_text("typed in")
    with page.expect_response("**/notes/reading"):
        page.get_by_role("button", name="Take back Team assistant").click()
    expect(item).to_have_attribute("data-state", "asked")


def test_without_scripts_a_note_is_still_written_answered_and_signed(chromium: Browser, unit: Unit) -> None:
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    sign_in(page, unit, "delacombe", "/notes/new")
    page.locator("#dictation").fill(sample("02"))
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#state")).to_have_text("Draft")
    page.get_by_role("button", name="Refuse haptics").click()
    expect(page.locator(".kept")).to_contain_text("hap ticks")
    page.locator("[data-item='lens.model'] input").fill("FK52")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#state")).to_have_text("Complete, to be signed")
    page.get_by_label("I have read this note").check()
    page.get_by_role("button", name="Sign as Farah Delacombe").click()
    expect(page.locator("#state")).to_have_text("Signed")
    context.close()


def test_who_does_not_sign_is_offered_no_signature(page: Page, unit: Unit) -> None:
    sign_in(page, unit, "wrenfield", "/notes/new")
    with page.expect_response("**/notes/reading"):
        page.locator("#dictation").fill(sample("01"))
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#finish")).to_contain_text("it waits for a signature by its surgeon")
    assert page.locator("[data-sign]").count() == 0


def test_a_list_is_brought_in_and_a_wrong_one_is_told(page: Page, unit: Unit, tmp_path: Path) -> None:
    sign_in(page, unit, "delacombe")
    page.get_by_text("Bring in an operating list").click()
    page.get_by_label("Day", exact=True).fill("2026-03-19")
    page.get_by_label("List (CSV)").set_input_files(SAMPLES / "list.csv")
    page.get_by_role("button", name="Bring in").click()
    expect(page.get_by_role("alert")).to_have_text(
        "Case 1: expected a case of 2026-03-19, got one of 2026-03-12; import that day."
    )
    lines = (SAMPLES / "list.csv").read_text("utf-8").splitlines()
    file = tmp_path / "list.csv"
    file.write_text("\n".join([lines[0], *(line for line in lines if "2026-03-19" in line)]), "utf-8")
    page.get_by_label("Day", exact=True).fill("2026-03-19")
    page.get_by_label("List (CSV)").set_input_files(file)
    page.get_by_role("button", name="Bring in").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("19 March 2026")
    assert page.locator(".case strong").all_inner_texts() == ["Leopold Fanshawe", "Rosalind Quarmby"]
    assert unit.store.cases.days() == (DAY.replace(day=19), DAY)


def test_an_administrator_adds_a_user_and_shuts_them_out_again(page: Page, unit: Unit) -> None:
    sign_in(page, unit, "tarrow", "/users")
    page.get_by_label("Name to sign in with").fill("pettigrew")
    page.get_by_label("Full name, as it signs").fill("Ranulf Pettigrew")
    page.get_by_label("Password", exact=True).fill("short")
    page.locator("section").get_by_label("Author").check()
    page.locator("section form").evaluate("(form) => { form.noValidate = true; }")
    page.get_by_role("button", name="Add", exact=True).click()
    expect(page.get_by_role("alert")).to_contain_text("12")
    page.get_by_label("Name to sign in with").fill("pettigrew")
    page.get_by_label("Full name, as it signs").fill("Ranulf Pettigrew")
    page.get_by_label("Password", exact=True).fill("a longer lantern word")
    page.locator("section").get_by_label("Author").check()
    page.get_by_role("button", name="Add", exact=True).click()
    page.get_by_text("Ranulf Pettigrew").first.click()
    page.get_by_role("button", name="Disable Ranulf Pettigrew").click()
    expect(page.get_by_text("disabled", exact=True)).to_be_visible()
    assert unit.store.users.get("pettigrew").disabled
    page.goto(f"{unit.address}/find")
    expect(page.get_by_role("heading", level=1)).to_have_text("Not for your roles")


def test_the_trail_is_verified_and_the_recall_is_a_list_to_print(page: Page, unit: Unit) -> None:
    sign_in(page, unit, "marchbank", "/trail")
    page.get_by_role("button", name="Verify the chain").click()
    expect(page.locator(".done")).to_have_text("The trail is whole: every entry fits the one before it.")
    page.goto(f"{unit.address}/recall")
    page.get_by_label("Number or model").fill("no such lot")
    page.get_by_role("button", name="Find everyone").click()
    expect(page.locator(".empty")).to_have_text("Nobody, by the notes kept here.")
    page.get_by_label("Model", exact=True).check()
    page.get_by_label("Number or model").fill("fk-52")
    page.get_by_role("button", name="Find everyone").click()
    expect(page.get_by_role("button", name="Print the list")).to_be_visible()
    page.emulate_media(media="print")
    assert page.get_by_role("button", name="Print the list").is_hidden()
    assert page.locator("tbody tr").count() >= 1


def test_what_corrections_teach_is_decided_by_a_named_person(
    page: Page, unit: Unit, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("ZONULE_LEXICON", str(tmp_path))
    unit.store.corrections.note("repair_accepted", "hydra dish section", "hydrodissection", by="delacombe")
    sign_in(page, unit, "tarrow", "/learning")
    page.get_by_role("button", name="Accept hydra dish section, hydrodissection").click()
    expect(page.get_by_role("row").filter(has_text="hydra dish section")).to_contain_text("accepted")
    assert [held.decided_by for held in unit.store.corrections.proposals(decided=True)] == ["tarrow"]
    assert "hydra dish section" in (tmp_path / "learned.toml").read_text("utf-8")


def test_a_wrong_password_says_neither_what_was_wrong(page: Page, unit: Unit) -> None:
    for name in ("delacombe", "nobody"):
        page.goto(f"{unit.address}/login")
        page.get_by_label("Name").fill(name)
        page.get_by_label("Password").fill("not the right one")
        page.get_by_role("button", name="Sign in", exact=True).click()
        expect(page.get_by_role("alert")).to_have_text("Name and password do not fit together; try again.")
        expect(page.get_by_label("Name")).to_have_value(name)


def test_must_items_are_what_a_signature_waits_for(page: Page, unit: Unit) -> None:
    sign_in(page, unit, "delacombe", "/notes/new")
    with page.expect_response("**/notes/reading"):
        page.locator("#dictation").fill(
            "Left eye, phaco with lens under topical. Rhexis, hydrodissection. Lens into the bag."
        )
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#finish")).to_contain_text("something that must be stated is open")
    note = unit.store.notes.get(page.url.split("/notes/")[1][:32])
    needed = sum(gap.severity is Severity.MUST for gap in note.report.gaps)
    expect(page.locator("#tally")).to_contain_text(f"{needed} needed before signing")

"""Every page for every role: no violation that axe-core finds, light and dark; nothing wider than its screen."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe  # type: ignore[import-untyped]  # carries no types
from harrowmere import DAY, Unit, browser, running_unit, sample, sign_in
from playwright.sync_api import Browser, Page

from zonule.casework import Given, work_case
from zonule.dictation import read_text
from zonule.pipeline import Reader
from zonule.requirements import Requirements
from zonule.store import NoteDraft

PAGES = {
    "delacombe": ("/", "/days/2026-03-13", "/notes/new", "/notes/DRAFT", "/notes/SIGNED", "/notes/SIGNED/versions/1",
                  "/find", "/recall", "/learning"),
    "wrenfield": ("/notes/DRAFT",),
    "marchbank": ("/unit-audit", "/notes/DRAFT", "/find", "/recall", "/trail"),
    "tarrow": ("/users", "/learning", "/trail", "/find"),
}  # fmt: skip
"""What each of the people opens; the last one of the administrator is refused, and is a page too."""
SCREENS = {"desk": (1440, 900), "tablet_across": (1024, 768), "tablet_upright": (768, 1024), "phone": (390, 844)}


@pytest.fixture(scope="module")
def unit(tmp_path_factory: pytest.TempPathFactory, reader: Reader, requirements: Requirements) -> Iterator[Unit]:
    with running_unit(Path(tmp_path_factory.mktemp("unit"))) as started:
        _two_notes(started, reader, requirements)
        yield started


def _two_notes(unit: Unit, reader: Reader, requirements: Requirements) -> None:
    """A draft with open questions and misheard terms, and a signed note with an addendum; two things to learn."""
    notes, cases = unit.store.notes, unit.store.cases.of_day(DAY)
    for name, case in (("02", cases[1]), ("01", cases[0])):
        words = sample(name)
        done = work_case(reader, requirements, read_text(words), Given(cases=(case.case,)))
        draft = NoteDraft(words, done.record, done.report, case=case.case)
        note = notes.create(draft, by="delacombe", case_id=case.id)
        NOTES["SIGNED" if name == "01" else "DRAFT"] = note.id
    signed = notes.sign(NOTES["SIGNED"], 1, by="delacombe", signed_name="Farah Delacombe")
    notes.add_addendum(signed.id, "The shield stays on for a week.", signed.record, signed.report, by="delacombe")
    unit.store.corrections.note("repair_accepted", "fake oh", "phaco", by="delacombe")
    decided = unit.store.corrections.note("repair_refused", "centimetres all", "centimeters", by="delacombe")
    unit.store.corrections.decide(decided, False, by="tarrow")


NOTES: dict[str, str] = {}
"""Ids of the notes, by what stands for them in `PAGES`."""


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with browser() as opened:
        yield opened


def _address(unit: Unit, path: str) -> str:
    for name, note_id in NOTES.items():
        path = path.replace(name, note_id)
    return unit.address + path


def _faults(page: Page) -> list[str]:
    found = Axe().run(page).response["violations"]
    return [f"{page.url}: {fault['id']}: {node['html']}" for fault in found for node in fault["nodes"]]


def _turn(page: Page, scheme: str, screen: str) -> None:
    width, height = SCREENS[screen]
    page.emulate_media(color_scheme=scheme, reduced_motion="reduce")  # type: ignore[arg-type]
    page.set_viewport_size({"width": width, "height": height})


@pytest.fixture(params=PAGES)
def opened(request: pytest.FixtureRequest, unit: Unit, chromium: Browser) -> Iterator[tuple[Page, list[str]]]:
    """A page on which one of the people is signed in, and the addresses to open."""
    context = chromium.new_context()
    page = context.new_page()
    sign_in(page, unit, request.param)
    yield page, [_address(unit, path) for path in PAGES[request.param]]
    context.close()


def test_axe_finds_no_violation(opened: tuple[Page, list[str]]) -> None:
    page, addresses = opened
    faults = []
    for address in addresses:
        page.goto(address)
        for scheme, screen in (("light", "desk"), ("dark", "phone")):
            _turn(page, scheme, screen)
            faults += _faults(page)
    assert faults == []


def test_no_page_is_wider_than_its_screen(opened: tuple[Page, list[str]]) -> None:
    page, addresses = opened
    wide = []
    for address in addresses:
        page.goto(address)
        for screen, (width, _) in SCREENS.items():
            _turn(page, "light", screen)
            if page.evaluate("document.documentElement.scrollWidth") > width:
                wide.append(f"{address} {screen}")
    assert wide == []


def test_axe_finds_no_violation_in_what_is_found_and_in_the_help(unit: Unit, chromium: Browser) -> None:
    context = chromium.new_context(reduced_motion="reduce")
    page = context.new_page()
    page.goto(f"{unit.address}/login")
    faults = _faults(page)
    sign_in(page, unit, "delacombe", "/recall")
    page.get_by_label("Model", exact=True).check()
    page.get_by_label("Number or model").fill("FK52")
    page.get_by_role("button", name="Find everyone").click()
    faults += _faults(page)
    page.emulate_media(color_scheme="dark")
    page.goto(f"{unit.address}/find")
    page.get_by_label("Surgeon").fill("Farah Delacombe")
    page.get_by_role("button", name="Find", exact=True).click()
    faults += _faults(page)
    page.locator("h1").click()
    page.keyboard.press("?")
    assert page.locator("#help").is_visible()
    faults += _faults(page)
    faults += _faults_where_two_saves_meet(page, unit)
    context.close()
    assert faults == []


def _faults_where_two_saves_meet(page: Page, unit: Unit) -> list[str]:
    """The page of a note while an answer is refused, then the one that brings two versions together."""
    page.goto(_address(unit, "/notes/DRAFT"))
    with page.expect_response("**/notes/reading"):
        page.locator("[data-item='lens.power_d'] .chip").click()
        page.locator("#change-to").fill("strong")
        page.keyboard.press("Enter")
    page.locator(".given .problem").wait_for()
    faults = _faults(page)
    held = unit.store.notes.get(NOTES["DRAFT"])
    changed = replace(held.draft, dictation=f"{held.draft.dictation} The pupil was small.")
    unit.store.notes.save(held.id, held.number, changed, by="wrenfield")
    page.get_by_role("button", name="Save", exact=True).click()
    page.locator("#together").wait_for()
    return faults + _faults(page)


def test_targets_are_44_pixels_under_a_finger(unit: Unit, chromium: Browser) -> None:
    """44 by 44 CSS pixels, source: WCAG 2.2, 2.5.5 Target Size (Enhanced); links in running text are excepted."""
    context = chromium.new_context(viewport={"width": 1024, "height": 768}, has_touch=True, is_mobile=True)
    page = context.new_page()
    sign_in(page, unit, "delacombe")
    page.goto(_address(unit, "/notes/DRAFT"))
    small = page.evaluate(
        """() => [...document.querySelectorAll("button, a.button, nav a, input, select, summary")]
            .filter((one) => !one.closest("[hidden]") && !one.matches(".visually-hidden, [type=hidden]"))
            .map((one) => [one, one.closest("label.tick, label.button") ?? one])
            .map(([one, target]) => [one.outerHTML.slice(0, 90), target.getBoundingClientRect()])
            .filter(([, box]) => box.width > 0 && (box.height < 43.5 || box.width < 43.5))
            .map(([html, box]) => `${html} ${box.width}x${box.height}`)"""
    )
    context.close()
    assert small == []

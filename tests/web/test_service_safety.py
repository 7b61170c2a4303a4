"""What keeps patient data where it belongs: tokens, sessions, throttle, headers, limits, silence about words."""

import logging
import re
from collections.abc import Iterator
from datetime import timedelta
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image
from running_service import API, PASSWORD, ROUTINE, Service, kept, running

from zonule.web.problems import without_words
from zonule.web.security import cookies
from zonule.web.security.signing_in import safe_next

MARKED = "Quillabeth Zorvane"
"""A name that stands nowhere else: where it turns up, a patient's words leaked."""
NUMBER = "HM-778899001"


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    with running(tmp_path_factory.mktemp("safety")) as service:
        yield service


# ---- tokens and sessions -------------------------------------------------------------------------------------------


def test_a_write_without_its_token_is_refused(service: Service) -> None:
    client = service.client("author")
    token = client.headers.pop("X-CSRF-Token")
    other = service.client("author").headers["X-CSRF-Token"]
    told = {}
    for name, headers in {
        "none": {},
        "another session's": {"X-CSRF-Token": other},
        "own, from another site": {"X-CSRF-Token": token, "Sec-Fetch-Site": "cross-site"},
        "own": {"X-CSRF-Token": token, "Sec-Fetch-Site": "same-origin"},
    }.items():
        told[name] = client.post(f"{API}/readings", json={"dictation": "x"}, headers=headers).status_code
    assert told == {"none": 403, "another session's": 403, "own, from another site": 403, "own": 200}


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data", ""])
def test_another_sites_form_cannot_sign_somebody_in(service: Service, kind: str) -> None:
    headers = {"content-type": kind}
    body = f'{{"name": "author", "password": "{PASSWORD}"}}'
    answer = service.visitor().post(f"{API}/session", content=body, headers=headers)
    assert (answer.status_code, answer.headers.get("set-cookie")) == (403, None)


def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(tmp_path: Path, service: Service) -> None:
    begun = service.visitor().post(f"{API}/session", json={"name": "author", "password": PASSWORD})
    cookie = begun.headers["set-cookie"]
    assert re.sub("=[^;]{20,}", "=…", cookie) == "zonule_session=…; HttpOnly; Max-Age=43200; Path=/; SameSite=lax"
    with running(tmp_path, secure=True, session_lifetime_s=600) as other:
        begun = other.visitor().post(f"{API}/session", json={"name": "author", "password": PASSWORD})
        assert begun.headers["set-cookie"].endswith("; HttpOnly; Max-Age=600; Path=/; SameSite=lax; Secure")
        assert begun.headers["strict-transport-security"] == "max-age=31536000; includeSubDomains"


@pytest.mark.parametrize(("later", "status"), [(29, 200), (31, 401)])
def test_a_session_ends_when_nobody_uses_it(
    service: Service, monkeypatch: pytest.MonkeyPatch, later: int, status: int
) -> None:
    client, clock = service.client("author"), service.store.database.clock
    monkeypatch.setattr(service.store.database, "clock", lambda: clock() + timedelta(minutes=later))
    assert client.get(f"{API}/session").status_code == status


def test_a_session_ends_after_its_lifetime_however_busy(service: Service, monkeypatch: pytest.MonkeyPatch) -> None:
    client, clock = service.client("author"), service.store.database.clock
    told = []
    for minutes in range(0, 13 * 60, 20):
        monkeypatch.setattr(service.store.database, "clock", lambda m=minutes: clock() + timedelta(minutes=m))
        told.append(client.get(f"{API}/session").status_code)
    assert told == [200] * 36 + [401] * 3


def test_signing_in_again_gives_another_session_and_ends_the_one_before(service: Service) -> None:
    client = service.client("author")
    first = client.cookies["zonule_session"]
    client.post(f"{API}/session", json={"name": "author", "password": PASSWORD})
    assert client.cookies["zonule_session"] != first
    assert service.store.sessions.find(first) is None


def test_losing_a_role_or_the_account_ends_open_sessions(service: Service) -> None:
    service.store.users.add("leaver", "Leda Venn", ("author",), PASSWORD)
    administrator, leaver = service.client("administrator"), service.client("leaver")
    administrator.patch(f"{API}/users/leaver", json={"roles": ["auditor"]})
    assert leaver.get(f"{API}/notes").status_code == 401
    leaver = service.client("leaver")
    administrator.patch(f"{API}/users/leaver", json={"disabled": True})
    assert leaver.get(f"{API}/notes").status_code == 401
    begun = service.visitor().post(f"{API}/session", json={"name": "leaver", "password": PASSWORD})
    assert begun.status_code == 401


def test_nobody_takes_the_administrators_role_from_themselves(service: Service) -> None:
    administrator = service.client("administrator")
    for change in ({"disabled": True}, {"roles": ["author"]}):
        assert administrator.patch(f"{API}/users/administrator", json=change).status_code == 409
    assert service.store.users.get("administrator").roles == ("administrator",)


def test_guessing_passwords_takes_ever_longer(tmp_path: Path) -> None:
    with running(tmp_path) as service:
        visitor, told = service.visitor(), []
        for _ in range(7):
            told.append(visitor.post(f"{API}/session", json={"name": "author", "password": "guess"}))
        assert [answer.status_code for answer in told] == [401] * 5 + [429] * 2
        assert told[-1].headers["retry-after"] == "1"
        right = visitor.post(f"{API}/session", json={"name": "author", "password": PASSWORD})
        assert right.status_code == 429
        clock = service.store.database.clock
        service.store.database.clock = lambda: clock() + timedelta(minutes=16)
        assert visitor.post(f"{API}/session", json={"name": "author", "password": PASSWORD}).status_code == 200


def test_a_wrong_name_and_a_wrong_password_are_told_the_same(service: Service) -> None:
    told = [
        service.visitor().post(f"{API}/session", json={"name": name, "password": "wrong"}).json()
        for name in ("author", "nobody-at-all")
    ]
    assert told[0] == told[1]
    service.store.attempts.clear("author", "testclient")


@pytest.mark.parametrize(
    ("path", "safe"),
    [
        ("/notes/new", "/notes/new"),
        ("/days/2026-03-12", "/days/2026-03-12"),
        ("//elsewhere.example", "/"),
        ("https://elsewhere.example/", "/"),
        ("/\\elsewhere.example", "/"),
        ("/a\r\nset-cookie: x", "/"),
        ("javascript:alert(1)", "/"),
        ("", "/"),
        (None, "/"),
    ],
)
def test_where_to_go_on_is_a_path_of_ours(path: str | None, safe: str) -> None:
    assert safe_next(path) == safe


def test_a_token_of_no_cookie_fits_nothing() -> None:
    assert cookies.csrf_fits("seed", cookies.csrf_token("seed"))
    assert not cookies.csrf_fits(None, cookies.csrf_token(""))
    assert not cookies.csrf_fits("seed", None)
    assert not cookies.csrf_fits("seed", cookies.csrf_token("other"))


# ---- headers -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", [f"{API}/health", f"{API}/notes", "/login", "/nothing", f"{API}/nothing"])
def test_every_answer_carries_the_security_headers(service: Service, path: str) -> None:
    """By the secure headers list of OWASP."""
    headers = service.visitor().get(path).headers
    assert headers["content-security-policy"] == (
        "default-src 'self'; img-src 'self' data:; media-src 'self' blob:; object-src 'none'; base-uri 'none'; "
        "form-action 'self'; frame-ancestors 'none'"
    )
    expected = {
        "x-content-type-options": "nosniff",
        "x-frame-options": "DENY",
        "referrer-policy": "no-referrer",
        "cross-origin-opener-policy": "same-origin",
        "cross-origin-resource-policy": "same-origin",
        "cache-control": "no-store",
    }
    assert {name: headers.get(name) for name in expected} == expected


def test_a_foreign_host_name_gets_no_answer(service: Service) -> None:
    """A page elsewhere whose name is pointed at this machine would otherwise be taken for our own."""
    answer = service.visitor().get(f"{API}/health", headers={"host": "elsewhere.example"})
    assert answer.status_code == 400


# ---- limits --------------------------------------------------------------------------------------------------------


def picture(kind: str) -> bytes:
    held = BytesIO()
    Image.new("RGB", (40, 40), "white").save(held, kind)
    return held.getvalue()


@pytest.mark.parametrize(
    ("content", "status", "told"),
    [
        (picture("PNG"), 422, "expected a barcode, found none"),
        (picture("JPEG"), 422, "expected a barcode, found none"),
        (picture("GIF"), 415, "expected a PNG or JPEG file"),
        (picture("TIFF"), 415, "expected a PNG or JPEG file"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", 415, "expected a PNG or JPEG file"),
        (b"\x89PNG\r\n\x1a\n" + b"\0" * 50, 415, "expected a PNG or JPEG file"),
        (b"", 415, "expected a PNG or JPEG file"),
        (b"\xff" * 8_000_001, 413, "expected at most 8,000,000 bytes"),
        (b"\xff" * 8_200_000, 413, "expected at most 8,100,000 bytes"),
    ],
    ids=["png", "jpeg", "gif", "tiff", "svg", "broken png", "empty", "over 8 MB", "far over 8 MB"],
)
def test_a_picture_is_known_by_its_content(service: Service, content: bytes, status: int, told: str) -> None:
    answer = service.client("author").post(
        f"{API}/labels/image", files={"picture": ("label.png", content, "image/png")}
    )
    assert (answer.status_code, told in answer.json()["detail"]) == (status, True)


def test_a_dictation_of_a_million_bytes_is_the_largest(service: Service) -> None:
    client = service.client("author")
    sent = {"one over": "x" * 1_000_001, "in two bytes each": "é" * 500_001}
    told = {name: client.post(f"{API}/readings", json={"dictation": text}) for name, text in sent.items()}
    assert {name: answer.status_code for name, answer in told.items()} == {"one over": 422, "in two bytes each": 422}
    huge = client.post(f"{API}/readings", content=b"x" * 3_200_001, headers={"content-type": "application/json"})
    streamed = client.post(
        f"{API}/readings", content=iter([b"x" * 1_700_000] * 2), headers={"content-type": "application/json"}
    )
    assert (huge.status_code, streamed.status_code) == (413, 413)
    assert streamed.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize("text", ["", "   \n", "a\x00b", "\ud800"], ids=["empty", "blank", "null", "half a character"])
def test_text_that_nobody_can_read_is_refused_in_one_sentence(service: Service, text: str) -> None:
    body = b'{"dictation": "\\ud800"}' if text == "\ud800" else None
    client = service.client("author")
    headers = {"content-type": "application/json"}
    answer = (
        client.post(f"{API}/readings", content=body, headers=headers)
        if body
        else client.post(f"{API}/readings", json={"dictation": text})
    )
    assert (answer.status_code, answer.json()["title"]) == (422, "Cannot be used as it is")


# ---- silence about words -------------------------------------------------------------------------------------------


def test_no_word_of_a_patient_in_logs_metrics_trail_or_errors(
    service: Service, caplog: pytest.LogCaptureFixture
) -> None:
    """Everything is done once with marked words, right and wrong; then they are looked for."""
    caplog.set_level(logging.DEBUG)
    words = f"Patient: {MARKED}. Hospital number {NUMBER}. Left eye phacoemulsification with lens implantation."
    client, errors = service.client("signer"), []
    note = kept(client, words, name=MARKED)["id"]
    for method, path, body in (
        ("POST", "readings", {"dictation": words, "answers": {"operation.eye": MARKED}}),
        ("POST", "readings", {"dictation": words, "answers": {MARKED: "left"}}),
        ("POST", "readings", {"dictation": words, "label": MARKED}),
        ("POST", "readings", {"dictation": words, "standard": MARKED}),
        ("POST", "readings", {"dictation": words, "case": {"patient": MARKED, "planned_eye": MARKED}}),
        ("POST", "readings", {"dictation": words, MARKED: MARKED}),
        ("POST", "readings", {"dictation": [MARKED]}),
        ("POST", "labels", {"code": MARKED}),
        ("POST", "labels", {"code": f'{{"{MARKED}": "{MARKED}", "power_d": "{MARKED}"}}'}),
        ("POST", "lists/2026-03-12", {"text": f"{MARKED},{NUMBER}\n{MARKED},{NUMBER}"}),
        ("POST", "lists/2026-03-12", {"text": f"patient,planned_power_d\n{MARKED},{MARKED}"}),
        ("POST", "find", {"hospital_number": NUMBER, "lot": MARKED}),
        ("POST", "find", {"surgeon": MARKED, "cursor": MARKED}),
        ("POST", "recall", {"lot": MARKED, "serial": NUMBER}),
        ("PUT", f"notes/{note}", {"dictation": words, "base_version": 7}),
        ("POST", f"notes/{note}/signature", {"version": 1}),
        ("POST", f"notes/{note}/addenda", {"dictation": words}),
        ("GET", f"notes/{MARKED}", None),
        ("GET", f"nothing/{MARKED}", None),
        ("GET", f"notes?cursor={MARKED}", None),
        ("POST", "session", {"name": MARKED, "password": MARKED}),
    ):
        answer = client.request(method, f"{API}/{path}", json=body)
        assert 400 <= answer.status_code < 500, (method, path, answer.text)
        errors.append(answer.text)
    client.post(f"{API}/find", json={"surgeon": MARKED})
    client.get(f"{API}/notes/{note}/documents/text")
    administrator = service.client("administrator")
    metrics = administrator.get(f"{API}/metrics").text
    trail = "\n".join(str(entry) for entry in service.store.trail.page(200).items)
    logged = "\n".join(record.getMessage() for record in caplog.records if not record.name.startswith("httpx"))
    assert "POST /api/v1/readings 422" in logged
    assert 'route="/api/v1/notes/{note_id}"' in metrics
    assert "note.document" in trail
    for place, text in {"log": logged, "metrics": metrics, "trail": trail, "errors": "\n".join(errors)}.items():
        for word in (*MARKED.split(), NUMBER):
            assert word.casefold() not in text.casefold(), f"{word} in {place}"
    assert note not in logged + metrics


def test_an_unforeseen_fault_tells_nothing_to_anybody(
    service: Service, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError(f"{MARKED} in a message")

    client = service.client("author")
    monkeypatch.setattr(service.app.state.reading_room, "work", fail)
    answer = client.post(f"{API}/readings", json={"dictation": MARKED})
    assert answer.status_code == 500
    assert answer.json() == {
        "type": "about:blank",
        "title": "Something went wrong here",
        "status": 500,
        "detail": "The service met a fault of its own; it is logged. Try again, and tell who keeps the service.",
    }
    logged = "\n".join(f"{record.getMessage()} {record.exc_text or ''}" for record in caplog.records)
    assert "fault RuntimeError at " in logged
    assert MARKED not in logged


def test_what_was_typed_is_taken_out_of_a_sentence() -> None:
    told = without_words("Value of 'lens.power_d': expected a number, got 'Ada\\'s'; correct it.", ["lens.power_d"])
    assert told == "Value of 'lens.power_d': expected a number, got “…”; correct it."


def test_script_tags_in_a_dictation_stay_text(service: Service) -> None:
    words = ROUTINE.replace("Winifred Askerton", "Winifred <script>alert(1)</script> Askerton")
    client = service.client("author")
    note = kept(client, words)
    page = client.get(f"{API}/notes/{note['id']}/documents/html").text
    assert note["draft"]["dictation"] == words
    assert "<script" not in page
    reading = client.post(f"{API}/readings", json={"dictation": words})
    assert reading.headers["content-type"] == "application/json"


def test_the_trail_tells_who_did_what(tmp_path: Path) -> None:
    with running(tmp_path) as service:
        client = service.client("signer")
        note = kept(client, ROUTINE)["id"]
        client.get(f"{API}/notes/{note}")
        client.put(f"{API}/notes/{note}", json={"dictation": ROUTINE, "base_version": 1})
        client.post(f"{API}/notes/{note}/signature", json={"version": 2})
        client.get(f"{API}/notes/{note}/documents/docx")
        client.post(f"{API}/notes/{note}/addenda", json={"dictation": "A drop of brimonidine was given."})
        client.post(f"{API}/recall", json={"lot": "LB771"})
        client.delete(f"{API}/session")
        service.visitor().post(f"{API}/session", json={"name": "signer", "password": "wrong"})
        entries = [(e.actor, e.action, e.subject == note) for e in reversed(service.store.trail.page(100).items)]
        checked = service.client("auditor").get(f"{API}/trail/verification").json()
    assert entries[4:] == [
        ("signer", "login", False),
        ("signer", "note.create", True),
        ("signer", "note.read", True),
        ("signer", "note.save", True),
        ("signer", "note.sign", True),
        ("signer", "note.document", True),
        ("signer", "note.addendum", True),
        ("signer", "recall", False),
        ("signer", "logout", False),
        ("visitor", "login.failed", False),
    ]
    assert checked == {"whole": True, "broken": None}

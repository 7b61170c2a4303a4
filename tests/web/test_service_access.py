"""Each route × each role and a visitor: the exact status. The table below is written by hand from docs/service.md."""

from collections.abc import Iterator
from typing import Any

import pytest
from fastapi.testclient import TestClient
from running_service import API, PASSWORD, ROLES, ROUTINE, Service, kept, running, signed
from starlette.routing import Mount

from zonule.web.security.access import ACCESS, template_of
from zonule.web.security.cookies import VISIT, csrf_token

VISITOR = "visitor"
ID = "0" * 32
NOTE, SIGNED, DAY = "{note}", "{signed}", "2026-03-12"
READING = {"dictation": ROUTINE}
TAKEN = {"name": "author", "full_name": "Ada Harrow", "roles": ["author"]}
WRITE = ("author", "signer")
READ = ("author", "signer", "auditor")
ALL = ROLES
ANY = (*ROLES, VISITOR)
Row = tuple[str, str, dict[str, Any], int, tuple[str, ...]]
"""Method, path, what is sent, the status for who may, and who may."""

TABLE: tuple[Row, ...] = (
    ("GET", f"{API}/health", {}, 200, ANY),
    ("POST", f"{API}/session", {"json": {"name": "nobody", "password": "x"}}, 401, ANY),
    ("GET", f"{API}/session", {}, 200, ALL),
    ("GET", f"{API}/openapi.json", {}, 200, ALL),
    ("GET", f"{API}/requirements", {}, 200, ALL),
    ("GET", f"{API}/slots", {}, 200, ALL),
    ("POST", f"{API}/readings", {"json": READING}, 200, WRITE),
    ("POST", f"{API}/labels", {"json": {"code": '{"model": "Fernhill 1"}'}}, 200, WRITE),
    ("POST", f"{API}/labels/image", {"files": {"picture": ("a.png", b"no picture")}}, 415, WRITE),
    ("GET", f"{API}/notes", {}, 200, READ),
    ("POST", f"{API}/notes", {"json": READING}, 201, WRITE),
    ("GET", f"{API}/notes/{NOTE}", {}, 200, READ),
    ("PUT", f"{API}/notes/{NOTE}", {"json": {**READING, "base_version": 9}}, 422, WRITE),
    ("GET", f"{API}/notes/{NOTE}/versions", {}, 200, READ),
    ("GET", f"{API}/notes/{NOTE}/versions/1", {}, 200, READ),
    ("GET", f"{API}/notes/{NOTE}/documents/text", {}, 200, READ),
    ("POST", f"{API}/notes/{NOTE}/signature", {"json": {"version": 9}}, 409, ("signer",)),
    ("POST", f"{API}/notes/{SIGNED}/addenda", {"json": {"dictation": "No sutures were placed."}}, 201, ("signer",)),
    ("GET", f"{API}/lists", {}, 200, WRITE),
    ("GET", f"{API}/lists/{DAY}", {}, 200, WRITE),
    ("POST", f"{API}/lists/{DAY}", {"json": {"text": "patient,planned_eye\nAda Fenwick,left"}}, 201, WRITE),
    ("POST", f"{API}/find", {"json": {"lot": "LB771"}}, 200, READ),
    ("POST", f"{API}/recall", {"json": {"lot": "LB771"}}, 200, READ),
    ("POST", f"{API}/corrections", {"json": {"kind": "answer", "heard": "a", "reading": "steps=b"}}, 201, WRITE),
    ("GET", f"{API}/proposals", {}, 200, ("signer", "administrator")),
    ("POST", f"{API}/proposals/none", {"json": {"accept": True}}, 404, ("administrator",)),
    ("GET", f"{API}/unit-audit", {}, 200, ("auditor",)),
    ("GET", f"{API}/users", {}, 200, ("administrator",)),
    ("POST", f"{API}/users", {"json": TAKEN}, 409, ("administrator",)),
    ("PATCH", f"{API}/users/nobody", {"json": {}}, 404, ("administrator",)),
    ("GET", f"{API}/trail", {}, 200, ("auditor",)),
    ("GET", f"{API}/trail/verification", {}, 200, ("auditor", "administrator")),
    ("GET", f"{API}/metrics", {}, 200, ("administrator",)),
)  # fmt: skip

PAGES: tuple[Row, ...] = (
    ("GET", "/days/2026-03-12", {}, 200, WRITE),
    ("POST", "/days", {"data": {"day": "2026-03-13"}, "files": {"list": ("list.csv", b"patient\nAda")}}, 303, WRITE),
    ("GET", "/notes/new", {}, 200, WRITE),
    ("POST", "/notes", {"data": READING}, 303, WRITE),
    ("POST", "/notes/reading", {"data": READING}, 200, WRITE),
    ("POST", "/notes/label", {"files": {"picture": ("a.png", b"no picture")}}, 200, WRITE),
    ("GET", f"/notes/{NOTE}", {}, 200, READ),
    ("POST", f"/notes/{NOTE}", {"data": {**READING, "base_version": "9"}}, 422, WRITE),
    ("GET", f"/notes/{NOTE}/versions/1", {}, 200, READ),
    ("GET", f"/notes/{NOTE}/documents/text", {}, 200, READ),
    ("POST", f"/notes/{NOTE}/signature", {"data": {"version": "1"}}, 409, ("signer",)),
    ("POST", f"/notes/{SIGNED}/addenda", {"data": {"text": "No sutures were placed."}}, 303, ("signer",)),
    ("GET", "/find", {}, 200, READ),
    ("POST", "/find", {"data": {"lot": "LB771"}}, 200, READ),
    ("GET", "/recall", {}, 200, READ),
    ("POST", "/recall", {"data": {"kind": "lot", "key": "LB771"}}, 200, READ),
    ("GET", "/learning", {}, 200, ("signer", "administrator")),
    ("POST", "/learning/none", {"data": {"decision": "refuse"}}, 422, ("administrator",)),
    ("GET", "/unit-audit", {}, 200, ("auditor",)),
    ("GET", "/users", {}, 200, ("administrator",)),
    ("POST", "/users", {"data": {"name": "author"}}, 422, ("administrator",)),
    ("POST", "/users/nobody", {"data": {"action": "enable"}}, 422, ("administrator",)),
    ("GET", "/trail", {}, 200, ("auditor", "administrator")),
    ("POST", "/trail/verification", {"data": {}}, 200, ("auditor", "administrator")),
)


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    with running(tmp_path_factory.mktemp("access")) as service:
        yield service


@pytest.fixture(scope="module")
def clients(service: Service) -> dict[str, TestClient]:
    return {role: service.client(role) for role in ROLES} | {VISITOR: service.visitor()}


@pytest.fixture(scope="module")
def ids(clients: dict[str, TestClient]) -> dict[str, str]:
    return {"note": kept(clients["author"])["id"], "signed": signed(clients["signer"])["id"]}


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row[0]} {row[1]}")
def test_each_role_gets_exactly_what_the_table_says(
    clients: dict[str, TestClient], ids: dict[str, str], row: Row
) -> None:
    method, path, sent, done, may = row
    path = path.format(**ids)
    got = {who: client.request(method, path, **sent).status_code for who, client in clients.items()}
    refused = {who: 401 if who == VISITOR else 403 for who in clients}
    assert got == {who: done if who in may else refused[who] for who in clients}


@pytest.mark.parametrize("row", PAGES, ids=lambda row: f"{row[0]} {row[1]}")
def test_each_role_sees_exactly_its_pages(clients: dict[str, TestClient], ids: dict[str, str], row: Row) -> None:
    method, path, sent, done, may = row
    answers = {who: client.request(method, path.format(**ids), **sent) for who, client in clients.items()}
    visitor = 303 if method == "GET" else 401
    assert {who: answer.status_code for who, answer in answers.items()} == {
        who: done if who in may else visitor if who == VISITOR else 403 for who in clients
    }
    if method == "GET":
        assert answers[VISITOR].headers["location"].startswith("/login?next=/")


def test_the_start_page_is_the_day_s_list_or_the_place_of_who_has_none(clients: dict[str, TestClient]) -> None:
    got = {who: (answer.status_code, answer.headers.get("location")) for who, answer in start(clients).items()}
    assert got == {
        "author": (200, None),
        "signer": (200, None),
        "auditor": (303, "/unit-audit"),
        "administrator": (303, "/users"),
        VISITOR: (303, "/login?next=/"),
    }


def start(clients: dict[str, TestClient]) -> dict[str, Any]:
    return {who: client.get("/") for who, client in clients.items()}


def test_the_tables_hold_every_route() -> None:
    """What a browser does to sign in and out, and the start page, have tests of their own."""
    own = {("GET", "/"), ("GET", "/login"), ("POST", "/login"), ("POST", "/logout"), ("DELETE", f"{API}/session")}
    others = {("GET", "/sign-on"), ("GET", "/sign-on/return"), ("GET", "/static/{path:path}")}
    tested = {(method, template_of(path.format(note=ID, signed=ID))) for method, path, *_ in (*TABLE, *PAGES)}
    assert tested | own | others == set(ACCESS)


def test_every_route_of_the_app_stands_in_the_table_of_access(service: Service) -> None:
    """What stands not in the table is refused to everybody; this finds a route that was forgotten."""
    from fastapi.routing import iter_route_contexts

    found = {
        (method, context.path)
        for context in iter_route_contexts(service.app.router.routes)
        if not isinstance(context.original_route, Mount)
        for method in context.methods or ()
    }
    assert found - set(ACCESS) == set()
    assert {route for route in ACCESS if route[1].startswith(API)} <= found


@pytest.mark.parametrize("path", [f"{API}/nothing", f"{API}/notes/x/y/z", "/nothing", "/etc/passwd", f"{API}/"])
def test_an_address_that_nobody_defined(clients: dict[str, TestClient], path: str) -> None:
    got = {who: client.get(path).status_code for who, client in clients.items()}
    visitor = 401 if path.startswith(API) else 303
    assert got == {who: visitor if who == VISITOR else 404 for who in clients}


def test_an_administrator_sees_no_notes(clients: dict[str, TestClient], ids: dict[str, str]) -> None:
    told = [
        clients["administrator"].get(f"{API}/notes/{ids['note']}{part}")
        for part in ("", "/versions/1", "/documents/html")
    ]
    assert [answer.json()["detail"] for answer in told] == [
        "Your roles do not allow this; ask who keeps the users."
    ] * 3


def test_a_visitor_is_sent_to_the_login_page_and_back_only_to_a_path_of_ours(service: Service) -> None:
    answer = service.visitor().get("/find?next=https://elsewhere.example/")
    assert (answer.status_code, answer.headers["location"]) == (303, "/login?next=/find")


@pytest.mark.parametrize("role", ROLES)
def test_signing_out_ends_the_session_here_too(service: Service, role: str) -> None:
    client = service.client(role)
    token = client.cookies["zonule_session"]
    assert client.delete(f"{API}/session").status_code == 204
    client.cookies.set("zonule_session", token)
    assert client.get(f"{API}/session").status_code == 401


def test_a_visitor_cannot_sign_out_somebody(service: Service) -> None:
    assert service.visitor().delete(f"{API}/session").status_code == 401


def test_who_comes_by_the_login_page_is_signed_in_and_out(service: Service) -> None:
    visitor = service.visitor()
    assert visitor.get("/login").status_code == 200
    token = csrf_token(visitor.cookies[VISIT])
    form = {"name": "author", "password": PASSWORD, "next": "/find"}
    told = [visitor.post("/login", data={**form, "csrf_token": held}).status_code for held in ("", "0" * 64)]
    done = visitor.post("/login", data={**form, "csrf_token": token})
    assert (told, done.status_code, done.headers["location"]) == ([403, 403], 303, "/find")
    assert visitor.get("/login?next=/recall").headers["location"] == "/recall"
    page = visitor.get("/find").text
    token = csrf_token(visitor.cookies["zonule_session"])
    assert token in page
    told = [visitor.post("/logout", data={"csrf_token": held}).status_code for held in ("", token)]
    assert (told, visitor.get("/find").status_code) == ([403, 303], 303)

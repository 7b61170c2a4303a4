"""Each route × each role and a visitor: the exact status. The table below is written by hand from docs/service.md."""

from collections.abc import Iterator
from typing import Any

import pytest
from fastapi.testclient import TestClient
from running_service import API, ROLES, ROUTINE, Service, kept, running, signed
from starlette.routing import Mount

from zonule.web.security.access import ACCESS

VISITOR = "visitor"
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


def test_the_table_holds_every_route_of_the_programming_interface() -> None:
    def shape(path: str) -> str:
        return "/".join("{}" if part.startswith("{") else part for part in path.split("/"))

    literal = {"2026-03-12": "{}", "none": "{}", "nobody": "{}", "1": "{}", "text": "{}"}
    tested = {(m, "/".join(literal.get(p, p) for p in shape(path).split("/"))) for m, path, *_ in TABLE}
    tested.add(("DELETE", f"{API}/session"))
    assert tested == {(method, shape(path)) for method, path in ACCESS if path.startswith(API)}


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

"""Notes through the programming interface: made once, never lost, signed for good, found again."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from hashlib import sha256
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from running_service import API, OPEN, ROUTINE, Service, kept, running, signed

from zonule.casework import Given
from zonule.dictation import read_text
from zonule.web.reading_room import ReadingRoom


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    with running(tmp_path_factory.mktemp("notes")) as service:
        yield service


@pytest.fixture(scope="module")
def author(service: Service) -> TestClient:
    return service.client("author")


@pytest.fixture(scope="module")
def signer(service: Service) -> TestClient:
    return service.client("signer")


def test_a_note_gives_back_the_dictation_as_received(author: TestClient) -> None:
    words = "\ufeffPatient:  Ada\r\n\r\nFenwick.\tLeft eye – phacoemulsification, lens implanted.  "
    note = kept(author, words, name="list 3, case 2", answers={"operation.eye": "left"}, keep=["hydro"])
    again = author.get(f"{API}/notes/{note['id']}").json()
    assert again == note
    draft = again["draft"]
    assert (draft["dictation"], draft["name"], draft["answers"], draft["keep"]) == (
        words,
        "list 3, case 2",
        {"operation.eye": "left"},
        ["hydro"],
    )


def test_two_who_save_one_note_lose_nothing(author: TestClient, signer: TestClient) -> None:
    note = kept(author, OPEN)
    first = author.put(f"{API}/notes/{note['id']}", json={"dictation": OPEN + " First.", "base_version": 1})
    second = signer.put(f"{API}/notes/{note['id']}", json={"dictation": OPEN + " Second.", "base_version": 1})
    assert (first.status_code, first.json()["version"]) == (200, 2)
    assert second.status_code == 409
    problem = second.json()
    assert {key: problem[key] for key in ("status", "current_version", "set_aside_version")} == {
        "status": 409,
        "current_version": 2,
        "set_aside_version": 3,
    }
    versions = author.get(f"{API}/notes/{note['id']}/versions").json()
    assert [(v["number"], v["author"], v["set_aside"]) for v in versions] == [
        (1, "author", False),
        (2, "author", False),
        (3, "signer", True),
    ]
    aside = signer.get(f"{API}/notes/{note['id']}/versions/3").json()
    assert aside["draft"]["dictation"] == OPEN + " Second."
    assert author.get(f"{API}/notes/{note['id']}").json()["draft"]["dictation"] == OPEN + " First."


def test_eight_who_save_at_once(service: Service, author: TestClient) -> None:
    note = kept(author, OPEN)["id"]

    def save(number: int) -> int:
        client = service.visitor()
        client.cookies, client.headers = author.cookies, author.headers
        body = {"dictation": f"{OPEN} Number {number}.", "base_version": 1}
        return client.put(f"{API}/notes/{note}", json=body).status_code

    with ThreadPoolExecutor(8) as pool:
        told = sorted(pool.map(save, range(8)))
    assert told == [200] + [409] * 7
    versions = author.get(f"{API}/notes/{note}/versions").json()
    words = {author.get(f"{API}/notes/{note}/versions/{v['number']}").json()["draft"]["dictation"] for v in versions}
    assert words == {OPEN, *(f"{OPEN} Number {number}." for number in range(8))}


def test_a_note_with_something_open_is_not_signed(signer: TestClient) -> None:
    note = kept(signer, OPEN)
    refused = signer.post(f"{API}/notes/{note['id']}/signature", json={"version": 1})
    assert (note["state"], refused.status_code) == ("draft", 409)
    body = {"dictation": OPEN, "answers": {"lens.model": "Fernhill 1"}, "base_version": 1}
    complete = signer.put(f"{API}/notes/{note['id']}", json=body).json()
    done = signer.post(f"{API}/notes/{note['id']}/signature", json={"version": 2}).json()
    assert (complete["state"], done["state"], done["signature"]["signed_name"]) == (
        "complete",
        "signed",
        "Signer Harrow",
    )


def test_a_signed_note_never_changes(signer: TestClient) -> None:
    note = signed(signer)
    path = f"{API}/notes/{note['id']}"
    told = [
        signer.put(path, json={"dictation": "other words", "base_version": 1}).status_code,
        signer.post(f"{path}/signature", json={"version": 1}).status_code,
    ]
    assert told == [409, 409]
    assert signer.get(path).json() == note


def test_an_addendum_changes_the_record_and_leaves_the_dictation(signer: TestClient) -> None:
    note = signed(signer)
    before = kept(signer)
    refused = signer.post(f"{API}/notes/{before['id']}/addenda", json={"dictation": "Vacuum was 400."})
    added = signer.post(f"{API}/notes/{note['id']}/addenda", json={"dictation": "Addendum: the lens power was 22.5."})
    assert (refused.status_code, added.status_code) == (409, 201)
    after = added.json()
    assert after["draft"] == note["draft"]
    assert [held["dictation"] for held in after["addenda"]] == ["Addendum: the lens power was 22.5."]
    assert after["record"]["lenses"][0]["power_d"]["value"] == 22.5
    assert signer.get(f"{API}/notes/{note['id']}/versions/1").json()["record"] == note["record"]


def test_every_document_of_a_signed_note_names_its_signer(signer: TestClient) -> None:
    note = signed(signer)
    told = {}
    for name in ("docx", "html", "text", "fhir", "cda", "eye", "timeline"):
        answer = signer.get(f"{API}/notes/{note['id']}/documents/{name}")
        told[name] = (answer.status_code, answer.headers["content-type"].partition(";")[0])
        assert answer.headers["content-disposition"].startswith(
            f'attachment; filename="operation-note-{note["id"][:8]}-v1.'
        )
        if name in ("html", "text"):
            assert "Signer Harrow" in answer.text
    assert told == {
        "docx": (200, "application/vnd.openxmlformats-officedocument.wordprocessingml.document"),
        "html": (200, "text/html"),
        "text": (200, "text/plain"),
        "fhir": (200, "application/fhir+json"),
        "cda": (200, "application/xml"),
        "eye": (200, "image/svg+xml"),
        "timeline": (200, "image/svg+xml"),
    }


def test_the_same_document_twice_is_the_same_bytes(signer: TestClient) -> None:
    path = f"{API}/notes/{signed(signer)['id']}/documents/docx"
    assert sha256(signer.get(path).content).digest() == sha256(signer.get(path).content).digest()


def test_no_document_is_made_of_a_text_that_is_no_operation_note(author: TestClient) -> None:
    note = kept(author, "Shopping: milk, bread and two lemons.")
    assert author.get(f"{API}/notes/{note['id']}/documents/docx").status_code == 409


# ---- written once --------------------------------------------------------------------------------------------------


def test_a_write_sent_twice_with_its_key_is_done_once(author: TestClient) -> None:
    body, key = {"dictation": OPEN, "name": "sent twice"}, {"Idempotency-Key": "3f0c-once"}
    first, second = (author.post(f"{API}/notes", json=body, headers=key) for _ in range(2))
    assert (first.status_code, first.content) == (second.status_code, second.content)
    assert ("idempotency-replayed" in first.headers, second.headers["idempotency-replayed"]) == (False, "true")
    other = author.post(f"{API}/notes", json={"dictation": ROUTINE}, headers=key)
    assert (other.status_code, "take a new key" in other.json()["detail"]) == (422, True)
    odd = author.post(f"{API}/notes", json=body, headers={"Idempotency-Key": "with space"})
    assert odd.status_code == 422


def test_a_key_belongs_to_its_user_and_route(author: TestClient, signer: TestClient) -> None:
    key = {"Idempotency-Key": "shared-key"}
    ids = {
        client.post(f"{API}/notes", json={"dictation": OPEN}, headers=key).json()["id"] for client in (author, signer)
    }
    assert len(ids) == 2


def test_a_save_sent_twice_with_its_key_is_no_conflict(author: TestClient) -> None:
    note = kept(author, OPEN)["id"]
    body, key = {"dictation": OPEN + " More.", "base_version": 1}, {"Idempotency-Key": "save-1"}
    told = [author.put(f"{API}/notes/{note}", json=body, headers=key).json()["version"] for _ in range(2)]
    assert told == [2, 2]
    assert len(author.get(f"{API}/notes/{note}/versions").json()) == 2


# ---- lists, finding, corrections, users ----------------------------------------------------------------------------

LIST = "patient,hospital_number,planned_eye,surgeon\nAda Fenwick,HM-1,left,Dr Wren\nBasil Thorne,HM-2,right,Dr Wren\n"


def test_a_day_s_list_shows_where_each_case_stands(signer: TestClient) -> None:
    made = signer.post(f"{API}/lists/2026-05-04", json={"text": LIST}).json()
    first = made["cases"][0]
    note = kept(signer, "Phacoemulsification of the left eye, lens implanted.", case_id=first["id"])
    shown = signer.get(f"{API}/lists/2026-05-04").json()
    assert [(case["case"]["patient"], case["state"]) for case in shown["cases"]] == [
        ("Ada Fenwick", "gaps_open"),
        ("Basil Thorne", "no_dictation"),
    ]
    assert shown["counts"] == {"no_dictation": 1, "gaps_open": 1, "ready": 0, "signed": 0}
    assert note["record"]["patient"]["name"] == {
        "value": "Ada Fenwick",
        "status": "done",
        "evidence": [],
        "origin": "worklist",
        "time_s": None,
        "read_as": [],
        "cue": None,
    }
    assert signer.get(f"{API}/lists").json()["days"][0] == "2026-05-04"
    again = signer.post(f"{API}/notes", json={"dictation": OPEN, "case_id": first["id"]})
    assert again.status_code == 409


def test_who_received_a_lot(service: Service, signer: TestClient) -> None:
    words = ROUTINE + "\nLot number ZX9917."
    note = kept(signer, words, answers={"lens.lot_number": "ZX9917"})
    auditor = service.client("auditor")
    recalled = auditor.post(f"{API}/recall", json={"lot": "zx9917"}).json()
    found = auditor.post(f"{API}/find", json={"lot": "ZX9917"}).json()
    assert (recalled["count"], [item["note_id"] for item in recalled["items"]]) == (1, [note["id"]])
    assert found["items"] == recalled["items"]
    by_day = auditor.post(f"{API}/find", json={"first": "2026-03-12", "last": "2026-03-12", "limit": 1}).json()
    assert (len(by_day["items"]), by_day["cursor"] is None) == (1, False)
    for wrong in ({}, {"lot": "a", "surgeon": "b"}, {"lot": " "}):
        assert auditor.post(f"{API}/find", json=wrong).status_code == 422


def test_pages_of_notes_hold_each_note_once(author: TestClient) -> None:
    for _ in range(3):
        kept(author, OPEN)
    ids, cursor = [], None
    while True:
        page = author.get(f"{API}/notes", params={"limit": 2, **({"cursor": cursor} if cursor else {})}).json()
        ids += [item["id"] for item in page["items"]]
        cursor = page["cursor"]
        if cursor is None:
            break
    assert len(ids) == len(set(ids)) == len(author.get(f"{API}/notes", params={"limit": 200}).json()["items"])


def test_what_a_person_corrects_becomes_a_proposal(service: Service, author: TestClient) -> None:
    """Trade words only: a name typed in is nothing to learn from."""
    answers = {"anesthesia": "sub-Tenon's block", "patient.name": "Ada Fenwick"}
    note = kept(author, OPEN, answers=answers)
    reading = author.post(f"{API}/readings", json={"dictation": OPEN}).json()
    heard = reading["record"]["repairs"][0]["reading"]["heard"]
    body = {"dictation": OPEN, "answers": answers, "keep": [heard], "base_version": 1}
    author.put(f"{API}/notes/{note['id']}", json=body)
    told = service.client("signer").get(f"{API}/proposals").json()
    ours = {(p["kind"], p["heard"], p["reading"]) for p in told}
    assert ("answer", "sub-Tenon's block", "anesthesia=sub_tenon") in ours
    assert ("repair_refused", heard, reading["record"]["repairs"][0]["reading"]["read_as"]) in ours
    assert "Ada" not in str(told)


def test_an_administrator_keeps_the_users(service: Service) -> None:
    administrator = service.client("administrator")
    body = {"name": "resident", "full_name": "Rosalind Ember", "roles": ["author"], "password": "a long passphrase"}
    made = administrator.post(f"{API}/users", json=body)
    changed = administrator.patch(
        f"{API}/users/resident", json={"roles": ["author", "signer"], "issuer": "https://id.example", "subject": "42"}
    ).json()
    assert (made.status_code, made.json()["roles"], changed["roles"], changed["subject"]) == (
        201,
        ["author"],
        ["author", "signer"],
        "42",
    )
    assert "password" not in str(administrator.get(f"{API}/users").json())
    short = administrator.post(f"{API}/users", json={**body, "name": "other", "password": "short"})
    assert (short.status_code, "short" in short.text.replace("shorten", "")) == (422, False)


def test_an_accepted_proposal_is_read_with_from_then_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also in another worker process, which only sees that the folder changed; a folder that broke changes nothing."""
    monkeypatch.setenv("ZONULE_LEXICON", str(tmp_path / "unit"))
    (tmp_path / "unit").mkdir()
    words = "Left eye phacoemulsification under harrow drops, lens implanted."
    with running(tmp_path) as service:
        service.app.state.reading_room = ReadingRoom(service.app.state.metrics)
        other = ReadingRoom(service.app.state.metrics)
        author, administrator = service.client("author"), service.client("administrator")
        body = {"kind": "answer", "heard": "harrow drops", "reading": "anesthesia=topical"}
        proposal = author.post(f"{API}/corrections", json=body).json()["proposal"]
        before = author.post(f"{API}/readings", json={"dictation": words}).json()["record"]["anesthesia"]
        decided = administrator.post(f"{API}/proposals/{proposal}", json={"accept": True})
        again = administrator.post(f"{API}/proposals/{proposal}", json={"accept": False})
        after = author.post(f"{API}/readings", json={"dictation": words}).json()["record"]["anesthesia"]
        monkeypatch.setattr("zonule.web.reading_room.LOOK_EVERY_S", 0.0)
        elsewhere = other.work(read_text(words), Given()).record.anesthesia
        (tmp_path / "unit" / "learned.toml").write_text("[[term]", "utf-8")
        broken = other.work(read_text(words), Given()).record.anesthesia
    assert (before, decided.status_code, decided.json()["accepted"], again.status_code) == ([], 200, True, 422)
    assert [fact["value"] for fact in after] == ["topical"]
    assert ([fact.value for fact in elsewhere], broken) == (["topical"], elsewhere)

"""Users, passwords, sessions, failed logins, kept answers."""

from datetime import timedelta
from typing import Literal

import pytest
from argon2 import PasswordHasher
from sqlalchemy import text
from store_samples import PASSWORD, QUICK, Ticking, add_user

from zonule.store import KeptAnswer, Role, Store, open_store
from zonule.store.faults import KeyReusedError, NotFoundError, RefusedError, TakenError

HOUR, QUARTER = timedelta(hours=1), timedelta(minutes=15)


def stored(store: Store, query: str) -> str:
    with store.database.reading() as session:
        return str(session.execute(text(query)).all())


def test_a_user_is_checked_by_password(store: Store) -> None:
    added = store.users.add("imogen", " Imogen Sallow ", ["signer", Role.AUTHOR, "author"], PASSWORD)
    assert (added.full_name, added.roles, added.disabled) == ("Imogen Sallow", (Role.AUTHOR, Role.SIGNER), False)
    assert store.users.check("imogen", PASSWORD) == added == store.users.get("imogen")
    wrong = [("imogen", PASSWORD[:-1]), ("imogen", ""), ("Imogen", PASSWORD), ("rowan", PASSWORD), ("", "")]
    odd = [("a\x00", "b\x00"), ("imogen", "\ud83d")]
    assert [store.users.check(*pair) for pair in (*wrong, *odd)] == [None] * 7
    assert PASSWORD not in stored(store, "SELECT * FROM users")
    assert "$argon2id$" in stored(store, "SELECT password_hash FROM users")


def test_an_unknown_name_is_hashed_too(url: str) -> None:
    """The same work for a name that nobody has: counted, not timed."""
    worked = []

    class Counting(PasswordHasher):
        def verify(self, hash: str | bytes, password: str | bytes) -> Literal[True]:
            worked.append(hash)
            return super().verify(hash, password)

    with open_store(url, hasher=Counting(time_cost=1, memory_cost=64, parallelism=1)) as store:
        add_user(store)
        for name in ("imogen", "rowan", "no name at all"):
            store.users.check(name, "a wrong password")
    assert len(worked) == 3


def test_a_hash_made_with_less_work_is_renewed(url: str) -> None:
    with open_store(url, hasher=QUICK) as store:
        add_user(store)
    with open_store(url, hasher=PasswordHasher(time_cost=2, memory_cost=64, parallelism=1)) as store:
        assert store.users.check("imogen", PASSWORD)
        assert "t=2" in stored(store, "SELECT password_hash FROM users")
        assert store.users.check("imogen", PASSWORD)


def test_users_change(store: Store) -> None:
    add_user(store, "rowan", "auditor")
    add_user(store)
    assert [user.name for user in store.users.all()] == ["imogen", "rowan"]
    token = store.sessions.begin("imogen", HOUR, QUARTER)
    store.users.set_password("imogen", "another sentence for today", by="rowan")
    assert (store.sessions.find(token), store.users.check("imogen", PASSWORD)) == (None, None)
    assert store.users.set_roles("imogen", ["administrator"]).roles == (Role.ADMINISTRATOR,)
    token = store.sessions.begin("imogen", HOUR, QUARTER)
    assert store.users.disable("imogen").disabled
    assert store.users.check("imogen", "another sentence for today") is None
    assert store.sessions.find(token) is None
    with pytest.raises(NotFoundError):
        store.sessions.begin("imogen", HOUR, QUARTER)
    store.users.enable("imogen")
    assert store.users.check("imogen", "another sentence for today") == store.users.get("imogen")


@pytest.mark.parametrize("name", ["", "Imogen", "a b", "-a", "a" * 65, "ä", "a\n", "a/b"])
def test_names_that_are_refused(store: Store, name: str) -> None:
    with pytest.raises(RefusedError):
        store.users.add(name, "Imogen Sallow", ["author"], PASSWORD)
    with pytest.raises(NotFoundError):
        store.users.get(name)


def test_what_else_is_refused(store: Store) -> None:
    add_user(store)
    with pytest.raises(TakenError):
        add_user(store)
    for roles, password in ((["author"], "too short"), (["author"], "x" * 1001), ([], PASSWORD), (["owner"], PASSWORD)):
        with pytest.raises(RefusedError) as caught:
            store.users.add("rowan", "Rowan Teal", roles, password)
        assert "too short" not in str(caught.value)
    assert [user.name for user in store.users.all()] == ["imogen"]


def test_a_subject_of_a_provider_is_one_user(store: Store) -> None:
    store.users.add("imogen", "Imogen Sallow", ["author"], None)
    add_user(store, "rowan")
    issuer = "https://login.harrowmere.example"
    assert store.users.link_subject(issuer, "s-1") is None
    linked = store.users.set_subject("imogen", issuer, "s-1")
    assert store.users.link_subject(issuer, "s-1") == linked
    assert store.users.link_subject("https://other.example", "s-1") is None
    with pytest.raises(TakenError):
        store.users.set_subject("rowan", issuer, "s-1")
    assert store.users.check("imogen", "") is None
    store.users.disable("imogen")
    assert store.users.link_subject(issuer, "s-1") is None


# ---- sessions ------------------------------------------------------------------------------------------------------


def test_a_session_ends_by_lifetime_and_by_idleness(store: Store, clock: Ticking) -> None:
    add_user(store)
    token = store.sessions.begin("imogen", HOUR, QUARTER)
    for _ in range(5):
        clock.skip(minutes=11)
        session = store.sessions.find(token)
        assert session is not None
        assert session.user.name == "imogen"
    clock.skip(minutes=11)
    assert store.sessions.find(token) is None
    token = store.sessions.begin("imogen", HOUR, QUARTER)
    clock.skip(minutes=15)
    assert store.sessions.find(token) is None
    assert stored(store, "SELECT * FROM web_sessions") == "[]"


def test_tokens_are_strangers_to_the_database(store: Store) -> None:
    add_user(store)
    tokens = [store.sessions.begin("imogen", HOUR, QUARTER) for _ in range(3)]
    held = stored(store, "SELECT * FROM web_sessions")
    assert [token for token in tokens if token in held or len(token) < 40] == []
    assert len(set(tokens)) == 3
    store.sessions.end(tokens[0])
    store.sessions.end("unknown")
    assert [store.sessions.find(token) is None for token in tokens] == [True, False, False]
    store.sessions.end_all("imogen")
    assert [store.sessions.find(token) for token in (*tokens, "", "\ud83d")] == [None] * 5


# ---- failed logins -------------------------------------------------------------------------------------------------


def wait(store: Store, name: str = "imogen", address: str = "192.0.2.1") -> int:
    return round(store.attempts.wait_before(name, address))


def test_guessing_takes_ever_longer(store: Store, clock: Ticking) -> None:
    waits = []
    for _ in range(9):
        store.attempts.record("imogen", "192.0.2.1")
        waits.append(wait(store))
    assert waits == [0, 0, 0, 0, 0, 1, 3, 7, 15]
    assert (wait(store, address="192.0.2.2"), wait(store, name="rowan")) == (0, 0)
    clock.skip(seconds=20)
    assert wait(store) == 0
    for _ in range(9):
        store.attempts.record("imogen", "192.0.2.1")
    assert wait(store) == 899
    store.attempts.clear("imogen", "192.0.2.1")
    assert wait(store) == 0


def test_many_addresses_and_many_names_are_noticed(store: Store, clock: Ticking) -> None:
    for number in range(23):
        store.attempts.record("imogen", f"192.0.2.{number}")
    assert (wait(store, address="198.51.100.1"), wait(store, "rowan", "198.51.100.1")) == (7, 0)
    for number in range(43):
        store.attempts.record(f"user{number}", "203.0.113.9")
    assert wait(store, "nobody", "203.0.113.9") == 7
    clock.skip(hours=1)
    assert wait(store) == 0
    store.attempts.record("PASSWORD typed as a name", "192.0.2.1")
    assert "typed" not in stored(store, "SELECT * FROM failed_logins")
    assert stored(store, "SELECT count(*) FROM failed_logins") == "[(1,)]"


# ---- answers kept --------------------------------------------------------------------------------------------------


def test_the_first_answer_is_kept(store: Store, clock: Ticking) -> None:
    answer, other = KeptAnswer(201, "application/json", b'{"id": 1}'), KeptAnswer(201, "text/plain", b"\x00\xff")
    assert store.once.remember("k", "imogen", "POST /notes", "h1") is None
    assert store.once.keep("k", "imogen", "POST /notes", "h1", answer) == answer
    assert store.once.keep("k", "imogen", "POST /notes", "h1", other) == answer
    assert store.once.remember("k", "imogen", "POST /notes", "h1") == answer
    assert store.once.remember("k", "rowan", "POST /notes", "h1") is None
    assert store.once.remember("k", "imogen", "PUT /notes", "h1") is None
    with pytest.raises(KeyReusedError):
        store.once.remember("k", "imogen", "POST /notes", "h2")
    clock.skip(hours=24)
    assert store.once.forget(clock() - HOUR) == 1
    assert store.once.remember("k", "imogen", "POST /notes", "h2") is None

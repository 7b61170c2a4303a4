"""`zonule store …` and `zonule user …` as somebody types them."""

import io
import re
from pathlib import Path
from typing import Protocol

import pytest

from zonule.cli import main
from zonule.store import open_store
from zonule.store.verifying import LOST

SENTENCE = "nine seagulls on the pier"


@pytest.fixture
def url(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """The store of the environment."""
    url = f"sqlite:///{tmp_path / 'zonule.db'}"
    monkeypatch.setenv("ZONULE_STORE", url)
    return url


class Typed(Protocol):
    """Types a command and what it asks for; gives exit code, standard output, standard error."""

    def __call__(self, line: str, words: str = "") -> tuple[int, str, str]: ...


@pytest.fixture
def zonule(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Typed:
    """The command line."""

    def typed(line: str, words: str = "") -> tuple[int, str, str]:
        monkeypatch.setattr("sys.stdin", io.StringIO(words))
        code = main(line.split())
        told = capsys.readouterr()
        return code, told.out, told.err

    return typed


def test_a_user_from_first_to_last(zonule: Typed, url: str) -> None:
    add = "user add imogen --full-name Imogen --role signer --role author"
    assert zonule(add, f"{SENTENCE}\n") == (0, "imogen was added.\n", "")
    assert zonule("user roles imogen --role auditor") == (0, "imogen: auditor.\n", "")
    assert zonule("user password imogen", "another sentence\r\n") == (
        0, "The password of imogen is set; their sessions ended.\n", "",
    )  # fmt: skip
    assert zonule("user disable imogen") == (0, "imogen can no longer log in.\n", "")
    assert zonule("user list") == (0, "imogen\tImogen\tauditor\tdisabled\n", "")
    assert zonule("user disable imogen --undo") == (0, "imogen can again log in.\n", "")
    assert zonule("user add rowan --full-name Rowan --role auditor --no-password")[0] == 0
    with open_store(url) as store:
        assert store.users.check("imogen", SENTENCE) is None
        assert store.users.check("imogen", "another sentence") is not None
        trail = [(e.action, e.subject) for e in reversed(store.trail.page().items)]
        actors = {e.actor.split(":")[0] for e in store.trail.page().items}
    assert trail == [
        ("user.add", "imogen"), ("user.roles", "imogen"), ("user.password", "imogen"), ("user.disable", "imogen"),
        ("user.enable", "imogen"), ("user.add", "rowan"),
    ]  # fmt: skip
    assert actors == {"console"}


def test_no_password_is_an_argument(zonule: Typed, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        zonule(f"user add imogen --full-name Imogen --role author --password {SENTENCE}")
    assert "unrecognized arguments" in capsys.readouterr().err


def test_the_store_from_export_to_restore(zonule: Typed, url: str, tmp_path: Path) -> None:
    zonule("user add imogen --full-name Imogen --role author", f"{SENTENCE}\n")
    everything, backup, copy = tmp_path / "all.zip", tmp_path / "backup", tmp_path / "copy.db"
    assert zonule(f"store export {everything}")[::2] == (0, "")
    assert zonule(f"store import {everything} --store sqlite:///{copy}")[::2] == (0, "")
    assert zonule(f"store backup {backup}")[::2] == (0, "")
    code, _, told = zonule(f"store restore {backup}")
    assert (code, told.startswith("zonule: Store ")) == (2, True)
    code, told, _ = zonule(f"store restore {backup} --replace")
    assert (code, told.splitlines()[0]) == (0, f"The store that was there is now {tmp_path / 'zonule.db.replaced-1'}.")
    code, told, _ = zonule("store verify")
    assert re.fullmatch(r"The store is as it was written: 4 entries, the last one [0-9a-f]{64}\.\n", told)
    written_down = told.split()[-1].rstrip(".")
    assert zonule(f"store verify --hash {written_down}")[0] == 0
    assert zonule(f"store verify --hash {'0' * 64}")[:2] == (1, f"{LOST}\n")
    assert zonule("store upgrade") == (0, "The store has form 0002.\n", "")
    assert zonule(f"store upgrade --store sqlite:///{tmp_path / 'new.db'}")[1] == (
        "The store has form 0002, before that none.\n"
    )
    with open_store(url) as store:
        actions = [e.action for e in reversed(store.trail.page().items)]
    assert actions == ["user.add", "store.export", "store.backup", "store.restore"]


def test_a_store_that_was_changed_is_told(zonule: Typed, url: str) -> None:
    zonule("user add imogen --full-name Imogen --role author", f"{SENTENCE}\n")
    with open_store(url) as store, store.database.engine.begin() as connection:
        connection.exec_driver_sql("DROP TRIGGER trail_not_updated")
        connection.exec_driver_sql("UPDATE trail SET actor = 'nobody'")
    assert zonule("store verify") == (1, "The audit trail is broken at entry 1.\n", "")


@pytest.mark.parametrize("line", ["store export x", "store backup x", "store verify", "user list", "user disable a"])
def test_a_mistyped_url_makes_no_empty_store(zonule: Typed, tmp_path: Path, line: str) -> None:
    file = tmp_path / "none.db"
    code, out, told = zonule(f"{line} --store sqlite:///{file}")
    assert (code, out) == (2, "")
    assert told == f"zonule: Store {file}: expected a store, got no file; check --store or ZONULE_STORE.\n"
    assert list(tmp_path.iterdir()) == []


@pytest.mark.usefixtures("url")
def test_two_passwords_that_differ(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    answers = iter([SENTENCE, "another sentence"])

    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setattr("sys.stdin", Terminal())
    monkeypatch.setattr("getpass.getpass", lambda _: next(answers))
    assert main(["user", "add", "imogen", "--full-name", "Imogen", "--role", "author"]) == 2
    assert capsys.readouterr().err == "zonule: Password: expected the same twice, got two; try again.\n"


def test_without_a_setting_the_store_is_in_the_users_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    from zonule.settings import store_url

    monkeypatch.delenv("ZONULE_STORE", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert store_url() == f"sqlite:///{tmp_path}/zonule/zonule.db"

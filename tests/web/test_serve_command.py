"""`zonule serve`: on this machine without more; elsewhere only with users, and TLS or a declared proxy."""

import datetime
import ipaddress
import logging
import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import httpx2
import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID
from running_service import API, PASSWORD, ROUTINE

from zonule.cli import build_parser, main
from zonule.commands import serve
from zonule.store import open_store
from zonule.web.service_settings import HANDED_OVER, ServiceSettings, handed_over


@pytest.fixture
def served(monkeypatch: pytest.MonkeyPatch) -> list[ServiceSettings]:
    """What would have been served: nothing listens."""
    held: list[ServiceSettings] = []
    monkeypatch.setattr(serve, "_serve", lambda _, settings: held.append(settings))
    return held


def run(folder: Path, *options: str) -> int:
    return main(["serve", "--store", f"sqlite:///{folder}/zonule.db", *options])


def certificate(folder: Path) -> tuple[str, str]:
    """A certificate of this machine for itself."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "localhost")])
    now = datetime.datetime.now(datetime.UTC)
    names = x509.SubjectAlternativeName([x509.IPAddress(ipaddress.ip_address("127.0.0.1"))])
    built = (
        x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number())
        .not_valid_before(now)
        .not_valid_after(now + datetime.timedelta(days=1))
        .add_extension(names, critical=False)
        .sign(key, hashes.SHA256())
    )
    pem = serialization.Encoding.PEM
    private = key.private_bytes(pem, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    (folder / "unit.pem").write_bytes(built.public_bytes(pem))
    (folder / "unit.key").write_bytes(private)
    return str(folder / "unit.pem"), str(folder / "unit.key")


@pytest.mark.parametrize(
    ("host", "loopback"),
    [
        ("127.0.0.1", True),
        ("127.8.8.8", True),
        ("::1", True),
        ("[::1]", True),
        ("localhost", True),
        ("0.0.0.0", False),
        ("::", False),
        ("192.168.1.4", False),
        ("notes.harrowmere.example", False),
        ("localhost.harrowmere.example", False),
        ("", False),
    ],
)
def test_which_addresses_are_this_machine_alone(host: str, loopback: bool) -> None:
    assert serve.is_loopback(host) is loopback


def test_without_users_it_listens_here_and_says_how_to_add_one(
    tmp_path: Path, served: list[ServiceSettings], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(tmp_path) == 0
    assert 'zonule user add NAME --full-name "Full Name" --role administrator' in capsys.readouterr().out
    assert (served[0].secure, served[0].hosts) == (False, ("127.0.0.1", "localhost", "[::1]"))
    with open_store(served[0].store) as store:
        assert store.users.all() == ()


def test_the_first_user_is_added_by_the_command_it_names() -> None:
    words = 'user add NAME --full-name "Full Name" --role administrator'
    assert words in serve.FIRST_USER
    given = build_parser().parse_args(["user", "add", "NAME", "--full-name", "Full Name", "--role", "administrator"])
    assert given.run is not None


@pytest.mark.parametrize(
    ("options", "users", "told"),
    [
        (["--host", "0.0.0.0"], True, "expected --tls-cert and --tls-key, or --behind-proxy, to listen on '0.0.0.0'"),
        (["--host", "0.0.0.0", "--behind-proxy", "127.0.0.1"], False, "expected users before it listens on '0.0.0.0'"),
        (["--host", "::", "--tls-cert", "CERT", "--tls-key", "KEY"], False, "expected users before it listens on '::'"),
        (["--tls-cert", "CERT"], True, "expected --tls-cert and --tls-key together, got one of them"),
        (["--tls-cert", "none.pem", "--tls-key", "KEY"], True, "expected a PEM file, got 'none.pem'"),
        (["--tls-cert", "KEY", "--tls-key", "CERT"], True, "expected a certificate and its private key"),
    ],
)
def test_what_is_not_safe_is_refused_in_one_sentence(
    tmp_path: Path,
    served: list[ServiceSettings],
    capsys: pytest.CaptureFixture[str],
    options: list[str],
    users: bool,
    told: str,
) -> None:
    cert, key = certificate(tmp_path)
    if users:
        add_user(tmp_path)
    assert run(tmp_path, *({"CERT": cert, "KEY": key}.get(option, option) for option in options)) == 2
    assert (told in capsys.readouterr().err, served) == (True, [])


@pytest.mark.parametrize("way", ["tls", "proxy"])
def test_with_users_and_tls_it_listens_elsewhere(tmp_path: Path, served: list[ServiceSettings], way: str) -> None:
    cert, key = certificate(tmp_path)
    add_user(tmp_path)
    safe = ["--tls-cert", cert, "--tls-key", key] if way == "tls" else ["--behind-proxy", "10.0.0.1"]
    assert run(tmp_path, "--host", "0.0.0.0", "--public-name", "notes.harrowmere.example", *safe) == 0
    assert served[0].secure
    assert served[0].hosts == ("127.0.0.1", "localhost", "[::1]", "notes.harrowmere.example")


def test_a_broken_lexicon_is_one_sentence(
    tmp_path: Path,
    served: list[ServiceSettings],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("ZONULE_LEXICON", str(tmp_path / "nowhere"))
    assert run(tmp_path) == 2
    assert (capsys.readouterr().err.startswith("zonule: Lexicon folder "), served) == (True, [])


def test_workers_get_the_settings_of_who_started_them(monkeypatch: pytest.MonkeyPatch) -> None:
    settings = ServiceSettings(store="sqlite:///x.db", unit_name="Harrowmere Eye Unit", session_idle_s=300)
    monkeypatch.setenv(HANDED_OVER, settings.model_dump_json())
    assert handed_over() == settings
    monkeypatch.delenv(HANDED_OVER)
    with pytest.raises(Exception, match="expected to be started by 'zonule serve'"):
        handed_over()


def add_user(folder: Path) -> None:
    with open_store(f"sqlite:///{folder}/zonule.db") as store:
        store.users.add("author", "Ada Harrow", ("author", "administrator"), PASSWORD)


def test_two_workers_over_tls_share_sessions_and_counters(tmp_path: Path) -> None:
    """The command as it is started in a unit, on a free port of this machine."""
    cert, key = certificate(tmp_path)
    add_user(tmp_path)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "zonule.cli", "serve", "--port", str(port), "--workers", "2"]
    command += ["--store", f"sqlite:///{tmp_path}/zonule.db", "--tls-cert", cert, "--tls-key", key]
    with (tmp_path / "log").open("w") as log:
        process = subprocess.Popen(command, stdout=log, stderr=log, env={**os.environ, "PYTHONUNBUFFERED": "1"})
    try:
        with httpx2.Client(base_url=f"https://127.0.0.1:{port}", verify=False) as client:
            told = use(client, process)
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(30)
    logged = (tmp_path / "log").read_text("utf-8")
    assert told["secure"]
    assert told["statuses"] == [200] * 12
    assert 'zonule_requests_total{method="POST",route="/api/v1/readings",status="200"} 12.0' in told["metrics"]
    assert logged.count("POST /api/v1/readings 200") == 12
    assert logged.count("Application startup complete") == 2
    assert ("Askerton" in logged, "Traceback" in logged) == (False, False)


def use(client: httpx2.Client, process: "subprocess.Popen[bytes]") -> dict[str, Any]:
    """Waits until it answers, signs in, reads with a new connection each time, and looks at the counters."""
    logging.getLogger("httpx2").setLevel(logging.WARNING)
    for _ in range(600):
        assert process.poll() is None
        try:
            client.get(f"{API}/health")
            break
        except httpx2.TransportError:
            time.sleep(0.1)
    begun = client.post(f"{API}/session", json={"name": "author", "password": PASSWORD})
    headers = {"X-CSRF-Token": begun.json()["csrf_token"], "Connection": "close"}
    statuses = [
        client.post(f"{API}/readings", json={"dictation": ROUTINE}, headers=headers).status_code for _ in range(12)
    ]
    secure = begun.headers["set-cookie"].endswith("Secure") and "strict-transport-security" in begun.headers
    return {"secure": secure, "statuses": statuses, "metrics": client.get(f"{API}/metrics").text}

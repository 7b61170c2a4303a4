"""`zonule serve`: the service for browsers and programs, on this machine unless it is made safe for more."""

import argparse
import ipaddress
import os
import ssl
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from zonule.errors import InputError
from zonule.settings import lexicon_folders, store_url

if TYPE_CHECKING:
    from zonule.commands import Commands
    from zonule.web.service_settings import ServiceSettings

APP = "zonule.web.app:create_worker_app"
FIRST_USER = (
    "There is no user yet. Add the first, who adds the others:\n"
    '  zonule user add NAME --full-name "Full Name" --role administrator\n'
)


def add_to(commands: "Commands") -> None:
    """Adds the command."""
    parser = commands.add_parser(
        "serve",
        help="run the service for browsers and programs",
        description="Runs the service: pages to dictate, complete, sign and find notes, and an interface for programs "
        "under /api/v1. It listens on this machine only, unless there are users and either TLS or a declared proxy.",
    )
    parser.add_argument("--host", default="127.0.0.1", help="address to listen on (default: this machine only)")
    parser.add_argument("--port", type=_port, default=8000, help="port to listen on (default: 8000)")
    parser.add_argument("--store", metavar="URL", help="where everything is kept (default: ZONULE_STORE)")
    parser.add_argument("--tls-cert", metavar="PEM", help="certificate; browsers then reach the service by https")
    parser.add_argument("--tls-key", metavar="PEM", help="private key of the certificate")
    parser.add_argument(
        "--behind-proxy", metavar="ADDRESS", help="address of the proxy that ends TLS; its forwarded headers are used"
    )
    parser.add_argument(
        "--public-name", metavar="HOST", action="append", default=[], help="name that browsers ask for; may be repeated"
    )
    parser.add_argument("--workers", type=_count, default=1, help="processes that answer (default: 1)")
    parser.add_argument("--unit", metavar="NAME", help="name of the unit, for pages and documents")
    parser.add_argument("--idle", metavar="MINUTES", type=_count, default=30, help="a session ends after (default: 30)")
    parser.add_argument(
        "--session", metavar="HOURS", type=_count, default=12, help="a session lasts at most (default: 12)"
    )
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Serves until it is stopped. Raises InputError for settings that are not safe."""
    settings = settings_of(options)
    refuse_unsafe(options, users=_count_users(settings, options))
    _check_lexicon()
    _serve(options, settings)
    return 0


def settings_of(options: argparse.Namespace) -> "ServiceSettings":
    """What the options and the environment tell the service."""
    try:
        from zonule.web.service_settings import LOOPBACK, ServiceSettings, single_sign_on_from_environment
    except ModuleNotFoundError as fault:
        raise InputError(
            f"zonule serve: expected the extra 'service' (pip install 'zonule[service]'), got no {fault.name}."
        ) from fault
    return ServiceSettings(
        store=options.store or store_url(),
        unit_name=options.unit,
        secure=bool(options.tls_cert or options.behind_proxy),
        hosts=tuple(dict.fromkeys((*LOOPBACK, *options.public_name))) if _knows_names(options) else (),
        session_lifetime_s=options.session * 3600,
        session_idle_s=options.idle * 60,
        single_sign_on=single_sign_on_from_environment(),
        metrics_token=os.environ.get("ZONULE_METRICS_TOKEN") or None,
    )


def refuse_unsafe(options: argparse.Namespace, *, users: int) -> None:
    """Raises InputError when the service would be open to others without users, or without TLS in between."""
    if bool(options.tls_cert) != bool(options.tls_key):
        raise InputError("zonule serve: expected --tls-cert and --tls-key together, got one of them; give both.")
    for path in (options.tls_cert, options.tls_key):
        if path and not Path(path).is_file():
            raise InputError(f"zonule serve: expected a PEM file, got {path!r}, which is none; check the name.")
    if options.tls_cert:
        _check_certificate(options.tls_cert, options.tls_key)
    if is_loopback(options.host):
        return
    if not (options.tls_cert or options.behind_proxy):
        raise InputError(
            f"zonule serve: expected --tls-cert and --tls-key, or --behind-proxy, to listen on {options.host!r}; "
            "without them passwords and notes would cross the network in the clear."
        )
    if not users:
        raise InputError(f"zonule serve: expected users before it listens on {options.host!r}, got none.\n{FIRST_USER}")


def _check_certificate(certificate: str, key: str) -> None:
    try:
        ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(certificate, key)
    except (ssl.SSLError, OSError) as fault:
        raise InputError(
            "zonule serve: expected a certificate and its private key without a password, got files that do not fit "
            "together; check --tls-cert and --tls-key."
        ) from fault


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach the address."""
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host == "localhost"


def _knows_names(options: argparse.Namespace) -> bool:
    """Whether all names that browsers may ask for are known: a foreign name then gets no answer."""
    return bool(options.public_name) or (is_loopback(options.host) and not options.behind_proxy)


def _count_users(settings: "ServiceSettings", options: argparse.Namespace) -> int:
    """How many users there are. Opening the store once here also brings its tables to the newest form."""
    from zonule.store import open_store

    with open_store(settings.store) as store:
        users = len(store.users.all())
    if not users and is_loopback(options.host):
        sys.stdout.write(FIRST_USER)
    return users


def _check_lexicon() -> None:
    """A lexicon that is broken is told of here, in one sentence, and not by each worker."""
    from zonule.pipeline import Reader

    Reader(*lexicon_folders())


def _serve(options: argparse.Namespace, settings: "ServiceSettings") -> None:
    import uvicorn

    from zonule.web.metrics import SHARED
    from zonule.web.service_settings import HANDED_OVER

    os.environ[HANDED_OVER] = settings.model_dump_json()
    scheme = "https" if options.tls_cert else "http"
    sys.stdout.write(f"Zonule answers at {scheme}://{options.host}:{options.port}/ until Ctrl+C.\n")
    sys.stdout.flush()
    with tempfile.TemporaryDirectory(prefix="zonule-metrics-") as folder:
        if options.workers > 1:
            os.environ[SHARED] = folder
        uvicorn.run(
            APP,
            factory=True,
            host=options.host,
            port=options.port,
            workers=options.workers,
            ssl_certfile=options.tls_cert,
            ssl_keyfile=options.tls_key,
            proxy_headers=bool(options.behind_proxy),
            forwarded_allow_ips=options.behind_proxy,
            access_log=False,  # the service writes its own line, without addresses and ids
            server_header=False,
            log_config=None,
        )


def _port(given: str) -> int:
    return _between(given, 1, 65_535)


def _count(given: str) -> int:
    return _between(given, 1, 1_000)


def _between(given: str, low: int, high: int) -> int:
    number = int(given) if given.isdecimal() and len(given) < 7 else 0
    if not low <= number <= high:
        raise argparse.ArgumentTypeError(f"expected a whole number from {low} to {high}, got {given!r}")
    return number

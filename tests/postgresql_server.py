"""A PostgreSQL server of its own for the tests, from Debian's packages: a folder, a socket, no port."""

import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from pathlib import Path

PROGRAMS = Path("/usr/lib/postgresql")
OWNER = "postgres"
"""Who runs it when the tests run as root, whom the server refuses."""


def find_programs() -> Path | None:
    """The folder of the newest server on this machine."""
    found = sorted(PROGRAMS.glob("*/bin/postgres"), key=lambda path: int(path.parts[-3]))
    return found[-1].parent if found else None


class PostgresqlServer:
    """A server with data in a temporary folder; reached by a socket in it."""

    def __init__(self) -> None:
        programs = find_programs()
        assert programs is not None, "PostgreSQL is not installed: bash .ci/setup tests"
        self._programs = programs
        self.folder = Path(tempfile.mkdtemp(prefix="zonule-postgresql-"))
        self._user = OWNER if os.geteuid() == 0 else pwd.getpwuid(os.geteuid()).pw_name
        if os.geteuid() == 0:
            shutil.chown(self.folder, OWNER)
        self._run("initdb", "--auth=trust", "--encoding=UTF8", "--locale=C", f"--username={OWNER}", "data")
        self._databases = 0

    def start(self) -> None:
        """Starts it, after a crash too: children of a killed server may need a moment to go."""
        options = f"-c listen_addresses='' -c unix_socket_directories={self.folder}"
        for _ in range(20):
            done = self._run("pg_ctl", "-D", "data", "-w", "-l", "log", "-o", options, "start", check=False)
            if done.returncode == 0:
                return
            time.sleep(0.5)
        raise AssertionError((self.folder / "log").read_text())

    def kill(self) -> None:
        """`kill -9` of the server itself: nothing is written down any more."""
        os.kill(int((self.folder / "data" / "postmaster.pid").read_text().split()[0]), signal.SIGKILL)

    def stop(self) -> None:
        """Stops it and removes its folder."""
        self._run("pg_ctl", "-D", "data", "-m", "immediate", "-w", "stop", check=False)
        shutil.rmtree(self.folder, ignore_errors=True)

    def create_database(self, like: str | None = None) -> str:
        """The URL of an empty database, or of a copy of one that nobody uses."""
        self._databases += 1
        name, template = f"zonule_{self._databases}", like.partition("?")[0].rpartition("/")[2] if like else "template0"
        self._run("createdb", "--host", str(self.folder), "--username", OWNER, f"--template={template}", name)
        return f"postgresql+psycopg://{OWNER}@/{name}?host={self.folder}"

    def _run(self, program: str, *arguments: str, check: bool = True) -> subprocess.CompletedProcess[bytes]:
        with (self.folder / "output").open("ab") as output:
            return subprocess.run(
                [self._programs / program, *arguments],
                cwd=self.folder,
                stdout=output,
                stderr=output,
                check=check,
                user=self._user if os.geteuid() == 0 else None,
            )

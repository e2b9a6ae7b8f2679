"""A PostgreSQL server of the tests' own: nothing of the machine's clusters is touched, nothing is left running.

It keeps its files in a folder of its own and is reached by a socket in there, so that no port has to be free.
"""

import os
import re
import shutil
import signal
import subprocess
import tempfile
import time
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import psycopg

from dev import POSTGRESQL_PATTERNS

START_LIMIT_S = 60.0

SETTINGS = {
    "listen_addresses": "",
    "max_connections": "200",
    # What protects from a power cut, which no test has.
    "fsync": "off",
    "full_page_writes": "off",
    "synchronous_commit": "off",
}


class PostgresServer:
    """A server that runs from entering the context until leaving it.

    It also ends when the thread that started it does, so that a killed test run leaves none behind.
    """

    def __init__(self) -> None:
        # Not below TMPDIR, which may be closed to the server's user, or too long for a socket's path (107 bytes).
        self._folder = Path(tempfile.mkdtemp(prefix="postgres-", dir="/tmp"))
        self._programs = _programs_folder()
        self._n_databases = 0
        kept = {
            name: value for name, value in os.environ.items() if not name.startswith(("PG", "LC_", "LANG"))
        }
        self._process: dict[str, Any] = {"env": {**kept, "LC_ALL": "C.UTF-8"}, "cwd": self._folder}
        if os.geteuid() == 0:  # PostgreSQL refuses to be root
            shutil.chown(self._folder, "postgres", "postgres")
            self._process |= {"user": "postgres", "group": "postgres", "extra_groups": []}
        self._make_cluster()
        self._server = self._start()

    def __enter__(self) -> Self:
        try:
            self._wait_until_it_answers()
        except BaseException:
            self.close()
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @property
    def folder(self) -> Path:
        """Where it keeps everything."""
        return self._folder

    @property
    def process_id(self) -> int:
        """Number of its process."""
        return self._server.pid

    def url(self, database: str) -> str:
        """SQLAlchemy's URL of a database."""
        return f"postgresql+psycopg://postgres@/{database}?host={self._folder}"

    def new_database(self, template: str = "template1") -> str:
        """Make a database, empty unless it is to be like another one, and give its name."""
        self._n_databases += 1
        name = f"test_{self._n_databases}"
        self._execute(f"CREATE DATABASE {name} TEMPLATE {template}")
        return name

    def drop_database(self, name: str) -> None:
        """Remove a database, even if someone is still connected to it."""
        self._execute(f"DROP DATABASE {name} WITH (FORCE)")

    def close(self) -> None:
        """End the server and remove its folder."""
        self._server.send_signal(signal.SIGINT)  # it ends without waiting for those who are connected
        try:
            self._server.wait(START_LIMIT_S)
        except subprocess.TimeoutExpired:
            self._server.kill()
            self._server.wait()
        shutil.rmtree(self._folder)

    def _make_cluster(self) -> None:
        made = subprocess.run(
            [
                *(self._programs / "initdb", "--pgdata=cluster", "--username=postgres", "--auth=trust"),
                *("--encoding=UTF8", "--locale=C.UTF-8", "--no-sync"),
            ],
            capture_output=True, text=True, **self._process,
        )  # fmt: skip
        if made.returncode:
            shutil.rmtree(self._folder)
            raise AssertionError(f"initdb failed: {made.stdout}{made.stderr}")

    def _start(self) -> "subprocess.Popen[bytes]":
        settings = {**SETTINGS, "unix_socket_directories": str(self._folder)}
        with (self._folder / "log").open("wb") as log:
            return subprocess.Popen(
                [
                    *("setpriv", "--pdeathsig", "INT", "--"),
                    *(str(self._programs / "postgres"), "-D", "cluster"),
                    *(word for name, value in settings.items() for word in ("-c", f"{name}={value}")),
                ],
                stdin=subprocess.DEVNULL, stdout=log, stderr=log, **self._process,
            )  # fmt: skip

    def _wait_until_it_answers(self) -> None:
        deadline = time.monotonic() + START_LIMIT_S
        while True:
            try:
                return self._execute("SELECT 1")
            except psycopg.OperationalError as error:
                if self._server.poll() is not None or time.monotonic() > deadline:
                    log = (self._folder / "log").read_text("utf-8")
                    raise AssertionError(f"PostgreSQL does not answer ({error}): {log}") from error
            time.sleep(0.05)

    def _execute(self, statement: str) -> None:
        with psycopg.connect(
            f"host={self._folder} user=postgres dbname=postgres", autocommit=True
        ) as connection:
            connection.execute(statement.encode())


def _programs_folder() -> Path:
    """Where PostgreSQL's own programs lie; Debian keeps them off the PATH, a folder for each version."""
    found = shutil.which("initdb")
    if found:
        return Path(found).resolve().parent
    programs = [path for pattern in POSTGRESQL_PATTERNS for path in Path("/usr").glob(pattern)]
    return max(programs, key=lambda path: [int(digits) for digits in re.findall(r"\d+", str(path))]).parent

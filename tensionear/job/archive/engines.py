"""How the database is spoken to, so that what was committed stays through a kill and a power cut.

On SQLite [1]_: write-ahead log, synchronous=FULL (with less, the newest commits of a write-ahead log are lost in a
power cut), foreign keys, and writes that begin with BEGIN IMMEDIATE, so that two writers queue up instead of finding
out half-way. Python's driver begins no transactions by itself here [2]_.

References
----------
.. [1] SQLite: Write-Ahead Logging; PRAGMA synchronous; Isolation.
.. [2] SQLAlchemy 2: SQLite dialect, "Serializable isolation / Savepoints / Transactional DDL".
"""

import os
import sqlite3
from contextlib import suppress
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.pool import NullPool

from tensionear.errors import ArchiveError
from tensionear.job.archive.address import Address
from tensionear.job.archive.trouble import LONGEST_WAIT_S

WRITES = "tensionear_writes"
"""Option of a connection: its transactions write."""

CONNECT_LIMIT_S = 10


def engine_for(address: Address) -> Engine:
    """Make the engine for an archive; nothing is opened yet.

    Raises
    ------
    ArchiveError
        If PostgreSQL's driver is not installed.
    """
    if address.server is not None:
        return _postgresql(address.server)
    if address.path is None:
        raise ValueError("an address is a path or a server")
    return sqlite_engine(address.path, read_only=not is_writable(address.path))


def is_writable(path: Path) -> bool:
    """Whether a file and its folder, where SQLite keeps the write-ahead log, may be written."""
    return os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)


def sqlite_engine(path: Path, *, read_only: bool = False) -> Engine:
    """Make the engine for a file.

    Parameters
    ----------
    path : Path
        It is made if it is missing, unless it is only to be read.
    read_only : bool
        Whether nothing may be written: neither the file nor anything beside it.
    """
    url = URL.create("sqlite+pysqlite", database=str(path))
    if read_only:
        # Each transaction connects anew, because it looks anew whether somebody writes meanwhile.
        engine = create_engine(url, creator=lambda: _only_to_read(path), poolclass=NullPool)
    else:
        engine = create_engine(url, connect_args={"timeout": LONGEST_WAIT_S, "isolation_level": None})

        @event.listens_for(engine, "connect")
        def prepare(connection: sqlite3.Connection, _: object) -> None:
            connection.execute("PRAGMA synchronous = FULL")
            connection.execute("PRAGMA foreign_keys = ON")

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get(WRITES, False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def use_write_ahead_log(engine: Engine) -> None:
    """Make a file keep a write-ahead log, if it does not; it stays so for ever.

    Called only once it is known to be an archive, as it changes the file. Where another program is in the way, things
    go on as they are: as safe, but one waits for the other more often.
    """
    connection = engine.raw_connection()
    try:
        with suppress(sqlite3.OperationalError):
            cursor = connection.cursor()
            cursor.execute("PRAGMA journal_mode")
            if cursor.fetchone() != ("wal",):
                cursor.execute("PRAGMA journal_mode = WAL")
    finally:
        connection.close()


def _only_to_read(path: Path) -> sqlite3.Connection:
    """Open without writing anything.

    With a write-ahead log beside it SQLite reads that too. Without one nobody has the archive open, and as no log can
    be made in a folder that may not be written, SQLite has to be told that the file does not change.
    """
    log = path.with_name(f"{path.name}-wal")
    mode = "mode=ro" if log.exists() or os.access(path.parent, os.W_OK) else "immutable=1"
    return sqlite3.connect(
        f"{path.absolute().as_uri()}?{mode}",
        uri=True,
        timeout=LONGEST_WAIT_S,
        isolation_level=None,
        check_same_thread=False,
    )


def _postgresql(url: URL) -> Engine:
    try:
        engine = create_engine(
            url,
            pool_pre_ping=True,
            connect_args={"connect_timeout": CONNECT_LIMIT_S, "application_name": "tensionear"},
        )
    except ModuleNotFoundError as error:
        raise ArchiveError(
            'for an archive on a PostgreSQL server its driver is needed: pip install "tensionear[postgresql]"'
        ) from error

    @event.listens_for(engine, "connect")
    def prepare(connection: Any, _: object) -> None:
        with connection.cursor() as cursor:
            cursor.execute(f"SET lock_timeout = '{LONGEST_WAIT_S:g}s'")
            # A server that is set to be fast would tell of commits that a power cut still takes back.
            cursor.execute(
                "SELECT set_config('synchronous_commit', 'on', false)"
                " WHERE current_setting('synchronous_commit') = 'off'"
            )
        connection.commit()

    return engine

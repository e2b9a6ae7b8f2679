"""Backup, restoring and moving: a whole archive is copied, row by row, from one database into another.

One way for SQLite and PostgreSQL alike, so that a backup is always a file that this program opens by itself, and a
workshop can go from one to the other. All is read in one snapshot, while others go on working; what is written is
there whole or not at all.
"""

import secrets
from collections.abc import Callable, Generator, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, Table, delete, event, func, insert, literal, select, text

from tensionear.errors import ArchiveError
from tensionear.job.archive.address import address_of
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.engines import sqlite_engine
from tensionear.job.archive.opening import make_tables, open_archive
from tensionear.job.archive.opening_to_read import snapshot
from tensionear.job.archive.tables import ARCHIVE, ARCHIVE_LOG, CONTENTS, COUNTERS, TABLES
from tensionear.job.archive.trouble import told
from tensionear.job.sha256 import sha256_of
from tensionear.job.whole_file import put_into_place, require_nothing_there

Progress = Callable[[int, int], None]
"""Told how many of how many are done, now and then; whatever it raises stops the work, and leaves nothing half."""

ROWS_AT_ONCE = 1_000
CONTENTS_AT_ONCE = 8
"""A photo may have 50 MB."""


@dataclass(frozen=True)
class Copied:
    """What was copied.

    Attributes
    ----------
    archive_id : str
        Of the archive and of its copy.
    n_rows : dict of str to int
        In each table.
    damaged : tuple of str
        SHA-256 of sounds and photos that are not what was put in; they were copied as they are.
    """

    archive_id: str
    n_rows: Mapping[str, int]
    damaged: tuple[str, ...]


def back_up(
    archive: Archive, path: Path, *, overwrite: bool = False, progress: Progress | None = None
) -> Copied:
    """Copy an archive, which may be in use, into a new file.

    Parameters
    ----------
    archive : Archive
        To be copied.
    path : Path
        Of the backup, an archive itself. It is put into place only when it is whole and on the disk.
    overwrite : bool
        Whether a file that is there already may be replaced.
    progress : callable, optional
        Told of the rows.

    Raises
    ------
    ArchiveError
        If one of the databases complains, or the copy has not as many rows as there were.
    InputError
        If there is such a file already.
    """
    with (
        whole_archive_file(path, overwrite=overwrite) as engine,
        snapshot(archive) as source,
        told(str(path)),
        engine.begin() as target,
    ):
        target.execute(delete(ARCHIVE))
        return _copy(source, target, progress)


def restore(archive: Archive, where: str | None, *, progress: Progress | None = None) -> Copied:
    """Copy an archive, or its backup, to where nothing is yet.

    Parameters
    ----------
    archive : Archive
        To be copied.
    where : str or None
        A file that is not there, or an archive or a PostgreSQL database that is empty. It will be the very archive
        that was copied: under the same id, with the same numbers.
    progress : callable, optional
        Told of the rows.

    Raises
    ------
    ArchiveError
        If something is there already, or one of the databases complains.
    InputError
        If another program made such a file meanwhile.
    """
    address = address_of(where)
    if address.path is not None and not address.path.exists():
        if where is None:
            address.path.parent.mkdir(parents=True, exist_ok=True)
        return back_up(archive, address.path, progress=progress)
    with open_archive(where) as there, snapshot(archive) as source, there.writing() as target:
        _require_empty(target, there.shown)
        target.execute(delete(ARCHIVE))
        return _copy(source, target, progress)


@contextmanager
def whole_archive_file(path: Path, *, overwrite: bool = False) -> Iterator[Engine]:
    """Give an empty archive in a file beside `path`, which is put there when the context is left without an error.

    It is quick to fill, as nothing in it has to outlive a power cut before it is whole; and it is one file, without a
    log beside it.

    Raises
    ------
    ArchiveError
        If it cannot be written.
    InputError
        If there is such a file already.
    """
    beside = path.with_name(f".{path.name}.{secrets.token_hex(8)}.part")
    if not path.parent.is_dir():
        raise ArchiveError(f"archive {path}: there is no folder {path.parent}: make it first")
    require_nothing_there(path, overwrite=overwrite)
    if path.with_name(f"{path.name}-wal").exists():
        raise ArchiveError(f"archive {path}: it is an archive in use: choose another name")
    engine = sqlite_engine(beside)

    @event.listens_for(engine, "connect")
    def make_quick(connection: Any, _: object) -> None:
        connection.execute("PRAGMA journal_mode = OFF")
        connection.execute("PRAGMA synchronous = OFF")
        connection.execute("PRAGMA cache_size = -65536")

    try:
        with told(str(path)):
            make_tables(engine)
        yield engine
        engine.dispose()
        put_into_place(beside, path, overwrite=overwrite)
    finally:
        engine.dispose()
        for ending in ("", "-wal", "-shm", "-journal"):
            beside.with_name(beside.name + ending).unlink(missing_ok=True)


def _require_empty(connection: Connection, shown: str) -> None:
    for table in TABLES:
        if table in (ARCHIVE, ARCHIVE_LOG, COUNTERS):
            continue
        if connection.execute(select(literal(1)).select_from(table).limit(1)).first() is not None:
            raise ArchiveError(
                f"archive {shown}: it is not empty ({table.name}): nothing is restored into an archive that has"
                " something already; give a file that is not there, or an empty database"
            )


def _copy(source: Connection, target: Connection, progress: Progress | None) -> Copied:
    for table in (ARCHIVE_LOG, COUNTERS):
        target.execute(delete(table))
    n_rows = {table.name: source.execute(_count(table)).scalar_one() for table in TABLES}
    total, done = sum(n_rows.values()), 0
    damaged: list[str] = []
    for table in TABLES:
        with closing(_batches(source, table)) as batches:
            for rows in batches:
                if table is CONTENTS:
                    damaged += [row["sha256"] for row in rows if sha256_of(row["content"]) != row["sha256"]]
                target.execute(insert(table), rows)
                done += len(rows)
                if progress is not None:
                    progress(done, total)
    for table in TABLES:
        arrived = target.execute(_count(table)).scalar_one()
        if arrived != n_rows[table.name]:
            raise ArchiveError(
                f"{arrived} of {n_rows[table.name]} rows of {table.name} arrived: nothing was kept; is the"
                " archive damaged (`tensionear archive check`)?"
            )
    go_on_counting(target)
    archive_id: str = target.execute(select(ARCHIVE.c.archive_id)).scalar_one()
    return Copied(archive_id, n_rows, tuple(damaged))


def go_on_counting(connection: Connection) -> None:
    """Let the next rows be numbered behind those that brought their numbers along."""
    if connection.dialect.name != "postgresql":
        return
    for table in TABLES:
        counted = table.autoincrement_column
        if counted is not None:
            last = connection.scalar(select(func.max(counted)))
            if last is not None:
                sequence = {"table": table.name, "column": counted.name, "last": last}
                connection.execute(
                    text("SELECT setval(pg_get_serial_sequence(:table, :column), :last)"), sequence
                )


def _count(table: Table) -> Any:
    return select(func.count()).select_from(table)


def _batches(source: Connection, table: Table) -> Generator[list[dict[str, Any]]]:
    at_once = CONTENTS_AT_ONCE if table is CONTENTS else ROWS_AT_ONCE
    # By the key, so that every table of the copy lies on the disk in its order.
    chosen = select(table).order_by(*table.primary_key.columns)
    with source.execute(chosen, execution_options={"yield_per": at_once}) as rows:
        for part in rows.mappings().partitions():
            yield [dict(row) for row in part]

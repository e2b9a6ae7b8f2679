"""Opening an archive so that nothing of it is written, whatever happens: a backup, or one that may be damaged."""

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection, Engine, select

from tensionear.errors import ArchiveError
from tensionear.job.archive.address import address_of, is_there, no_file
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.engines import engine_for, sqlite_engine
from tensionear.job.archive.schema import archive_id_of, no_archive, require_known, version_of
from tensionear.job.archive.tables import ARCHIVE, SCHEMA_VERSION
from tensionear.job.archive.trouble import told


@contextmanager
def open_to_read(where: str | None) -> Iterator[Archive]:
    """Open an archive that is only looked at, until the context is left.

    Parameters
    ----------
    where : str or None
        As for `tensionear.job.archive.opening.open_archive`.

    Raises
    ------
    ArchiveError
        If there is none, its form is another than this program's, or it cannot be read.
    """
    address = address_of(where)
    shown = str(address)
    if address.path is None:
        engine = engine_for(address)
    else:
        if not is_there(address.path):
            raise no_file(address.path)
        engine = sqlite_engine(address.path, read_only=True)
    try:
        with told(shown):
            archive_id = _archive_id(engine, shown)
        yield Archive(engine, shown, archive_id)
    finally:
        engine.dispose()


@contextmanager
def snapshot(archive: Archive) -> Iterator[Connection]:
    """Give a transaction in which the archive stands still, however long it takes, while others go on writing.

    Raises
    ------
    ArchiveError
        If the database complains.
    """
    with archive.reading() as connection:
        if archive.dialect == "postgresql":
            connection = connection.execution_options(
                isolation_level="REPEATABLE READ", postgresql_readonly=True
            )
        connection.execute(select(ARCHIVE.c.archive_id)).one_or_none()  # SQLite's begins with the first look
        yield connection


def _archive_id(engine: Engine, shown: str) -> str:
    with engine.connect() as connection:
        version = version_of(connection)
        if version is None:
            raise no_archive(shown)
        if version != SCHEMA_VERSION:
            require_known(version, shown)
            raise ArchiveError(
                f"archive {shown}: it is of an older form ({version}): open it once for work"
                " (`tensionear archive info`), which brings it to the newest, then do this again"
            )
        return archive_id_of(connection, shown)

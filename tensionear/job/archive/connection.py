"""What all parts of an archive share: its transactions, and the numbers that are given once."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime

from sqlalchemy import Connection, Engine, Table, insert
from sqlalchemy.dialects import postgresql, sqlite

from tensionear import __version__
from tensionear.job.archive.engines import WRITES
from tensionear.job.archive.tables import ARCHIVE_LOG, COUNTERS
from tensionear.job.archive.trouble import told
from tensionear.job.archive.typed import typed_line


class OpenArchive:
    """An open archive; its parts inherit this.

    Attributes
    ----------
    shown : str
        Where it is, as a person may see it.
    archive_id : str
        Which it is, for ever and in every copy (a UUID).
    """

    def __init__(self, engine: Engine, shown: str, archive_id: str) -> None:
        self._engine = engine
        self.shown = shown
        self.archive_id = archive_id

    @property
    def dialect(self) -> str:
        """The database: "sqlite" or "postgresql"."""
        return self._engine.dialect.name

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a transaction that only reads.

        Raises
        ------
        ArchiveError
            If the database complains.
        """
        with told(self.shown), self._engine.connect() as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Give a transaction that is on the disk when the context is left, or has left no trace.

        Raises
        ------
        ArchiveError
            If the database complains.
        """
        engine = self._engine.execution_options(**{WRITES: True})
        with told(self.shown), engine.begin() as connection:
            yield connection

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()


def now() -> datetime:
    """The moment."""
    return datetime.now(UTC)


def upsert(connection: Connection, into: Table) -> sqlite.Insert | postgresql.Insert:
    """Begin an INSERT that can say what happens if the row is there already."""
    return postgresql.insert(into) if connection.dialect.name == "postgresql" else sqlite.insert(into)


def next_number(connection: Connection, counter: str) -> int:
    """Draw the next number, from 1.

    Nobody else draws one until this transaction ends, and none is lost if it fails.
    """
    drawn = upsert(connection, COUNTERS).values(name=counter, last_number=1)
    number: int = connection.execute(
        drawn.on_conflict_do_update(
            index_elements=[COUNTERS.c.name], set_={"last_number": COUNTERS.c.last_number + 1}
        ).returning(COUNTERS.c.last_number)
    ).scalar_one()
    return number


def log_deed(connection: Connection, deed: str, subject: str, reason: str, by: str) -> None:
    """Note what was done to the archive and belongs to no job."""
    by = typed_line("who did it", by)
    connection.execute(
        insert(ARCHIVE_LOG).values(
            at=now(), by=by, software_version=__version__, deed=deed, subject=subject, reason=reason
        )
    )

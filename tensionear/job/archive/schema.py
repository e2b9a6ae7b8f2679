"""Which version of the schema an archive has, and bringing it to the newest one."""

import warnings
from pathlib import Path

from sqlalchemy import Connection, column, inspect, select, table, text

from tensionear.errors import ArchiveError
from tensionear.job.archive.tables import ARCHIVE, SCHEMA_VERSION

VERSION_TABLE = "alembic_version"
MIGRATIONS = Path(__file__).with_name("migrations")

_MIGRATION_LOCK = 0x74656E73
"""Any number that the programs of one PostgreSQL server agree upon."""


def version_of(connection: Connection) -> str | None:
    """Version of an archive's schema; None if the database holds none."""
    if not inspect(connection).has_table(VERSION_TABLE):
        return None
    return connection.scalar(select(table(VERSION_TABLE, column("version_num")).c.version_num))


def archive_id_of(connection: Connection, shown: str) -> str:
    """Which archive it is, of one at the newest version.

    Raises
    ------
    ArchiveError
        If it does not say so.
    """
    found = connection.scalar(select(ARCHIVE.c.archive_id))
    if found is None:
        raise ArchiveError(f"archive {shown}: it does not say which archive it is: it is damaged")
    return str(found)


def no_archive(shown: str) -> ArchiveError:
    """What to raise where a database holds none."""
    return ArchiveError(f"archive {shown}: it is a database, but no archive: is it the right one?")


def require_known(version: str, shown: str) -> None:
    """Let only versions pass that this program can migrate.

    Raises
    ------
    ArchiveError
        If the archive was made by a newer program.
    """
    from alembic.script import ScriptDirectory  # slow to load, and hardly ever needed

    known = {each.revision for each in ScriptDirectory(str(MIGRATIONS)).walk_revisions()}
    if version not in known:
        raise ArchiveError(
            f"archive {shown}: its form ({version}) is not known here, because it was made by a newer tensionear:"
            " update this one; nothing was written"
        )


def migrate(connection: Connection) -> None:
    """Bring an archive to the newest version, or make it, within the transaction of the connection."""
    from alembic import command  # slow to load
    from alembic.config import Config

    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _MIGRATION_LOCK})
    if version_of(connection) == SCHEMA_VERSION:  # another program was faster
        return
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", category=DeprecationWarning, module="alembic")
        command.upgrade(config, SCHEMA_VERSION)

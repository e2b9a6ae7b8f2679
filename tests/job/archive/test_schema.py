"""The tables, and the migrations that make them."""

import sqlite3
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import inspect, text

from tensionear.errors import ArchiveError
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.opening import open_archive
from tensionear.job.archive.schema import MIGRATIONS
from tensionear.job.archive.tables import METADATA, SCHEMA_VERSION, TABLES
from tensionear.job.archive.text_index import is_of_index


def test_migrations_make_the_tables_that_the_program_knows(archive: Archive) -> None:
    def is_compared(_: object, name: str | None, kind: str, __: object, ___: object) -> bool:
        return not is_of_index(name) or kind not in {"table", "index"}

    with archive.reading() as connection:
        options = {"include_object": is_compared, "compare_type": True, "compare_server_default": True}
        context = MigrationContext.configure(connection, opts=options)
        assert compare_metadata(context, METADATA) == []
        names = {name for name in inspect(connection).get_table_names() if not is_of_index(name)}
    assert names == {each.name for each in TABLES} | {"alembic_version"}


def test_migrations_make_the_same_indexes_and_constraints(archive: Archive) -> None:
    # compare_metadata looks at neither a partial index's condition nor a primary key.
    with archive.reading() as connection:
        found = inspect(connection)
        for each in TABLES:
            names = {name for index in found.get_indexes(each.name) if (name := index["name"])}
            unique = {constraint["name"] for constraint in found.get_unique_constraints(each.name)}
            assert {name for name in names - unique if not is_of_index(name)} == {
                str(index.name) for index in each.indexes
            }
            assert (
                found.get_pk_constraint(each.name)["constrained_columns"] == each.primary_key.columns.keys()
            )
        partial = {
            index["name"]
            for index in found.get_indexes("jobs")
            if any(name.endswith("_where") for name in index.get("dialect_options", {}))
        }
    assert partial == {"ix_jobs_open", "ix_jobs_deleted"}


def test_the_newest_migration_is_the_version_that_the_program_knows() -> None:
    assert ScriptDirectory(str(MIGRATIONS)).get_heads() == [SCHEMA_VERSION]


def test_tables_are_listed_behind_those_that_they_refer_to() -> None:
    seen: set[str] = set()
    for each in TABLES:
        assert {key.column.table.name for key in each.foreign_keys} <= seen
        seen.add(each.name)


def test_an_archive_of_a_newer_program_is_refused_and_stays_as_it_is(where: str) -> None:
    with open_archive(where) as archive, archive.writing() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = 'r9999'"))
    with pytest.raises(ArchiveError, match=r"r9999.*newer tensionear: update"), open_archive(where):
        pass
    with pytest.raises(ArchiveError, match="newer tensionear"), open_archive(where, make=False):
        pass


def test_another_programs_database_is_no_archive(tmp_path: Path) -> None:
    path = tmp_path / "other.sqlite"
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE jobs (a)")
    connection.commit()
    connection.close()
    before = path.read_bytes()
    with pytest.raises(ArchiveError, match="it is a database, but no archive"), open_archive(str(path)):
        pass
    assert path.read_bytes() == before


def test_an_empty_server_is_not_made_an_archive_unasked(postgres_url: str) -> None:
    with pytest.raises(ArchiveError, match="no archive"), open_archive(postgres_url, make=False):
        pass
    with open_archive(postgres_url) as made, open_archive(postgres_url, make=False) as found:
        assert made.archive_id == found.archive_id


def test_opening_an_archive_loads_no_alembic(where: str) -> None:
    import subprocess
    import sys

    with open_archive(where):
        pass
    program = (
        "import sys\nfrom tensionear.job.archive.opening import open_archive\n"
        "with open_archive(sys.argv[1]): assert 'alembic' not in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", program, where], check=True)

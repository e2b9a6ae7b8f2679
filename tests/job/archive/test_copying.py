"""Backup, restoring and moving, between the two databases and while others write."""

import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, delete, select, update

from tensionear.errors import ArchiveError, InputError
from tensionear.job.archive import copying
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.copying import back_up, restore
from tensionear.job.archive.opening import open_archive
from tensionear.job.archive.opening_to_read import open_to_read, snapshot
from tensionear.job.archive.search import JobQuery
from tensionear.job.archive.tables import CONTENTS, PASS_RESULTS, TABLES
from tests.job.archive.kept import do
from tests.job.invented import invented_details, invented_setup, whole_job

NAME = invented_setup().name


@pytest.fixture
def filled(archive: Archive) -> Archive:
    return with_jobs(archive)


@pytest.fixture
def filled_file(tmp_path: Path) -> Iterator[Archive]:
    """The same in a file, where it does not matter which database it is."""
    with open_archive(str(tmp_path / "archive.sqlite")) as archive:
        archive.add_setup(invented_setup())
        yield with_jobs(archive)


def with_jobs(archive: Archive) -> Archive:
    """Two jobs, a record, and a setup that is deleted."""
    for number in ("1", "2"):
        archive.open_job(NAME, invented_details(), number=number)
        do(archive, number, whole_job()[:8])
    archive.add_record("1", lambda _job, _place: b"{}")
    archive.delete_setup(NAME, "invented reason")
    return archive


def rows_of(archive: Archive) -> dict[str, list[Any]]:
    with snapshot(archive) as connection:
        return {
            table.name: [tuple(row) for row in connection.execute(select(table).order_by(*table.primary_key))]
            for table in TABLES
        }


def test_a_backup_holds_every_row_of_every_table_and_nothing_else(filled: Archive, tmp_path: Path) -> None:
    path = tmp_path / "backup.sqlite"
    copied = back_up(filled, path)
    assert copied.damaged == ()
    assert copied.archive_id == filled.archive_id
    assert copied.n_rows["contents"] == 10
    with open_to_read(str(path)) as backup:
        assert backup.archive_id == filled.archive_id
        assert rows_of(backup) == rows_of(filled)
        assert backup.job("1") == filled.job("1")
    assert {each.name for each in tmp_path.iterdir()} - {"archive.sqlite-wal", "archive.sqlite-shm"} <= {
        "archive.sqlite",
        "backup.sqlite",
    }


def test_a_backup_is_found_in_by_words_and_counts_on(filled: Archive, tmp_path: Path) -> None:
    back_up(filled, tmp_path / "backup.sqlite")
    with open_archive(str(tmp_path / "backup.sqlite"), make=False) as backup:
        assert [each.number for each in backup.find_jobs(JobQuery(words="estate ex47"))] == ["2", "1"]
        backup.restore_setup(NAME)
        backup.open_job(NAME, invented_details(), number="3")
        assert backup.add_record("3", lambda _job, _place: b"{ }").place.number == 2


def test_what_is_written_during_a_backup_is_not_in_it_and_waits_for_nothing(
    filled: Archive, tmp_path: Path
) -> None:
    number = iter(range(1_000))
    before = rows_of(filled)

    def write_meanwhile(_done: int, _total: int) -> None:
        filled.add_setup(invented_setup(name=f"meanwhile {next(number)}"))

    back_up(filled, tmp_path / "backup.sqlite", progress=write_meanwhile)
    assert next(number) >= 5
    with open_to_read(str(tmp_path / "backup.sqlite")) as backup:
        assert rows_of(backup) == before


def test_progress_goes_up_to_the_number_of_all_rows(filled_file: Archive, tmp_path: Path) -> None:
    told: list[tuple[int, int]] = []
    copied = back_up(
        filled_file, tmp_path / "backup.sqlite", progress=lambda done, total: told.append((done, total))
    )
    total = sum(copied.n_rows.values())
    assert [done for done, _ in told] == sorted({done for done, _ in told})
    assert told[-1] == (total, total)


def test_a_backup_that_is_stopped_leaves_no_file(filled: Archive, tmp_path: Path) -> None:
    folder = tmp_path / "backups"
    folder.mkdir()

    def stop(done: int, _total: int) -> None:
        if done > 10:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        back_up(filled, folder / "backup.sqlite", progress=stop)
    assert list(folder.iterdir()) == []


def test_a_backup_replaces_a_file_only_if_asked_to(filled_file: Archive, tmp_path: Path) -> None:
    path = tmp_path / "backup.sqlite"
    path.write_bytes(b"something dear")
    with pytest.raises(InputError, match="is there already"):
        back_up(filled_file, path)
    assert path.read_bytes() == b"something dear"
    back_up(filled_file, path, overwrite=True)
    with open_to_read(str(path)) as backup:
        assert backup.job("2").number == "2"


def test_a_backup_never_replaces_an_archive_in_use(filled_file: Archive, tmp_path: Path) -> None:
    other = tmp_path / "other.sqlite"
    with open_archive(str(other)) as in_use:
        in_use.add_setup(invented_setup())
        with pytest.raises(ArchiveError, match="in use"):
            back_up(filled_file, other, overwrite=True)


def test_a_folder_that_is_not_there_is_told(filled_file: Archive, tmp_path: Path) -> None:
    with pytest.raises(ArchiveError, match=r"there is no folder .*make it first"):
        back_up(filled_file, tmp_path / "nowhere" / "backup.sqlite")


def test_a_damaged_sound_is_copied_as_it_is_and_told(filled_file: Archive, tmp_path: Path) -> None:
    with filled_file.writing() as connection:
        sha256 = connection.scalar(select(CONTENTS.c.sha256).limit(1))
        connection.execute(update(CONTENTS).where(CONTENTS.c.sha256 == sha256).values(content=b"another"))
    assert back_up(filled_file, tmp_path / "backup.sqlite").damaged == (sha256,)


def test_rows_that_do_not_arrive_are_found_out(
    filled_file: Archive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    batches = copying._batches

    def lossy(source: Connection, table: Any) -> Any:
        for rows in batches(source, table):
            yield rows[1:] if table is PASS_RESULTS else rows

    monkeypatch.setattr(copying, "_batches", lossy)
    with pytest.raises(ArchiveError, match="1 of 2 rows of pass_results arrived: nothing was kept"):
        back_up(filled_file, tmp_path / "backup.sqlite")
    assert not (tmp_path / "backup.sqlite").exists()


@pytest.mark.parametrize("to", ["a new file", "an empty archive", "PostgreSQL"])
def test_a_backup_is_restored_whole_wherever_nothing_is(
    to: str, filled: Archive, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    back_up(filled, tmp_path / "backup.sqlite")
    where = str(tmp_path / "restored.sqlite")
    if to == "PostgreSQL":
        where = request.getfixturevalue("postgres_url")
    elif to == "an empty archive":
        with open_archive(where):
            pass
    with open_to_read(str(tmp_path / "backup.sqlite")) as backup:
        assert restore(backup, where).damaged == ()
    with open_archive(where, make=False) as restored:
        assert restored.archive_id == filled.archive_id
        assert rows_of(restored) == rows_of(filled)
        restored.restore_setup(NAME)
        opened = restored.open_job(NAME, invented_details())
        assert opened.number.endswith("-0001")
        assert restored.find_jobs(JobQuery(words="estate"))[0].number == opened.number


def test_nothing_is_restored_into_an_archive_that_has_something(filled_file: Archive, tmp_path: Path) -> None:
    where = str(tmp_path / "restored.sqlite")
    with open_archive(where) as there:
        there.add_setup(invented_setup())
        before = rows_of(there)
        with pytest.raises(ArchiveError, match=r"it is not empty \(setups\)"):
            restore(filled_file, where)
        assert rows_of(there) == before


def test_restoring_that_is_stopped_leaves_an_empty_archive_empty(filled: Archive, tmp_path: Path) -> None:
    where = str(tmp_path / "restored.sqlite")

    def stop(done: int, _total: int) -> None:
        if done > 10:
            raise KeyboardInterrupt

    with open_archive(where) as there:
        before = rows_of(there)
        with pytest.raises(KeyboardInterrupt):
            restore(filled, where, progress=stop)
        assert rows_of(there) == before


def test_reading_a_backup_writes_nothing_beside_it(filled_file: Archive, tmp_path: Path) -> None:
    folder = tmp_path / "backups"
    folder.mkdir()
    path = folder / "backup.sqlite"
    back_up(filled_file, path)
    before = (path.read_bytes(), path.stat().st_mtime_ns)
    with open_to_read(str(path)) as backup:
        backup.job("1")
        with pytest.raises(ArchiveError, match="can be read but not written"):
            backup.add_setup(invented_setup(name="another"))
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before
    assert list(folder.iterdir()) == [path]


def test_only_archives_of_this_form_are_opened_to_be_read(tmp_path: Path) -> None:
    with pytest.raises(ArchiveError, match="there is no such file"), open_to_read(str(tmp_path / "none")):
        pass
    with pytest.raises(ArchiveError, match="it is a folder"), open_to_read(str(tmp_path)):
        pass
    path = tmp_path / "archive.sqlite"
    sqlite3.connect(path).executescript("CREATE TABLE other (x); VACUUM;").connection.close()
    with pytest.raises(ArchiveError, match="but no archive"), open_to_read(str(path)):
        pass
    path.unlink()
    with open_archive(str(path)):
        pass
    connection = sqlite3.connect(path)
    connection.execute("UPDATE alembic_version SET version_num = 'r9999'")
    connection.commit()
    connection.close()
    with pytest.raises(ArchiveError, match="made by a newer tensionear"), open_to_read(str(path)):
        pass


def test_an_older_archive_that_is_opened_to_be_read_is_refused_with_the_remedy(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = str(tmp_path / "archive.sqlite")
    with open_archive(path):
        pass
    monkeypatch.setattr("tensionear.job.archive.opening_to_read.SCHEMA_VERSION", "r9999")
    with (
        pytest.raises(ArchiveError, match=r"older form .*tensionear archive info.*newest"),
        open_to_read(path),
    ):
        pass


def test_an_archive_that_does_not_say_which_it_is_is_not_copied(tmp_path: Path) -> None:
    path = tmp_path / "archive.sqlite"
    with open_archive(str(path)) as archive, archive.writing() as connection:
        connection.execute(delete(TABLES[0]))
    with pytest.raises(ArchiveError, match="does not say which archive it is"), open_to_read(str(path)):
        pass

"""Every way in which an archive can stop being what was written into it is found, and nothing is written."""

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import Connection, delete, text, update

from tensionear.errors import ArchiveError
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.checking import ArchiveFault, ArchiveFinding, check
from tensionear.job.archive.connection import now
from tensionear.job.archive.copying import back_up
from tensionear.job.archive.opening import open_archive
from tensionear.job.archive.purging import purge
from tensionear.job.archive.search import JobQuery
from tensionear.job.archive.tables import (
    CONTENTS,
    JOB_CONTENTS,
    JOBS,
    LOG_ENTRIES,
    PASS_RESULTS,
    RECORDS,
    SETUP_VERSIONS,
)
from tests.job.archive.damage import make_archive, overwrite_pages
from tests.job.archive.test_copying import with_jobs
from tests.job.invented import invented_setup


def place_of(archive: Archive) -> str:
    """Where an archive is."""
    url = archive._engine.url
    return url.database or "" if archive.dialect == "sqlite" else url.render_as_string(hide_password=False)


Change = Callable[[Connection], object]


@pytest.fixture
def filled(archive: Archive) -> Archive:
    with_jobs(archive)
    archive.add_record("2", lambda _job, _place: b"{ }")
    return archive


def test_an_archive_as_it_was_written_has_no_findings(filled: Archive) -> None:
    told: list[tuple[int, int]] = []
    assert check(place_of(filled), lambda done, total: told.append((done, total))) == []
    n = 10 + 1 + 2 + 2  # contents, versions of setups, jobs, records
    assert told == [(done, n) for done in range(1, n + 1)]
    assert check(place_of(filled), quick=True) == []


CHANGES: dict[str, tuple[Change, ArchiveFault, str | None, str]] = {
    "a sound": (
        lambda connection: connection.execute(update(CONTENTS).values(content=b"another")),
        ArchiveFault.CONTENT_CHANGED, "1", "of job 1 is not what was kept",
    ),
    "a digit of an entry": (
        lambda connection: connection.execute(
            text("UPDATE log_entries SET fact = replace(fact, '150.2', '151.2') WHERE job_id = 2")
        ),
        ArchiveFault.LOG_DAMAGED, "2", "SHA-256 is another",
    ),
    "the last entry": (
        lambda connection: connection.execute(
            delete(LOG_ENTRIES).where(LOG_ENTRIES.c.job_id == 2, LOG_ENTRIES.c.number == 11)
        ),
        ArchiveFault.LOG_DAMAGED, "2", "has 10 entries, and had 11",
    ),
    "an entry in the middle": (
        lambda connection: connection.execute(
            delete(LOG_ENTRIES).where(LOG_ENTRIES.c.job_id == 2, LOG_ENTRIES.c.number == 4)
        ),
        ArchiveFault.LOG_DAMAGED, "2", "entry 4 of the log is missing",
    ),
    "a sound taken away": (
        lambda connection: connection.execute(delete(JOB_CONTENTS).where(JOB_CONTENTS.c.job_id == 2)),
        ArchiveFault.CONTENT_MISSING, "2", "the sound of pluck 1 of job 2 is missing",
    ),
    "a setup": (
        lambda connection: connection.execute(update(SETUP_VERSIONS).values(document="{}")),
        ArchiveFault.SETUP_CHANGED, None, "version 1 of the setup 'Example Four, long span' is not what was kept",
    ),
    "what a job is found by": (
        lambda connection: connection.execute(update(JOBS).where(JOBS.c.id == 1).values(vehicle="another")),
        ArchiveFault.SUMMARY_WRONG, "1", "does not follow from its log: vehicle",
    ),
    "a figure of a pass": (
        lambda connection: connection.execute(
            update(PASS_RESULTS).where(PASS_RESULTS.c.job_id == 1).values(tension_n=1.0)
        ),
        ArchiveFault.SUMMARY_WRONG, "1", "the results of its passes",
    ),
    "a record": (
        lambda connection: connection.execute(update(RECORDS).where(RECORDS.c.number == 1).values(document=b"")),
        ArchiveFault.RECORD_CHANGED, "1", "record 1 of job 1 is not what was kept",
    ),
    "a record's content taken away": (
        lambda connection: connection.execute(update(RECORDS).where(RECORDS.c.number == 1).values(document=None)),
        ArchiveFault.RECORD_CHANGED, "1", "record 1 of job 1 has no content",
    ),
    "a link": (
        lambda connection: connection.execute(
            update(RECORDS).where(RECORDS.c.number == 2).values(previous_sha256="0" * 64)
        ),
        ArchiveFault.PREDECESSOR_WRONG, "2", "record 2 names another record 1",
    ),
    "the first record taken away": (
        lambda connection: connection.execute(delete(RECORDS).where(RECORDS.c.number == 1)),
        ArchiveFault.RECORD_MISSING, None, "record 1 is missing",
    ),
    "the last record taken away": (
        lambda connection: connection.execute(delete(RECORDS).where(RECORDS.c.number == 2)),
        ArchiveFault.RECORD_MISSING, None, "record 2 is missing",
    ),
    "a record put in the place of another": (
        lambda connection: connection.execute(
            update(RECORDS).where(RECORDS.c.number == 2).values(job_number="1", job_id=1)
        ),
        ArchiveFault.RECORD_CHANGED, "1", "record 2 is not the one that the log of job 1 names",
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", CHANGES)
def test_what_was_changed_is_found_with_its_job(what: str, filled: Archive) -> None:
    change, fault, job_number, words = CHANGES[what]
    with filled.writing() as connection:
        change(connection)
    found = [each for each in check(place_of(filled)) if each.fault is fault]
    assert found
    assert isinstance(found[0], ArchiveFinding)
    assert found[0].job_number == job_number
    assert words in found[0].sentence


def test_after_a_purge_nothing_is_found(filled: Archive) -> None:
    with filled.writing() as connection:
        connection.execute(update(JOBS).where(JOBS.c.id == 1).values(deleted_at=now().replace(year=2020)))
    assert purge(filled).job_numbers == ("1",)
    assert check(place_of(filled)) == []


def test_damaged_pages_are_found_and_nothing_is_written(tmp_path: Path) -> None:
    make_archive(tmp_path / "whole.sqlite", n_jobs=6)
    path = tmp_path / "damaged.sqlite"
    for seed in range(5):
        overwrite_pages(tmp_path / "whole.sqlite", path, share=0.03, seed=seed)
        before = (path.read_bytes(), path.stat().st_mtime_ns)
        try:
            assert check(str(path)), seed
        except ArchiveError as error:  # the page that says which tables there are
            assert "damaged" in str(error)  # noqa: PT017
        assert (path.read_bytes(), path.stat().st_mtime_ns) == before


def test_an_index_that_lies_is_found(tmp_path: Path) -> None:
    path = tmp_path / "archive.sqlite"
    make_archive(path, n_jobs=2)
    content = bytearray(path.read_bytes())
    place = content.rindex(b"00000000-0000-0000-0000-000000000002")
    content[place] ^= 1
    path.write_bytes(content)
    assert ArchiveFault.DATABASE_DAMAGED in {each.fault for each in check(str(path))}


def test_a_check_can_be_stopped(tmp_path: Path) -> None:
    path = tmp_path / "archive.sqlite"
    with open_archive(str(path)) as archive:
        archive.add_setup(invented_setup())

    def stop(_done: int, _total: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        check(str(path), stop)


def test_a_backup_is_checked_like_any_archive(filled: Archive, tmp_path: Path) -> None:
    back_up(filled, tmp_path / "backup.sqlite")
    assert check(str(tmp_path / "backup.sqlite")) == []


def look_at_all(archive: Archive) -> None:
    """What `job list` and `job show` do."""
    for each in archive.find_jobs(JobQuery()):
        archive.job(each.number)


@pytest.mark.parametrize("value", ["'2026-0#-01 10:00'", "12", "x'ff00'", "CAST(x'ff41' AS TEXT)"])
@pytest.mark.parametrize(
    "column", ["log_entries.at", "log_entries.by", "jobs.opened_at", "setup_versions.document"]
)
def test_no_value_of_a_damaged_file_is_taken_for_a_bug(column: str, value: str, tmp_path: Path) -> None:
    path = tmp_path / "archive.sqlite"
    make_archive(path, n_jobs=1)
    table, _, name = column.partition(".")
    with sqlite3.connect(path) as connection:
        connection.execute(f"UPDATE {table} SET {name} = {value}")  # noqa: S608
    connection.close()
    assert check(str(path), quick=True)
    with open_archive(str(path)) as archive, pytest.raises(ArchiveError, match="damaged"):
        look_at_all(archive)

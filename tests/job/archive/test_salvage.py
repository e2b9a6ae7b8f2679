"""What is readable of a damaged archive is brought over; what is not is told; the damaged file stays as it is."""

import re
import shutil
import sqlite3
from pathlib import Path

import pytest

from tensionear.errors import ArchiveError, InputError
from tensionear.job.archive.archived_job import ArchivedJob
from tensionear.job.archive.checking import ArchiveFault, check
from tensionear.job.archive.opening import open_archive
from tensionear.job.archive.opening_to_read import open_to_read
from tensionear.job.archive.salvage import salvage
from tensionear.job.archive.salvage_report import Salvaged
from tensionear.job.archive.search import JobQuery
from tensionear.job.archive.sqlite_pages import SqlitePages
from tensionear.job.archive.tables import TABLES
from tensionear.job.log import NoteAdded
from tests.job.archive.damage import NAME, PAGE_BYTES, flip_bits, make_archive, overwrite_pages
from tests.job.archive.test_copying import rows_of
from tests.job.invented import invented_details, invented_setup

N_JOBS = 30


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("whole") / "archive.sqlite"
    make_archive(path, N_JOBS)
    return path


@pytest.fixture(scope="module")
def jobs(whole: Path) -> dict[str, ArchivedJob]:
    with open_to_read(str(whole)) as archive:
        return {str(number): archive.job(str(number)) for number in range(1, N_JOBS + 1)}


@pytest.fixture
def damaged(tmp_path: Path) -> Path:
    """Where a damaged file is to be."""
    return tmp_path / "damaged.sqlite"


def salvaged(path: Path) -> tuple[Salvaged, Path]:
    """Salvage, and see that the damaged file is not touched."""
    before = (path.read_bytes(), path.stat().st_mtime_ns)
    to = path.with_name("salvaged.sqlite")
    report = salvage(path, to, by="Zofia Żółć")
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before
    return report, to


def see_that_nothing_is_made_up(report: Salvaged, to: Path, jobs: dict[str, ArchivedJob]) -> None:
    """Every job is the true one, or its beginning; every job and every pluck that is missing is told."""
    told = {(loss.table, loss.job_number) for loss in report.losses}
    with open_archive(str(to), make=False) as archive:
        there = {each.number: each for each in archive.find_jobs(JobQuery(limit=1000))}
        by_uid = {job.uid: job for job in jobs.values()}
        for number in there:
            job = archive.job(number)
            true = by_uid.get(job.uid)
            if true is None:
                assert number.startswith("salvaged"), number
                assert ("jobs", number) in told
                true = jobs[number.removeprefix("salvaged ")]
            assert job.log == true.log[: len(job.log)]
            if len(job.log) < len(true.log):
                assert ("log_entries", number) in told
            for pluck in job.state.plucks:
                sha256 = pluck.pluck.sound.flac_sha256
                try:
                    archive.content(sha256)
                except InputError:
                    assert ("contents", number) in told
        lost = {job.number for job in jobs.values()} - {number.removeprefix("salvaged ") for number in there}
        untold = {
            number
            for number in lost
            if ("jobs", number) not in told and ("jobs", f"salvaged {number}") not in told
        }
        without_trace = [
            int(found[1])
            for loss in report.losses
            if (found := re.match(r"(\d+) more jobs were there", loss.sentence))
        ]
        last = max((int(number.removeprefix("salvaged ")) for number in there), default=0)
        assert sum(int(number) < last for number in untold) <= sum(without_trace)
    explained = {ArchiveFault.CONTENT_MISSING, ArchiveFault.RECORD_CHANGED, ArchiveFault.RECORD_MISSING,
                 ArchiveFault.PREDECESSOR_WRONG}  # fmt: skip
    for finding in check(str(to), quick=True):
        assert finding.fault in explained, finding


def test_pages_read_without_sqlite_are_the_rows_that_sqlite_reads(whole: Path) -> None:
    with SqlitePages(whole) as pages:
        found = {
            row.values[6]: (row.rowid, row.values)
            for page in range(1, pages.n_pages + 1)
            for row in pages.rows(page)
            if row.values is not None and len(row.values) == 7 and isinstance(row.values[0], int)
            and isinstance(row.values[6], str) and len(row.values[6]) == 64
        }  # fmt: skip
    connection = sqlite3.connect(whole)
    rows = connection.execute("SELECT sha256, rowid, * FROM log_entries").fetchall()
    connection.close()
    assert {sha256: (rowid, tuple(values)) for sha256, rowid, *values in rows} == found


def test_an_archive_without_damage_comes_over_whole(whole: Path, tmp_path: Path) -> None:
    to = tmp_path / "salvaged.sqlite"
    report = salvage(whole, to)
    assert report.losses == ()
    with open_to_read(str(to)) as new, open_to_read(str(whole)) as old:
        assert new.archive_id == old.archive_id
        rows, before = rows_of(new), rows_of(old)
        assert rows.pop("archive_log")[-1][4] == "salvaged"
        before.pop("archive_log")
        assert rows == before
        assert report.n_rows == {**{name: len(each) for name, each in rows.items()}, "archive_log": 1}
    assert set(report.n_rows) == {table.name for table in TABLES}
    assert check(str(to)) == []


@pytest.mark.parametrize("seed", range(12))
def test_random_pages_overwritten(
    seed: int, whole: Path, jobs: dict[str, ArchivedJob], damaged: Path
) -> None:
    overwrite_pages(whole, damaged, share=0.01 * (seed + 1), seed=seed)
    report, to = salvaged(damaged)
    assert report.losses
    see_that_nothing_is_made_up(report, to, jobs)


@pytest.mark.parametrize("seed", range(6))
def test_random_bits_flipped(seed: int, whole: Path, jobs: dict[str, ArchivedJob], damaged: Path) -> None:
    flip_bits(whole, damaged, n_bits=100, seed=seed)
    report, to = salvaged(damaged)
    see_that_nothing_is_made_up(report, to, jobs)
    assert report.n_rows["log_entries"] > 0.3 * sum(len(job.log) for job in jobs.values())


@pytest.mark.parametrize("kept", [0.97, 0.6, 0.25])
def test_a_file_that_was_cut_off(
    kept: float, whole: Path, jobs: dict[str, ArchivedJob], damaged: Path
) -> None:
    content = whole.read_bytes()
    damaged.write_bytes(content[: int(kept * len(content))])
    report, to = salvaged(damaged)
    assert report.losses
    assert report.n_rows["jobs"] > 0
    see_that_nothing_is_made_up(report, to, jobs)


@pytest.mark.parametrize("n_bytes", [16, 100, PAGE_BYTES, 8 * PAGE_BYTES])
def test_a_beginning_of_zeros(n_bytes: int, whole: Path, jobs: dict[str, ArchivedJob], damaged: Path) -> None:
    """The header, or all that says which tables there are and where they begin."""
    content = whole.read_bytes()
    damaged.write_bytes(bytes(n_bytes) + content[n_bytes:])
    with pytest.raises(ArchiveError, match="damaged"):
        check(str(damaged))
    report, to = salvaged(damaged)
    see_that_nothing_is_made_up(report, to, jobs)
    assert report.n_rows["jobs"] == N_JOBS


def test_commits_that_are_in_the_log_only_are_brought_over_and_without_it_what_is_in_the_file(
    damaged: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "in use"
    folder.mkdir()
    with open_archive(str(folder / "archive.sqlite")) as archive:
        archive.add_setup(invented_setup())
        archive.open_job(NAME, invented_details(), number="1")
        with archive.reading() as connection:
            connection.rollback()
            connection.connection.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
        archive.write_down("1", lambda _: NoteAdded(text="only in the log"))
        archive.open_job(NAME, invented_details(), number="2")
        for each in folder.iterdir():  # as a crash leaves them
            shutil.copy(each, tmp_path / each.name.replace("archive", "damaged"))
    assert (tmp_path / "damaged.sqlite-wal").stat().st_size > 0
    report, to = salvaged(damaged)
    assert report.losses == ()
    with open_to_read(str(to)) as new:
        assert new.job("1").state.notes == ("only in the log",)
        assert new.job("2").number == "2"
    to.unlink()
    (tmp_path / "damaged.sqlite-wal").unlink()
    report, to = salvaged(damaged)
    with open_to_read(str(to)) as new:
        assert new.job("1").state.notes == ()
        assert [each.number for each in new.find_jobs(JobQuery())] == ["1"]


def test_a_salvaged_archive_is_worked_with_further(whole: Path, damaged: Path) -> None:
    overwrite_pages(whole, damaged, share=0.1, seed=1)
    _, to = salvaged(damaged)
    with open_archive(str(to), make=False) as archive:
        number = archive.open_job(NAME, invented_details(vehicle="Invented newcomer")).number
        assert archive.find_jobs(JobQuery(words="newcomer"))[0].number == number
        assert archive.add_record(number, lambda _job, _place: b"{}").place.number > 1


def test_a_digit_that_changed_in_a_log_is_found_out_and_the_job_kept_up_to_there(
    whole: Path, damaged: Path
) -> None:
    content = whole.read_bytes()
    place = content.index(b'"fundamental_hz":150.2')
    damaged.write_bytes(content.replace(b'"fundamental_hz":150.2', b'"fundamental_hz":151.2', 1))
    assert place > PAGE_BYTES
    (finding,) = [each for each in check(str(damaged), quick=True) if each.fault is ArchiveFault.LOG_DAMAGED]
    report, to = salvaged(damaged)
    (loss,) = [each for each in report.losses if each.table == "log_entries" and each.job_number]
    assert loss.job_number == finding.job_number
    assert "has a hole" in loss.sentence
    with open_to_read(str(to)) as archive:
        assert loss.job_number is not None
        assert len(archive.job(loss.job_number).state.plucks) == 0


def test_what_holds_nothing_of_an_archive_is_refused_and_leaves_no_file(tmp_path: Path) -> None:
    for name, content in (("empty", b""), ("text", b"invented\n" * 10_000)):
        path = tmp_path / name
        path.write_bytes(content)
        with pytest.raises(ArchiveError, match="nothing of an archive is readable in it"):
            salvage(path, tmp_path / "salvaged.sqlite")
    with pytest.raises(ArchiveError, match="cannot be read"):
        salvage(tmp_path, tmp_path / "salvaged.sqlite")
    assert sorted(each.name for each in tmp_path.iterdir()) == ["empty", "text"]


def test_nothing_is_written_where_a_file_is(whole: Path, tmp_path: Path) -> None:
    there = tmp_path / "there.sqlite"
    there.write_bytes(b"something dear")
    with pytest.raises(InputError, match="is there already"):
        salvage(whole, there)
    assert there.read_bytes() == b"something dear"


def test_salvaging_that_is_stopped_leaves_nothing_half(whole: Path, tmp_path: Path) -> None:
    def stop(done: int, total: int) -> None:
        if done > total // 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        salvage(whole, tmp_path / "salvaged.sqlite", progress=stop)
    assert list(tmp_path.iterdir()) == []

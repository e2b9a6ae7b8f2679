"""The chain of records."""

import pytest
from sqlalchemy import text

from tensionear.errors import ArchiveError, InputError
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.archived_job import ArchivedJob
from tensionear.job.archive.records import ChainPlace
from tensionear.job.log import RecordMade
from tensionear.job.sha256 import sha256_of
from tests.job.invented import invented_details

NAME = "Example Four, long span"


@pytest.fixture(autouse=True)
def _jobs(archive: Archive) -> None:
    for number in ("1", "2"):
        archive.open_job(NAME, invented_details(), number=number)


def _document(job: ArchivedJob, place: ChainPlace) -> bytes:
    return f"record {place.number} of job {job.number} after {place.previous_sha256}".encode()


def test_every_record_names_the_hash_of_the_one_before(archive: Archive) -> None:
    made = [archive.add_record(number, _document, by="Ada") for number in ("1", "2", "1")]
    assert [each.place.number for each in made] == [1, 2, 3]
    assert [each.place.previous_sha256 for each in made] == [None, made[0].sha256, made[1].sha256]
    assert [each.place.archive_id for each in made] == [archive.archive_id] * 3
    for each in made:
        assert archive.record(each.place.number) == each
        assert each.document is not None
        assert each.sha256 == sha256_of(each.document)
    assert [(each.place, each.sha256, each.job_number, each.by) for each in archive.records()] == [
        (each.place, each.sha256, each.job_number, "Ada") for each in made
    ]


def test_a_record_is_a_fact_of_its_job(archive: Archive) -> None:
    made = archive.add_record("2", _document)
    fact = archive.job("2").log[-1].fact
    assert fact == RecordMade(record_number=1, record_sha256=made.sha256)
    assert made.by == "Zofia Żółć"


def test_a_record_that_fails_leaves_no_gap(archive: Archive) -> None:
    archive.add_record("1", _document)
    with pytest.raises(InputError, match="not now"):
        archive.add_record("1", _refuse)
    assert archive.add_record("1", _document).place.number == 2
    assert len(archive.job("1").state.records) == 2


def _refuse(_: ArchivedJob, __: ChainPlace) -> bytes:
    raise InputError("not now")


def test_a_record_that_is_not_there_is_told(archive: Archive) -> None:
    with pytest.raises(InputError, match="has no record 7"):
        archive.record(7)


def test_a_record_that_was_changed_is_not_given_out(archive: Archive) -> None:
    archive.add_record("1", _document)
    with archive.writing() as connection:
        connection.execute(text("UPDATE records SET document = :other"), {"other": b"other"})
    with pytest.raises(ArchiveError, match="record 1 is not what was written"):
        archive.record(1)


def test_no_record_is_put_behind_a_gap(archive: Archive) -> None:
    archive.add_record("1", _document)
    with archive.writing() as connection:
        connection.execute(text("DELETE FROM records"))
    with pytest.raises(ArchiveError, match=r"record 1 is not what was written.*it is missing"):
        archive.add_record("1", _document)

"""What was deleted long ago is destroyed for good, and only that; the chain of records still holds."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import func, select, update

from tensionear.errors import ArchiveError, InputError
from tensionear.job import deeds
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.connection import now
from tensionear.job.archive.opening import open_archive
from tensionear.job.archive.purging import KEPT_FOR, Purged, purge, to_be_purged
from tensionear.job.archive.search import JobQuery
from tensionear.job.archive.tables import ARCHIVE_LOG, CONTENTS, JOBS, LOG_ENTRIES, PASS_RESULTS, SETUPS
from tensionear.job.log import NoteAdded
from tensionear.job.sha256 import sha256_of
from tests.job.archive.kept import do
from tests.job.invented import invented_details, invented_pluck, invented_setup, whole_job

NAME = invented_setup().name
SOUND = b"a sound that two jobs name"


def delete_job(archive: Archive, number: str) -> None:
    archive.write_down(number, lambda job: deeds.delete_job(job.state, "invented reason"))


def later(days: float) -> datetime:
    return now() + timedelta(days=days)


@pytest.fixture
def three(archive: Archive) -> Archive:
    """Three jobs with a record each, of which 1 and 2 share a sound and 2 and 3 are deleted."""
    for number in ("1", "2", "3"):
        archive.open_job(NAME, invented_details(), number=number)
        do(archive, number, whole_job()[:5])
        if number != "3":
            shared = invented_pluck(150.0)
            sound = shared.sound.model_copy(update={"flac_sha256": sha256_of(SOUND)})
            archive.keep_pluck(number, shared.model_copy(update={"sound": sound}), SOUND)
        archive.add_record(number, lambda job, _place: job.number.encode())
    delete_job(archive, "2")
    delete_job(archive, "3")
    return archive


def test_nothing_is_purged_within_thirty_days(three: Archive) -> None:
    assert timedelta(days=30) == KEPT_FOR
    assert to_be_purged(three).is_empty
    assert purge(three, at=later(29.9)) == Purged((), (), 0, 0)
    three.write_down("2", lambda job: deeds.restore_job(job.state))
    assert three.job("2").state.deleted_at is None


def test_after_thirty_days_log_results_and_sounds_are_gone_for_good(three: Archive) -> None:
    kept = three.job("1")
    expected = Purged(("2", "3"), (), 2, 6)
    assert to_be_purged(three, at=later(30.1)) == expected
    assert three.job("2").number == "2"  # telling destroys nothing
    assert purge(three, by="Zofia Żółć", at=later(30.1)) == expected
    for number in ("2", "3"):
        with pytest.raises(InputError, match="there is no job"):
            three.job(number)
    assert three.job("1") == kept
    assert three.content(sha256_of(SOUND)) == SOUND
    assert three.find_jobs(JobQuery(words="estate", deleted=True)) == []
    with three.reading() as connection:
        assert connection.scalar(select(func.count()).select_from(CONTENTS)) == 4
        for column in (LOG_ENTRIES.c.job_id, PASS_RESULTS.c.job_id, JOBS.c.id):
            assert len(set(connection.scalars(select(column)))) <= 1, column
    assert purge(three, at=later(30.1)).is_empty


def test_the_chain_keeps_the_places_of_records_whose_jobs_are_purged(three: Archive) -> None:
    before = three.records()
    purge(three, at=later(31))
    assert three.records() == before
    assert three.record(1).document == b"1"
    assert three.record(2).document is None
    assert three.record(2).sha256 == sha256_of(b"2")
    record = three.add_record("1", lambda _job, _place: b"again")
    assert record.place.number == 4
    assert record.place.previous_sha256 == sha256_of(b"3")


def test_the_archive_log_says_who_purged_which_job_when_and_how_many_records(three: Archive) -> None:
    purge(three, by="Zofia Żółć", at=later(31))
    with three.reading() as connection:
        logged = connection.execute(select(ARCHIVE_LOG).order_by(ARCHIVE_LOG.c.number)).all()
    assert [(row.deed, row.subject, row.by) for row in logged] == [
        ("job purged", "2", "Zofia Żółć"),
        ("job purged", "3", "Zofia Żółć"),
    ]
    assert [row.reason for row in logged] == [
        f"deleted {now():%Y-%m-%d}; records: 1, sounds and photos: 3",
        f"deleted {now():%Y-%m-%d}; records: 1, sounds and photos: 3",
    ]
    assert all(abs(row.at - now()) < timedelta(minutes=5) for row in logged)


def test_a_number_that_was_purged_can_be_given_again(three: Archive) -> None:
    purge(three, at=later(31))
    assert three.open_job(NAME, invented_details(), number="2").number == "2"


def test_a_setup_is_purged_only_when_no_job_names_it_any_more(archive: Archive) -> None:
    for name in ("first", "second", "third"):
        archive.add_setup(invented_setup(name=name))
    archive.open_job("first", invented_details(), number="1")
    archive.take_setup("1", "second", None, "invented reason")  # the log names the first one still
    for name in ("first", "second", "third"):
        archive.delete_setup(name, "invented reason")
    assert purge(archive, at=later(31)).setup_names == ("third",)
    assert archive.job("1").kept_setup.name == "second"
    delete_job(archive, "1")
    assert to_be_purged(archive, at=later(31)).setup_names == ("first", "second")
    assert purge(archive, at=later(31)) == Purged(("1",), ("first", "second"), 0, 0)
    with pytest.raises(InputError, match="there is no setup"):
        archive.setup("first")
    assert archive.add_setup(invented_setup(name="third")).version == 1
    with archive.reading() as connection:
        assert set(connection.scalars(select(SETUPS.c.name))) == {NAME, "third"}


def test_what_fails_in_the_middle_destroys_nothing(three: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise ArchiveError("invented trouble")

    monkeypatch.setattr("tensionear.job.archive.purging.log_deed", fail)
    before = three.job("2")
    with pytest.raises(ArchiveError, match="invented trouble"):
        purge(three, at=later(31))
    assert three.job("2") == before


def test_nothing_of_a_purged_job_is_left_in_the_file(tmp_path: Path) -> None:
    path = tmp_path / "archive.sqlite"
    marker = "Unmistakableword"
    with open_archive(str(path)) as archive:
        archive.add_setup(invented_setup())
        for number in range(1, 30):
            archive.open_job(NAME, invented_details(vehicle=f"{marker} {number}"), number=str(number))
            archive.write_down(str(number), lambda _: NoteAdded(text=f"{marker} in a note"))
            delete_job(archive, str(number))
        archive.open_job(NAME, invented_details(), number="kept")
        with archive.writing() as connection:
            old = update(JOBS).where(JOBS.c.deleted_at.is_not(None))
            connection.execute(old.values(deleted_at=now() - timedelta(days=40)))
        in_use = [each.read_bytes().lower() for each in tmp_path.iterdir()]
        assert any(marker.lower().encode() in content for content in in_use)
        purge(archive)
        in_use = [each.read_bytes().lower() for each in tmp_path.iterdir()]
        assert not any(marker.lower().encode() in content for content in in_use)
        assert archive.find_jobs(JobQuery(words="estate"))[0].number == "kept"

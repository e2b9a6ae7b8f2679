"""Jobs in an archive."""

from datetime import UTC, datetime

import pytest
from sqlalchemy import text

from tensionear import __version__
from tensionear.errors import ArchiveError, InputError
from tensionear.job import deeds
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.opening import open_archive
from tensionear.job.log import NoteAdded, PluckKept, SetupTaken
from tensionear.job.passes import PassKind, Step
from tensionear.job.state import state_of
from tests.job.archive.kept import do, with_sound
from tests.job.invented import invented_details, invented_pluck, invented_setup, whole_job

NAME = "Example Four, long span"
PNG = b"\x89PNG\r\n\x1a\n invented"


def test_a_whole_job_comes_back_as_it_was_written_down(archive: Archive) -> None:
    opened = archive.open_job(NAME, invented_details(), number="1", is_demonstration=True)
    job = do(archive, "1", whole_job())
    assert (job.uid, job.setup, job.kept_setup) == (opened.uid, invented_setup(), archive.setup(NAME))
    assert [entry.number for entry in job.log] == list(range(1, 2 + len(whole_job()) + 1))
    assert [type(entry.fact) for entry in job.log[2:]] == [type(fact) for fact in whole_job()]
    assert [entry.fact for entry in job.log[2:] if not isinstance(entry.fact, PluckKept)] == [
        fact for fact in whole_job() if not isinstance(fact, PluckKept)
    ]
    assert job.state == state_of(job.log)
    assert len(job.state.plucks) == 21
    for each in job.state.plucks:
        assert archive.content(each.pluck.sound.flac_sha256) == f"job 1, pluck {each.number}".encode()


def test_an_entry_says_when_by_whom_and_by_which_program(archive: Archive) -> None:
    before = datetime.now(UTC)
    archive.open_job(NAME, invented_details(), number="1")
    archive.write_down("1", lambda _: NoteAdded(text="one"))
    job = archive.write_down("1", lambda _: NoteAdded(text="two"), by=" Ada ")
    assert [entry.by for entry in job.log] == ["Zofia Żółć", "Zofia Żółć", "Zofia Żółć", "Ada"]
    assert {entry.software_version for entry in job.log} == {__version__}
    assert before <= job.log[0].at <= job.log[-1].at <= datetime.now(UTC)
    assert archive.job("1").log == job.log


def test_what_was_written_down_is_there_when_the_archive_is_opened_anew(where: str) -> None:
    with open_archive(where) as archive:
        archive.add_setup(invented_setup())
        archive.open_job(NAME, invented_details(), number="1")
        before = do(archive, "1", whole_job())
    with open_archive(where) as archive:
        assert archive.job("1") == before


def test_a_deed_that_refuses_leaves_the_job_as_it_was(archive: Archive) -> None:
    before = archive.open_job(NAME, invented_details(), number="1")
    with pytest.raises(InputError, match="before the final setting comes"):
        archive.write_down("1", lambda job: deeds.begin_pass(job.state, job.setup, PassKind.FINAL_SETTING))
    assert archive.write_down("1", lambda _: None) == before
    assert archive.job("1") == before


def test_a_bug_in_a_deed_leaves_the_job_as_it_was(archive: Archive) -> None:
    before = archive.open_job(NAME, invented_details(), number="1")
    with pytest.raises(ZeroDivisionError):
        archive.write_down("1", lambda _: 1 / 0)  # type: ignore[arg-type, return-value]
    assert archive.job("1") == before


def test_a_fact_that_does_not_follow_from_the_job_is_not_written(archive: Archive) -> None:
    before = archive.open_job(NAME, invented_details(), number="1")
    stray = PluckKept(pass_number=1, pluck_number=1, pluck=invented_pluck(100.0))
    with pytest.raises(ValueError, match="belongs to no pass"):
        archive.write_down("1", lambda _: stray)
    assert archive.job("1") == before


def test_numbers_follow_the_year_and_step_over_those_that_were_typed(archive: Archive) -> None:
    year = datetime.now(UTC).year
    archive.open_job(NAME, invented_details(), number=f"{year}-0002")
    numbers = [archive.open_job(NAME, invented_details()).number for _ in range(3)]
    assert numbers == [f"{year}-0001", f"{year}-0003", f"{year}-0004"]


def test_a_number_is_given_once_whatever_its_case(archive: Archive) -> None:
    archive.open_job(NAME, invented_details(), number=" Ab  7 ")
    with pytest.raises(InputError, match="there is a job 'aB 7' already"):
        archive.open_job(NAME, invented_details(), number="aB 7")
    assert archive.job("AB 7").number == "Ab 7"
    assert archive.open_job(NAME, invented_details(), number="AB-7").number == "AB-7"


def test_a_number_that_cannot_be_one_is_refused(archive: Archive) -> None:
    with pytest.raises(InputError, match="201 characters is longer than 200"):
        archive.open_job(NAME, invented_details(), number="1" * 201)
    with pytest.raises(InputError, match="cannot be printed"):
        archive.open_job(NAME, invented_details(), number="1\x1b[2J")


def test_a_job_that_is_not_there_is_answered_with_near_numbers(archive: Archive) -> None:
    archive.open_job(NAME, invented_details(), number="2026-0001")
    with pytest.raises(InputError, match="there is no job '2026-001': did you mean 2026-0001"):
        archive.job("2026-001")
    with pytest.raises(InputError, match=r"there is no job 'x'$"):
        archive.write_down("x", lambda _: None)


def test_a_job_opens_only_by_a_setup_that_is_there(archive: Archive) -> None:
    with pytest.raises(InputError, match="there is no setup"):
        archive.open_job("zzz", invented_details())
    archive.delete_setup(NAME, "mistyped")
    with pytest.raises(InputError, match="is deleted: restore it first"):
        archive.open_job(NAME, invented_details())


def test_one_sound_is_kept_once_in_a_pass(archive: Archive) -> None:
    archive.open_job(NAME, invented_details(), number="1")
    do(archive, "1", whole_job()[:2])
    pluck = with_sound(invented_pluck(150.0), b"sound")
    assert archive.keep_pluck("1", pluck, b"sound") is not None
    assert archive.keep_pluck("1", pluck, b"sound") is None
    assert len(archive.job("1").state.plucks) == 1


def test_a_pluck_is_kept_only_with_its_own_sound_and_in_a_pass(archive: Archive) -> None:
    archive.open_job(NAME, invented_details(), number="1")
    pluck = with_sound(invented_pluck(150.0), b"sound")
    with pytest.raises(ValueError, match="not the one that the pluck names"):
        archive.keep_pluck("1", pluck, b"another")
    with pytest.raises(InputError, match="no pass goes on"):
        archive.keep_pluck("1", pluck, b"sound")
    with pytest.raises(InputError, match="has no sound or photo"):
        archive.content(pluck.sound.flac_sha256)


def test_the_same_bytes_are_kept_once_for_all_jobs(archive: Archive) -> None:
    for number in ("1", "2"):
        archive.open_job(NAME, invented_details(), number=number)
        archive.add_photo(number, PNG, "image/png", "the marks")
    with archive.reading() as connection:
        assert connection.scalar(text("SELECT count(*) FROM contents")) == 1
        assert connection.scalar(text("SELECT count(*) FROM job_contents")) == 2


def test_a_photo_is_what_it_is_said_to_be(archive: Archive) -> None:
    archive.open_job(NAME, invented_details(), number="1")
    photo = archive.add_photo("1", PNG, "image/png", "the marks").state.photos[0]
    assert (archive.content(photo.sha256), photo.caption) == (PNG, "the marks")
    with pytest.raises(InputError, match="does not begin as image/jpeg does"):
        archive.add_photo("1", PNG, "image/jpeg")
    with pytest.raises(InputError, match="and not image/tiff"):
        archive.add_photo("1", PNG, "image/tiff")
    with pytest.raises(InputError, match="caption"):
        archive.add_photo("1", PNG, "image/png", "x" * 201)


def test_content_that_was_changed_is_not_given_out(archive: Archive) -> None:
    archive.open_job(NAME, invented_details(), number="1")
    photo = archive.add_photo("1", PNG, "image/png").state.photos[0]
    with archive.writing() as connection:
        connection.execute(text("UPDATE contents SET content = :other"), {"other": b"other"})
    with pytest.raises(ArchiveError, match="its SHA-256 is another"):
        archive.content(photo.sha256)


def test_a_job_keeps_its_version_of_the_setup_until_it_takes_another(archive: Archive) -> None:
    archive.open_job(NAME, invented_details(), number="1")
    archive.change_setup(NAME, invented_setup(plucks_per_pass=3), "three will do")
    assert archive.job("1").kept_setup.version == 1
    with pytest.raises(InputError, match="A reason is needed"):
        archive.take_setup("1", NAME, None, " ")
    job = archive.take_setup("1", NAME, None, "three will do")
    assert (job.kept_setup.version, job.setup.plucks_per_pass) == (2, 3)
    assert archive.job("1") == job
    assert isinstance(job.log[-1].fact, SetupTaken)
    with pytest.raises(InputError, match=r"goes by .* version 2, already"):
        archive.take_setup("1", NAME, 2, "again")
    assert archive.take_setup("1", NAME, 1, "five are better").setup.plucks_per_pass == 5


def test_a_deleted_job_is_found_and_takes_nothing_until_it_is_restored(archive: Archive) -> None:
    archive.open_job(NAME, invented_details(), number="1")
    archive.write_down("1", lambda job: deeds.delete_job(job.state, "mistyped"))
    assert archive.job("1").state.deleted_at is not None
    with pytest.raises(InputError, match="is deleted: restore it first"):
        archive.add_photo("1", PNG, "image/png")
    with pytest.raises(InputError, match="is deleted: restore it first"):
        archive.take_setup("1", NAME, None, "why not")
    with pytest.raises(InputError, match="is deleted: restore it first"):
        archive.add_record("1", lambda *_: b"record")
    archive.write_down("1", lambda job: deeds.restore_job(job.state))
    assert archive.add_photo("1", PNG, "image/png").state.photos


@pytest.mark.parametrize("odometer_km", [5.0, 1e15 / 1e9, 0.1, 123_456.7])
def test_a_corrected_number_stays_a_number(archive: Archive, odometer_km: float) -> None:
    archive.open_job(NAME, invented_details(), number="1")
    job = archive.write_down(
        "1", lambda job: deeds.correct_detail(job.state, "odometer_km", odometer_km, "misread")
    )
    again = archive.job("1")
    assert again == job
    assert again.state.details.odometer_km == odometer_km
    assert type(again.state.details.odometer_km) is float


def test_any_text_that_is_unicode_comes_back(archive: Archive) -> None:
    details = invented_details(vehicle="Ωμέγα Жёлтый 漢字 🚗 'quoted' \"%s\" ; --", registration="")
    job = archive.open_job(NAME, details, number="№ 7/б %")
    assert archive.job("№ 7/б %") == job
    with pytest.raises(InputError, match="cannot be printed"):
        archive.open_job(NAME, invented_details(), number="\udcff")


def test_a_log_with_an_entry_missing_is_called_damaged(archive: Archive) -> None:
    archive.open_job(NAME, invented_details(), number="1")
    do(archive, "1", whole_job()[:5])
    with archive.writing() as connection:
        connection.execute(text("DELETE FROM log_entries WHERE number = 4"))
    with pytest.raises(ArchiveError, match=r"entry 4 of the log is missing.*damaged.*salvage"):
        archive.job("1")


def test_an_entry_that_is_not_as_it_was_written_is_called_damaged(archive: Archive) -> None:
    archive.open_job(NAME, invented_details(), number="1")
    with archive.writing() as connection:
        connection.execute(text('UPDATE log_entries SET fact = \'{"kind": "x\' WHERE number = 1'))
    with pytest.raises(ArchiveError, match="entry 1 of the log of job 1 is not what was written"):
        archive.write_down("1", lambda _: None)


def test_an_entry_cannot_be_written_twice_nor_what_is_named_be_taken_away(archive: Archive) -> None:
    archive.open_job(NAME, invented_details(), number="1")
    for statement in (
        "INSERT INTO log_entries SELECT * FROM log_entries WHERE number = 1",
        "DELETE FROM jobs",
        "DELETE FROM setup_versions",
    ):
        with pytest.raises(ArchiveError, match="refused it"), archive.writing() as connection:
            connection.execute(text(statement))


def test_steps_are_skipped_with_the_reason_in_the_log(archive: Archive) -> None:
    archive.open_job(NAME, invented_details(), number="1")
    archive.write_down("1", lambda job: deeds.skip_step(job.state, Step.RUN_IN, "belt run in before"))
    assert archive.job("1").state.skipped == {Step.RUN_IN: "belt run in before"}


def test_who_and_why_are_lines_that_can_be_kept(archive: Archive) -> None:
    archive.open_job(NAME, invented_details(), number="1")
    for by in ("x" * 201, "\0", "two\nlines"):
        with pytest.raises(InputError, match="who did it: "):
            archive.write_down("1", lambda _: NoteAdded(text="one"), by=by)
        with pytest.raises(InputError, match="who opened it: "):
            archive.open_job(NAME, invented_details(), number="2", by=by)
        with pytest.raises(InputError, match="who made it: "):
            archive.add_record("1", lambda *_: b"record", by=by)
        with pytest.raises(InputError, match="who made it: "):
            archive.add_setup(invented_setup(name="another"), by=by)
        with pytest.raises(InputError, match="who did it: "):
            archive.delete_setup(NAME, "mistyped", by=by)
        with pytest.raises(InputError, match="reason: "):
            archive.take_setup("1", NAME, 1, by)
    assert len(archive.job("1").log) == 2

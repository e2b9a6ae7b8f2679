"""Every kept pluck of an archive, read anew: what is told of it, and that nothing in the archive changes."""

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from tensionear.job.archive.archive import Archive
from tensionear.job.archive.opening import open_archive
from tensionear.job.archive.opening_to_read import open_to_read
from tensionear.job.hearing import read_anew
from tensionear.job.passes import PassKind
from tensionear.job.pluck_document import ReadingDocument, SoundDocument, outcome_document
from tensionear.job.reanalysis.change import Change
from tensionear.job.reanalysis.report import Report
from tensionear.job.reanalysis.run import reanalyse_archive
from tensionear.job.reanalysis.verdicts import passes_read_twice
from tensionear.metrology.decision import Side, Verdict
from tensionear.pluck.outcome import PluckOutcome
from tests.job.invented import invented_setup
from tests.job.reanalysis.conftest import untracked
from tests.job.recorded_job import JOB, do_recorded_job

N_PLUCKS = 9
"""Two for each of four passes, and one that is refused."""


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An archive with a job with real sound."""
    path = tmp_path_factory.mktemp("archive") / "archive.sqlite"
    with open_archive(str(path)) as archive:
        do_recorded_job(archive, 2)
    return path


@pytest.fixture
def archive(path: Path) -> Iterator[Archive]:
    with open_to_read(str(path)) as archive:
        yield archive


def dump(path: Path) -> list[str]:
    with sqlite3.connect(path) as connection:
        return list(connection.iterdump())


def run(archive: Archive, results: Path | None = None) -> Report:
    return reanalyse_archive(archive, results, 1, untracked)


def read_higher(monkeypatch: pytest.MonkeyPatch, by: float) -> None:
    """Let the estimator read everything higher by a share."""

    def higher(outcome: PluckOutcome) -> object:
        document = outcome_document(outcome)
        if isinstance(document, ReadingDocument):
            return document.model_copy(update={"fundamental_hz": document.fundamental_hz * (1 + by)})
        return document

    monkeypatch.setattr("tensionear.job.reanalysis.reading.outcome_document", higher)


def test_the_same_estimator_reads_every_kept_pluck_the_same_and_nothing_changes(
    archive: Archive, path: Path
) -> None:
    before = dump(path)
    report = run(archive)
    assert report.total.changes == {Change.SAME: N_PLUCKS - 1, Change.STILL_REFUSED: 1}
    assert list(report.groups) == [invented_setup().name]
    assert report.before_versions == {1: N_PLUCKS}
    assert not report.not_read
    assert list(passes_read_twice(archive, report.changed)) == []
    assert dump(path) == before


def test_a_newer_estimator_is_told_with_what_it_would_do_to_verdicts(
    archive: Archive, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read_higher(monkeypatch, 0.1)
    before = dump(path)
    report = run(archive)
    assert report.total.changes == {Change.BEYOND: N_PLUCKS - 1, Change.STILL_REFUSED: 1}
    assert [each.share for each in report.largest(3)] == pytest.approx([0.1] * 3)
    passes = {each.job_pass.kind: each for each in passes_read_twice(archive, report.changed)}
    assert set(passes) == {PassKind.OVER_TENSION, PassKind.FINAL_SETTING, PassKind.RE_CHECK}  # no run-in
    final = passes[PassKind.FINAL_SETTING]
    was, would_be = final.decisions
    assert was is not None
    assert would_be is not None
    # Tension goes with the square of the frequency, and the band ends at 460 N.
    assert (was.verdict, would_be.verdict, would_be.side) == (Verdict.IN_BAND, Verdict.OUT_OF_BAND, Side.HIGH)
    assert final.is_decided_otherwise
    assert final.before.tension is not None
    assert final.after.tension is not None
    assert final.after.tension.value == pytest.approx(1.21 * final.before.tension.value)
    assert dump(path) == before


def test_one_that_makes_the_reader_raise_is_told_and_the_others_go_on(
    archive: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = archive.job(JOB).state.plucks[0].pluck.sound

    def raising(sound: SoundDocument, flac: bytes) -> PluckOutcome:
        if sound == first:
            raise ZeroDivisionError("invented")
        return read_anew(sound, flac)

    monkeypatch.setattr("tensionear.job.reanalysis.reading.read_anew", raising)
    report = run(archive)
    assert len(report.done) == N_PLUCKS - 1
    (trouble,) = report.not_read.values()
    assert trouble.name == f"job {JOB}, pluck 1"
    assert "fault of tensionear itself (ZeroDivisionError: invented)" in trouble.message


def test_damaged_sound_and_a_damaged_log_are_told_and_the_others_go_on(path: Path, tmp_path: Path) -> None:
    damaged = tmp_path / "damaged.sqlite"
    with sqlite3.connect(path) as connection, sqlite3.connect(damaged) as copy:
        connection.backup(copy)
    with open_archive(str(damaged)) as archive:
        archive.open_job(
            invented_setup().name, archive.job(JOB).state.details, number="broken", is_demonstration=True
        )
        sha256 = archive.job(JOB).state.plucks[1].pluck.sound.flac_sha256
    with sqlite3.connect(damaged) as connection:
        connection.execute("UPDATE contents SET content = x'00' WHERE sha256 = ?", (sha256,))
        connection.execute("UPDATE log_entries SET fact = '{}' WHERE number = 1 AND job_id = 2")
        connection.execute("UPDATE jobs SET n_plucks = 1 WHERE id = 2")
    with open_to_read(str(damaged)) as archive:
        report = run(archive)
    assert len(report.done) == N_PLUCKS - 1
    assert sorted(each.name for each in report.not_read.values()) == ["job broken", f"job {JOB}, pluck 2"]


def test_results_are_gone_on_with(archive: Archive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    results = tmp_path / "results.jsonl"
    whole = run(archive, results)
    lines = results.read_bytes().splitlines(keepends=True)
    results.write_bytes(b"".join(lines[:5]) + lines[5][:40])
    again: list[SoundDocument] = []

    def noting(sound: SoundDocument, flac: bytes) -> PluckOutcome:
        again.append(sound)
        return read_anew(sound, flac)

    monkeypatch.setattr("tensionear.job.reanalysis.reading.read_anew", noting)
    assert run(archive, results) == whole
    assert len(again) == N_PLUCKS - 4
    assert results.read_bytes().splitlines(keepends=True) == lines


def test_what_the_changes_are_told_of_needs_no_readings_in_full(
    archive: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    read_higher(monkeypatch, 0.001)
    changed = run(archive).changed[JOB]
    assert all(not each.rivals for each in changed.values())
    assert len(changed) == N_PLUCKS - 1  # one that is refused as before is no change

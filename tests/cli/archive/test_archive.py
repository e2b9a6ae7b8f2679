"""``tensionear archive``: told in words and in lines, with the exit code that fits."""

import shutil
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import update

from tensionear.job import deeds
from tensionear.job.archive.connection import now
from tensionear.job.archive.opening import open_archive
from tensionear.job.archive.tables import CONTENTS, JOBS
from tests.cli.command import Tensionear
from tests.job.archive.damage import make_archive, overwrite_pages


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("made") / "archive.sqlite"
    make_archive(path, n_jobs=4)
    return path


@pytest.fixture
def path(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An archive that every command takes: four jobs with twenty sounds, and two records."""
    monkeypatch.setenv("COLUMNS", "120")
    path = Path(shutil.copy(made, tmp_path / "archive.sqlite"))
    monkeypatch.setenv("TENSIONEAR_ARCHIVE", str(path))
    return path


def test_info_says_what_is_there(path: Path, tensionear: Tensionear) -> None:
    told = tensionear("archive", "info", "--json")
    assert told.code == 0
    (line,) = told.of_kind("archive")
    expected = {"archive": str(path), "n_jobs": 4, "n_open_jobs": 4, "n_deleted_jobs": 0, "n_setups": 1,
                "n_deleted_setups": 0, "n_plucks": 20, "n_contents": 20, "n_records": 2}  # fmt: skip
    assert expected.items() <= line.items()
    words = tensionear("archive", "info").out
    assert "jobs     4, 4 of them open; 0 deleted\n" in words
    assert line["newest_record_sha256"] in words


def test_a_backup_is_made_checked_and_restored(path: Path, tensionear: Tensionear, tmp_path: Path) -> None:
    backup = tmp_path / "backup.sqlite"
    told = tensionear("archive", "backup", backup)
    assert (told.code, told.err) == (0, "")
    assert (
        told.out == f"Backup: {backup}: 4 jobs, 1 setup, 20 sounds and photos, 2 records.\n"
        or "\n    " in told.out
    )
    again = tensionear("archive", "backup", backup)
    assert again.code == 2
    assert "is there already" in again.err
    assert tensionear("archive", "backup", backup, "--overwrite").code == 0
    assert tensionear("archive", "check", "--archive", backup).out.endswith(": all is as it was written.\n")
    refused = tensionear("archive", "restore", backup)
    assert refused.code == 5
    assert "is not empty" in refused.err
    restored = tmp_path / "restored.sqlite"
    (line,) = tensionear("archive", "restore", backup, "--archive", restored, "--json").of_kind(
        "archive_restored"
    )
    assert (line["n_jobs"], line["n_contents"], line["damaged"]) == (4, 20, [])
    with open_archive(str(restored), make=False) as archive:
        assert archive.job("1").number == "1"


def test_a_move_asks_first_and_says_how_to_go_on(path: Path, tensionear: Tensionear, tmp_path: Path) -> None:
    to = tmp_path / "moved.sqlite"
    asked = tensionear("archive", "move", to)
    assert asked.code == 2
    assert "add --yes" in asked.err
    assert not to.exists()
    told = tensionear("archive", "move", to, "--yes", "--json")
    assert told.code == 0
    assert told.of_kind("archive_moved")[0]["n_jobs"] == 4
    assert "TENSIONEAR_ARCHIVE" in told.err
    assert path.exists()


def test_a_damaged_sound_is_told_by_backup_and_check_with_exit_code_6(
    path: Path, tensionear: Tensionear, tmp_path: Path
) -> None:
    with open_archive(str(path)) as archive, archive.writing() as connection:
        sha256 = archive.job("2").state.plucks[0].pluck.sound.flac_sha256
        connection.execute(update(CONTENTS).where(CONTENTS.c.sha256 == sha256).values(content=b"x"))
    told = tensionear("archive", "backup", tmp_path / "backup.sqlite", "--json")
    assert told.code == 6
    assert told.of_kind("archive_backup")[0]["damaged"] == [sha256]
    assert "1 sound or photo" in told.err
    told = tensionear("archive", "check", "--json")
    assert told.code == 6
    (finding,) = told.of_kind("archive_finding")
    assert (finding["fault"], finding["job"]) == ("content changed", "2")
    assert told.of_kind("archive_check")[0]["n_findings"] == 1
    words = tensionear("archive", "check", "--quick")
    assert words.code == 6
    assert words.out.startswith("content changed: the sound or photo ")
    assert "1 finding. Restore a backup" in " ".join(words.out.split())


def test_what_is_salvaged_and_lost_is_told(path: Path, tensionear: Tensionear, tmp_path: Path) -> None:
    whole = tensionear("archive", "salvage", path, tmp_path / "whole.sqlite")
    assert whole.code == 0
    assert "Nothing is known to be lost." in whole.out
    overwrite_pages(path, tmp_path / "damaged.sqlite", share=0.1, seed=2)
    told = tensionear("archive", "salvage", tmp_path / "damaged.sqlite", tmp_path / "new.sqlite", "--json")
    assert told.code == 6
    losses = told.of_kind("archive_loss")
    assert told.of_kind("archive_salvaged")[0]["n_losses"] == len(losses) > 0
    assert {"table", "job", "sentence"} <= losses[0].keys()
    log = tensionear("archive", "info", "--log", "--archive", tmp_path / "new.sqlite")
    assert "salvaged: damaged.sqlite" in log.out
    refused = tensionear("archive", "salvage", tmp_path / "none.sqlite", tmp_path / "newer.sqlite")
    assert refused.code == 5


def test_a_purge_asks_destroys_and_is_logged(path: Path, tensionear: Tensionear) -> None:
    assert "Nothing was deleted more than 30 days ago." in tensionear("archive", "purge").out
    with open_archive(str(path)) as archive:
        archive.write_down("3", lambda job: deeds.delete_job(job.state, "invented reason"))
        with archive.writing() as connection:
            old = update(JOBS).where(JOBS.c.number == "3").values(deleted_at=now() - timedelta(days=31))
            connection.execute(old)
    dry = tensionear("archive", "purge", "--dry-run")
    assert dry.out == "Would be destroyed: 1 job (3), 5 sounds and photos, the content of 0 records.\n"
    asked = tensionear("archive", "purge")
    assert asked.code == 2
    assert "Destroy this for good?" in asked.err
    (line,) = tensionear("archive", "purge", "--yes", "--by", "Ann", "--json").of_kind("archive_purge")
    assert (line["is_done"], line["jobs"], line["n_contents"]) == (True, ["3"], 5)
    (deed,) = tensionear("archive", "info", "--log", "--json").of_kind("archive_deed")
    assert (deed["deed"], deed["subject"], deed["by"]) == ("job purged", "3", "Ann")
    assert tensionear("job", "show", "3").code == 2


@pytest.mark.parametrize("command", [("info",), ("check",), ("backup", "b.sqlite"), ("purge",)])
def test_trouble_with_the_archive_ends_with_exit_code_5(
    command: tuple[str, ...], tensionear: Tensionear, tmp_path: Path
) -> None:
    broken = tmp_path / "broken.sqlite"
    broken.write_bytes(b"no database\n" * 1000)
    told = tensionear("archive", *command, "--archive", broken, "--json")
    assert told.code == 5
    assert "damaged" in told.of_kind("error")[0]["message"]

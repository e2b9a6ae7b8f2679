"""What the tests of records share: an archive with an invented job that has real sound, copied for each test."""

import shutil
from pathlib import Path

import pytest

from tensionear.job.archive.opening import open_archive
from tests.job.invented import invented_details, invented_setup
from tests.job.recorded_job import do_recorded_job


@pytest.fixture(scope="session")
def recorded_archive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An archive with job "invented 1", two plucks a pass, and an open job 2 without any."""
    path = tmp_path_factory.mktemp("recorded") / "archive.sqlite"
    with open_archive(str(path)) as archive:
        do_recorded_job(archive, 2)
        archive.open_job(invented_setup().name, invented_details(), number="2/b")
    return path


@pytest.fixture(autouse=True)
def own_archive(recorded_archive: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy, named by the environment; files are written beside it."""
    path = tmp_path / "archive.sqlite"
    shutil.copy(recorded_archive, path)
    monkeypatch.setenv("TENSIONEAR_ARCHIVE", str(path))
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("TENSIONEAR_KEY_PASSWORD", raising=False)
    monkeypatch.delenv("TENSIONEAR_BY", raising=False)
    monkeypatch.chdir(tmp_path)
    return path

"""What the tests of ``tensionear job`` share."""

from pathlib import Path

import pytest

from tests.cli.command import Tensionear, Told
from tests.cli.invented_setup import SETUP


@pytest.fixture(autouse=True)
def own_archive(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An archive of the test's own, named by the environment."""
    path = tmp_path / "archive.sqlite"
    monkeypatch.setenv("TENSIONEAR_ARCHIVE", str(path))
    monkeypatch.setenv("TENSIONEAR_BY", "Invented Ann")
    monkeypatch.setenv("COLUMNS", "80")
    return path


@pytest.fixture
def job(tensionear: Tensionear) -> Tensionear:
    """``tensionear job``, in an archive with a job 17 whose cautions are acknowledged; three plucks are a pass."""
    assert tensionear("setup", "new", "invented four", *SETUP, "--plucks", "3").code == 0

    def run(*arguments: object) -> Told:
        return tensionear("job", *arguments)

    assert run("open", "--setup", "invented four", "--number", "17", "--vehicle", "invented van").code == 0
    assert run("cautions", "17", "--acknowledge").code == 0
    return run

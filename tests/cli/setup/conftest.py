"""What the tests of ``tensionear setup`` share."""

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def own_archive(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An archive of the test's own, named by the environment; wide enough a terminal that no line is broken."""
    path = tmp_path / "archive.sqlite"
    monkeypatch.setenv("TENSIONEAR_ARCHIVE", str(path))
    monkeypatch.delenv("TENSIONEAR_BY", raising=False)
    monkeypatch.setenv("COLUMNS", "80")
    return path

"""An archive on each of the two databases."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tensionear.job.archive.archive import Archive
from tensionear.job.archive.opening import open_archive
from tests.job.invented import invented_setup


@pytest.fixture(params=["sqlite", "postgresql"])
def where(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where an archive can be made."""
    if request.param == "sqlite":
        return str(tmp_path / "archive.sqlite")
    url: str = request.getfixturevalue("postgres_url")
    return url


@pytest.fixture
def archive(where: str) -> Iterator[Archive]:
    """An archive with the invented setup."""
    with open_archive(where) as opened:
        opened.add_setup(invented_setup(), by="Zofia Żółć")
        yield opened

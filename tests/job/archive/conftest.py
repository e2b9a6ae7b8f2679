"""An archive on each of the two databases."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tensionear.job.archive.archive import Archive
from tensionear.job.archive.opening import open_archive
from tests.job.invented import invented_setup
from tests.postgres_server import PostgresServer


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request: pytest.FixtureRequest) -> str:
    """Which of the two databases."""
    chosen: str = request.param
    return chosen


@pytest.fixture
def where(database: str, request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where an archive can be made."""
    if database == "sqlite":
        return str(tmp_path / "archive.sqlite")
    url: str = request.getfixturevalue("postgres_url")
    return url


@pytest.fixture
def archive(database: str, request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Archive]:
    """An archive with the invented setup: the copy of one, because making each anew takes its time."""
    copied: Callable[[Path], Iterator[str]] = request.getfixturevalue(f"{database}_copies")
    for where in copied(tmp_path):
        with open_archive(where, make=False) as opened:
            yield opened


@pytest.fixture(scope="session")
def sqlite_copies(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Path], Iterator[str]]:
    """Give copies of an archive in a file."""
    original = tmp_path_factory.mktemp("original") / "archive.sqlite"
    _make(str(original))

    def copied(folder: Path) -> Iterator[str]:
        yield str(shutil.copyfile(original, folder / "archive.sqlite"))

    return copied


@pytest.fixture(scope="session")
def postgresql_copies(postgres_server: PostgresServer) -> Callable[[Path], Iterator[str]]:
    """Give copies of an archive on a server."""
    original = postgres_server.new_database()
    _make(postgres_server.url(original))

    def copied(_: Path) -> Iterator[str]:
        name = postgres_server.new_database(original)
        yield postgres_server.url(name)
        postgres_server.drop_database(name)

    return copied


def _make(where: str) -> None:
    with open_archive(where) as archive:
        archive.add_setup(invented_setup(), by="Zofia Żółć")

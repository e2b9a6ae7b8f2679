"""What the tests of more than one room share: a sound card, figures as saved, a PostgreSQL server."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from matplotlib.figure import Figure

from tests.needs import need
from tests.postgres_server import PostgresServer
from tests.virtual_sound_card import VirtualSoundCard


@pytest.fixture
def sound_card() -> Iterator[VirtualSoundCard]:
    """A sound card whose microphone hears what is played on it."""
    need("pulseaudio", "pactl", "PortAudio", "ALSA's way to pulseaudio")
    with VirtualSoundCard() as card:
        yield card


@pytest.fixture
def another_sound_card(sound_card: VirtualSoundCard) -> Iterator[VirtualSoundCard]:
    """A second sound card, for what goes on at the same time."""
    with VirtualSoundCard() as card:
        yield card


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> list[Figure]:
    """Figures as they are saved."""
    figures: list[Figure] = []
    save = Figure.savefig

    def note(figure: Figure, path: Path) -> None:
        figures.append(figure)
        save(figure, path)

    monkeypatch.setattr(Figure, "savefig", note)
    return figures


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[PostgresServer]:
    """A PostgreSQL server of the tests' own."""
    need("PostgreSQL")
    with PostgresServer() as server:
        yield server


@pytest.fixture
def postgres_url(postgres_server: PostgresServer) -> Iterator[str]:
    """SQLAlchemy's URL of a new database, for one test."""
    name = postgres_server.new_database()
    yield postgres_server.url(name)
    postgres_server.drop_database(name)

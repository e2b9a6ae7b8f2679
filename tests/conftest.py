"""What the tests of more than one room share: a microphone path where there is no microphone; figures as saved."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from matplotlib.figure import Figure

from tests.needs import need
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

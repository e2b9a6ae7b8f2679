"""What the tests of more than one room share: a microphone path, on a machine that has no microphone."""

from collections.abc import Iterator

import pytest

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

"""What the tests of more than one room share: a microphone path, on a machine that has no microphone."""

import os
import sys
from collections.abc import Iterator

import pytest

from dev import NEEDS
from tests.virtual_sound_card import VirtualSoundCard


def need(*names: str) -> None:
    """Skip the test where something that `dev.py` installs is missing; on a build server fail instead."""
    if sys.platform != "linux":
        pytest.skip("needs Linux")
    missing = [name for name in names if not NEEDS[name]()]
    if missing:
        message = f"not on this machine: {', '.join(missing)}; `python3 dev.py test` installs it or says how"
        if os.environ.get("CI"):
            pytest.fail(message)
        pytest.skip(message)


@pytest.fixture
def sound_card() -> Iterator[VirtualSoundCard]:
    """A sound card whose microphone hears what is played on it."""
    need("pulseaudio", "pactl", "PortAudio", "ALSA's way to pulseaudio")
    with VirtualSoundCard() as card:
        yield card

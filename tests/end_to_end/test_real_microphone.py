"""The whole way from moving air to a reading, through the real PortAudio, on a sound card in software."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from benchmarks.simulator.noise import mains_hum
from tests.virtual_sound_card import Guest, VirtualSoundCard

DEMO = Path(__file__).parents[2] / "recordings_demo"
RATE_HZ = 48000
N_PLUCKS = 10
TENSIONEAR = [sys.executable, "-m", "tensionear"]


def listen(card: VirtualSoundCard, *options: str) -> Guest:
    """Start `tensionear listen` and return it when it says that it listens."""
    return card.start_listening([*TENSIONEAR, "listen", "--json", *options], ready="Listening on")


def lines_of(told: str) -> list[dict[str, Any]]:
    return [json.loads(line) for line in told.splitlines()]


def fundamentals_hz(lines: list[dict[str, Any]]) -> list[float]:
    return [line["fundamental_hz"] for line in lines if line.get("outcome") == "reading"]


def write_plucks(path: Path) -> float:
    """Write two passes of the demo job, of five plucks each, into one recording; give its length [s]."""
    passes = [
        soundfile.read(DEMO / f"{name}.flac", dtype="float32") for name in ("over-tension", "final-setting")
    ]
    sound = np.concatenate([samples for samples, _ in passes])
    soundfile.write(path, sound, RATE_HZ, subtype="PCM_24")
    return len(sound) / RATE_HZ


def write_minute_of_hum(path: Path) -> None:
    """Write sixty seconds of mains hum: 50 Hz and its multiples, beginning at once, wandering a little."""
    hum: NDArray[np.float64] = mains_hum(np.random.default_rng(50), 60 * RATE_HZ, RATE_HZ, 50.0)
    soundfile.write(path, 0.2 * hum / np.max(np.abs(hum)), RATE_HZ)


def test_ten_plucks_that_are_played_give_the_ten_readings_that_their_recording_gives(
    sound_card: VirtualSoundCard, tmp_path: Path
) -> None:
    recording = tmp_path / "plucks.wav"
    length_s = write_plucks(recording)

    listener = listen(sound_card, "--seconds", str(length_s + 4.0))
    sound_card.start_playing(recording)
    read = subprocess.run([*TENSIONEAR, "read", "--json", str(recording)], capture_output=True, text=True)
    code = listener.wait(length_s + 60.0)

    assert read.returncode == 0, read.stderr
    assert code == 0, listener.error_output
    as_read = fundamentals_hz(lines_of(read.stdout))
    as_heard = fundamentals_hz(lines_of(listener.output))
    assert len(as_read) == N_PLUCKS, read.stdout
    assert len(as_heard) == N_PLUCKS, listener.output
    assert as_heard == pytest.approx(as_read, rel=0.003)
    assert lines_of(listener.output)[-1]["n_readings"] == N_PLUCKS


@pytest.mark.timeout(180)
def test_a_minute_of_silence_and_one_of_mains_hum_give_no_reading(
    sound_card: VirtualSoundCard, another_sound_card: VirtualSoundCard, tmp_path: Path
) -> None:
    hum = tmp_path / "hum.wav"
    write_minute_of_hum(hum)

    in_silence = listen(sound_card, "--seconds", "60")
    in_hum = listen(another_sound_card, "--seconds", "62")
    another_sound_card.start_playing(hum)

    for listener in (in_silence, in_hum):
        code = listener.wait(100.0)
        assert fundamentals_hz(lines_of(listener.output)) == []
        assert code == 3, listener.error_output


@pytest.mark.parametrize("mishap", ["unload_microphone", "suspend_microphone", "kill_daemon"])
def test_a_microphone_that_is_lost_is_told_and_does_not_hang(
    sound_card: VirtualSoundCard, mishap: str
) -> None:
    listener = listen(sound_card)
    sound_card.start_playing(DEMO / "final-setting.flac")
    getattr(sound_card, mishap)()
    code = listener.wait(30.0)

    assert code == 4, listener.error_output
    (error,) = [line for line in lines_of(listener.output) if line["kind"] == "error"]
    assert error["message"].startswith("microphone default ")
    assert error["message"] in listener.error_output
    if mishap == "suspend_microphone":
        assert "delivers no sound" in error["message"]

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

from benchmarks.simulator import draw_pluck
from benchmarks.simulator.noise import mains_hum
from tests.virtual_sound_card import VirtualSoundCard

RATE_HZ = 48000
N_PLUCKS = 10
TENSIONEAR = [sys.executable, "-m", "tensionear"]


def start_listening(card: VirtualSoundCard, *options: str) -> "subprocess.Popen[str]":
    """Start `tensionear listen` and return it when it records."""
    listener = subprocess.Popen(
        [*TENSIONEAR, "listen", "--json", *options],
        env=card.environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        card.wait_for_listener(listener)
    except BaseException:
        listener.kill()
        print(*listener.communicate())
        raise
    return listener


def end_of(listener: "subprocess.Popen[str]", within_s: float) -> tuple[int, list[dict[str, Any]], str]:
    """Exit code, JSON lines and error output of a listener that ends by itself."""
    try:
        told, trouble = listener.communicate(timeout=within_s)
    except subprocess.TimeoutExpired:
        listener.kill()
        told, trouble = listener.communicate()
        pytest.fail(f"tensionear listen still ran after {within_s} s; it told {told!r} and {trouble!r}")
    return listener.returncode, lines_of(told), trouble


def lines_of(told: str) -> list[dict[str, Any]]:
    return [json.loads(line) for line in told.splitlines()]


def fundamentals_hz(lines: list[dict[str, Any]]) -> list[float]:
    return [line["fundamental_hz"] for line in lines if line.get("outcome") == "reading"]


def write_plucks(path: Path) -> float:
    """Write clear, gentle plucks of ten simulated spans into one recording; give its length [s]."""
    rng = np.random.default_rng(20)
    plucks: list[NDArray[np.float32]] = []
    while len(plucks) < N_PLUCKS:
        drawn = draw_pluck(rng, "quiet", snr_db=45.0, sample_rate_hz=RATE_HZ)
        how = drawn.parameters
        if how.quality > 20.0 and how.glide < 0.005 and how.knock_db < -8.0:
            plucks.append(0.3 * drawn.samples / np.max(np.abs(drawn.samples)))
    sound = np.concatenate(plucks)
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

    listener = start_listening(sound_card, "--seconds", str(length_s + 4.0))
    sound_card.start_playing(recording)
    read = subprocess.run([*TENSIONEAR, "read", "--json", str(recording)], capture_output=True, text=True)
    code, heard, trouble = end_of(listener, within_s=length_s + 60.0)

    assert read.returncode == 0, read.stderr
    assert code == 0, trouble
    as_read = fundamentals_hz(lines_of(read.stdout))
    assert len(as_read) == N_PLUCKS
    assert fundamentals_hz(heard) == pytest.approx(as_read, rel=0.003)
    assert heard[-1]["kind"] == "set"
    assert heard[-1]["n_readings"] == N_PLUCKS


@pytest.mark.timeout(180)
def test_a_minute_of_silence_and_one_of_mains_hum_give_no_reading(
    sound_card: VirtualSoundCard, another_sound_card: VirtualSoundCard, tmp_path: Path
) -> None:
    hum = tmp_path / "hum.wav"
    write_minute_of_hum(hum)

    in_silence = start_listening(sound_card, "--seconds", "60")
    in_hum = start_listening(another_sound_card, "--seconds", "62")
    another_sound_card.start_playing(hum)

    for listener in (in_silence, in_hum):
        code, heard, trouble = end_of(listener, within_s=100.0)
        assert fundamentals_hz(heard) == []
        assert heard[-1]["kind"] == "set"
        assert code == 3, trouble


@pytest.mark.parametrize("mishap", ["unload_microphone", "suspend_microphone", "kill_daemon"])
def test_a_microphone_that_is_lost_is_told_and_does_not_hang(
    sound_card: VirtualSoundCard, mishap: str, tmp_path: Path
) -> None:
    hum = tmp_path / "hum.wav"
    write_minute_of_hum(hum)

    listener = start_listening(sound_card)
    sound_card.start_playing(hum)
    getattr(sound_card, mishap)()
    code, heard, trouble = end_of(listener, within_s=30.0)

    assert code == 4, trouble
    (error,) = [line for line in heard if line["kind"] == "error"]
    assert "microphone" in error["message"]
    assert error["message"] in trouble
    assert "Traceback" not in trouble
    if mishap == "suspend_microphone":
        assert "no sound" in error["message"]

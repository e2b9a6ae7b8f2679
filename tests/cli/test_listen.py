"""``tensionear listen`` on a microphone made for the test; the real path is tested end to end elsewhere."""

import os
import signal
from collections.abc import Iterator
from typing import Self

import numpy as np
import pytest
from numpy.typing import NDArray

from tensionear.errors import DeviceError
from tensionear.sound.block import SoundBlock
from tests.cli.command import Tensionear
from tests.plain_pluck import RATE_HZ, plucks

N_BLOCK = 2400


class PlayedMicrophone:
    """Hears one sound, then silence without end; something may happen on the way."""

    name = "played microphone"
    sample_rate_hz = float(RATE_HZ)
    n_channels = 1

    def __init__(self, sound: NDArray[np.float32]) -> None:
        self._sound = sound

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def happens(self, at_s_now: float) -> int:  # noqa: ARG002
        """Do what a test wants to happen at a time; return how many frames are lost."""
        return 0

    def blocks(self) -> Iterator[SoundBlock]:
        first_frame = 0
        while first_frame < 60 * RATE_HZ:
            samples = np.zeros((N_BLOCK, 1), np.float32)
            part = self._sound[first_frame : first_frame + N_BLOCK]
            samples[: len(part), 0] = part
            yield SoundBlock(samples, first_frame, self.happens(first_frame / RATE_HZ))
            first_frame += N_BLOCK
        raise AssertionError("listened for a minute and was not stopped")


def listening_with(monkeypatch: pytest.MonkeyPatch, microphone: PlayedMicrophone) -> list[int | str | None]:
    """Let `listen` open this microphone; what it asked for comes in the list."""
    asked: list[int | str | None] = []

    def opened(device: int | str | None) -> PlayedMicrophone:
        asked.append(device)
        return microphone

    monkeypatch.setattr("tensionear.cli.listen.Microphone", opened)
    return asked


def test_listening_stops_after_the_readings_that_were_asked_for(
    tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = listening_with(monkeypatch, PlayedMicrophone(plucks([110.0, 111.0, 112.0])))
    told = tensionear("listen", "--plucks", "2", "--json", "--device", "3")
    assert told.code == 0
    assert [line["kind"] for line in told.lines] == ["begin", "pluck", "pluck", "set"]
    _, first, second, _ = told.lines
    assert (first["source"], first["path"]) == ("played microphone", None)
    assert second["fundamental_hz"] == pytest.approx(111.0, rel=1e-3)
    assert asked == [3]


def test_cautions_and_prompt_go_beside_the_readings(
    tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    listening_with(monkeypatch, PlayedMicrophone(plucks([110.0])))
    told = tensionear("listen", "--plucks", "1", "--device", "front microphone")
    assert "unable to start" in told.err
    assert "Listening on played microphone at 48000 Hz." in told.err
    assert "Listening" not in told.out


def test_listening_stops_after_the_seconds_that_were_asked_for(
    tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    listening_with(monkeypatch, PlayedMicrophone(plucks([110.0, 111.0, 112.0])))
    told = tensionear("listen", "--seconds", "4.9", "--json")
    assert told.code == 0
    assert len(told.of_kind("pluck")) == 2


def test_listening_to_silence_ends_with_3(tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch) -> None:
    listening_with(monkeypatch, PlayedMicrophone(np.zeros(1, np.float32)))
    told = tensionear("listen", "--seconds", "5", "--json")
    assert told.code == 3
    assert [line["kind"] for line in told.lines] == ["begin", "set"]


@pytest.mark.parametrize(("at_s", "code", "n_readings"), [(5.0, 0, 2), (0.5, 3, 0)])
def test_ctrl_c_tells_the_set_and_ends_normally(
    at_s: float, code: int, n_readings: int, tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Interrupted(PlayedMicrophone):
        def happens(self, at_s_now: float) -> int:
            if at_s_now == at_s:
                os.kill(os.getpid(), signal.SIGINT)
            return 0

    before = signal.getsignal(signal.SIGINT)
    listening_with(monkeypatch, Interrupted(plucks([110.0, 111.0, 112.0])))
    told = tensionear("listen", "--json")
    assert told.code == code
    (together,) = told.of_kind("set")
    assert together["n_readings"] == n_readings
    assert signal.getsignal(signal.SIGINT) == before


def test_ctrl_c_elsewhere_ends_with_130(tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("tensionear.cli.listen.Microphone", interrupted)
    assert tensionear("listen").code == 130


def test_a_microphone_that_fails_is_told_after_what_was_heard(
    tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Vanishing(PlayedMicrophone):
        def happens(self, at_s_now: float) -> int:
            if at_s_now >= 5.0:
                raise DeviceError("played microphone is gone: plug it in again")
            return 0

    listening_with(monkeypatch, Vanishing(plucks([110.0, 111.0, 112.0])))
    told = tensionear("listen", "--json")
    assert told.code == 4
    assert "tensionear: played microphone is gone: plug it in again" in told.err
    assert [line["kind"] for line in told.lines] == ["begin", "pluck", "pluck", "error", "set"]
    assert told.of_kind("error")[0]["source"] == "played microphone"
    assert told.of_kind("set")[0]["n_readings"] == 2


def test_lost_sound_is_told_and_a_new_pluck_asked_for(
    tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Losing(PlayedMicrophone):
        def happens(self, at_s_now: float) -> int:
            return 4800 if at_s_now == 1.0 else 0

    listening_with(monkeypatch, Losing(plucks([110.0])))
    told = tensionear("listen", "--seconds", "4")
    assert "0.10 s of sound were lost" in told.err
    assert "Pluck again." in told.err

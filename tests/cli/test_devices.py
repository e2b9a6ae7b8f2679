"""``tensionear devices``: what a person and a program are told of the microphones."""

from collections.abc import Iterator
from datetime import datetime
from typing import Self

import numpy as np
import pytest
from numpy.typing import NDArray

from tensionear import __version__
from tensionear.sound.block import SoundBlock
from tensionear.sound.devices import InputDevice
from tests.cli.command import Tensionear
from tests.plain_pluck import RATE_HZ

INPUTS = (
    InputDevice(2, "front microphone", "invented system", 1, 48000.0, False),
    InputDevice(5, "rear microphone", "invented system", 2, 44100.0, True),
)


@pytest.fixture
def two_inputs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tensionear.cli.devices.list_inputs", lambda: INPUTS)


class HeardMicrophone:
    """A microphone that hears three seconds of a given sound."""

    name = "front microphone"
    sample_rate_hz = float(RATE_HZ)
    n_channels = 1

    def __init__(self, sound: NDArray[np.floating]) -> None:
        self._sound = sound.astype(np.float32)[:, None]

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def blocks(self) -> Iterator[SoundBlock]:
        yield SoundBlock(self._sound, 0)


@pytest.mark.usefixtures("two_inputs")
def test_inputs_are_listed_with_the_default_marked(tensionear: Tensionear) -> None:
    told = tensionear("devices")
    assert told.code == 0
    assert told.out.splitlines() == [
        "    2  front microphone  (invented system, 48000 Hz)",
        "*   5  rear microphone  (invented system, 44100 Hz)",
    ]


@pytest.mark.usefixtures("two_inputs")
def test_inputs_are_listed_for_programs(tensionear: Tensionear) -> None:
    front, rear = tensionear("devices", "--json").lines
    assert front == {
        "kind": "device", "format_version": 2, "software_version": __version__,
        "number": 2, "name": "front microphone", "host_api": "invented system",
        "n_channels": 1, "default_rate_hz": 48000.0, "is_default": False,
    }  # fmt: skip
    assert rear["is_default"] is True


@pytest.mark.parametrize(
    ("level", "code", "verdict"),
    [(0.0, 4, "This microphone needs attention."), (3e-4, 0, "Nothing bad was found.")],
)
def test_a_check_tells_every_finding_and_what_it_comes_to(
    level: float, code: int, verdict: str, tensionear: Tensionear, monkeypatch: pytest.MonkeyPatch
) -> None:
    sound = level * np.random.default_rng(11).standard_normal(3 * RATE_HZ)
    monkeypatch.setattr("tensionear.cli.devices.Microphone", lambda _: HeardMicrophone(sound))
    told = tensionear("devices", "--check", "--device", "front")
    assert told.code == code
    assert verdict in told.out
    assert "Listening on front microphone for 2 s." in told.err
    as_json = tensionear("devices", "--check", "--json")
    assert [line["kind"] for line in as_json.lines] == ["finding"] * 6 + ["check"]
    assert as_json.lines[-1]["is_faulty"] is (code == 4)
    assert datetime.fromisoformat(as_json.lines[-1]["analysed_at"]).tzinfo is not None
    for finding in as_json.of_kind("finding"):
        assert finding["sentence"] in " ".join(told.out.split())


def test_a_device_without_a_check_is_wrong_usage(tensionear: Tensionear) -> None:
    told = tensionear("devices", "--device", "front")
    assert told.code == 2
    assert "add --check" in told.err

"""A stand-in for `sounddevice`: its devices do what a test writes down, on a clock that the test moves."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import NDArray


class PortAudioError(Exception):
    """What sounddevice raises."""


def an_input(name: str, host_api: int = 0, channels: int = 1, rate_hz: float = 48_000.0) -> dict[str, Any]:
    return {
        "name": name,
        "hostapi": host_api,
        "max_input_channels": channels,
        "default_samplerate": rate_hz,
    }


@dataclass
class Delivery:
    """What the device hands over at once: frames, and how PortAudio says they came."""

    frames: NDArray[np.float32]
    overflow: bool = False
    adc_time_s: float | None = None


class ScriptedStream:
    """A stream that a test drives."""

    def __init__(self, portaudio: "ScriptedPortAudio", **settings: Any) -> None:
        if portaudio.refuses_to_open:
            raise PortAudioError(portaudio.refuses_to_open)
        self.settings = settings
        self.samplerate: float = settings["samplerate"]
        self.is_started = False
        self.n_closed = 0
        self._portaudio = portaudio
        portaudio.streams.append(self)

    def start(self) -> None:
        if self._portaudio.refuses_to_start:
            raise PortAudioError(self._portaudio.refuses_to_start)
        self.is_started = True

    def close(self, ignore_errors: bool) -> None:
        assert ignore_errors
        self.n_closed += 1
        self.settings["finished_callback"]()

    def deliver(self, delivery: Delivery) -> None:
        times = SimpleNamespace(
            inputBufferAdcTime=self._portaudio.now_s if delivery.adc_time_s is None else delivery.adc_time_s
        )
        status = SimpleNamespace(input_overflow=delivery.overflow)
        self.settings["callback"](delivery.frames, len(delivery.frames), times, status)

    def end(self) -> None:
        self.settings["finished_callback"]()


@dataclass
class ScriptedPortAudio:
    """What `devices` and `microphone` use of the module `sounddevice`."""

    devices: Sequence[dict[str, Any]] = field(default_factory=lambda: [an_input("Bench microphone")])
    host_apis: Sequence[str] = ("Bench sound",)
    default_number: int = 0
    only_channels: int | None = None
    refuses_to_open: str = ""
    refuses_to_start: str = ""
    refuses_to_list: str = ""
    now_s: float = 100.0
    streams: list[ScriptedStream] = field(default_factory=list)
    on_pause: Callable[["ScriptedPortAudio", float], None] | None = None

    PortAudioError = PortAudioError

    def query_devices(self, kind: str | None = None) -> Any:
        if self.refuses_to_list:
            raise PortAudioError(self.refuses_to_list)
        if kind is None:
            return self.devices
        assert kind == "input"
        if self.default_number < 0:
            raise PortAudioError("Error querying device -1")
        return {"index": self.default_number, **self.devices[self.default_number]}

    def query_hostapis(self) -> list[dict[str, Any]]:
        return [{"name": name} for name in self.host_apis]

    def check_input_settings(self, **settings: Any) -> None:
        if self.only_channels is not None and settings["channels"] != self.only_channels:
            raise PortAudioError("Invalid number of channels")

    def InputStream(self, **settings: Any) -> ScriptedStream:  # noqa: N802 - sounddevice's name
        return ScriptedStream(self, **settings)

    @property
    def stream(self) -> ScriptedStream:
        """The one stream that was opened."""
        (only,) = self.streams
        return only

    def clock(self) -> float:
        return self.now_s

    def pause(self, seconds: float) -> None:
        self.now_s += seconds
        if self.on_pause is not None:
            self.on_pause(self, seconds)

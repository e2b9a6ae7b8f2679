"""A microphone as a source of sound.

Three things go on at once, each in its own thread:

1. PortAudio's thread calls `Microphone._take` with what the device has recorded. It copies that into the ring
   and returns: it waits for nothing, and writes nothing but the ring and attributes that are its own.
2. Whoever iterates over `Microphone.blocks` looks into the ring 50 times a second. Only here is judged what
   came: lost sound, a stalled or vanished device, a false rate.
3. Anyone may call `Microphone.close`, from a window's thread or a signal handler.

References of single objects are stored and read in one step by the interpreter; each attribute that is
shared has one writer, named beside it.
"""

import time
from collections.abc import Callable, Iterator
from threading import Lock
from types import ModuleType, TracebackType
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from tensionear.errors import DeviceError
from tensionear.sound.block import SoundBlock
from tensionear.sound.devices import InputDevice, find_input, load_portaudio
from tensionear.sound.pulse_watch import PulseWatch
from tensionear.sound.rate_watch import FalseRate, RateWatch
from tensionear.sound.ring_buffer import RingBuffer
from tensionear.sound.stall_watch import StallWatch

_RING_S = 10.0
# So long may the analysis be busy before sound is lost: from a slow disk the first reading may take seconds.

_POLL_S = 0.02
_BLOCK_S = 0.1
_LONGEST_BELIEVED_GAP_S = 5.0


class Microphone:
    """An open microphone, recording from now on; use it as a context manager.

    Parameters
    ----------
    device : int, str or None
        Number, name or unambiguous part of the name of an input; None is the system's default.
    portaudio : module, optional
        What offers `sounddevice`'s functions and classes; without, `sounddevice`.
    clock : callable, optional
        Tells the time since anything, never jumps. [s]
    pause : callable, optional
        Lets a time pass. [s]
    has_moved : callable, optional
        Tells, given the time [s], whether the system has moved the recording to another input; without, the
        sound server is asked where it has one (`PulseWatch`).

    Raises
    ------
    InputError
        If `device` is none of the inputs, or more than one.
    DeviceError
        If the device cannot be opened, or PortAudio is missing.
    """

    def __init__(
        self,
        device: int | str | None = None,
        *,
        portaudio: ModuleType | Any = None,
        clock: Callable[[], float] = time.monotonic,
        pause: Callable[[float], None] = time.sleep,
        has_moved: Callable[[float], bool] | None = None,
    ) -> None:
        self._portaudio = portaudio or load_portaudio()
        self._clock = clock
        self._pause = pause
        self._has_moved = has_moved
        self._input = find_input(device, self._portaudio)
        self._last_adc_end_s: float | None = None  # callback's alone
        self._counted = (
            clock(),
            0,
        )  # written by the callback: when it last came, and how many frames there were
        self._n_overflows = 0  # written by the callback
        self._has_ended = False  # written by PortAudio as the stream ends, for whatever reason
        self._is_closed = False  # written by close
        self._closing = Lock()
        self._stream, self._n_channels = self._opened(self._input)
        self._rate_hz = float(self._stream.samplerate)
        self._ring = RingBuffer(round(_RING_S * self._rate_hz), self._n_channels)
        self._started_s = clock()
        try:
            self._stream.start()
        except self._portaudio.PortAudioError as error:
            self.close()
            raise self._not_opened(error) from error

    @property
    def name(self) -> str:
        """The device's name."""
        return self._input.name

    @property
    def sample_rate_hz(self) -> float:
        """Frames per second, as the device claims; `blocks` sees to it that it tells the truth. [Hz]."""
        return self._rate_hz

    @property
    def n_channels(self) -> int:
        """1 if the device offers a single channel, else as many as it has."""
        return self._n_channels

    def _opened(self, device: InputDevice) -> tuple[Any, int]:
        """Open the device with one channel, or with all that it has if it does not offer one."""
        try:
            self._portaudio.check_input_settings(
                device=device.number, channels=1, samplerate=device.default_rate_hz, dtype="float32"
            )
            n_channels = 1
        except (self._portaudio.PortAudioError, ValueError):
            n_channels = device.n_channels
        try:
            stream = self._portaudio.InputStream(
                device=device.number,
                channels=n_channels,
                samplerate=device.default_rate_hz,
                dtype="float32",
                latency="high",  # some 35 ms, which nobody notices after a ring of a second
                callback=self._take,
                finished_callback=self._end,
            )
        except (self._portaudio.PortAudioError, ValueError) as error:
            raise self._not_opened(error) from error
        return stream, n_channels

    def _not_opened(self, error: Exception) -> DeviceError:
        return DeviceError(
            f"microphone {self._input.name} cannot be opened ({error}): does another program use it, or does "
            f"the system forbid its use? Close that program, allow the use, or choose another input"
        )

    def _take(self, frames: NDArray[np.float32], n_frames: int, times: Any, status: Any) -> None:
        """Copy what was recorded into the ring. Called by PortAudio's thread."""
        begin_s = times.inputBufferAdcTime
        if status.input_overflow:
            self._ring.skip(self._n_lost(begin_s))
            self._n_overflows += 1  # not atomic, but nobody else writes it
        self._last_adc_end_s = begin_s + n_frames / self._rate_hz
        self._ring.write(frames)
        self._counted = (self._clock(), self._ring.n_written)

    def _n_lost(self, begin_s: float) -> int:
        """Estimate from the converter's times how many frames an overflow cost; 1 where they tell nothing."""
        if self._last_adc_end_s is None:
            return 1
        gap_s = begin_s - self._last_adc_end_s
        if not 0 < gap_s < _LONGEST_BELIEVED_GAP_S:
            return 1
        return max(1, round(gap_s * self._rate_hz))

    def _end(self) -> None:
        """Take note that no more will come. Called by PortAudio's thread."""
        self._has_ended = True

    def blocks(self) -> Iterator[SoundBlock]:
        """Yield the sound as it comes, in blocks of 20 to 100 ms, until the microphone is closed.

        Yields
        ------
        SoundBlock
            With `n_lost_before` above 0 where sound was lost: the device or this program was too slow. The
            number is an estimate if the device lost it.

        Raises
        ------
        DeviceError
            If the device stalls, vanishes or runs at another rate than it claims.
        """
        n_at_most = max(1, round(_BLOCK_S * self._rate_hz))
        stall_watch = StallWatch(self._started_s)
        rate_watch = RateWatch(self._rate_hz)
        has_moved = self._has_moved or PulseWatch().has_moved
        n_overflows = 0
        while not self._is_closed:
            has_ended = (
                self._has_ended
            )  # looked at before the ring: what came before the end is still yielded
            counted_s, n_counted = self._counted
            if self._n_overflows != n_overflows:  # looked at after the count that may hold the lost frames
                n_overflows = self._n_overflows
                rate_watch.restart()
            elif n_counted and (false_rate := rate_watch.see(counted_s, n_counted)):
                raise DeviceError(self._false_rate(false_rate))
            if has_moved(self._clock()):
                raise DeviceError(self._vanished("the system's sound has gone over to another input"))
            if stretch := self._ring.read(n_at_most):
                yield SoundBlock(stretch.samples, stretch.first_frame, stretch.n_lost_before)
                stall_watch.see(self._clock(), n_counted)
                if len(stretch.samples) == n_at_most:
                    continue
            elif has_ended and not self._is_closed:
                raise DeviceError(self._vanished("the system has ended the recording"))
            elif pause_s := stall_watch.see(self._clock(), n_counted):
                raise DeviceError(self._stalled(pause_s))
            self._pause(_POLL_S)

    @property
    def _heard_s(self) -> float:
        return self._ring.n_written / self._rate_hz

    def _vanished(self, how: str) -> str:
        return (
            f"microphone {self.name} has vanished after {self._heard_s:.1f} s of sound ({how}): was it "
            f"unplugged? Plug it in and start again"
        )

    def _stalled(self, pause_s: float) -> str:
        since = f"since {self._heard_s:.1f} s" if self._ring.n_written else "at all"
        return (
            f"microphone {self.name} delivers no sound {since} (nothing came for {pause_s:.1f} s): is it "
            f"switched off, asleep or stopped by the system? Plug it in anew, or choose another input"
        )

    def _false_rate(self, found: FalseRate) -> str:
        too = "high" if found.frequency_error > 0 else "low"
        return (
            f"microphone {self.name} claims {found.claimed_hz:.0f} samples a second but delivers "
            f"{found.measured_hz:.0f}, counted over {found.over_s:.0f} s: every frequency would come out "
            f"{100 * abs(found.frequency_error):.1f} % too {too} and every tension "
            f"{100 * abs(found.tension_error):.1f} %; set its rate in the system's sound settings, or choose "
            f"another input"
        )

    def close(self) -> None:
        """Stop recording; `blocks` ends. From any thread, any number of times."""
        self._is_closed = True  # before the stream ends, so that its end is not taken for a vanished device
        # Whoever comes first closes the stream. The lock is never given back and nobody waits for it, so that
        # a signal handler may close what its own thread is closing already.
        if self._closing.acquire(blocking=False):
            # The device may be gone: what it says to that is of no use to anybody.
            self._stream.close(ignore_errors=True)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

"""A recording as a source of sound: any usual file, read in blocks, never held in memory as a whole."""

import math
import stat
from collections.abc import Iterator
from pathlib import Path
from types import TracebackType
from typing import Self

import numpy as np
from numpy.typing import NDArray

from tensionear.errors import RecordingError
from tensionear.sound.block import SoundBlock
from tensionear.sound.decoders import Decoder, DecodingError, NoSoundTrackError, open_decoder

LOWEST_RATE_HZ = 8_000.0
"""Below this the partials of a 600 Hz span are no longer heard. [Hz]"""

HIGHEST_RATE_HZ = 192_000.0
"""The highest rate that sound cards record at. [Hz]"""

_LARGEST_SAMPLE = 2.0**16
# Some programs write 16-bit numbers unscaled into float files: loud, but sound. Beyond that it is none.

_N_PADDING_FRAMES = 4096
# Encoders pad both ends by up to two packets of 1024 or 2048 frames; what a file states counts these or not.


class Recording:
    """The sound of a file; made by `open_recording`.

    Use it as a context manager. It is read once, from its beginning to its end.

    Attributes
    ----------
    name : str
        The file's name without its folder.
    sample_rate_hz : float
        Frames per second, 8 to 192 kHz. [Hz]
    n_channels : int
        Channels in every block.
    """

    def __init__(self, name: str, decoder: Decoder) -> None:
        self.name = name
        self.sample_rate_hz = decoder.sample_rate_hz
        self.n_channels = decoder.n_channels
        self._decoder = decoder
        self._n_read = 0
        self._closed = False

    def blocks(self) -> Iterator[SoundBlock]:
        """Yield the sound in order, in blocks of at most 16384 frames.

        Yields
        ------
        SoundBlock
            Nothing is lost in a recording: `n_lost_before` is always 0.

        Raises
        ------
        RecordingError
            If the rest cannot be decoded, ends before the length that the file states, or holds samples that
            are not numbers. Everything before that place has been yielded.
        """
        try:
            for samples in self._decoder.samples():
                n_good = _n_credible_frames(samples)
                if n_good:
                    block = SoundBlock(samples[:n_good], self._n_read)
                    self._n_read += n_good
                    yield block
                if n_good < len(samples):
                    raise RecordingError(self._incredible(samples[n_good]))
                if self._closed:
                    return
        except DecodingError as error:
            raise RecordingError(
                f"{self.name} is damaged at {self._read_s:.2f} s and cannot be read further ({error}): "
                f"what came before was read; copy the file again"
            ) from error
        n_promised = self._decoder.n_frames_promised
        if n_promised is not None and self._n_read < n_promised - _N_PADDING_FRAMES:
            raise RecordingError(
                f"{self.name} ends at {self._read_s:.2f} s but states a length of "
                f"{n_promised / self.sample_rate_hz:.2f} s: what is there was read; copy the file again"
            )

    @property
    def _read_s(self) -> float:
        return self._n_read / self.sample_rate_hz

    def _incredible(self, frame: NDArray[np.float32]) -> str:
        value = float(frame[int(np.argmax(~(np.abs(frame) <= _LARGEST_SAMPLE)))])
        if math.isfinite(value):
            what = f"a sample of {value:.3g}, more than {_LARGEST_SAMPLE:.0f} times full scale"
        else:
            what = f"a sample that is not a number ({value})"
        return (
            f"{self.name} holds {what}, at {self._read_s:.2f} s: is the file damaged, or wrongly converted?"
        )

    def close(self) -> None:
        """Let go of the file; `blocks` ends."""
        self._closed = True
        self._decoder.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def _n_credible_frames(samples: NDArray[np.float32]) -> int:
    """Count the frames before the first one that holds a NaN, an infinity or an absurd number."""
    credible = np.abs(samples) <= _LARGEST_SAMPLE
    if credible.all():
        return len(samples)
    return int(np.argmin(credible.all(axis=1)))


def open_recording(path: str | Path) -> Recording:
    """Open a recording of any usual kind.

    WAV, FLAC, OGG Vorbis and Opus, MP3, and what phones write: M4A/AAC, 3GP, AMR, the sound track of MP4
    and MOV. What counts is what the file holds, not how its name ends.

    Parameters
    ----------
    path : str or Path
        The file.

    Returns
    -------
    Recording
        To be closed, best by ``with``.

    Raises
    ------
    RecordingError
        If there is no such file, it may not be read, holds no sound, or sound outside 8 to 192 kHz.
    """
    path = Path(path)
    name = path.name or str(path)
    first_bytes = _first_bytes(path, name)
    try:
        decoder = open_decoder(path, first_bytes)
    except NoSoundTrackError as error:
        raise RecordingError(f"{name} holds no sound ({error}): was the right file chosen?") from error
    except DecodingError as error:
        raise RecordingError(
            f"{name} cannot be read as sound: is it a recording, and was it copied completely? ({error})"
        ) from error
    try:
        _check(decoder, name)
    except RecordingError:
        decoder.close()
        raise
    return Recording(name, decoder)


def _first_bytes(path: Path, name: str) -> bytes:
    """Read how the file begins, so that the usual mishaps get the usual words."""
    first_bytes = b""
    try:
        mode = path.stat().st_mode
        if stat.S_ISREG(mode):
            with path.open("rb") as file:
                first_bytes = file.read(16)
    except FileNotFoundError as error:
        raise RecordingError(f"there is no file {path}: is the name spelt right?") from error
    except PermissionError as error:
        raise RecordingError(f"{path} may not be read: ask its owner for permission to read it") from error
    except (OSError, ValueError) as error:
        raise RecordingError(f"{path} cannot be opened: {error}") from error
    if stat.S_ISDIR(mode):
        raise RecordingError(f"{path} is a folder: give the files in it")
    if not stat.S_ISREG(mode):
        raise RecordingError(f"{path} is a device or a pipe: give a file")
    if not first_bytes:
        raise RecordingError(f"{name} is empty (0 bytes): was the recording stopped or copied properly?")
    return first_bytes


def _check(decoder: Decoder, name: str) -> None:
    """Refuse what is outside the limits before the first sample is used."""
    if decoder.sample_rate_hz < LOWEST_RATE_HZ:
        raise RecordingError(
            f"{name} has {decoder.sample_rate_hz:g} samples a second, fewer than {LOWEST_RATE_HZ:g}: "
            f"record at 44100 or 48000"
        )
    if decoder.sample_rate_hz > HIGHEST_RATE_HZ:
        raise RecordingError(
            f"{name} has {decoder.sample_rate_hz:g} samples a second, more than {HIGHEST_RATE_HZ:g}: "
            f"record at 44100 or 48000"
        )
    if decoder.n_frames_promised == 0:
        raise RecordingError(f"{name} holds no sound (0 samples): was the recording stopped at once?")

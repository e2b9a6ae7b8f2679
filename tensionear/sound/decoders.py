"""The two libraries that turn a file into samples, behind one face.

libsndfile reads what it knows exactly: it stops at damage and knows how many frames a file promises.
FFmpeg (PyAV) reads what phones write and everything else. MP3 goes to FFmpeg as well, because the MP3 reader
inside libsndfile writes its own warnings to standard error.

Conventions: a decoder yields float32 arrays of shape (n_frames, n_channels), full scale 1, at the file's
own rate. What goes wrong is a `DecodingError`; `tensionear.sound.recording` makes a sentence of it.
"""

import math
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Protocol

import av
import numpy as np
import soundfile
from numpy.typing import NDArray

from tensionear.sound.stated_length import mp3_frames_stated, riff_share_present

N_BLOCK_FRAMES = 16384
"""Frames in a block, the last one excepted: a third of a second at 48 kHz."""

_READ_BY_LIBSNDFILE = (b"RIFF", b"RIFX", b"RF64", b"fLaC", b"OggS", b"FORM", b"caff", b".snd", b"riff")

_NO_FOLLOWING = {"protocol_whitelist": "file"}
# FFmpeg takes a play list for a recording and would fetch the addresses in it from the network.


class DecodingError(Exception):
    """A library could not open a file or go on with it; the message is the library's own."""


class NoSoundTrackError(DecodingError):
    """A file was understood, but there is no sound in it."""


_FFMPEG_ERRORS = (av.FFmpegError, OSError, ValueError)


def _in_words(error: Exception) -> DecodingError:
    """Keep what a person can use of a library's error."""
    words = getattr(error, "strerror", None) or getattr(error, "error_string", None) or str(error)
    return DecodingError(words.removeprefix("Error : ").rstrip(". "))


class Decoder(Protocol):
    """What a file turns out to hold, and its samples in order."""

    sample_rate_hz: float
    n_channels: int

    @property
    def n_frames_promised(self) -> int | None:
        """Frames that the file says it holds, an encoder's padding included; None if it does not say."""

    def samples(self) -> Iterator[NDArray[np.float32]]:
        """Yield what is left of the sound, in arrays of `N_BLOCK_FRAMES` or fewer.

        Raises
        ------
        DecodingError
            If the rest cannot be decoded.
        """

    def close(self) -> None:
        """Let go of the file."""


def open_decoder(path: Path, first_bytes: bytes) -> Decoder:
    """Open a file with the library that suits it, or with the other one if that refuses it.

    Parameters
    ----------
    path : Path
        An existing file.
    first_bytes : bytes
        How the file begins, 4 bytes or more: names are not to be trusted.

    Raises
    ------
    DecodingError
        If neither library can read the file.
    """
    if first_bytes.startswith(_READ_BY_LIBSNDFILE):
        try:
            return LibsndfileDecoder(path)
        except DecodingError:
            pass
    return FfmpegDecoder(path)


class LibsndfileDecoder:
    """WAV, FLAC, OGG Vorbis, OGG Opus, AIFF, CAF, AU.

    Raises
    ------
    DecodingError
        If libsndfile does not know the format.
    """

    def __init__(self, path: Path) -> None:
        try:
            self._file = soundfile.SoundFile(path if sys.platform == "win32" else os.fsencode(path))
        except soundfile.LibsndfileError as error:
            raise _in_words(error) from error
        self.sample_rate_hz = float(self._file.samplerate)
        self.n_channels: int = self._file.channels
        self._share_present = riff_share_present(path)

    @property
    def n_frames_promised(self) -> int | None:
        """Frames that the header promises; None for a stream that was written without knowing its length."""
        n_frames: int = self._file.frames
        if n_frames >= 2**62:
            return None
        return n_frames if not self._share_present else math.ceil(n_frames / self._share_present)

    def samples(self) -> Iterator[NDArray[np.float32]]:
        """Yield what is left of the sound; see `Decoder`."""
        try:
            while len(block := self._file.read(N_BLOCK_FRAMES, dtype="float32", always_2d=True)):
                yield block
        except soundfile.LibsndfileError as error:
            raise _in_words(error) from error

    def close(self) -> None:
        """Let go of the file."""
        self._file.close()


class FfmpegDecoder:
    """MP3, M4A/AAC, 3GP, AMR, the sound track of MP4 and MOV, and whatever else FFmpeg knows.

    The first frame is decoded at once: only then the true rate and channels are known (the header of an
    AAC file may state half the rate), and a file without samples shows itself.

    Raises
    ------
    NoSoundTrackError
        If the file has no sound track, or one without a single sample.
    DecodingError
        If FFmpeg does not know the format, or the first frame is damaged.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        try:
            # "file:" keeps FFmpeg from taking a name like "a:b.m4a" for the address of a protocol "a".
            self._container = av.open(f"file:{path}", options=_NO_FOLLOWING)
        except _FFMPEG_ERRORS as error:
            raise _in_words(error) from error
        try:
            self._frames = self._decoded_frames()
            self._first = next(self._frames, None)
            if self._first is None:
                raise NoSoundTrackError("not a single sample")
        except BaseException:
            self._container.close()
            raise
        self.sample_rate_hz = float(self._first.sample_rate)
        self.n_channels = self._first.layout.nb_channels
        self._to_float = av.AudioResampler(format="fltp")

    def _decoded_frames(self) -> Iterator[av.AudioFrame]:
        if not self._container.streams.audio:
            raise NoSoundTrackError("no sound track")
        try:
            for frame in self._container.decode(self._container.streams.audio[0]):
                if frame.samples:
                    yield frame
        except _FFMPEG_ERRORS as error:
            raise _in_words(error) from error

    @property
    def n_frames_promised(self) -> int | None:
        """Frames that an MP4-like file's index or an MP3 file's head promises; elsewhere FFmpeg only estimates."""
        if self._container.format.name == "mp3":
            return mp3_frames_stated(self._path)
        track = self._container.streams.audio[0]
        if "mp4" not in self._container.format.name or not track.duration or not track.time_base:
            return None
        return round(track.duration * track.time_base * self.sample_rate_hz)

    def samples(self) -> Iterator[NDArray[np.float32]]:
        """Yield what is left of the sound; see `Decoder`.

        Raises
        ------
        DecodingError
            If the rest cannot be decoded, or goes on at another rate or with other channels.
        """
        # FFmpeg's frames are as short as 160 samples or longer than a block: they are gathered and cut.
        gathered: list[NDArray[np.float32]] = []
        n_gathered = 0
        try:
            for piece in self._pieces():
                gathered.append(piece)
                n_gathered += len(piece)
                if n_gathered >= N_BLOCK_FRAMES:
                    whole = np.concatenate(gathered)
                    n_cut = n_gathered - n_gathered % N_BLOCK_FRAMES
                    gathered, n_gathered = [whole[n_cut:].copy()], n_gathered - n_cut
                    for start in range(0, n_cut, N_BLOCK_FRAMES):
                        yield whole[start : start + N_BLOCK_FRAMES]
        except DecodingError:
            if n_gathered:
                yield np.concatenate(gathered)
            raise
        if n_gathered:
            yield np.concatenate(gathered)

    def _pieces(self) -> Iterator[NDArray[np.float32]]:
        """Yield every frame of FFmpeg's as float32, frames first, channels second."""
        if self._first is not None:
            first, self._first = self._first, None
            yield from self._converted(first)
        for frame in self._frames:
            yield from self._converted(frame)

    def _converted(self, frame: av.AudioFrame) -> Iterator[NDArray[np.float32]]:
        if frame.sample_rate != self.sample_rate_hz or frame.layout.nb_channels != self.n_channels:
            raise DecodingError(
                f"goes on at {frame.sample_rate} Hz with {frame.layout.nb_channels} channels, "
                f"but began at {self.sample_rate_hz:g} Hz with {self.n_channels}"
            )
        try:
            # A target without rate and layout keeps those of the first frame: only the number format changes.
            for planar in self._to_float.resample(frame):
                yield np.ascontiguousarray(planar.to_ndarray().T, dtype=np.float32)
        except _FFMPEG_ERRORS as error:
            raise _in_words(error) from error

    def close(self) -> None:
        """Let go of the file."""
        self._container.close()

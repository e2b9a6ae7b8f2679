"""Sounds with a known answer, simple enough to be worked out by hand."""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from tensionear.pluck.listener import HeardPluck, PluckListener
from tensionear.pluck.outcome import PluckClip

Sound = NDArray[np.float64]

FULL_SERIES: Mapping[int, float] = {n: 1 / n for n in range(1, 7)}
"""Amplitudes of the partials of a string plucked near an end, roughly."""


def string(
    fundamental_hz: float,
    duration_s: float,
    rate_hz: float,
    quality: float = 30.0,
    amplitudes: Mapping[int, float] = FULL_SERIES,
    stretch: float = 0.0,
) -> Sound:
    """Make a ring-down from its onset: partial n fades n times as fast as the first, and starts at its own phase.

    The stretch is that of a stiff string, ``f_n = n·f_1·sqrt((1 + B·n²) / (1 + B))``.
    """
    time_s = np.arange(round(duration_s * rate_hz)) / rate_hz
    ring_time_s = quality / (np.pi * fundamental_hz)
    sound = np.zeros(len(time_s))
    for n, amplitude in amplitudes.items():
        partial_hz = n * fundamental_hz * np.sqrt((1 + stretch * n * n) / (1 + stretch))
        if partial_hz < 0.45 * rate_hz:
            decay = np.exp(-n * time_s / ring_time_s)
            sound += amplitude * decay * np.sin(2 * np.pi * partial_hz * time_s + 0.7 * n)
    return sound


def tones(frequencies_hz: Sequence[float], duration_s: float, rate_hz: float) -> Sound:
    """Make steady tones of amplitude 1, each at its own phase."""
    time_s = np.arange(round(duration_s * rate_hz)) / rate_hz
    return sum(
        (np.cos(2 * np.pi * f * time_s + 1.3 * k) for k, f in enumerate(frequencies_hz)),
        np.zeros(len(time_s)),
    )


def white(seed: int, duration_s: float, rate_hz: float) -> Sound:
    """Make white noise of standard deviation 1."""
    return np.random.default_rng(seed).standard_normal(round(duration_s * rate_hz))


def pink(seed: int, duration_s: float, rate_hz: float) -> Sound:
    """Make noise of standard deviation 1 whose power density falls as 1/f above 20 Hz."""
    spectrum = np.fft.rfft(white(seed, duration_s, rate_hz))
    n = round(duration_s * rate_hz)
    sound = np.fft.irfft(spectrum / np.sqrt(np.maximum(np.fft.rfftfreq(n, 1 / rate_hz), 20.0)), n)
    return np.asarray(sound / np.std(sound))


def after(silence_s: float, sound: Sound, rate_hz: float) -> Sound:
    """Put `sound` after so much silence."""
    return np.concatenate([np.zeros(round(silence_s * rate_hz)), sound])


def pluck_clip(
    ring: Sound, rate_hz: float, noise: float = 1e-3, before_s: float = 1.2, seed: int = 5
) -> PluckClip:
    """Make the clip of a ring that begins after `before_s` of white noise, whose deviation is `noise`."""
    sound = after(before_s, ring, rate_hz)
    sound = sound + noise * np.random.default_rng(seed).standard_normal(len(sound))
    return PluckClip(sound.astype(np.float32), rate_hz, round(before_s * rate_hz))


def hear(sound: Sound, rate_hz: float, block: int | None = None) -> list[HeardPluck]:
    """Let a listener hear a whole sound, in blocks of so many samples."""
    listener, samples = PluckListener(rate_hz), sound.astype(np.float32)
    size = block or max(1, len(samples))
    heard = [pluck for k in range(0, len(samples), size) for pluck in listener.hear(samples[k : k + size])]
    return heard + listener.finish()

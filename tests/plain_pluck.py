"""The simplest sound that is a plucked string's: decaying partials over faint noise, with a known answer."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 48_000


def plucks(
    fundamentals_hz: Sequence[float],
    quality: float = 30.0,
    level: float = 0.2,
    noise: float = 0.03,
    rate_hz: int = RATE_HZ,
) -> NDArray[np.float32]:
    """Make a sound of plucks two seconds apart, the first after 1.5 s, and 2 s more.

    Parameters
    ----------
    fundamentals_hz : sequence of float
        One a pluck; partials are whole multiples. [Hz]
    quality : float
        Q of the fundamental; partial n rings for the n-th part of its time. [1]
    level : float
        Amplitude of the fundamental; full scale 1.
    noise : float
        Standard deviation of the noise, as a share of `level`.
    rate_hz : int
        [Hz]
    """
    generator = np.random.default_rng(7)
    sound = noise * level * generator.standard_normal(int((3.5 + 2.0 * (len(fundamentals_hz) - 1)) * rate_hz))
    for place, fundamental_hz in enumerate(fundamentals_hz):
        onset = int((1.5 + 2.0 * place) * rate_hz)
        time_s = np.arange(min(2 * rate_hz, len(sound) - onset)) / rate_hz
        ring_time_s = quality / (np.pi * fundamental_hz)
        for number in range(1, 7):
            if number * fundamental_hz < 0.45 * rate_hz:
                sound[onset : onset + len(time_s)] += (
                    level
                    / number
                    * np.exp(-number * time_s / ring_time_s)
                    * np.sin(2.0 * np.pi * number * fundamental_hz * time_s)
                )
    return sound.astype(np.float32)

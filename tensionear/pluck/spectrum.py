"""Spectra of a ring-down, and where they peak.

Conventions: arrays of float64 of whitened sound, in which the noise has variance 1 at every frequency;
a *level* is the log-likelihood ratio of a partial at that frequency against noise alone, in nats: noise has
level 1 on average, and exceeds L in exp(-L) of independent bins.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


def zero_padded_length(n_samples: int, factor: int) -> int:
    """Power of two that holds `n_samples` at least `factor` times."""
    return 1 << int(np.ceil(np.log2(max(2, n_samples * factor))))


def running_median(values: NDArray[np.float64], width: int) -> NDArray[np.float64]:
    """Median in blocks of `width`, interpolated in the logarithm: smooth enough for a floor, and quick.

    Parameters
    ----------
    values : array of values above 0, shape (n,)
    width : int
        Length of a block; one block serves for all where `values` is shorter.
    """
    n_blocks = max(1, len(values) // width)
    blocks = values[: n_blocks * width].reshape(n_blocks, -1) if len(values) >= width else values[None, :]
    centres = (np.arange(n_blocks) + 0.5) * width
    medians = np.log(np.median(blocks, axis=1) + 1e-300)
    return np.exp(np.interp(np.arange(len(values)), centres, medians))


WINDOWS_S = ((0.0, 0.025), (0.0, 0.08), (0.008, 0.025), (0.008, 0.08), (0.008, 0.25))
"""Exponential windows: when they begin after the onset, and their ring time. Each decay between is within a factor
1.8 of one, which costs 8 % of the level; the later ones let the knock of the pluck go by. [s]"""

FLOOR_WIDTH_HZ = 500.0
"""Width over which the floor of the spectrum is taken; a comb of partials fills less than half of it. [Hz]"""


@dataclass(frozen=True)
class RingSpectrum:
    """Levels of a ring on a linear grid of frequencies.

    Attributes
    ----------
    spacing_hz : float
        Frequency of bin 1. [Hz]
    levels : array, shape (n_bins,)
        Log-likelihood ratio of a decaying partial at each frequency, over the floor: what lies between the peaks,
        1 in noise as it was before, more under a knock or a hiss that came with the pluck. [nat]
    ring_times_s : array, shape (n_bins,)
        Ring time of the window that gave the level. [s]
    """

    spacing_hz: float
    levels: NDArray[np.float64]
    ring_times_s: NDArray[np.float64]

    @property
    def frequencies_hz(self) -> NDArray[np.float64]:
        """Frequencies of the bins, shape (n_bins,). [Hz]"""
        return np.asarray(np.arange(len(self.levels)) * self.spacing_hz, dtype=np.float64)


def ring_spectrum(
    whitened: NDArray[np.float64], sample_rate_hz: float, left: NDArray[np.float64] | None = None
) -> RingSpectrum:
    """Matched spectrum of decaying partials that begin at sample 0.

    The projection of a ring on a decaying sinusoid is the Fourier transform of the ring under an exponential
    window; the largest over a few windows is taken, each over its own floor.

    Parameters
    ----------
    whitened : array, shape (n,)
    sample_rate_hz : float
        [Hz]
    left : array, shape (n,), optional
        Whitened sound that may be left in `whitened` of tones that were taken out: part of the floor.
    """
    n = len(whitened)
    n_padded = max(zero_padded_length(n, 1), zero_padded_length(round(1.5 * sample_rate_hz), 1))
    spacing_hz = sample_rate_hz / n_padded
    time_s = np.arange(n) / sample_rate_hz
    levels = np.zeros(n_padded // 2 + 1)
    ring_times_s = np.zeros(n_padded // 2 + 1)
    for start_s, ring_time_s in WINDOWS_S:
        if n == 0 or time_s[-1] < start_s:
            continue  # the ring is over before this window begins
        window = np.where(time_s >= start_s, np.exp(-(time_s - start_s) / ring_time_s), 0.0)
        window /= np.sqrt(np.sum(window**2))
        power = np.abs(np.fft.rfft(whitened * window, n_padded)) ** 2
        floor = np.maximum(1.0, running_median(power, round(FLOOR_WIDTH_HZ / spacing_hz)))
        if left is not None:
            floor += np.abs(np.fft.rfft(left * window, n_padded)) ** 2
        power /= floor
        ring_times_s = np.where(power > levels, ring_time_s, ring_times_s)
        levels = np.maximum(levels, power)
    return RingSpectrum(spacing_hz, levels, ring_times_s)

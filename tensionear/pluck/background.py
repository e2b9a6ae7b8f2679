"""What the microphone heard before the pluck: steady tones and the colour of the noise.

The second before the onset tells what is there anyway. Steady tones (mains hum, fans) are found, carried on
through the ring and subtracted there, rather than notched out, so that a span that rings beside a hum line
is still heard. What is left of the background is noise of some colour; an autoregressive model of it whitens
the ring, so that least squares weighs every frequency by how quiet the background is there.

Conventions: arrays of float64 at one sample rate; tone frequencies in cycles per sample.
"""

import math
from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import NDArray

from tensionear.pluck.spectrum import running_median, zero_padded_length

MOST_TONES = 40
TONE_OVER_FLOOR = 30.0
"""Power of a tone's peak over the median of the spectrum around it; noise alone exceeds 30 in e^-20 of bins."""

STEADY_WITHIN = 1.4
"""Largest ratio of a tone's amplitudes in the two halves of the background, for it to count as steady."""

NOISE_ORDER = 24
"""Highest order of the noise model: enough for the slope of shop noise and a few resonances of a room."""

LEAST_NOISE_RMS = 2e-6
"""Noise assumed at least, full scale 1: a 16-bit recording of nothing has 1e-5, a digital silence none."""


@dataclass(frozen=True)
class SteadyTones:
    """Tones that neither begin nor end nor change.

    Attributes
    ----------
    frequencies : array, shape (n,)
        [cycles per sample]
    amplitudes : complex array, shape (n,)
        Phasors at sample 0 of the background they were found in.
    """

    frequencies: NDArray[np.float64]
    amplitudes: NDArray[np.complex128]

    def sound(self, start: int, n_samples: int) -> NDArray[np.float64]:
        """Samples `start` to ``start + n_samples`` of the tones' sum; shape (n_samples,)."""
        if len(self.frequencies) == 0:
            return np.zeros(n_samples)
        k = np.arange(start, start + n_samples)
        phases = np.exp(2j * np.pi * np.outer(k, self.frequencies))
        return np.asarray((phases @ self.amplitudes).real, dtype=np.float64)


def _tone_columns(frequencies: NDArray[np.float64], n_samples: int) -> NDArray[np.float64]:
    phase = 2 * np.pi * np.outer(np.arange(n_samples), frequencies)
    return np.hstack([np.cos(phase), -np.sin(phase)])


def _phasors(columns: NDArray[np.float64], sound: NDArray[np.float64]) -> NDArray[np.complex128]:
    """Phasors of the tones that `columns` hold, by least squares."""
    normal = columns.T @ columns
    normal.flat[:: len(normal) + 1] += 1e-9 * len(sound)
    real, imaginary = np.split(np.linalg.solve(normal, columns.T @ sound), 2)
    return np.asarray(real + 1j * imaginary, dtype=np.complex128)


def _fit_tones(
    sound: NDArray[np.float64], frequencies: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.complex128]]:
    """Refine the frequencies by how far tones turn from one half to the other; return them and their phasors."""
    n = len(sound)
    half = n // 2
    for _ in range(3):
        columns = _tone_columns(frequencies, half)
        first, second = (_phasors(columns, part) for part in (sound[:half], sound[half : 2 * half]))
        turn = np.angle(second * np.conj(first) * np.exp(-2j * np.pi * frequencies * half))
        frequencies = frequencies + np.clip(turn / (2 * np.pi * half), -0.5 / n, 0.5 / n)
    return frequencies, _phasors(_tone_columns(frequencies, n), sound)


def _tone_peaks(sound: NDArray[np.float64]) -> NDArray[np.float64]:
    """Frequencies of the narrow peaks that stand far above the spectrum around them, strongest first."""
    n = len(sound)
    n_padded = zero_padded_length(n, 2)
    window = np.hanning(n)
    power = np.abs(np.fft.rfft(sound * window, n_padded)) ** 2
    floor = running_median(power + 1e-300, max(16, round(80 * n_padded / n)))
    inner = power[1:-1]
    is_peak = (inner > power[:-2]) & (inner >= power[2:]) & (inner > TONE_OVER_FLOOR * floor[1:-1])
    peaks = np.flatnonzero(is_peak) + 1
    # A strong tone's own side lobes are peaks as well: keep what the window cannot have made.
    kept: list[int] = []
    for peak in peaks[np.argsort(power[peaks])[::-1]]:
        leaked = any(power[peak] < power[k] * _hann_leak(abs(peak - k) * n / n_padded) for k in kept)
        if not leaked and peak > 2 * n_padded / n:
            kept.append(int(peak))
        if len(kept) == MOST_TONES:
            break
    return np.asarray(kept, dtype=np.float64) / n_padded


def _hann_leak(bins: float) -> float:
    """Envelope of a Hann window's power spectrum, `bins` of 1/duration from its peak."""
    return 1.0 if bins < 2.0 else 4.0 / (np.pi * bins * (bins * bins - 1.0)) ** 2


def find_steady_tones(before: NDArray[np.float64]) -> SteadyTones:
    """Tones that stand in the background from its beginning to its end with the same strength.

    A tone that fades (the last pluck's ring) or swells is left alone: carried on, it would be wrong.

    Parameters
    ----------
    before : array, shape (n,)
        Sound before the pluck, at least some tenths of a second of it.
    """
    none = SteadyTones(np.empty(0), np.empty(0, dtype=np.complex128))
    if len(before) < 256 or not np.any(before):
        return none
    frequencies = _tone_peaks(before)
    if len(frequencies) == 0:
        return none
    half = len(before) // 2
    columns = _tone_columns(frequencies, half)
    first, second = (np.abs(_phasors(columns, part)) for part in (before[:half], before[half : 2 * half]))
    ratio = (first + 1e-300) / (second + 1e-300)
    frequencies = frequencies[(ratio < STEADY_WITHIN) & (ratio > 1 / STEADY_WITHIN)]
    if len(frequencies) == 0:
        return none
    return SteadyTones(*_fit_tones(before, frequencies))


@dataclass(frozen=True)
class NoiseModel:
    """Autoregressive model of the background noise, as the filter that whitens it.

    Attributes
    ----------
    whitener : array, shape (order + 1,)
        Taps of a causal filter that turns the noise into white noise of variance 1.
    """

    whitener: NDArray[np.float64]

    def whiten(self, sound: NDArray[np.float64]) -> NDArray[np.float64]:
        """Filter `sound`, shape (n,), as if silence had gone before."""
        return np.asarray(scipy.signal.lfilter(self.whitener, [1.0], sound), dtype=np.float64)

    def density(self, frequencies: NDArray[np.float64]) -> NDArray[np.float64]:
        """Power of the noise per sample at `frequencies` [cycles per sample], shape as given."""
        delays = np.arange(len(self.whitener))
        response = np.exp(-2j * np.pi * np.multiply.outer(frequencies, delays)) @ self.whitener
        return np.asarray(1.0 / np.abs(response) ** 2, dtype=np.float64)


def model_noise(noise: NDArray[np.float64]) -> NoiseModel:
    """Fit the noise model by the Yule-Walker equations, of the order that the noise asks for.

    Parameters
    ----------
    noise : array, shape (n,)
        Background without its steady tones.

    References
    ----------
    .. [1] S. M. Kay, Modern Spectral Estimation, Prentice Hall 1988, ch. 7 (from memory).
    .. [2] G. Schwarz, Estimating the dimension of a model, Ann. Statist. 6 (1978) 461 (from memory).
    """
    n = len(noise)
    order = min(NOISE_ORDER, n // 8)
    variance = float(np.mean(noise**2)) if n else 0.0
    tapered = noise * np.hanning(n)
    if order < 1 or variance < LEAST_NOISE_RMS**2 or not np.any(tapered):
        return NoiseModel(np.asarray([1.0 / max(LEAST_NOISE_RMS, math.sqrt(variance))]))
    power = np.abs(np.fft.rfft(tapered, zero_padded_length(n, 2))) ** 2
    correlation = np.fft.irfft(power)[: order + 1]
    # White noise 50 dB down (and at least the least noise) keeps the model tame where the sound has no energy.
    scale = correlation[0] / variance
    correlation[0] += 1e-5 * correlation[0] + scale * LEAST_NOISE_RMS**2
    predictor, innovation = _predictor(correlation, n)
    whitener = np.concatenate([[1.0], -predictor]) / np.sqrt(innovation / scale)
    return NoiseModel(whitener)


def _predictor(correlation: NDArray[np.float64], n_samples: int) -> tuple[NDArray[np.float64], float]:
    """Coefficients that predict noise from its past, and the power that they cannot; of the order that pays.

    Levinson's recursion goes through the orders; one more coefficient must be worth its cost (Schwarz's criterion):
    a longer filter than the noise asks for smears the onset, and whitens what is white already at random.
    """
    coefficients = best = np.empty(0)
    power = best_power = float(correlation[0])
    least = n_samples * math.log(power)
    for order in range(1, len(correlation)):
        reflection = float(correlation[order] - coefficients @ correlation[order - 1 : 0 : -1]) / power
        coefficients = np.append(coefficients - reflection * coefficients[::-1], reflection)
        power *= 1 - reflection**2
        cost = n_samples * math.log(power) + order * math.log(n_samples)
        if cost < least:
            least, best, best_power = cost, coefficients, power
    return best, best_power

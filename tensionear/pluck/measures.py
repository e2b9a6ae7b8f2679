"""Numbers by which a fitted ring is judged: how much it explains, how it fades, how it stands out.

Conventions: the ring is whitened, so that the background has power 1; shares are 0 to 1.
"""

import math

import numpy as np
from numpy.typing import NDArray

from tensionear.pluck.fitting import FittedRing

LOUDNESS_PERIODS = 1.5
"""Over how many periods loudness is taken. [1]"""


def strongest_partial(fitted: FittedRing) -> int:
    """Index of the partial with most energy in the first moments of what was fitted, of those that are heard."""
    # What is fitted without being heard may be the knock, and so may what is over within a period.
    from_s = fitted.n_knock / fitted.ring.sample_rate_hz + 1 / fitted.fit.fundamental_hz
    return fitted.fit.strongest(fitted.heard, from_s)


def quality(fitted: FittedRing) -> float:
    """π·f·τ of the strongest partial: the number of periods in which it fades by a factor e^π. [1]"""
    partial = strongest_partial(fitted)
    return math.pi * float(fitted.fit.frequencies_hz[partial] * fitted.fit.ring_times_s[partial])


def support(fitted: FittedRing) -> float:
    """Share of the ring's energy, less the noise's, that the fit explains in the first three ring times. [1]"""
    fit = fitted.fit
    n = _heard_samples(fitted)
    counted = slice(fitted.n_knock, n)
    whole = float(np.sum(fitted.ring.whitened[counted] ** 2))
    told = whole - float(np.sum(fit.residual[counted] ** 2))
    return min(1.0, max(0.0, told / max(whole - (n - fitted.n_knock), told, 1e-9)))


def explained(fitted: FittedRing) -> float:
    """The same share for partials and room together. [1]"""
    n = _heard_samples(fitted)
    counted = slice(fitted.n_knock, n)
    n_noise = n - fitted.n_knock
    whole = float(np.sum(fitted.ring.whitened[counted] ** 2)) - n_noise
    left = float(np.sum(fitted.posterior.residual[counted] ** 2)) - n_noise
    return min(1.0, max(0.0, 1 - max(0.0, left) / max(whole, 1.0)))


def _heard_samples(fitted: FittedRing) -> int:
    """Samples in the first three ring times of the longest partial."""
    longest_s = float(np.max(fitted.fit.ring_times_s))
    return min(len(fitted.fit.residual), max(16, round(3 * longest_s * fitted.ring.sample_rate_hz)))


def fall_db(fitted: FittedRing) -> float:
    """How far the fitted ring falls from the first to the last fifth of what was heard. [dB]"""
    power = (fitted.ring.whitened - fitted.fit.residual) ** 2
    share = max(1, len(power) // 5)
    return 10 * math.log10((float(np.mean(power[:share])) + 1e-9) / (float(np.mean(power[-share:])) + 1e-9))


def loudest_after_s(fitted: FittedRing) -> float:
    """Time from the onset to where the strongest partial is loudest. [s]"""
    time_s, loudness = _loudness(fitted)
    return float(time_s[np.argmax(loudness)])


def _loudness(fitted: FittedRing) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Times from the onset [s], and the loudness of the strongest partial there, over a few periods."""
    sound = fitted.ring.sound
    frequency_hz = float(fitted.fit.frequencies_hz[strongest_partial(fitted)])
    time_s = np.arange(len(sound)) / fitted.ring.sample_rate_hz
    width = max(3, round(fitted.ring.sample_rate_hz * max(0.01, LOUDNESS_PERIODS / frequency_hz)))
    window = np.hanning(width + 2)[1:-1] / width
    base = sound * np.exp(-2j * np.pi * frequency_hz * time_s)
    return time_s, np.abs(np.convolve(base, window)[width // 2 :][: len(base)]) + 1e-9


def signal_to_noise_db(fitted: FittedRing) -> float:
    """Power of the ring over its first ring time against the background's, in the band of the fit. [dB]"""
    n = max(8, round(float(fitted.fit.ring_times_s[0]) * fitted.ring.sample_rate_hz))
    before = fitted.ring.before if len(fitted.ring.before) else fitted.ring.sound[-n:]
    noise = float(np.mean(before**2)) + 1e-14
    ring = float(np.mean(fitted.ring.sound[:n] ** 2))
    return 10 * math.log10(max(ring - noise, 1e-3 * noise) / noise)


def lately_db(fitted: FittedRing) -> float:
    """Power of the last moments before the pluck over that of the background; 0 where neither is known. [dB]"""
    if len(fitted.ring.lately) < 8 or len(fitted.ring.before) < 8:
        return 0.0
    before = float(np.mean(fitted.ring.before**2)) + 1e-14
    return 10 * math.log10((float(np.mean(fitted.ring.lately**2)) + 1e-14) / before)


def background_power(fitted: FittedRing, frequency_hz: float) -> float:
    """Power density of the background within a tenth of a frequency; arbitrary unit, 1 where none is known."""
    before = fitted.ring.before
    if len(before) < fitted.ring.sample_rate_hz * 0.1:
        return 1.0
    power = np.abs(np.fft.rfft(before * np.hanning(len(before)))) ** 2
    spacing_hz = fitted.ring.sample_rate_hz / len(before)
    low = round(0.9 * frequency_hz / spacing_hz)
    return float(np.mean(power[low : max(low + 3, round(1.1 * frequency_hz / spacing_hz))]))

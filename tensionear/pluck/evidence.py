"""What a doubter may see of a pluck: its sound, its spectrum, the fitted ring-down."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tensionear.pluck.analysis import analyse_clip
from tensionear.pluck.conditioning import TOP_HZ, decimate, decimation_factor
from tensionear.pluck.outcome import PluckClip, PluckOutcome, PluckReading

_SPECTRUM_S = 0.5


@dataclass(frozen=True)
class PluckEvidence:
    """A pluck as curves.

    Attributes
    ----------
    time_s, sound : arrays, shape (n,)
        The band-limited sound, from the onset. [s], full scale 1
    fit_time_s, fit : arrays, shape (m,)
        The fitted ring-down; empty for a refusal. [s], full scale 1
    frequency_hz, ring_db, background_db : arrays, shape (k,)
        Spectra of the ring and of the same length of background before it. [Hz], [dB re full scale]
    """

    time_s: NDArray[np.float64]
    sound: NDArray[np.float64]
    fit_time_s: NDArray[np.float64]
    fit: NDArray[np.float64]
    frequency_hz: NDArray[np.float64]
    ring_db: NDArray[np.float64]
    background_db: NDArray[np.float64]


def evidence_of(clip: PluckClip, outcome: PluckOutcome) -> PluckEvidence:
    """Draw up the evidence for what became of a clip; `outcome` is what `read_clip` said of it."""
    factor = decimation_factor(clip.sample_rate_hz)
    rate = clip.sample_rate_hz / factor
    sound = decimate(clip.samples, factor)
    analysis = analyse_clip(clip)
    onset = round(analysis.onset_s * rate)
    fit_time_s = fit = np.empty(0)
    if isinstance(outcome, PluckReading) and analysis.fitted is not None:
        fitted = analysis.fitted
        fit_time_s = np.arange(len(fitted.ring.sound)) / fitted.ring.sample_rate_hz
        fit = fitted.fit.sound(fit_time_s)
    n = max(16, min(round(_SPECTRUM_S * rate), len(sound) - onset))
    frequency_hz = np.fft.rfftfreq(4 * n, 1 / rate)
    shown = frequency_hz <= TOP_HZ
    return PluckEvidence(
        time_s=(np.arange(len(sound)) - onset) / rate,
        sound=sound,
        fit_time_s=fit_time_s,
        fit=fit,
        frequency_hz=np.asarray(frequency_hz[shown], dtype=np.float64),
        ring_db=_level_db(sound[onset : onset + n], n)[shown],
        background_db=_level_db(sound[max(0, onset - n - round(0.05 * rate)) :][:n], n)[shown],
    )


def _level_db(sound: NDArray[np.float64], n: int) -> NDArray[np.float64]:
    """Amplitude spectrum of `sound`, at most `n` samples of it, under half a Hann window."""
    window = np.hanning(2 * n)[n:][: len(sound)]
    amplitude = 2 * np.abs(np.fft.rfft(sound * window, 4 * n)) / max(float(np.sum(window)), 1e-9)
    return np.asarray(20 * np.log10(amplitude + 1e-7), dtype=np.float64)

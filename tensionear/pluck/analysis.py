"""All that a clip tells about a span, without judging it.

1. What was there before the onset is learnt: steady tones, colour of the noise (`background`).
2. The ring's spectrum is searched for peaks (`spectrum`), and the peaks for fundamentals (`hypotheses`).
3. The best is fitted to the ring (`ringdown`), weighing down whatever else sounds in it.
"""

import math
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from tensionear.pluck.background import NoiseModel, find_steady_tones, model_noise
from tensionear.pluck.conditioning import TOP_HZ, decimate, decimation_factor
from tensionear.pluck.hypotheses import Hypothesis, Peak, hypotheses, partial_ratio, spectrum_peaks
from tensionear.pluck.outcome import PluckClip
from tensionear.pluck.ringdown import RingDown, RingDownStart, fit_ringdown
from tensionear.pluck.spectrum import RingSpectrum, ring_spectrum

_Number = TypeVar("_Number", np.float64, np.complex128)

ONSET_GUARD_S = 0.05
"""Time before the trigger's onset that is not taken for background: a finger is already at work there. [s]"""

NOISE_UNDERRATED = 1.5
PULL_BY_LEFT_OVER = 4.0
PULL_UNSEEN = 0.03
"""The first is by how much the noise within a ring passes what the time before lets expect, the others are shares of
the half bandwidth 1/(2πτ); see `FittedRing.standard_uncertainty_hz`. [1]"""

TONE_LEFT = 0.2
TONE_NEAR = 0.15
"""Share of a steady tone that may be left where it is carried on through the ring, for the mains wander; and how near
it must lie to a partial, relatively, to matter."""

MOST_HYPOTHESES = 5
MOST_PARTIALS_FITTED = 8
FEWEST_PARTIALS_FITTED = 5


@dataclass(frozen=True)
class Ring:
    """The ring of a pluck, freed from what was there before.

    Attributes
    ----------
    sample_rate_hz : float
        [Hz]
    sound : array, shape (n,)
        From the onset on, less the steady tones.
    before : array, shape (m,)
        The background, less the steady tones.
    lately : array, shape (l,)
        The last tenth of a second before the pluck, but for the attack, less the steady tones.
    whitened : array, shape (n,)
        `sound`, whitened.
    noise : NoiseModel
    tones : array, shape (2, n_tones)
        Frequencies of the steady tones that were taken out, and how much of each may be left. [Hz], full scale 1
    """

    sample_rate_hz: float
    sound: NDArray[np.float64]
    before: NDArray[np.float64]
    lately: NDArray[np.float64]
    whitened: NDArray[np.float64]
    noise: NoiseModel
    tones: NDArray[np.float64]


@dataclass(frozen=True)
class FittedRing:
    """A hypothesis fitted to the ring.

    Attributes
    ----------
    ring : Ring
        What it was fitted to.
    fit : RingDown
    weights : array, shape (n,)
        Weight of each sample in the fit.
    n_knock : int
        Samples at the beginning that were left out, for the pluck itself sounds in them.
    left_over : float
        Amplitude of what the fit leaves near the fundamental, less the noise, over that of the fit there.
    """

    ring: Ring
    fit: RingDown
    weights: NDArray[np.float64]
    n_knock: int
    left_over: float

    @property
    def standard_uncertainty_hz(self) -> float:
        """Of the fundamental: what the noise leaves, and what the room and the model's own limits add. [Hz]

        What comes back from the room rings beside the span and pulls its frequency by a share of its bandwidth.
        How large a share was found on simulated plucks (`docs/accuracy.md`); some of it hides below the noise.
        """
        half_bandwidth_hz = self.fit.half_bandwidth_hz
        return math.hypot(
            NOISE_UNDERRATED * self.fit.fundamental_standard_uncertainty_hz,
            PULL_BY_LEFT_OVER * self.left_over * half_bandwidth_hz,
            PULL_UNSEEN * half_bandwidth_hz,
        )


@dataclass(frozen=True)
class Analysis:
    """Everything that was found out about a clip.

    Attributes
    ----------
    onset_s : float
        Refined onset, from the clip's first sample. [s]
    spectrum : RingSpectrum
    peaks : list of Peak
    ranked : list of Hypothesis
        The best first.
    fitted : FittedRing or None
        The best one's fit; None if there was nothing to fit.
    rise_db : float
        Power of the ring's first moments over that of the last moments before the pluck, steady tones and all. [dB]
    """

    onset_s: float
    spectrum: RingSpectrum
    peaks: list[Peak]
    ranked: list[Hypothesis]
    fitted: FittedRing | None
    rise_db: float


def analyse_clip(clip: PluckClip) -> Analysis:
    """Find out all that a clip tells, without judging it."""
    factor = decimation_factor(clip.sample_rate_hz)
    rate = clip.sample_rate_hz / factor
    sound = decimate(clip.samples, factor)
    onset = clip.onset // factor
    background = _quiet_stretch(sound, onset, rate)
    # A converter's offset is no sound, but would pass for the loudest noise of all.
    sound -= np.mean(sound[background] if background.stop > background.start else sound)
    tones = find_steady_tones(sound[background])
    hum = tones.sound(-background.start, len(sound))
    clean = sound - hum
    noise = model_noise(_background_or_tail(clean, background, rate))
    whitened = noise.whiten(clean)
    onset = refine_onset(whitened, onset, rate)
    hum_left = TONE_LEFT * noise.whiten(hum)[onset:] if len(tones.frequencies) else None
    spectrum = ring_spectrum(whitened[onset:], rate, hum_left)
    peaks = spectrum_peaks(spectrum)
    ranked = hypotheses(peaks, MOST_HYPOTHESES)
    fitted = None
    if ranked:
        tones_left = np.vstack([tones.frequencies * rate, TONE_LEFT * np.abs(tones.amplitudes)])
        fitted = fit_hypothesis(_focus(clean, background, onset, rate, tones_left, ranked[0]), ranked[0])
    return Analysis(onset / rate, spectrum, peaks, ranked, fitted, _rise_db(sound, onset, rate))


def _lately(sound: NDArray[np.float64], onset: int, rate: float) -> NDArray[np.float64]:
    return sound[max(0, onset - round(0.11 * rate)) : max(0, onset - round(0.03 * rate))]


def _rise_db(sound: NDArray[np.float64], onset: int, rate: float) -> float:
    """How much louder it became at the onset; infinite where nothing is known of the time before. [dB]"""
    before, after = _lately(sound, onset, rate), sound[onset : onset + round(0.08 * rate)]
    if len(before) < 0.05 * rate or len(after) == 0:
        return math.inf
    return 10 * math.log10((float(np.mean(after**2)) + 1e-14) / (float(np.mean(before**2)) + 1e-14))


SEGMENT_S = 0.1
SHORTEST_BACKGROUND_S = 0.2
LOUD = 3.0
"""Power over that of the quieter moments above which a moment before the pluck is not background."""


def _quiet_stretch(sound: NDArray[np.float64], onset: int, rate: float) -> slice:
    """The longest stretch before the pluck in which nothing but the background sounds."""
    length = round(SEGMENT_S * rate)
    end = max(0, onset - round(ONSET_GUARD_S * rate))
    n = end // length
    if n < 3:
        return slice(0, end)
    first = end - n * length
    power = np.mean(sound[first:end].reshape(n, length) ** 2, axis=1)
    quiet = power <= LOUD * np.quantile(power, 0.3)
    run = best = best_end = 0
    for i in range(n):
        run = run + 1 if quiet[i] else 0
        if run >= best:
            best, best_end = run, i + 1
    return slice(first + (best_end - best) * length, first + best_end * length)


def _background_or_tail(sound: NDArray[np.float64], background: slice, rate: float) -> NDArray[np.float64]:
    """The background; where a recording begins with the pluck, its last moments must do."""
    if background.stop - background.start >= SHORTEST_BACKGROUND_S * rate:
        return sound[background]
    return sound[-round(SHORTEST_BACKGROUND_S * rate) :]


def refine_onset(whitened: NDArray[np.float64], onset: int, sample_rate_hz: float) -> int:
    """Move the trigger's onset to where the power rises most steeply nearby; index into `whitened`."""
    width = max(2, round(0.004 * sample_rate_hz))
    low = max(width, onset - round(0.04 * sample_rate_hz))
    high = min(len(whitened) - width, onset + round(0.04 * sample_rate_hz))
    if high <= low:
        return min(onset, len(whitened))
    energy = np.concatenate([[0.0], np.cumsum(whitened**2)])
    k = np.arange(low, high)
    after = energy[k + width] - energy[k]
    before = energy[k] - energy[k - width]
    rise = (after - before) / (before + 0.05 * after.max() + 1e-300)
    return int(k[np.argmax(rise)])


def _focus(
    clean: NDArray[np.float64],
    background: slice,
    onset: int,
    rate: float,
    tones: NDArray[np.float64],
    hypothesis: Hypothesis,
) -> Ring:
    """The ring at the lowest rate that holds the partials to be fitted: a fit costs by the sample."""
    numbers = _numbers(hypothesis)
    top_hz = 1.1 * max(
        numbers[-1] * hypothesis.fundamental_hz,
        *(p.frequency_hz for n, p in hypothesis.partials.items() if n <= MOST_PARTIALS_FITTED),
    )
    longest_s = max(p.ring_time_s for p in hypothesis.partials.values())
    # The filter smears the onset over 8 samples of the lower rate: that must stay short beside the ring.
    factor = max(1, math.floor(min(0.38 * rate / min(TOP_HZ, top_hz), rate * longest_s / 100)))
    skip = onset % factor  # the onset must fall on a sample that is kept
    sound = decimate(clean[skip:], factor)
    start, stop = (max(0, edge - skip) // factor for edge in (background.start, background.stop))
    noise = model_noise(_background_or_tail(sound, slice(start, stop), rate / factor))
    first = (onset - skip) // factor
    last = first + round(6 * longest_s * rate / factor)
    whitened = noise.whiten(sound[:last])
    lately = _lately(sound, first, rate / factor)
    near = np.min(np.abs(tones[0] / (hypothesis.fundamental_hz * np.asarray(numbers)[:, None]) - 1), axis=0)
    return Ring(
        rate / factor,
        sound[first:last],
        sound[start:stop],
        lately,
        whitened[first:],
        noise,
        tones[:, near < TONE_NEAR],
    )


def _numbers(hypothesis: Hypothesis) -> list[int]:
    """Numbers of the partials to fit: all up to the highest heard, and a few more that may be weak."""
    heard = max((n for n in hypothesis.partials if n <= MOST_PARTIALS_FITTED), default=1)
    fewest = min(FEWEST_PARTIALS_FITTED, math.floor(TOP_HZ / hypothesis.fundamental_hz))
    return list(range(1, max(heard, fewest) + 1))


def fit_hypothesis(ring: Ring, hypothesis: Hypothesis) -> FittedRing:
    """Fit `hypothesis` to `ring`, weighing down whatever else sounds in it."""
    heard = {n: p.ring_time_s for n, p in hypothesis.partials.items()}
    longest = max(heard.values())
    first = hypothesis.partials.get(1)
    fundamental_hz = first.frequency_hz if first else hypothesis.fundamental_hz
    start = RingDownStart(
        fundamental_hz,
        hypothesis.stretch,
        {n: heard.get(n, longest / n) for n in _numbers(hypothesis)},
        {
            n: p.frequency_hz / (fundamental_hz * float(partial_ratio(n, hypothesis.stretch))) - 1
            for n, p in hypothesis.partials.items()
        },
        glides=True,
    )
    n_knock = round(min(KNOCK_S, KNOCK_PERIODS / fundamental_hz) * ring.sample_rate_hz)
    weights = np.ones(len(ring.whitened))
    weights[:n_knock] = 0.0
    fit = fit_ringdown(ring.whitened, ring.sample_rate_hz, ring.noise.whitener, start, weights, ring.tones)
    if n_knock and np.mean(fit.residual[:n_knock] ** 2) < MOST_KNOCK:
        n_knock = 0
    for _ in range(2):
        weights = noise_weights(fit, n_knock, ring.sample_rate_hz)
        fit = fit_ringdown(
            ring.whitened, ring.sample_rate_hz, ring.noise.whitener, fit.as_start(), weights, ring.tones
        )
    return FittedRing(ring, fit, weights, n_knock, _left_over(fit, ring, n_knock))


KNOCK_S, KNOCK_PERIODS = 0.008, 2.5
MOST_KNOCK = 2.0
"""The finger's release and the knock that goes with it are no ring; the first moments count only where the fit, made
without them, leaves no more than this over there. [s], [periods], [power of the noise]"""

BAND_PERIODS = 3.0
SMOOTH_PERIODS = 4.0


def noise_weights(fit: RingDown, n_knock: int, sample_rate_hz: float) -> NDArray[np.float64]:
    """Weight of each sample: 1 over the power of the residual near the strongest partial, where it passes the noise.

    A clank, the reverberation of the room and what no sum of partials describes all raise that power for a while.
    The first `n_knock` samples weigh nothing.
    """
    residual = fit.residual.copy()
    residual[:n_knock] = 0.0
    centre_hz = float(fit.frequencies_hz[fit.strongest(n_knock / sample_rate_hz)])
    n = len(fit.residual)
    tone = np.exp(-2j * np.pi * centre_hz / sample_rate_hz * np.arange(n))
    band = np.hanning(2 + 2 * max(2, round(sample_rate_hz * BAND_PERIODS / centre_hz / 2)))[1:-1]
    power = np.abs(_convolved(residual * tone, band / np.sqrt(np.sum(band**2)))) ** 2
    width = 1 + 2 * max(1, round(sample_rate_hz * max(0.01, SMOOTH_PERIODS / centre_hz) / 2))
    smooth = np.hanning(width + 2)[1:-1]
    power = _convolved(power, smooth) / _convolved(np.ones(n), smooth)
    weights = 1.0 / np.maximum(1.0, power)
    weights[:n_knock] = 0.0
    return np.asarray(weights, dtype=np.float64)


def _convolved(values: NDArray[_Number], kernel: NDArray[np.float64]) -> NDArray[_Number]:
    """Convolution of the values' own length, also where the kernel is longer."""
    half = len(kernel) // 2
    return np.asarray(np.convolve(values, kernel)[half : half + len(values)], dtype=values.dtype)


def _left_over(fit: RingDown, ring: Ring, n_knock: int) -> float:
    """Amplitude that the fit leaves within its bandwidth around the fundamental, relative to the fit's own."""
    n = len(fit.residual)
    t = np.arange(n) / ring.sample_rate_hz
    window = np.exp(-t / (2 * float(fit.ring_times_s[0])))
    window[:n_knock] = 0.0
    offsets_hz = np.linspace(-3, 3, 15) * fit.half_bandwidth_hz
    probes = np.exp(-2j * np.pi * np.outer(fit.fundamental_hz + offsets_hz, t)) * window
    left = float(np.mean(np.abs(probes @ fit.residual) ** 2)) - float(np.sum(window**2))
    fitted = float(np.max(np.abs(probes @ (ring.whitened[:n] - fit.residual)) ** 2))
    return math.sqrt(max(0.0, left) / fitted) if fitted > 0 else 1.0

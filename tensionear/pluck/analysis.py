"""All that a clip tells about a span, without judging it.

1. What was there before the onset is learnt: steady tones, colour of the noise (`background`).
2. The ring's spectrum is searched for peaks (`spectrum`), and the peaks for fundamentals (`hypotheses`).
3. The best is fitted to the ring (`fitting`).
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tensionear.pluck.background import find_steady_tones, model_noise
from tensionear.pluck.conditioning import TOP_HZ, decimate, decimation_factor
from tensionear.pluck.fitting import MOST_PARTIALS_FITTED, FittedRing, Ring, fit_hypothesis, numbers_to_fit
from tensionear.pluck.hypotheses import Hypothesis, Peak, hypotheses, spectrum_peaks
from tensionear.pluck.outcome import PluckClip
from tensionear.pluck.spectrum import RingSpectrum, ring_spectrum

ONSET_GUARD_S = 0.05
"""Time before the trigger's onset that is not taken for background: a finger is already at work there. [s]"""

TONE_LEFT = 0.2
TONE_NEAR = 0.15
"""Share of a steady tone that may be left where it is carried on through the ring, for the mains wander; and how near
it must lie to a partial, relatively, to matter."""

MOST_HYPOTHESES = 5

RING_TIMES_HEARD, LONGEST_RING_PERIODS = 6.0, 400.0
"""How much of a ring is analysed: no rubber rings for longer, and what does is not made out better by more."""


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
    numbers = numbers_to_fit(hypothesis)
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
    longest_s = min(RING_TIMES_HEARD * longest_s, LONGEST_RING_PERIODS / hypothesis.fundamental_hz)
    last = first + round(longest_s * rate / factor)
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

"""Which fundamentals could have made these peaks.

Every peak of the spectrum may be any low partial of the span, so every peak divided by 1, 2, 3, ... is a candidate,
also where nothing rings at the candidate itself (a phone's microphone cannot hear it). A candidate is worth
what its partials explain, less what it leaves unexplained, less the gaps in its series.

No knowledge of the belt comes in here: a prior would hide the belt that is set wrong.
"""

from dataclasses import dataclass, replace

import numpy as np
import scipy
from numpy.typing import NDArray

from tensionear.pluck.conditioning import TOP_HZ
from tensionear.pluck.spectrum import RingSpectrum

LOWEST_FUNDAMENTAL_HZ = 20.0
HIGHEST_FUNDAMENTAL_HZ = 600.0

PEAK_LEVEL = 11.0
"""Least level of a peak over the floor: noise alone reaches it in one spectrum of fifty. [nat]"""

MOST_PEAKS = 14
MOST_PARTIALS = 10
HIGHEST_FIRST_PEAK = 5
"""The lowest partial that is heard may be as high as this; with more of them missing no series is certain."""

STRETCHES = np.asarray([0.0, 0.001, 0.003, 0.007, 0.015, 0.03, 0.06])
"""Trial values of the stretch B; the fit finds the value between. [1]"""

WITHIN = 0.015
"""Relative distance within which a peak counts as a partial: ends that are neither pinned nor clamped, a gliding
pitch and teeth that stiffen unevenly all move partials by up to a per cent."""

STRETCH_COST = 30.0
"""What the stretch costs: with enough of it, a series is found in any three peaks. Belts stay below 0.03. [nat]"""

GAP_COST = np.asarray([2.5 if n == 1 else 1.0 if n % 2 == 0 else 3.0 for n in range(1, MOST_PARTIALS + 1)])
"""What each missing partial costs, in nats of log level. A pluck at the middle silences the even ones, a phone's
microphone the first; nothing silences just the odd ones, as a fundamental taken an octave too low would need."""


@dataclass(frozen=True)
class Peak:
    """A peak of the ring's spectrum: where, how far above the floor [nat], and how long it rings [s]."""

    frequency_hz: float
    level: float
    ring_time_s: float

    @property
    def weight(self) -> float:
        """Share in the vote: the logarithm, lest one strong partial outvote the series. [nat]"""
        return float(np.log(self.level / 3.0))


@dataclass(frozen=True)
class Hypothesis:
    """A fundamental, the stretch of its partials, and what speaks for it.

    Attributes
    ----------
    fundamental_hz : float
        [Hz]
    stretch : float
        B in f_n = n·f_1·sqrt((1 + B·n²) / (1 + B)). [1]
    partials : dict of int to Peak
        The peaks it explains, by number of the partial.
    score : float
        [nat]
    """

    fundamental_hz: float
    stretch: float
    partials: dict[int, Peak]
    score: float


def partial_ratio(
    number: NDArray[np.float64] | float, stretch: NDArray[np.float64] | float
) -> NDArray[np.float64]:
    """Frequency of a partial over that of the fundamental, for a stiff string. [1]

    References
    ----------
    .. [1] H. Fletcher, Normal vibration frequencies of a stiff piano string, J. Acoust. Soc. Am. 36 (1964) 203
       (from memory); with ends neither pinned nor clamped the law holds to second order in the stiffness.
    """
    n = np.asarray(number, dtype=np.float64)
    return np.asarray(n * np.sqrt((1 + stretch * n * n) / (1 + stretch)))


def spectrum_peaks(spectrum: RingSpectrum) -> list[Peak]:
    """Peaks that noise alone would not make, the strongest first."""
    levels = spectrum.levels
    indices, _ = scipy.signal.find_peaks(np.log(levels + 1e-12), height=np.log(PEAK_LEVEL), prominence=1.2)
    frequencies = indices * spectrum.spacing_hz
    inside = (frequencies > 0.8 * LOWEST_FUNDAMENTAL_HZ) & (frequencies < TOP_HZ)
    strongest = sorted(indices[inside], key=lambda k: -levels[k])[:MOST_PEAKS]
    return [
        Peak(
            float(_summit(spectrum, int(k)) * spectrum.spacing_hz),
            float(levels[k]),
            float(spectrum.ring_times_s[k]),
        )
        for k in strongest
    ]


def _summit(spectrum: RingSpectrum, k: int) -> float:
    """Bin of the maximum between bins, by the parabola through three logarithmic levels."""
    left, middle, right = np.log(spectrum.levels[k - 1 : k + 2] + 1e-300)
    bend = left - 2 * middle + right
    return k + (0.5 * (left - right) / bend if bend < 0 else 0.0)


def hypotheses(peaks: list[Peak], most: int) -> list[Hypothesis]:
    """Rank the fundamentals that could have made `peaks`; at most `most`, no two within 3 %.

    Parameters
    ----------
    peaks : list of Peak
        Strongest first.
    most : int
        Length of the answer.
    """
    if not peaks:
        return []
    frequency = np.asarray([p.frequency_hz for p in peaks])
    weight = np.asarray([p.weight for p in peaks])
    first = np.arange(1, HIGHEST_FIRST_PEAK + 1)
    # Axes: candidate (peak x its number), stretch, partial, peak.
    ratio_at_first = partial_ratio(first[:, None].astype(np.float64), STRETCHES)
    fundamental = (frequency[:8, None, None] / ratio_at_first).reshape(-1, len(STRETCHES))
    number = np.arange(1, MOST_PARTIALS + 1).astype(np.float64)
    expected = fundamental[:, :, None] * partial_ratio(number[None, :], STRETCHES[:, None])
    distance = np.abs(expected[..., None] / frequency - 1)
    nearest = np.argmin(distance, axis=2)
    off = np.min(distance, axis=2)
    explained = off < WITHIN
    closeness = np.where(explained, 1 - 0.3 * (off / WITHIN) ** 2, 0.0)
    hit = np.zeros(expected.shape, dtype=bool)
    for n in range(MOST_PARTIALS):
        hit[..., n] = np.any(explained & (nearest == n), axis=-1)
    top = np.where(hit.any(axis=-1), MOST_PARTIALS - np.argmax(hit[..., ::-1], axis=-1), 0)
    below_top = np.arange(1, MOST_PARTIALS + 1) <= top[..., None]
    gaps = (below_top & ~hit) @ GAP_COST
    # A peak half-way between a candidate's partials, or at a third of it, says that the fundamental lies lower.
    times = frequency / fundamental[..., None]
    halves = np.abs(times - np.floor(times) - 0.5) < WITHIN * np.maximum(times, 0.5)
    undercut = ~explained & ((halves & (times < 6)) | (np.abs(times * 3 - 1) < 2 * WITHIN))
    score = (closeness * weight).sum(axis=-1) - gaps - (undercut * weight).sum(axis=-1)
    score -= STRETCH_COST * STRETCHES
    score[
        (fundamental < LOWEST_FUNDAMENTAL_HZ * 0.95) | (fundamental > HIGHEST_FUNDAMENTAL_HZ * 1.05)
    ] = -np.inf

    chosen: list[Hypothesis] = []
    for flat in np.argsort(score, axis=None)[::-1]:
        i, b = np.unravel_index(flat, score.shape)
        if score[i, b] == -np.inf or len(chosen) == most:
            break
        f = float(fundamental[i, b])
        if any(abs(f / other.fundamental_hz - 1) < 0.03 for other in chosen):
            continue
        partials: dict[int, Peak] = {}
        for j in range(len(peaks)):
            n = int(nearest[i, b, j]) + 1
            if explained[i, b, j] and n not in partials:
                partials[n] = peaks[j]
        if partials:
            chosen.append(_sharpened(Hypothesis(f, float(STRETCHES[b]), partials, float(score[i, b]))))
    return chosen


def _sharpened(hypothesis: Hypothesis) -> Hypothesis:
    """Give a hypothesis the fundamental and stretch that fit its peaks best: (f_n / n)² is linear in n²."""
    n = np.asarray(list(hypothesis.partials), dtype=np.float64)
    if len(n) < 3:
        return hypothesis
    frequency = np.asarray([p.frequency_hz for p in hypothesis.partials.values()])
    slope, offset = np.polyfit(n**2, (frequency / n) ** 2, 1)
    if slope < 0 or offset <= 0:
        slope, offset = 0.0, float(np.mean((frequency / n) ** 2))
    return replace(hypothesis, fundamental_hz=float(np.sqrt(offset + slope)), stretch=float(slope / offset))

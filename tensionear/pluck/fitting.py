"""The best hypothesis fitted to the ring, whatever else sounds in it.

Least squares (`ringdown`) find the partials; what they and a room's answer leave over tells which moments hold
something else, and these weigh less; the fundamental is then averaged over rooms and glides (`posterior`).
"""

import math
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from tensionear.pluck.background import NoiseModel
from tensionear.pluck.conditioning import TOP_HZ
from tensionear.pluck.hypotheses import Hypothesis, partial_ratio
from tensionear.pluck.posterior import Posterior, posterior, residual_in_usual_room
from tensionear.pluck.ringdown import RingDown, RingDownStart, fit_ringdown

_Number = TypeVar("_Number", np.float64, np.complex128)

MOST_PARTIALS_FITTED = 8
FEWEST_PARTIALS_FITTED = 5

LET_THROUGH = 0.45
"""Frequency up to which decimation leaves something of a sound, over the rate; see `conditioning`. [1]"""

KNOCK_S, KNOCK_PERIODS = 0.008, 2.5
MOST_KNOCK = 2.0
"""The finger's release and the knock that goes with it are no ring; the first moments count only from where the fit,
made without them, leaves no more than this over there. [s], [periods], [power of the noise]"""

DISTURBED = 2.0
"""Power over that of the noise above which a moment holds something else; noise alone varies by about a half. [1]"""

BAND_PERIODS = 3.0
SMOOTH_PERIODS = 4.0


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
        The partials, by least squares.
    posterior : Posterior
        The fundamental, and how far it is known.
    weights : array, shape (n,)
        Weight of each sample in the fit.
    n_knock : int
        Samples at the beginning that were left out, for the pluck itself sounds in them.
    heard : frozenset of int
        Numbers of the partials whose peaks the hypothesis explains; the others were fitted in case.
    """

    ring: Ring
    fit: RingDown
    posterior: Posterior
    weights: NDArray[np.float64]
    n_knock: int
    heard: frozenset[int]


def numbers_to_fit(hypothesis: Hypothesis) -> list[int]:
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
    # What the ring's rate still lets through must be fitted as well, lest it pass for the room's answer.
    let_through = math.floor(LET_THROUGH * ring.sample_rate_hz / fundamental_hz)
    highest = max(numbers_to_fit(hypothesis)[-1], min(MOST_PARTIALS_FITTED, let_through))
    start = RingDownStart(
        fundamental_hz,
        hypothesis.stretch,
        {n: heard.get(n, longest / n) for n in range(1, highest + 1)},
        {
            n: p.frequency_hz / (fundamental_hz * float(partial_ratio(n, hypothesis.stretch))) - 1
            for n, p in hypothesis.partials.items()
        },
        glides=True,
    )
    longest_knock = round(min(KNOCK_S, KNOCK_PERIODS / fundamental_hz) * ring.sample_rate_hz)
    fit = _fitted(ring, start, _all_but_first(longest_knock, ring))
    n_knock = _knock_length(fit.residual[:longest_knock])

    def weights_by(residual: NDArray[np.float64]) -> NDArray[np.float64]:
        strongest = fit.strongest(heard, n_knock / ring.sample_rate_hz)
        return noise_weights(float(fit.frequencies_hz[strongest]), residual, n_knock, ring.sample_rate_hz)

    fit = _fitted(ring, fit.as_start(), weights_by(fit.residual))
    evenly = _all_but_first(n_knock, ring)
    weights = weights_by(residual_in_usual_room(fit, ring.whitened, evenly, ring.tones[1]))
    known = posterior(fit, ring.whitened, weights, ring.tones[1])
    return FittedRing(ring, fit, known, weights, n_knock, frozenset(heard))


def _fitted(ring: Ring, start: RingDownStart, weights: NDArray[np.float64]) -> RingDown:
    return fit_ringdown(ring.whitened, ring.sample_rate_hz, ring.noise.whitener, start, weights, ring.tones)


def _all_but_first(n_samples: int, ring: Ring) -> NDArray[np.float64]:
    """Weights of 1, but of 0 for the first samples."""
    weights = np.ones(len(ring.whitened))
    weights[:n_samples] = 0.0
    return weights


def _knock_length(residual: NDArray[np.float64]) -> int:
    """Samples at the beginning that hold more than the noise besides the fit, which did not see them."""
    # Of a sharp onset the decimation leaves a few samples of ripple: no reason to give up the others.
    for n_knock in (0, 2, 4, len(residual) // 4, len(residual) // 2):
        if n_knock < len(residual) and np.mean(residual[n_knock:] ** 2) < MOST_KNOCK:
            return n_knock
    return len(residual)


def noise_weights(
    centre_hz: float, residual: NDArray[np.float64], n_knock: int, sample_rate_hz: float
) -> NDArray[np.float64]:
    """Weight of each sample: 1 over the power of `residual`, where that passes the noise.

    The power near `centre_hz` counts, or that of all, where it is more. A clank, and whatever no sum of
    partials describes, raises that power for a while. The first `n_knock` samples weigh nothing.
    """
    residual = residual.copy()
    residual[:n_knock] = 0.0
    n = len(residual)
    tone = np.exp(-2j * np.pi * centre_hz / sample_rate_hz * np.arange(n))
    band = np.hanning(2 + 2 * max(2, round(sample_rate_hz * BAND_PERIODS / centre_hz / 2)))[1:-1]
    power = np.abs(_convolved(residual * tone, band / np.sqrt(np.sum(band**2)))) ** 2
    width = 1 + 2 * max(1, round(sample_rate_hz * max(0.01, SMOOTH_PERIODS / centre_hz) / 2))
    smooth = np.hanning(width + 2)[1:-1]
    power = np.maximum(_convolved(power, smooth), _convolved(residual**2, smooth))
    power /= _convolved(np.ones(n), smooth)
    weights = np.where(power > DISTURBED, 1.0 / np.maximum(power, 1.0), 1.0)
    weights[:n_knock] = 0.0
    return np.asarray(weights, dtype=np.float64)


def _convolved(values: NDArray[_Number], kernel: NDArray[np.float64]) -> NDArray[_Number]:
    """Convolution of the values' own length, also where the kernel is longer."""
    half = len(kernel) // 2
    return np.asarray(np.convolve(values, kernel)[half : half + len(values)], dtype=values.dtype)

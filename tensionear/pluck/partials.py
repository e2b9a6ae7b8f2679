"""The partials of a span as columns of a linear model, whitened, with their slopes.

The law of their frequencies and the glide stand in `ringdown`. All that the fit needs to know of the model is here;
how it steps is there.

Conventions: time runs from the onset in seconds. The parameters stand in one array: ln f_1, B, ln τ_n for each
partial, e_n for each partial but the first, and γ where the pitch may glide.
"""

import numpy as np
from numpy.typing import NDArray

from tensionear.pluck.hypotheses import partial_ratio

DEVIATION = 0.003
"""Standard deviation of a partial's frequency from the law of the stiff string, relative."""

STRETCH_SD, LN_RING_TIME_SD, GLIDE_SD = 0.05, 1.5, 0.02
"""Standard deviations of the other priors; they only hold what the sound says nothing of."""

MOST_STRETCH = 0.3
LEAST_GLIDE, MOST_GLIDE = -0.01, 0.15
LONGEST_RING_PERIODS = 2000.0
SHORTEST_RING_PERIODS = 0.8


class PartialsModel:
    """Partials of one span.

    Parameters
    ----------
    numbers : array of int, shape (n_partials,)
        Their numbers, ascending; 1 is the fundamental.
    glides : bool
        Whether the pitch may glide.
    time_s : array, shape (n_samples,)
        [s]
    whitener : array, shape (order + 1,)
        Filter that whitened the sound.
    tones_hz : array, shape (n_tones,)
        Steady tones that may be left in the sound: columns without decay, after those of the partials. [Hz]
    """

    def __init__(
        self,
        numbers: NDArray[np.int_],
        glides: bool,
        time_s: NDArray[np.float64],
        whitener: NDArray[np.float64],
        tones_hz: NDArray[np.float64],
    ) -> None:
        self.glides = glides
        self._numbers = numbers.astype(np.float64)
        self.time_s = time_s
        self._whitener = whitener
        step_s = time_s[1] - time_s[0]
        self.tones = self._whitened_powers(np.exp(2j * np.pi * tones_hz * step_s))
        self._deviating = np.flatnonzero(numbers > 1)
        n, m = len(numbers), len(self._deviating)
        self.ring_times = slice(2, 2 + n)
        self.deviations = slice(2 + n, 2 + n + m)
        self.n_parameters = 2 + n + m + int(glides)
        self.prior_sd = np.concatenate(
            [
                [np.inf, STRETCH_SD],
                np.full(n, LN_RING_TIME_SD),
                np.full(m, DEVIATION),
                [GLIDE_SD] * int(glides),
            ]
        )

    def inside(self, parameters: NDArray[np.float64]) -> NDArray[np.float64]:
        """The nearest parameters that a span may have."""
        p = parameters.copy()
        fundamental_hz = np.exp(p[0])
        p[1] = np.clip(p[1], 0.0, MOST_STRETCH)
        p[self.ring_times] = np.clip(
            p[self.ring_times],
            np.log(SHORTEST_RING_PERIODS / fundamental_hz / self._numbers),
            np.log(LONGEST_RING_PERIODS / fundamental_hz),
        )
        if self.glides:
            p[-1] = np.clip(p[-1], LEAST_GLIDE, MOST_GLIDE)
        return p

    def frequencies_hz(self, p: NDArray[np.float64]) -> NDArray[np.float64]:
        """Small-amplitude frequencies, shape (n_partials,). [Hz]"""
        deviation = np.zeros(len(self._numbers))
        deviation[self._deviating] = p[self.deviations]
        return np.asarray(np.exp(p[0]) * partial_ratio(self._numbers, p[1]) * (1 + deviation))

    def columns(self, p: NDArray[np.float64]) -> NDArray[np.complex128]:
        """Whitened complex partials of amplitude 1, shape (n_samples, n_partials)."""
        frequency_hz = self.frequencies_hz(p)
        step_s = self.time_s[1] - self.time_s[0]
        columns = self._whitened_powers(
            np.exp((-np.exp(-p[self.ring_times]) + 2j * np.pi * frequency_hz) * step_s)
        )
        if self.glides:
            columns *= np.exp(2j * np.pi * frequency_hz * (p[-1] * self._bend_s(p))[:, None])
        return columns

    def _whitened_powers(self, turn: NDArray[np.complex128]) -> NDArray[np.complex128]:
        """Powers 0, 1, 2, ... of each `turn`, whitened; shape (n_samples, n_turns)."""
        # Powers by repeated multiplication: much quicker than exponentials, and exact to 1e-12 over a ring.
        columns = np.empty((len(self.time_s), len(turn)), dtype=np.complex128)
        columns[0] = 1.0
        columns[1:] = turn
        np.multiply.accumulate(columns, axis=0, out=columns)
        # The whitener acts on an exponential as a factor, which builds up over its first samples.
        delays = np.arange(len(self._whitener))
        gain = np.cumsum(self._whitener[:, None] * turn ** -delays[:, None], axis=0)
        n_build = min(len(gain), len(columns))
        columns[:n_build] *= gain[:n_build]
        columns[n_build:] *= gain[-1]
        return columns

    def slopes(
        self, p: NDArray[np.float64], columns: NDArray[np.complex128], phasors: NDArray[np.complex128]
    ) -> NDArray[np.float64]:
        """Derivative of the sound ``Re(columns @ phasors)`` by each parameter, shape (n_samples, n_parameters)."""
        parts = columns * phasors
        by_time = parts * (2j * np.pi * self.frequencies_hz(p))
        counted_s = self.time_s + p[-1] * self._bend_s(p) if self.glides else self.time_s
        by_frequency = (by_time * counted_s[:, None]).real  # d/d ln f_n
        n2 = self._numbers**2
        slopes = np.empty((len(self.time_s), self.n_parameters))
        slopes[:, 0] = by_frequency.sum(axis=1)
        slopes[:, 1] = by_frequency @ (0.5 * (n2 / (1 + p[1] * n2) - 1 / (1 + p[1])))
        slopes[:, self.ring_times] = parts.real * np.exp(-p[self.ring_times]) * self.time_s[:, None]
        slopes[:, self.deviations] = by_frequency[:, self._deviating]
        if self.glides:
            slopes[:, -1] = by_time.real.sum(axis=1) * self._bend_s(p)
        return slopes

    def _bend_s(self, p: NDArray[np.float64]) -> NDArray[np.float64]:
        """By how much time runs ahead for a glide of 1: the integral of exp(-2t/τ_1). [s]"""
        ring_time_s = np.exp(p[2])
        return np.asarray(ring_time_s / 2 * (1 - np.exp(-2 * self.time_s / ring_time_s)))


def real_columns(columns: NDArray[np.complex128]) -> NDArray[np.float64]:
    """Columns that take a phasor's real part and its imaginary part, in this order; shape (n, 2·n_columns)."""
    return np.hstack([columns.real, -columns.imag])

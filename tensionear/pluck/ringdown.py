"""Ring-down fit: a sum of decaying, slightly stretched, slightly gliding partials, by variable projection.

The sound is ``sum over n of a_n·exp(-t/τ_n)·cos(phase_n(t) + φ_n)`` with

    f_n = n·f_1·sqrt((1 + B·n²) / (1 + B))·(1 + e_n),
    phase_n(t) = 2π·f_n·(t + γ·τ_1/2·(1 - exp(-2t/τ_1))).

Amplitudes and phases enter linearly and are solved for at every step (variable projection [1]_, with Kaufman's
Jacobian [2]_); f_1, B, γ, the ring times and the deviations e_n are found by damped Gauss-Newton steps. The
deviations are held near 0 by a prior of width `DEVIATION`: where the fundamental is heard it alone decides, where
it is not the partials do, and the uncertainty knows the difference.

Conventions: time runs from the onset in seconds; the sound is whitened, so that the noise has variance 1.

References
----------
.. [1] G. H. Golub and V. Pereyra, Inverse Problems 19 (2003) R1 (from memory).
.. [2] L. Kaufman, BIT 15 (1975) 49 (from memory).
.. [3] Glide: the tension of a string rises with the square of its amplitude (Kirchhoff-Carrier), so the pitch falls
   back with twice the decay rate of the amplitude.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tensionear.pluck.hypotheses import partial_ratio

DEVIATION = 0.003
"""Standard deviation of a partial's frequency from the law of the stiff string, relative."""

MOST_STEPS = 25
SMALLEST_GAIN = 0.02
"""Gain of a step at which the fit has converged: f_1 is then within a seventh of its uncertainty. [nat, twice]"""

LONGEST_RING_PERIODS = 2000.0
SHORTEST_RING_PERIODS = 0.8


@dataclass(frozen=True)
class RingDownStart:
    """Where a fit begins.

    Attributes
    ----------
    fundamental_hz : float
        [Hz]
    stretch : float
        [1]
    ring_times_s : dict of int to float
        Numbers of the partials to fit, each with a guess of its ring time. [s]
    deviations : dict of int to float
        Where partials are known to lie off the law of the stiff string, relative; 0 for those not named.
    glides : bool
        Whether the pitch may glide.
    """

    fundamental_hz: float
    stretch: float
    ring_times_s: dict[int, float]
    deviations: dict[int, float] = field(default_factory=dict)
    glides: bool = False


@dataclass(frozen=True)
class RingDown:
    """A fitted ring-down.

    Attributes
    ----------
    fundamental_hz, fundamental_standard_uncertainty_hz : float
        Small-amplitude frequency and the standard uncertainty that the noise leaves it. [Hz]
    stretch : float
        B. [1]
    glide : float
        Relative rise of the pitch at the onset, γ. [1]
    numbers : array of int, shape (n_partials,)
    frequencies_hz, ring_times_s : arrays, shape (n_partials,)
        Of each partial. [Hz], [s]
    amplitudes : complex array, shape (n_partials,)
        Phasors at the onset, in whitened units times the whitener's gain: in units of the sound itself.
    residual : array, shape (n_samples,)
        Whitened sound less the fit.
    cost : float
        Weighted sum of squares of the residual and of the priors. [nat, twice]
    """

    fundamental_hz: float
    fundamental_standard_uncertainty_hz: float
    stretch: float
    glide: float
    numbers: NDArray[np.int_]
    frequencies_hz: NDArray[np.float64]
    ring_times_s: NDArray[np.float64]
    amplitudes: NDArray[np.complex128]
    residual: NDArray[np.float64]
    cost: float

    def as_start(self, glides: bool) -> RingDownStart:
        """Where this fit ended, as the beginning of the next."""
        law = self.fundamental_hz * partial_ratio(self.numbers.astype(np.float64), self.stretch)
        return RingDownStart(
            self.fundamental_hz,
            self.stretch,
            dict(zip(self.numbers.tolist(), self.ring_times_s.tolist(), strict=True)),
            dict(zip(self.numbers.tolist(), (self.frequencies_hz / law - 1).tolist(), strict=True)),
            glides,
        )

    def sound(self, time_s: NDArray[np.float64]) -> NDArray[np.float64]:
        """Fitted sound at times from the onset; shape as `time_s`. [as the sound that was fitted]"""
        first_ring_s = float(self.ring_times_s[0])
        bent_s = time_s + self.glide * first_ring_s / 2 * (1 - np.exp(-2 * time_s / first_ring_s))
        decay = np.exp(-np.multiply.outer(time_s, 1 / self.ring_times_s))
        turn = np.exp(2j * np.pi * np.multiply.outer(bent_s, self.frequencies_hz))
        return np.asarray((decay * turn @ self.amplitudes).real, dtype=np.float64)


class _Model:
    """Columns of the model and their derivatives at one set of parameters."""

    def __init__(
        self,
        numbers: NDArray[np.int_],
        glides: bool,
        time_s: NDArray[np.float64],
        whitener: NDArray[np.float64],
    ) -> None:
        self.numbers = numbers.astype(np.float64)
        self.n_partials = len(numbers)
        self.glides = glides
        self.time_s = time_s
        self.whitener = whitener
        # Parameters: ln f_1, B, ln τ_n for each, e_n for n > 1, γ.
        self.free_deviation = np.flatnonzero(numbers > 1)
        k = self.n_partials
        self.i_ring = slice(2, 2 + k)
        self.i_deviation = slice(2 + k, 2 + k + len(self.free_deviation))
        self.n_parameters = 2 + k + len(self.free_deviation) + int(glides)
        # Priors, as mean and standard deviation: they only hold what the sound says nothing of.
        self.prior_sd = np.concatenate(
            [
                [np.inf, 0.05],
                np.full(k, 1.5),
                np.full(len(self.free_deviation), DEVIATION),
                [0.02] * int(glides),
            ]
        )

    def frequencies(self, p: NDArray[np.float64]) -> NDArray[np.float64]:
        deviation = np.zeros(self.n_partials)
        deviation[self.free_deviation] = p[self.i_deviation]
        return np.asarray(np.exp(p[0]) * partial_ratio(self.numbers, p[1]) * (1 + deviation))

    def columns(self, p: NDArray[np.float64]) -> NDArray[np.complex128]:
        """Whitened complex partials of amplitude 1, shape (n_samples, n_partials)."""
        f = self.frequencies(p)
        step = self.time_s[1] - self.time_s[0]
        per_sample = np.exp((-np.exp(-p[self.i_ring]) + 2j * np.pi * f) * step)
        # Powers by repeated multiplication: much quicker than exponentials, and exact to 1e-12 over a ring.
        columns = np.empty((len(self.time_s), self.n_partials), dtype=np.complex128)
        columns[0] = 1.0
        columns[1:] = per_sample
        np.multiply.accumulate(columns, axis=0, out=columns)
        if self.glides:
            columns *= np.exp(2j * np.pi * f * (self.bent_time(p) - self.time_s)[:, None])
        # The whitener acts on an exponential as a factor, which builds up over its first samples.
        delays = np.arange(len(self.whitener))
        gain = np.cumsum(self.whitener[:, None] * per_sample[None, :] ** -delays[:, None], axis=0)
        n_build = min(len(gain), len(columns))
        columns[:n_build] *= gain[:n_build]
        columns[n_build:] *= gain[-1]
        return np.asarray(columns, dtype=np.complex128)

    def bent_time(self, p: NDArray[np.float64]) -> NDArray[np.float64]:
        """Time as the gliding pitch counts it."""
        if not self.glides:
            return self.time_s
        ring_time_s = np.exp(p[2])
        return np.asarray(
            self.time_s + p[-1] * ring_time_s / 2 * (1 - np.exp(-2 * self.time_s / ring_time_s))
        )

    def slopes(
        self, p: NDArray[np.float64], columns: NDArray[np.complex128], phasors: NDArray[np.complex128]
    ) -> NDArray[np.float64]:
        """Derivative of the model with respect to each parameter, shape (n_samples, n_parameters)."""
        parts = columns * phasors
        f = self.frequencies(p)
        by_frequency = parts * (2j * np.pi * f) * self.bent_time(p)[:, None]  # d/d ln f_n
        slopes = np.empty((len(self.time_s), self.n_parameters))
        slopes[:, 0] = by_frequency.real.sum(axis=1)
        n2 = self.numbers**2
        slopes[:, 1] = (by_frequency * (0.5 * (n2 / (1 + p[1] * n2) - 1 / (1 + p[1])))).real.sum(axis=1)
        slopes[:, self.i_ring] = (parts * np.exp(-p[self.i_ring])).real * self.time_s[:, None]
        slopes[:, self.i_deviation] = by_frequency.real[:, self.free_deviation]
        if self.glides:
            ring_time_s = np.exp(p[2])
            bend = ring_time_s / 2 * (1 - np.exp(-2 * self.time_s / ring_time_s))
            slopes[:, -1] = (parts * (2j * np.pi * f)).real.sum(axis=1) * bend
        return slopes


def fit_ringdown(
    whitened: NDArray[np.float64],
    sample_rate_hz: float,
    whitener: NDArray[np.float64],
    start: RingDownStart,
    weights: NDArray[np.float64],
) -> RingDown:
    """Fit the partials of one span to a ring.

    Parameters
    ----------
    whitened : array, shape (n_samples,)
        Whitened sound from the onset on.
    sample_rate_hz : float
        [Hz]
    whitener : array, shape (order + 1,)
        Filter that whitened the sound: the partials go through it as well.
    start : RingDownStart
        Where to begin, and which partials to fit.
    weights : array, shape (n_samples,)
        Weight of each sample, 0 to 1; a clank or a clipped stretch gets less.
    """
    numbers = np.asarray(sorted(start.ring_times_s), dtype=np.int_)
    time_s = np.arange(len(whitened)) / sample_rate_hz
    model = _Model(numbers, start.glides, time_s, whitener)
    p = np.zeros(model.n_parameters)
    p[0] = np.log(start.fundamental_hz)
    p[1] = start.stretch
    p[model.i_ring] = np.log([start.ring_times_s[int(n)] for n in numbers])
    p[model.i_deviation] = [start.deviations.get(int(n), 0.0) for n in numbers[model.free_deviation]]
    prior_mean = p.copy()
    prior_mean[1] = 0.0
    prior_mean[model.i_deviation] = 0.0

    root = np.sqrt(weights)
    target = root * whitened

    def solve(
        p: NDArray[np.float64],
    ) -> tuple[
        float, NDArray[np.complex128], NDArray[np.complex128], NDArray[np.float64], NDArray[np.float64]
    ]:
        columns = model.columns(p)
        real = np.hstack([columns.real, -columns.imag]) * root[:, None]
        # A little ridge: two partials of the same frequency must not blow up.
        q, r = np.linalg.qr(real)
        projected = q.T @ target
        scale = np.abs(np.diag(r)).max()
        coefficients = np.linalg.solve(r + 1e-9 * scale * np.eye(len(r)), projected)
        residual = target - q @ projected
        k = model.n_partials
        phasors = coefficients[:k] + 1j * coefficients[k:]
        prior = (p - prior_mean) / model.prior_sd
        return float(residual @ residual + prior @ prior), columns, phasors, residual, q

    def inside(p: NDArray[np.float64]) -> NDArray[np.float64]:
        p = p.copy()
        p[1] = np.clip(p[1], 0.0, 0.3)
        f = np.exp(p[0])
        p[model.i_ring] = np.clip(
            p[model.i_ring], np.log(SHORTEST_RING_PERIODS / f / numbers), np.log(LONGEST_RING_PERIODS / f)
        )
        if model.glides:
            p[-1] = np.clip(p[-1], -0.01, 0.15)
        return p

    p = inside(p)
    cost, columns, phasors, residual, q = solve(p)
    damping = 1e-3
    normal = np.eye(model.n_parameters)
    for _ in range(MOST_STEPS):
        slopes = model.slopes(p, columns, phasors) * root[:, None]
        slopes -= q @ (q.T @ slopes)
        normal = slopes.T @ slopes + np.diag(model.prior_sd**-2.0)
        gradient = slopes.T @ residual - (p - prior_mean) * model.prior_sd**-2.0
        improved = False
        for _ in range(6):
            step = np.linalg.solve(
                normal + damping * np.diag(np.diag(normal)) + 1e-12 * np.eye(len(p)), gradient
            )
            step *= min(1.0, 0.02 / (abs(step[0]) + 1e-30))
            trial = inside(p + step)
            trial_cost, *found = solve(trial)
            if trial_cost <= cost:
                improved = True
                break
            damping = max(damping, 1e-4) * 8
        if not improved:
            break
        gained = cost - trial_cost
        p, cost = trial, trial_cost
        columns, phasors, residual, q = found
        damping *= 0.2
        if gained < SMALLEST_GAIN:
            break
    slopes = model.slopes(p, columns, phasors) * root[:, None]
    slopes -= q @ (q.T @ slopes)
    normal = slopes.T @ slopes + np.diag(model.prior_sd**-2.0)
    covariance = np.linalg.pinv(normal, hermitian=True)
    fundamental_hz = float(np.exp(p[0]))
    fit = (columns * phasors).real.sum(axis=1)
    return RingDown(
        fundamental_hz=fundamental_hz,
        fundamental_standard_uncertainty_hz=fundamental_hz * float(np.sqrt(covariance[0, 0])),
        stretch=float(p[1]),
        glide=float(p[-1]) if model.glides else 0.0,
        numbers=numbers,
        frequencies_hz=model.frequencies(p),
        ring_times_s=np.exp(p[model.i_ring]),
        amplitudes=phasors,
        residual=whitened - fit,
        cost=cost,
    )

"""Ring-down fit: a sum of decaying, slightly stretched, slightly gliding partials, by variable projection.

The sound is ``sum over n of a_n·exp(-t/τ_n)·cos(phase_n(t) + φ_n)`` with

    f_n = n·f_1·sqrt((1 + B·n²) / (1 + B))·(1 + e_n),
    phase_n(t) = 2π·f_n·(t + γ·τ_1/2·(1 - exp(-2t/τ_1))).

Amplitudes and phases enter linearly and are solved for at every step (variable projection [1]_, with Kaufman's
Jacobian [2]_); f_1, B, γ, the ring times and the deviations e_n are found by damped Gauss-Newton steps. The
deviations are held near 0 by a prior: where the fundamental is heard it alone decides, where it is not the partials
do, and the uncertainty knows the difference. The pitch glides because a pluck stretches the belt: the tension rises
with the square of the amplitude (Kirchhoff-Carrier), so it falls back at twice the rate of the amplitude.

Conventions: time runs from the onset in seconds; the sound is whitened, so that the noise has variance 1.

References
----------
.. [1] G. H. Golub and V. Pereyra, Inverse Problems 19 (2003) R1 (from memory).
.. [2] L. Kaufman, BIT 15 (1975) 49 (from memory).
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
import scipy
from numpy.typing import NDArray

from tensionear.pluck.hypotheses import partial_ratio
from tensionear.pluck.partials import PartialsModel, real_columns

MOST_STEPS = 25
MOST_TRIALS = 6
SMALLEST_GAIN = 0.02
"""Gain of a step at which the fit has converged: f_1 is then within a seventh of its uncertainty. [nat, twice]"""

NO_TONES = np.empty((2, 0))

EARLY_S = 0.1
"""Time for which a partial's energy counts when the strongest is looked for. [s]"""

LONGEST_STEP = 0.02
"""Largest relative change of f_1 in one step."""


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
    glide : float
        Relative rise of the pitch at the onset. [1]
    glides : bool
        Whether the pitch may glide.
    """

    fundamental_hz: float
    stretch: float
    ring_times_s: dict[int, float]
    deviations: dict[int, float] = field(default_factory=dict)
    glide: float = 0.0
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
    glides : bool
        Whether it was fitted.
    numbers : array of int, shape (n_partials,)
    frequencies_hz, ring_times_s : arrays, shape (n_partials,)
        Of each partial. [Hz], [s]
    amplitudes : complex array, shape (n_partials,)
        Phasors at the onset, in units of the sound before it was whitened.
    residual : array, shape (n_samples,)
        Whitened sound less the fit.
    model : PartialsModel
    parameters : array, shape (n_parameters,)
        Where the fit ended, in the model's own terms.
    """

    fundamental_hz: float
    fundamental_standard_uncertainty_hz: float
    stretch: float
    glide: float
    glides: bool
    numbers: NDArray[np.int_]
    frequencies_hz: NDArray[np.float64]
    ring_times_s: NDArray[np.float64]
    amplitudes: NDArray[np.complex128]
    residual: NDArray[np.float64]
    model: PartialsModel
    parameters: NDArray[np.float64]

    @property
    def half_bandwidth_hz(self) -> float:
        """Half the width of the fundamental's peak, 1/(2πτ). [Hz]"""
        return 1 / (2 * math.pi * float(self.ring_times_s[0]))

    def strongest(self, among: Iterable[int], from_s: float) -> int:
        """Index of the partial with most energy from `from_s` after the onset on, of those numbered `among`."""
        amplitudes = np.abs(self.amplitudes) * np.exp(-from_s / self.ring_times_s)
        energy = amplitudes**2 * np.minimum(self.ring_times_s, EARLY_S)
        return int(np.argmax(np.where(np.isin(self.numbers, list(among)), energy, -1.0)))

    def as_start(self) -> RingDownStart:
        """Where this fit ended, as the beginning of the next."""
        law_hz = self.fundamental_hz * partial_ratio(self.numbers.astype(np.float64), self.stretch)
        numbers = self.numbers.tolist()
        return RingDownStart(
            self.fundamental_hz,
            self.stretch,
            dict(zip(numbers, self.ring_times_s.tolist(), strict=True)),
            dict(zip(numbers, (self.frequencies_hz / law_hz - 1).tolist(), strict=True)),
            self.glide,
            self.glides,
        )

    def sound(self, time_s: NDArray[np.float64]) -> NDArray[np.float64]:
        """Fitted sound at times from the onset; shape as `time_s`. [as the sound that was fitted]"""
        first_ring_s = float(self.ring_times_s[0])
        bent_s = time_s + self.glide * first_ring_s / 2 * (1 - np.exp(-2 * time_s / first_ring_s))
        decay = np.exp(-np.multiply.outer(time_s, 1 / self.ring_times_s))
        turn = np.exp(2j * np.pi * np.multiply.outer(bent_s, self.frequencies_hz))
        return np.asarray((decay * turn @ self.amplitudes).real, dtype=np.float64)


@dataclass(frozen=True)
class _Solution:
    """The linear part solved at one set of parameters; rows weighted where it says so."""

    parameters: NDArray[np.float64]
    columns: NDArray[np.complex128]
    phasors: NDArray[np.complex128]
    tones: NDArray[np.float64]  # what is left of steady tones
    linear: NDArray[np.float64]  # columns of partials and tones, weighted
    factor: NDArray[np.float64]  # lower Cholesky factor of their normal matrix
    residual: NDArray[np.float64]  # weighted
    cost: float


class _Fit:
    """One fit: the sound, its weights and priors, and the steps towards the best parameters."""

    def __init__(
        self,
        model: PartialsModel,
        sound: NDArray[np.float64],
        weights: NDArray[np.float64],
        prior_mean: NDArray[np.float64],
        tones_sd: NDArray[np.float64],
    ) -> None:
        self._model = model
        self._root = np.sqrt(weights)
        self._target = self._root * sound
        self._tones = real_columns(model.tones) * self._root[:, None]
        self._tones_precision = np.tile(
            tones_sd**-2.0, 2
        )  # what is left of the tones is expected to be small
        self._prior_mean = prior_mean
        self._prior_weight = model.prior_sd**-2.0

    def run(self, parameters: NDArray[np.float64]) -> _Solution:
        now = self._solve(parameters)
        damping = 1e-3
        for _ in range(MOST_STEPS):
            normal, gradient = self._normal(now)
            for _ in range(MOST_TRIALS):
                step = np.linalg.solve(normal + np.diag(damping * np.diag(normal) + 1e-12), gradient)
                step *= min(1.0, LONGEST_STEP / (abs(step[0]) + 1e-30))
                trial = self._solve(self._model.inside(now.parameters + step))
                if trial.cost <= now.cost:
                    break
                damping = max(damping, 1e-4) * 8
            else:
                break
            gain, now = now.cost - trial.cost, trial
            damping *= 0.2
            if gain < SMALLEST_GAIN:
                break
        return now

    def covariance(self, solution: _Solution) -> NDArray[np.float64]:
        return np.asarray(np.linalg.pinv(self._normal(solution)[0], hermitian=True))

    def _solve(self, parameters: NDArray[np.float64]) -> _Solution:
        columns = self._model.columns(parameters)
        n = columns.shape[1]
        linear = np.hstack([real_columns(columns) * self._root[:, None], self._tones])
        normal = linear.T @ linear
        # A trace of ridge: two partials of one frequency must not blow up.
        normal.flat[:: len(normal) + 1] += 1e-10 * np.max(np.diag(normal))
        normal.flat[2 * n * (len(normal) + 1) :: len(normal) + 1] += self._tones_precision
        factor = np.asarray(np.linalg.cholesky(normal), dtype=np.float64)
        coefficients = scipy.linalg.cho_solve((factor, True), linear.T @ self._target, check_finite=False)
        residual = self._target - linear @ coefficients
        off_prior = parameters - self._prior_mean
        cost = float(residual @ residual + off_prior**2 @ self._prior_weight)
        cost += float(coefficients[2 * n :] ** 2 @ self._tones_precision)
        phasors = coefficients[:n] + 1j * coefficients[n : 2 * n]
        tones = self._model.tones @ (coefficients[2 * n :].reshape(2, -1).T @ [1, 1j])
        return _Solution(parameters, columns, phasors, tones.real, linear, factor, residual, cost)

    def _normal(self, now: _Solution) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Normal matrix and gradient of the parameters, the linear part projected out."""
        slopes = self._model.slopes(now.parameters, now.columns, now.phasors) * self._root[:, None]
        shared = now.linear.T @ slopes
        normal = slopes.T @ slopes - shared.T @ scipy.linalg.cho_solve(
            (now.factor, True), shared, check_finite=False
        )
        normal.flat[:: len(normal) + 1] += self._prior_weight
        return normal, slopes.T @ now.residual - (now.parameters - self._prior_mean) * self._prior_weight


def fit_ringdown(
    whitened: NDArray[np.float64],
    sample_rate_hz: float,
    whitener: NDArray[np.float64],
    start: RingDownStart,
    weights: NDArray[np.float64],
    tones: NDArray[np.float64] = NO_TONES,
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
        Weight of each sample, 0 to 1; a clank or the room's answer gets less.
    tones : array, shape (2, n_tones)
        Frequencies of steady tones that were taken out of the sound, and how much of each may be left, as the
        standard deviation of its amplitude. [Hz], [as the sound before it was whitened]
    """
    numbers = np.asarray(sorted(start.ring_times_s), dtype=np.int_)
    time_s = np.arange(len(whitened)) / sample_rate_hz
    model = PartialsModel(numbers, start.glides, time_s, whitener, tones[0])
    guess = np.zeros(model.n_parameters)
    guess[0] = np.log(start.fundamental_hz)
    guess[model.ring_times] = np.log([start.ring_times_s[int(n)] for n in numbers])
    prior_mean = guess.copy()
    guess[1] = start.stretch
    if start.glides:
        guess[-1] = start.glide
    guess[model.deviations] = [start.deviations.get(int(n), 0.0) for n in numbers if n > 1]

    fit = _Fit(model, whitened, weights, prior_mean, tones[1])
    best = fit.run(model.inside(guess))
    p = best.parameters
    fundamental_hz = float(np.exp(p[0]))
    return RingDown(
        fundamental_hz=fundamental_hz,
        fundamental_standard_uncertainty_hz=fundamental_hz * float(np.sqrt(fit.covariance(best)[0, 0])),
        stretch=float(p[1]),
        glide=float(p[-1]) if start.glides else 0.0,
        glides=start.glides,
        numbers=numbers,
        frequencies_hz=model.frequencies_hz(p),
        ring_times_s=np.exp(p[model.ring_times]),
        amplitudes=best.phasors,
        residual=whitened - (best.columns @ best.phasors).real - best.tones,
        model=model,
        parameters=p,
    )

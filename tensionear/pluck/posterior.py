"""What the fundamental is, when it is not known how much the room answers and how much the pitch glides.

A room gives the ring back, late and blurred. Beside a partial ``s(t) = a·exp(λt)`` then sounds ``s(t)·W(t)``, with a
random walk ``W``: each moment of the room's response adds a complex step whose variance is the response's energy,
over the ``|exp(λt)|²`` by which the partial has faded since. Least squares takes such a walk of the phase for a
change of the frequency; here it has columns of its own, held small by the room's strength.

How strong the room is, how long it rings, how much knocked at the beginning and how far the pitch glides is not
known. The fit is therefore made linear about the least squares solution, solved for each answer on a grid, and all
answers are averaged by how well they explain the sound (Bayesian model averaging [1]_): where nothing speaks for a
room or a glide the fundamental is as sharp as the noise allows; where the sound leaves that open, the uncertainty
says so.

Conventions: time runs from the onset in seconds; the sound is whitened, so that the noise has variance 1.

References
----------
.. [1] J. A. Hoeting et al., Bayesian model averaging: a tutorial, Statist. Sci. 14 (1999) 382 (from memory).
.. [2] H. Kuttruff, Room Acoustics, ch. 3 (from memory): a room's late response is Gaussian noise that decays
   exponentially.
"""

import itertools
import math
from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import NDArray

from tensionear.pluck.partials import real_columns
from tensionear.pluck.ringdown import RingDown

ROOMS_DB = (-24.0, -18.0, -12.0, -6.0, 0.0)
ROOM_WEIGHTS = (0.17, 0.25, 0.24, 0.14, 0.08)
NO_ROOM_WEIGHT = 0.12
"""Energy of a room's response over that of the direct sound, and how often it is met where belts are plucked: a
microphone at 10 cm to 1.5 m in rooms whose critical distance is 1 to 5 m. [dB], [1]"""

ROOM_FADES_S = (0.06, 0.2)
"""Times in which a room's response falls to 1/e: reverberation times of 0.4 and 1.4 s. [s]"""

EARLY_S, EARLY_SHARE = 0.008, 0.5
"""The first reflections come within some milliseconds, and hold about half of the energy. [s], [1]"""

KNOCKS = (0.0, 0.1)
"""Energy of what knocks with the pluck beside the partial, over the partial's; taken for early reflections. [1]"""

GLIDES = (1e-5, 0.005, 0.02, 0.06)
GLIDE_WEIGHTS = (0.25, 0.2, 0.25, 0.3)
"""How far a pluck of 0.3 to 4 mm raises the pitch of spans of 0.1 to 0.5 m: scales of half-normal distributions, and
how often they are met. [1]"""

STEPS_OF_FUNDAMENTAL, STEPS_OF_PARTIAL = 16, 4
WALKED_RING_TIMES = 4.0
"""Steps of the random walk, over how many ring times: dense at first, where the early reflections are."""

HEARD = 30.0
"""Energy over the noise, a sample, above which a partial's walk matters. [1]"""

UNDERRATED = 1.2
ROOM_PULL, UNSEEN_PULL = 0.7, 0.04
"""What the average leaves out, found on simulated plucks (`docs/accuracy.md`): a factor on its standard deviation,
and shares of the half bandwidth, one for a room as strong as the direct sound and one for what nobody sees. [1]"""

_FREE = 1e-12
_LEAST_VARIANCE = 1e-14


@dataclass(frozen=True)
class Posterior:
    """What is known of a fundamental.

    Attributes
    ----------
    fundamental_hz, standard_uncertainty_hz : float
        Mean over all rooms and glides, and what is not known of it. [Hz]
    glide : float
        Relative rise of the pitch at the onset. [1]
    room_db : float
        Energy of the room's answer over that of the direct sound; -60 where nothing speaks for one. [dB]
    residual : array, shape (n_samples,)
        Whitened sound less partials and room.
    """

    fundamental_hz: float
    standard_uncertainty_hz: float
    glide: float
    room_db: float
    residual: NDArray[np.float64]


@dataclass(frozen=True)
class _Room:
    """One answer to what is not known of the room."""

    energy: float
    fade_s: float
    knock: float
    weight: float


_USUAL_ROOM = _Room(10**-1.2, 0.1, 0.05, 1.0)


class _Walk:
    """The random walk of one partial: where its steps end, and how much the energy of a response makes of them."""

    def __init__(self, n_steps: int, ring_time_s: float) -> None:
        self.edges_s = np.linspace(0, 1, n_steps + 1) ** 1.5 * WALKED_RING_TIMES * ring_time_s
        self._ring_time_s = ring_time_s
        self._early = self._grown(EARLY_S)
        self._late = {fade_s: self._grown(fade_s / 2) for fade_s in (*ROOM_FADES_S, _USUAL_ROOM.fade_s)}

    def _grown(self, fade_s: float) -> NDArray[np.float64]:
        """Variance of the steps for a response of energy 1 that fades to 1/e in `fade_s`; shape (n_steps,)."""
        rate = 2 / self._ring_time_s - 1 / fade_s
        rate = rate if abs(rate) > 1e-9 else 1e-9
        return np.asarray(np.diff(np.exp(rate * self.edges_s)) / (rate * fade_s))

    def variance(self, room: _Room) -> NDArray[np.float64]:
        """Variance of the steps, those of the walk's real part before those of its imaginary part."""
        early = EARLY_SHARE * room.energy + room.knock
        late = (1 - EARLY_SHARE) * room.energy
        variance = 0.5 * (early * self._early + late * self._late[room.fade_s])
        return np.tile(np.maximum(variance, _LEAST_VARIANCE), 2)


_ROOMS = [
    *(_Room(0.0, ROOM_FADES_S[0], knock, NO_ROOM_WEIGHT / len(KNOCKS)) for knock in KNOCKS),
    *(
        _Room(10 ** (db / 10), fade_s, knock, weight / (len(ROOM_FADES_S) * len(KNOCKS)))
        for (db, weight), fade_s, knock in itertools.product(
            zip(ROOMS_DB, ROOM_WEIGHTS, strict=True), ROOM_FADES_S, KNOCKS
        )
    ),
]


@dataclass(frozen=True)
class _Answer:
    """The fundamental's logarithm, less the fit's, in one room and with one scale of glides; and all coefficients."""

    log_evidence: float
    shift: float
    variance: float
    glide: float
    room: _Room
    coefficients: NDArray[np.float64]


class _Linear:
    """The fit made linear: columns, what they explain, and the priors of their coefficients."""

    def __init__(
        self,
        fit: RingDown,
        whitened: NDArray[np.float64],
        weights: NDArray[np.float64],
        tones_sd: NDArray[np.float64],
    ) -> None:
        model, parameters = fit.model, fit.parameters
        columns = model.columns(parameters)
        parts = columns * fit.amplitudes
        root = np.sqrt(weights)
        energy = np.sum((parts.real * root[:, None]) ** 2, axis=0)
        walks: list[NDArray[np.float64]] = []
        self._walks: list[_Walk] = []
        for i, ring_time_s in enumerate(fit.ring_times_s):
            if i and energy[i] < HEARD:
                continue
            walk = _Walk(STEPS_OF_PARTIAL if i else STEPS_OF_FUNDAMENTAL, float(ring_time_s))
            edges_s = walk.edges_s
            walked = np.clip((model.time_s[:, None] - edges_s[:-1]) / np.diff(edges_s), 0, 1)
            walks.append(real_columns(parts[:, i : i + 1] * walked))
            self._walks.append(walk)
        slopes = model.slopes(parameters, columns, fit.amplitudes)
        self._columns = np.hstack([slopes, real_columns(columns), real_columns(model.tones), *walks])
        self._left = whitened - parts.real.sum(axis=1)
        self._glide = slopes.shape[1] - 1
        self._fit_glide = fit.glide
        n_held = self._columns.shape[1] - sum(walk.shape[1] for walk in walks)
        n_tones = 2 * len(tones_sd)
        self._held = np.full(n_held, _FREE)
        self._mean = np.zeros(self._columns.shape[1])
        self._held[1 : self._glide] = model.prior_sd[1 : self._glide] ** -2.0
        self._held[n_held - n_tones :] = np.tile(tones_sd**-2.0, 2)
        self._mean[1] = -parameters[1]
        self._mean[model.deviations] = -parameters[model.deviations]
        weighted = self._columns * root[:, None]
        left = self._left * root
        self._normal, self._gradient, self._power = weighted.T @ weighted, left @ weighted, float(left @ left)

    def solved(self, room: _Room) -> tuple[float, NDArray[np.float64], NDArray[np.float64]]:
        """Log evidence of a room, coefficients, and the covariance of frequency and glide, whatever the glide."""
        precision = np.concatenate([self._held, *(1 / walk.variance(room) for walk in self._walks)])
        hessian = self._normal.copy()
        hessian.flat[:: len(hessian) + 1] += precision
        target = self._gradient + precision * self._mean
        scale = 1 / np.sqrt(np.diag(hessian))
        hessian *= scale[:, None] * scale
        hessian.flat[:: len(hessian) + 1] += 1e-13
        triangle = np.linalg.cholesky(hessian)
        wanted = np.zeros((len(scale), 3))
        wanted[0, 0] = wanted[self._glide, 1] = 1.0
        wanted[:, 2] = target
        solution = scale[:, None] * scipy.linalg.cho_solve(
            (triangle, True), scale[:, None] * wanted, check_finite=False
        )
        coefficients = solution[:, 2]
        volume = 2 * float(np.sum(np.log(np.diag(triangle)) - np.log(scale)))
        volume -= float(np.sum(np.log(precision[len(self._held) :])))
        evidence = math.log(room.weight) - 0.5 * volume - 0.5 * (self._power - float(target @ coefficients))
        return evidence, coefficients, solution[[0, self._glide], :2]

    def answers(self, room: _Room) -> list[_Answer]:
        """Answers in one room, for each scale of glides."""
        evidence, coefficients, covariance = self.solved(room)
        free_glide = self._fit_glide + float(coefficients[self._glide])
        variance = float(covariance[1, 1])
        slope = float(covariance[0, 1]) / variance
        found: list[_Answer] = []
        for scale, weight in zip(GLIDES, GLIDE_WEIGHTS, strict=True):
            # A half-normal prior times the normal that the sound leaves: a normal cut off at 0.
            total = variance + scale**2
            centre, sd = free_glide * scale**2 / total, scale * math.sqrt(variance / total)
            inside = centre / sd
            log_inside = float(scipy.special.log_ndtr(inside))
            ratio = math.exp(-0.5 * inside**2 - 0.5 * math.log(2 * math.pi) - log_inside)
            glide = centre + sd * ratio
            glide_variance = sd**2 * max(1e-6, 1 - ratio * (ratio + inside))
            found.append(
                _Answer(
                    evidence
                    + math.log(2 * weight)
                    - 0.5 * math.log(total)
                    - 0.5 * free_glide**2 / total
                    + log_inside,
                    float(coefficients[0]) + slope * (glide - free_glide),
                    float(covariance[0, 0]) + slope**2 * (glide_variance - variance),
                    glide,
                    room,
                    coefficients,
                )
            )
        return found

    def residual(self, coefficients: NDArray[np.float64]) -> NDArray[np.float64]:
        """What the columns leave of the whitened sound, shape (n_samples,)."""
        return np.asarray(self._left - self._columns @ coefficients, dtype=np.float64)


def residual_in_usual_room(
    fit: RingDown,
    whitened: NDArray[np.float64],
    weights: NDArray[np.float64],
    tones_sd: NDArray[np.float64],
) -> NDArray[np.float64]:
    """What is left of a ring besides its partials and a usual room's answer: noise, clanks, other spans.

    Parameters
    ----------
    fit, whitened, weights, tones_sd
        As for `posterior`.

    Returns
    -------
    array, shape (n_samples,)
    """
    linear = _Linear(fit, whitened, weights, tones_sd)
    _, coefficients, _ = linear.solved(_USUAL_ROOM)
    return linear.residual(coefficients)


def posterior(
    fit: RingDown,
    whitened: NDArray[np.float64],
    weights: NDArray[np.float64],
    tones_sd: NDArray[np.float64],
) -> Posterior:
    """Average the fundamental over rooms and glides.

    Parameters
    ----------
    fit : RingDown
        Least squares solution, with a glide, about which the model is made linear.
    whitened, weights : arrays, shape (n_samples,)
        Whitened sound from the onset on, and the weight of each sample, 0 to 1.
    tones_sd : array, shape (n_tones,)
        How much of each steady tone that the fit allowed for may be left.
    """
    linear = _Linear(fit, whitened, weights, tones_sd)
    answers = [answer for room in _ROOMS for answer in linear.answers(room)]
    evidence = np.asarray([answer.log_evidence for answer in answers])
    weight = np.exp(evidence - evidence.max())
    weight /= weight.sum()
    shift = np.asarray([answer.shift for answer in answers])
    mean = float(weight @ shift)
    variance = float(weight @ (np.asarray([answer.variance for answer in answers]) + (shift - mean) ** 2))
    room_db = float(weight @ [_room_db(answer.room) for answer in answers])
    best = answers[int(np.argmax(weight))]
    pull = math.hypot(ROOM_PULL * 10 ** (room_db / 20), UNSEEN_PULL) * fit.half_bandwidth_hz
    fundamental_hz = fit.fundamental_hz * math.exp(mean)
    return Posterior(
        fundamental_hz,
        math.hypot(UNDERRATED * fundamental_hz * math.sqrt(variance), pull),
        float(weight @ [answer.glide for answer in answers]),
        room_db,
        linear.residual(best.coefficients),
    )


def _room_db(room: _Room) -> float:
    return 10 * math.log10(max(room.energy, 1e-6))

"""By which law a belt settles during run-in, and what as many revolutions again would bring.

Two laws are laid to the mean tensions, as shares of the tension, each with a number of revolutions r of its own:

- approach to a plateau: ln T = a + b·exp(-x/r), a fall that ends;
- logarithm: ln T = a - b·ln(1 + x/r), that is a power law T ∝ (1 + x/r)^-b, a fall that slows down and never ends.

Which holds, and with which r, is seldom told by five or six counts. So no r is chosen: each law is averaged over a
grid of them, weighed by how well they explain the plucks, [1]_. The two laws are weighed against each other likewise,
but a law that is not clearly ruled out has its whole interval within the one that is told: averaging would hide it.
The laws are usual for materials that settle; that belts follow one of them is an assumption (ours).

References
----------
.. [1] J. A. Hoeting, D. Madigan, A. E. Raftery, C. T. Volinsky, "Bayesian model averaging: a tutorial", Statistical
   Science 14 (1999) 382-417 (from memory): mean and variance over models.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import scipy
from numpy.typing import NDArray

from tensionear.metrology.levelling import SIGNIFICANCE, stretch_fall
from tensionear.metrology.tension_ratio import PluckMean, Repeatability
from tensionear.metrology.uncertainty import Measured

LEAST_COUNTS = 4
"""Fewer counts than this leave nothing to judge a curve of three numbers by. [1]"""

CLEAR_PROBABILITY = 0.9
"""A law is named only if it is at least as probable as this (ours). [1]"""

LEAST_PROBABILITY = 0.05
"""A law that is less probable than this is left out of the interval (ours). [1]"""

_N_GRID = 200


class SettlingLaw(StrEnum):
    """How the fall goes on; the value is the law's name in a record."""

    PLATEAU = "approach to a plateau"
    LOGARITHM = "logarithm of the revolutions"


class NoForecast(StrEnum):
    """Why it cannot be told what more revolutions would bring."""

    DISAGREE = "plucks at one count of revolutions do not agree"
    FEW_COUNTS = "plucked at fewer than four counts of revolutions"
    NO_REPEATS = "nowhere plucked twice, so that it is not known how plucks scatter"
    NO_FALL = "no fall is to be told from the scatter of the plucks"
    NO_LAW = "neither law of settling describes the plucks"
    TOO_UNSURE = "the fall so far does not carry it"


@dataclass(frozen=True)
class FurtherFall:
    """What further revolutions would bring by the laws.

    Attributes
    ----------
    revolutions : float
        So many more: as many again as were turned.
    log_fall : Measured
        Fall of the natural logarithm of the tension in them. [1]
    plateau_probability : float
        Of the approach to a plateau, against the logarithm, 0 to 1, both equally likely before. [1]
    """

    revolutions: float
    log_fall: Measured
    plateau_probability: float

    @property
    def fall_share(self) -> Measured:
        """The fall as a share of the tension at the end of the run-in. [1]."""
        return Measured(
            -math.expm1(-self.log_fall.value),
            math.exp(-self.log_fall.value) * self.log_fall.standard_uncertainty,
            self.log_fall.degrees_of_freedom,
        )

    @property
    def law(self) -> SettlingLaw | None:
        """The law, if one of them is clearly the more probable."""
        if self.plateau_probability >= CLEAR_PROBABILITY:
            return SettlingLaw.PLATEAU
        return SettlingLaw.LOGARITHM if self.plateau_probability <= 1 - CLEAR_PROBABILITY else None


def further_fall(
    revolutions: Sequence[float],
    means: Sequence[PluckMean],
    repeatability: Repeatability | None,
    significance: float = SIGNIFICANCE,
) -> FurtherFall | NoForecast:
    """Fall to be expected if as many revolutions are turned again.

    Parameters
    ----------
    revolutions : sequence of float
        Counts since the over-tension pass, 0 or more, rising.
    means : sequence of PluckMean
        One for each count.
    repeatability : Repeatability or None
        Of a single pluck.
    significance : float
        At which the laws, or that there was no fall, are rejected; above 0, below 0.5.

    Notes
    -----
    With r held, each law is a straight line in a shape that goes from 0 at the start to 1 at the end, so that its
    slope is the fall so far in every law and none is preferred for its units. Its weight is the likelihood with
    level, slope and scatter integrated over. The laws are rejected if the best misfit is too large for the scatter
    of the plucks, by the F distribution.
    """
    if len(means) < LEAST_COUNTS:
        return NoForecast.FEW_COUNTS
    if repeatability is None:
        return NoForecast.NO_REPEATS
    if stretch_fall(means, repeatability).probability_by_chance() >= significance:
        return NoForecast.NO_FALL
    variance, degrees = _pluck_variance(means, repeatability)
    if variance == 0:
        return NoForecast.NO_REPEATS
    turned = np.asarray(revolutions, dtype=np.float64) - revolutions[0]
    fits = [_fit(*shapes, means) for shapes in (_plateau_shapes(turned), _logarithm_shapes(turned))]
    n_left = len(means) - LEAST_COUNTS + 1
    best = min(float(fit.misfits.min()) for fit in fits)
    if _probability_of_misfit(best, n_left, variance, degrees) < significance:
        return NoForecast.NO_LAW
    logs = [_log_likelihoods(fit, len(means) - 2, variance, degrees) for fit in fits]
    highest = max(float(each.max()) for each in logs)
    evidence = [float(np.exp(each - highest).mean()) for each in logs]
    plateau_probability = evidence[0] / sum(evidence)
    told = [_averaged(fit, log, variance, degrees) for fit, log in zip(fits, logs, strict=True)]
    further = _enclosed(told, (plateau_probability, 1 - plateau_probability))
    if further.expanded_uncertainty > means[0].log_tension - means[-1].log_tension:
        return NoForecast.TOO_UNSURE
    return FurtherFall(float(turned[-1]), further, plateau_probability)


@dataclass(frozen=True)
class _Fit:
    """A law at every r of its grid, one in a row: arrays of shape (n,)."""

    slopes: NDArray[np.float64]
    squares: NDArray[np.float64]
    misfits: NDArray[np.float64]
    goes_on: NDArray[np.float64]


def _pluck_variance(means: Sequence[PluckMean], repeatability: Repeatability) -> tuple[float, float]:
    """Variance of a single pluck with its degrees of freedom: by scatter or by the readings, what reaches further."""
    n_plucks = sum(mean.n_plucks for mean in means)
    own = math.sqrt(sum(mean.own_variance * mean.n_plucks**2 for mean in means) / n_plucks)
    by_readings = Measured(0.0, own)
    by_scatter = Measured(0.0, repeatability.scatter_share, repeatability.degrees_of_freedom)
    larger = max(by_readings, by_scatter, key=lambda measured: measured.expanded_uncertainty)
    return larger.standard_uncertainty**2, larger.degrees_of_freedom


def _plateau_shapes(turned: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Shapes at the counts, one r in a row, and how far each goes on in as many revolutions again."""
    # From a fall that is over at the first count to one that is nearly straight.
    r = np.geomspace(np.diff(turned).min() / 5, 3 * turned[-1], _N_GRID)[:, None]
    return np.expm1(-turned / r) / np.expm1(-turned[-1] / r), np.exp(-turned[-1] / r[:, 0])


def _logarithm_shapes(turned: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    r = np.geomspace(np.diff(turned).min() / 50, 3 * turned[-1], _N_GRID)[:, None]
    whole = np.log1p(turned[-1] / r)
    return np.log1p(turned / r) / whole, (np.log1p(2 * turned[-1] / r) / whole)[:, 0] - 1


def _fit(shapes: NDArray[np.float64], goes_on: NDArray[np.float64], means: Sequence[PluckMean]) -> _Fit:
    n_plucks = np.array([mean.n_plucks for mean in means], dtype=np.float64)
    logs = np.array([mean.log_tension for mean in means])
    logs = logs - np.average(logs, weights=n_plucks)
    about = shapes - np.average(shapes, axis=1, weights=n_plucks)[:, None]
    squares = about**2 @ n_plucks
    slopes = -(about @ (n_plucks * logs)) / squares
    misfits = (logs + slopes[:, None] * about) ** 2 @ n_plucks
    return _Fit(slopes, squares, misfits, goes_on)


def _probability_of_misfit(misfit: float, n_left: int, variance: float, degrees: float) -> float:
    # A variance that is known without doubt is, for F, one with very many degrees of freedom.
    return float(scipy.special.fdtrc(n_left, min(degrees, 1e9), misfit / n_left / variance))


def _log_likelihoods(fit: _Fit, n_left: int, variance: float, degrees: float) -> NDArray[np.float64]:
    """Logarithms of the likelihoods, with level, slope and scatter integrated over."""
    chi_squares = fit.misfits / variance
    known = math.isinf(degrees)
    gone = chi_squares if known else (degrees + n_left) * np.log1p(chi_squares / degrees)
    return np.asarray(-(gone + np.log(fit.squares)) / 2, dtype=np.float64)


def _averaged(fit: _Fit, logs: NDArray[np.float64], variance: float, degrees: float) -> Measured:
    """Further fall by one law, whatever its r, by [1]_."""
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    further = fit.slopes * fit.goes_on
    mean = float(weights @ further)
    spread = variance / fit.squares * fit.goes_on**2
    return Measured(mean, math.sqrt(float(weights @ (spread + (further - mean) ** 2))), degrees)


def _enclosed(told: Sequence[Measured], probabilities: Sequence[float]) -> Measured:
    """Mean by both laws, with an interval that holds that of each which is not ruled out."""
    mean = math.fsum(p * each.value for p, each in zip(probabilities, told, strict=True))
    expanded = max(
        abs(each.value - mean) + each.expanded_uncertainty
        for p, each in zip(probabilities, told, strict=True)
        if p >= LEAST_PROBABILITY
    )
    return Measured(mean, expanded / told[0].coverage_factor, told[0].degrees_of_freedom)

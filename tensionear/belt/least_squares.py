"""Weighted least squares for a few physical quantities, each free, known with an uncertainty, or held.

A quantity that is known with an uncertainty takes part as one more observation of itself, so that its uncertainty,
and what it shares with the others, is in the covariance without further ado.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import scipy

from tensionear.belt.arrays import Array
from tensionear.belt.estimate import Estimate
from tensionear.errors import InputError

_SMALLEST_SINGULAR_VALUE = 1e-9  # over the largest: below it differences are those of rounding
_POSSIBLE_RISE, _CERTAIN_RISE = 4.0, 9.0  # of chi-square: two and three standard uncertainties
_WIDEST = 20.0  # by which a logarithm may move from its start: anything that is meant lies within


@dataclass(frozen=True)
class Quantity:
    """A quantity that the model depends on.

    Attributes
    ----------
    name : str
        By which the model and the result know it.
    spoken : str
        Its name in messages.
    unit : str
        Behind a number; may be empty.
    known : Estimate or None
        None: free. With an uncertainty of 0: held. Else an observation of it. [`unit`]
    vaguest : float
        The largest standard uncertainty with which a free one is worth telling: a share of the value, or where
        `highest` is given, absolute.
    highest : float or None
        The quantity lies from 0 to this, both included; None: it is above 0, and fitted as its logarithm. [`unit`]
    """

    name: str
    spoken: str
    unit: str
    known: Estimate | None
    vaguest: float = 1.0
    highest: float | None = None

    @property
    def is_held(self) -> bool:
        """Whether the fit leaves it as it is."""
        return self.known is not None and self.known.standard_uncertainty == 0


@dataclass(frozen=True)
class Fit:
    """What least squares found.

    Attributes
    ----------
    names : tuple of str
        Quantities that were free or known with an uncertainty.
    values : array, shape (k,)
        In that order. [each in its unit]
    covariance : array, shape (k, k)
        Of the values; grown by the reduced chi-square where that is above 1.
    chi_square : float
        Sum of the squared residuals, each over its standard uncertainty. [1]
    degrees_of_freedom : int
        Observations beyond the free quantities.
    residuals : array, shape (n,)
        Observed less fitted. [unit of the observations]
    """

    names: tuple[str, ...]
    values: Array
    covariance: Array
    chi_square: float
    degrees_of_freedom: int
    residuals: Array


def fit_quantities(
    model: Callable[[Mapping[str, float]], Array],
    observed: Array,
    standard_uncertainty: Array,
    quantities: Sequence[Quantity],
    starts: Sequence[Mapping[str, float]],
    accept: Callable[[Mapping[str, float]], None],
    remedy: str,
) -> Fit:
    """Fit the quantities that are not held to what was observed.

    Parameters
    ----------
    model : callable
        Gives the observations, shape (n,), from the value of every quantity.
    observed, standard_uncertainty : array, shape (n,)
        Uncorrelated.
    quantities : sequence of Quantity
    starts : sequence of mapping
        Values of the free quantities to start from; the best end counts.
    accept : callable
        Given the value of every quantity where the fit is best, raises if that makes no sense.
    remedy : str
        What to do if something cannot be determined: ends a message.

    Raises
    ------
    InputError
        If there are fewer observations than free quantities, or these cannot be told from each other or from
        nothing.

    Notes
    -----
    Covariance is that of the linearised problem; where the residuals are larger than their uncertainties allow, it
    is multiplied by the reduced chi-square (the Birge ratio, squared).

    References
    ----------
    .. [1] JCGM 100:2008, 5.2 (correlated input quantities).
    .. [2] R. T. Birge, "The calculation of errors by the method of least squares", Phys. Rev. 40 (1932) 207-227.
       (From memory.)
    """
    free = [quantity for quantity in quantities if quantity.known is None]
    if len(observed) < len(free):
        shown = "1 frequency" if len(observed) == 1 else f"{len(observed)} frequencies"
        raise InputError(f"{shown} cannot determine {_list(free)}: give at least {len(free)}; {remedy}")

    task = _Task(model, observed, standard_uncertainty)
    solution = task.solved(quantities, starts)
    accept(solution.values)
    sought = solution.sought
    degrees_of_freedom = len(observed) - len(free)
    grown = max(1.0, solution.chi_square / degrees_of_freedom) if degrees_of_freedom else 1.0
    found = np.array([solution.values[quantity.name] for quantity in sought])
    scale = np.where([quantity.highest is None for quantity in sought], found, 1.0)
    covariance = grown * _covariance(solution.jacobian, sought, remedy) * np.outer(scale, scale)
    _require_told(sought, found, covariance, remedy)
    for quantity, value, variance in zip(sought, found, np.diag(covariance), strict=True):
        if quantity.known is None and quantity.highest is not None:
            _require_bounds_excluded(task, quantities, quantity, value, variance, solution, grown, remedy)
    return Fit(
        names=tuple(quantity.name for quantity in sought),
        values=found,
        covariance=covariance,
        chi_square=solution.chi_square,
        degrees_of_freedom=degrees_of_freedom,
        residuals=observed - model(solution.values),
    )


@dataclass(frozen=True)
class _Solution:
    """Where the sum of squares is least."""

    sought: list[Quantity]
    values: Mapping[str, float]
    chi_square: float
    jacobian: Array


@dataclass(frozen=True)
class _Task:
    """What is to be explained, and by which model."""

    model: Callable[[Mapping[str, float]], Array]
    observed: Array
    standard_uncertainty: Array

    def solved(self, quantities: Sequence[Quantity], starts: Sequence[Mapping[str, float]]) -> _Solution:
        """Best of the solutions that the starts lead to."""
        sought = [quantity for quantity in quantities if not quantity.is_held]
        held = {quantity.name: quantity.known.value for quantity in quantities if quantity.known}

        def values_at(point: Array) -> dict[str, float]:
            found = {
                quantity.name: float(np.exp(coordinate) if quantity.highest is None else coordinate)
                for quantity, coordinate in zip(sought, point, strict=True)
            }
            return held | found

        def residuals_at(point: Array) -> Array:
            values = values_at(point)
            of_known = [
                (values[quantity.name] - quantity.known.value) / quantity.known.standard_uncertainty
                for quantity in sought
                if quantity.known
            ]
            missed = (self.model(values) - self.observed) / self.standard_uncertainty
            return np.concatenate([missed, of_known])

        if not sought:
            return _Solution([], held, float(np.sum(residuals_at(np.empty(0)) ** 2)), np.empty((0, 0)))
        best = min(
            (
                scipy.optimize.least_squares(
                    residuals_at,
                    [_start(quantity, start) for quantity in sought],
                    bounds=scipy.optimize.Bounds(
                        *(np.array([_bounds(q, start)[side] for q in sought]) for side in (0, 1))
                    ),
                    jac="3-point",
                    x_scale="jac",
                    xtol=1e-11,
                    ftol=1e-11,
                    gtol=1e-11,
                    max_nfev=200,
                )
                for start in starts
            ),
            key=lambda solution: float(solution.cost),
        )
        return _Solution(sought, values_at(best.x), 2 * float(best.cost), np.asarray(best.jac))


def _require_bounds_excluded(
    task: _Task,
    quantities: Sequence[Quantity],
    bounded: Quantity,
    value: float,
    variance: float,
    solution: _Solution,
    grown: float,
    remedy: str,
) -> None:
    """Let no bounded quantity pass whose bounds fit nearly as well though its covariance rules them out.

    Then the valley of the sum of squares is bent, and the covariance says nothing of its length.
    """
    for bound in (0.0, bounded.highest or 0.0):
        held = [replace(q, known=Estimate(bound)) if q is bounded else q for q in quantities]
        rise = (task.solved(held, [solution.values]).chi_square - solution.chi_square) / grown
        expected = (value - bound) ** 2 / variance
        if expected > _POSSIBLE_RISE and rise < min(_CERTAIN_RISE, 0.25 * expected):
            others = [quantity for quantity in solution.sought if quantity.known is None]
            raise InputError(
                f"these frequencies cannot tell {_list(others)} apart: they fit nearly as well with"
                f" {bound:g} as with {value:.2g} for the {bounded.spoken}; {remedy}"
            )


def _start(quantity: Quantity, start: Mapping[str, float]) -> float:
    value = quantity.known.value if quantity.known else start[quantity.name]
    if quantity.highest is None:
        return float(np.log(value))
    # The optimiser begins within the bounds, not on them.
    return float(np.clip(value, 0.01 * quantity.highest, 0.99 * quantity.highest))


def _bounds(quantity: Quantity, start: Mapping[str, float]) -> tuple[float, float]:
    if quantity.highest is None:
        return _start(quantity, start) - _WIDEST, _start(quantity, start) + _WIDEST
    return 0.0, quantity.highest


def _covariance(jacobian: Array, sought: Sequence[Quantity], remedy: str) -> Array:
    """Inverse of the normal matrix, if the observations tell all quantities apart."""
    size = np.linalg.norm(jacobian, axis=0)
    unseen = [quantity for quantity, length in zip(sought, size, strict=True) if length == 0]
    if unseen:
        raise InputError(f"these frequencies do not depend on {_list(unseen)}: {remedy}")
    _, singular, right = np.linalg.svd(jacobian / size, full_matrices=False)
    if singular[-1] < _SMALLEST_SINGULAR_VALUE * singular[0]:
        mixed = [quantity for quantity, share in zip(sought, right[-1], strict=True) if abs(share) > 0.1]
        raise InputError(f"these frequencies cannot tell {_list(mixed)} apart: {remedy}")
    root = right.T / singular / size[:, None]
    return np.asarray(root @ root.T)


def _require_told(sought: Sequence[Quantity], found: Array, covariance: Array, remedy: str) -> None:
    """Let no free quantity pass that could as well be something else."""
    for quantity, value, variance in zip(sought, found, np.diag(covariance), strict=True):
        uncertainty = float(np.sqrt(variance))
        vaguest = quantity.vaguest * (value if quantity.highest is None else 1.0)
        if quantity.known is None and uncertainty > vaguest:
            shown = f"{value:.3g} {quantity.unit}".rstrip()
            raise InputError(
                f"these frequencies cannot determine the {quantity.spoken}: it comes out as {shown} with a"
                f" standard uncertainty of {uncertainty:.2g}: {remedy}"
            )


def _list(quantities: Sequence[Quantity]) -> str:
    return " and ".join(f"the {quantity.spoken}" for quantity in quantities)

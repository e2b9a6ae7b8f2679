"""Propagation of distributions by drawing from them: the check of a budget, and more where its first order fails.

A budget takes the model as straight over the width of its inputs and the result as normal or Student's t. Neither
holds where one wide rectangular input dominates, such as ends somewhere between pinned and clamped.

References
----------
.. [1] JCGM 101:2008: 6.4 distributions, 7.5 to 7.7 results and coverage intervals, 7.9 adaptive procedure.
.. [2] JCGM 102:2011, 6.4.8: several quantities from one set of observations have a multivariate t distribution.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tensionear.metrology.budget import BudgetInput, Correlation, Distribution, correlation_matrix
from tensionear.metrology.uncertainty import COVERAGE_PROBABILITY

N_PER_BLOCK = 10_000
"""Trials between two looks at what has been reached, [1]_ 7.9.4. [1]"""

N_LEAST_BLOCKS = 10
"""Before the first look: with the 2 blocks of [1]_ 7.9.4, blocks that agree by chance end it too early. [1]"""


@dataclass(frozen=True)
class PropagatedDistribution:
    """What the trials say of the result.

    Attributes
    ----------
    mean, standard_uncertainty : float
        Average and standard deviation of the trials.
    symmetric : tuple of float
        Lower and upper end of the interval with as much probability below as above it.
    shortest : tuple of float
        Lower and upper end of the shortest interval.
    n_trials : int
        How many there were.
    settled : bool
        Whether more trials would leave the significant figures as they are, [1]_ 7.9.
    """

    mean: float
    standard_uncertainty: float
    symmetric: tuple[float, float]
    shortest: tuple[float, float]
    n_trials: int
    settled: bool


def propagate(
    model: Callable[..., NDArray[np.float64]],
    inputs: Sequence[BudgetInput],
    generator: np.random.Generator,
    correlations: Sequence[Correlation] = (),
    *,
    n_significant: int = 2,
    n_most: int = 1_000_000,
) -> PropagatedDistribution:
    """Propagate the inputs' distributions through a model, with as many trials as it takes.

    Parameters
    ----------
    model : callable
        Takes an array of shape (n,) for each input, in their order, and returns one of shape (n,).
    inputs : sequence of BudgetInput
        At least one.
    generator : numpy Generator
        Seeded by whoever wants the same trials again.
    correlations : sequence of Correlation
        As in a budget; only normal and t-distributed inputs can be correlated.
    n_significant : int, 1 or 2
        Figures of the standard uncertainty that have to be stable.
    n_most : int, at least `N_PER_BLOCK`
        Trials after which the result is given as it is, not settled; with fewer than ten blocks it never is.

    Raises
    ------
    ValueError
        If the model gives a value that is not finite, if inputs cannot be correlated, or if there may be no trial.
    """
    if n_most < N_PER_BLOCK:
        raise ValueError(f"{n_most} trials are fewer than a block of {N_PER_BLOCK}")
    blocks: list[NDArray[np.float64]] = []
    figures: list[list[float]] = []
    settled = False
    while not settled and (len(blocks) + 1) * N_PER_BLOCK <= n_most:
        trials = np.sort(model(*draw(inputs, generator, N_PER_BLOCK, correlations)))
        if not np.all(np.isfinite(trials)):
            raise ValueError(
                "the model gives no finite value for some of the values that its inputs may have"
            )
        blocks.append(trials)
        figures.append([float(trials.mean()), float(trials.std(ddof=1)), *symmetric_interval(trials)])
        if len(blocks) >= N_LEAST_BLOCKS:
            standard_errors = np.std(figures, axis=0, ddof=1) / math.sqrt(len(blocks))
            overall = float(np.std(blocks, ddof=1))
            settled = bool(2 * standard_errors.max() <= _tolerance(overall, n_significant))
    trials = np.sort(np.concatenate(blocks))
    return PropagatedDistribution(
        float(trials.mean()),
        float(trials.std(ddof=1)),
        symmetric_interval(trials),
        shortest_interval(trials),
        len(trials),
        settled,
    )


def draw(
    inputs: Sequence[BudgetInput],
    generator: np.random.Generator,
    n: int,
    correlations: Sequence[Correlation] = (),
) -> list[NDArray[np.float64]]:
    """Draw values that the inputs may have.

    Parameters
    ----------
    inputs : sequence of BudgetInput
        At least one.
    generator : numpy Generator
        Where chance comes from.
    n : int
        How many of each.
    correlations : sequence of Correlation
        As in a budget.

    Returns
    -------
    list of ndarray
        One of shape (n,) for each input.

    Raises
    ------
    ValueError
        If correlated inputs are not normal, or come from unlike numbers of observations.

    Notes
    -----
    A normal input with finite degrees of freedom is drawn from Student's t, scaled by its standard uncertainty,
    [1]_ 6.4.9; inputs that are correlated share the chance in their scale, [2]_.
    """
    names = [each.name for each in inputs]
    correlation = correlation_matrix(names, correlations)
    drawn: list[NDArray[np.float64]] = [_standard(each, generator, n) for each in inputs]
    if correlation is not None:
        among = [place for place, row in enumerate(correlation) if np.count_nonzero(row) > 1]
        kinds = {(inputs[place].distribution, inputs[place].measured.degrees_of_freedom) for place in among}
        if len(kinds) > 1 or any(kind is not Distribution.NORMAL for kind, _ in kinds):
            raise ValueError("only normal inputs with the same degrees of freedom can be correlated")
        for _, degrees in kinds:
            chosen = correlation[np.ix_(among, among)]
            normal = generator.multivariate_normal(np.zeros(len(among)), chosen, size=n, method="eigh")
            scaled = normal / _t_scale(degrees, generator, n)[:, None]
            for place, column in zip(among, scaled.T, strict=True):
                drawn[place] = column
    return [
        each.measured.value + each.measured.standard_uncertainty * standard
        for each, standard in zip(inputs, drawn, strict=True)
    ]


def symmetric_interval(trials: NDArray[np.float64]) -> tuple[float, float]:
    """Interval of the coverage probability with as many trials below as above it, [1]_ 7.7.

    Parameters
    ----------
    trials : ndarray of shape (n,)
        In any order.
    """
    tail = (1 - COVERAGE_PROBABILITY) / 2
    low, high = np.quantile(trials, [tail, 1 - tail])
    return float(low), float(high)


def shortest_interval(trials: NDArray[np.float64]) -> tuple[float, float]:
    """Shortest interval that holds the coverage probability's share of the trials, [1]_ 7.7.

    Parameters
    ----------
    trials : ndarray of shape (n,)
        In rising order.
    """
    n_within = round(COVERAGE_PROBABILITY * len(trials))
    widths = trials[n_within:] - trials[: len(trials) - n_within]
    start = int(np.argmin(widths))
    return float(trials[start]), float(trials[start + n_within])


def _standard(given: BudgetInput, generator: np.random.Generator, n: int) -> NDArray[np.float64]:
    """Draw with mean 0 and standard uncertainty 1."""
    match given.distribution:
        case Distribution.NORMAL:
            return generator.standard_normal(n) / _t_scale(given.measured.degrees_of_freedom, generator, n)
        case Distribution.RECTANGULAR:
            return math.sqrt(3) * generator.uniform(-1, 1, n)
        case Distribution.TRIANGULAR:
            return math.sqrt(6) * generator.triangular(-1, 0, 1, n)
        case Distribution.ARCSINE:
            return math.sqrt(2) * np.sin(generator.uniform(0, 2 * math.pi, n))


def _t_scale(degrees_of_freedom: float, generator: np.random.Generator, n: int) -> NDArray[np.float64]:
    """Draw what a normal deviate is divided by to become Student's t."""
    if math.isinf(degrees_of_freedom):
        return np.ones(n)
    return np.sqrt(generator.chisquare(degrees_of_freedom, n) / degrees_of_freedom)


def _tolerance(standard_uncertainty: float, n_significant: int) -> float:
    """Half of the last significant figure, [1]_ 7.9.2."""
    if standard_uncertainty == 0:
        return 0.0
    return 0.5 * 10.0 ** (math.floor(math.log10(standard_uncertainty)) - n_significant + 1)

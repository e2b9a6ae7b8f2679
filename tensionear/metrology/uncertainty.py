"""Measured values with their uncertainty, and what becomes of it when they are put into a formula.

Conventions: a value and its uncertainties share one unit, whichever it is; infinite degrees of freedom mean
that the standard uncertainty is taken as known; the coverage probability is 95 % everywhere.

The PyPI package `uncertainties` combines the standard uncertainties and their correlations. Two things it is not
left: its numerical derivatives step by a share of the value, which is too fine for a root that is found by
iteration and says nothing of a correction whose value is 0; and it knows no degrees of freedom. The package `GTC`
knows them, and the tests compare with it; but it numbers its quantities from a counter that all threads share and
nothing guards, and refuses degrees of freedom below 1.

References
----------
.. [1] JCGM 100:2008 (GUM): 4.3.7 rectangular distribution, 5.1.2 and 5.1.3 combined standard uncertainty and
   its numerical sensitivities, 5.2 correlated inputs, G.3 Student's t, G.4 effective degrees of freedom
   (Welch-Satterthwaite).
.. [2] R. Willink, "A generalization of the Welch-Satterthwaite formula for use with correlated uncertainty
   components", Metrologia 44 (2007) 340-349: correlated inputs count as one component.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np
import scipy
import uncertainties
from numpy.typing import NDArray

COVERAGE_PROBABILITY = 0.95

RECTANGLE = math.sqrt(3)
"""Half-width over standard uncertainty of a rectangular distribution, [1]_ 4.3.7. [1]"""


def coverage_factor(degrees_of_freedom: float, coverage_probability: float = COVERAGE_PROBABILITY) -> float:
    """Return by how many standard uncertainties an interval reaches to each side. [1].

    Parameters
    ----------
    degrees_of_freedom : float
        Above 0, fractions and infinity allowed.
    coverage_probability : float
        Two-sided, between 0 and 1.
    """
    return float(scipy.special.stdtrit(degrees_of_freedom, 0.5 + coverage_probability / 2))


@dataclass(frozen=True)
class Measured:
    """A value and how well it is known.

    Attributes
    ----------
    value : float
        Best estimate.
    standard_uncertainty : float
        0 or more.
    degrees_of_freedom : float
        How well the standard uncertainty itself is known: above 0, infinity by default.

    Raises
    ------
    ValueError
        If a number is outside its range; people's input is checked before it comes here.
    """

    value: float
    standard_uncertainty: float
    degrees_of_freedom: float = math.inf

    def __post_init__(self) -> None:
        if not math.isfinite(self.value):
            raise ValueError(f"value {self.value} is not finite")
        if not 0 <= self.standard_uncertainty < math.inf:
            raise ValueError(f"standard uncertainty {self.standard_uncertainty} is not finite and 0 or more")
        if not self.degrees_of_freedom > 0:
            raise ValueError(f"degrees of freedom {self.degrees_of_freedom} are not above 0")

    @classmethod
    def within(cls, value: float, half_width: float) -> Self:
        """Take a value that is known to lie within `half_width` of `value`, anywhere there equally likely.

        Parameters
        ----------
        value : float
            Middle of the range.
        half_width : float
            0 or more.

        Raises
        ------
        ValueError
            As for the class.
        """
        return cls(value, half_width / RECTANGLE)

    @property
    def coverage_factor(self) -> float:
        """Expanded over standard uncertainty. [1]."""
        return coverage_factor(self.degrees_of_freedom)

    @property
    def expanded_uncertainty(self) -> float:
        """Half-width of the interval that holds the true value with 95 % probability."""
        return self.coverage_factor * self.standard_uncertainty


def propagated(function: Callable[..., float], *inputs: Measured) -> Measured:
    """Put measured values, independent of each other, into a formula.

    Parameters
    ----------
    function : callable
        Takes as many floats as there are inputs, in their order.
    *inputs : Measured
        At least one.

    Returns
    -------
    Measured
        With the combined standard uncertainty to first order and the effective degrees of freedom.

    Raises
    ------
    ValueError
        If the formula gives no finite value there.
    """
    return combined(function, inputs, sensitivities(function, inputs))


def sensitivities(function: Callable[..., float], inputs: Sequence[Measured]) -> list[float]:
    """How fast the result of a formula changes with each of its inputs. [result's unit per input's unit].

    Parameters
    ----------
    function : callable
        Takes as many floats as there are inputs, in their order.
    inputs : sequence of Measured
        Where; what is known exactly gets 0.

    Notes
    -----
    Central differences over a standard uncertainty, [1]_ 5.1.3, or a thousandth of the value if that is less, so
    that no step ever goes through zero. They have no error beyond rounding where the formula is linear or
    quadratic in the input, as the tension of a flexible span is in all of its inputs.
    """
    values = [each.value for each in inputs]
    return [
        _sensitivity(function, values, place, each.standard_uncertainty) for place, each in enumerate(inputs)
    ]


def _sensitivity(function: Callable[..., float], values: list[float], place: int, widest: float) -> float:
    value = values[place]
    step = min(widest, abs(value) / 1000) if value else widest
    above, below = value + step, value - step
    if above == below:
        return 0.0
    before, after = values[:place], values[place + 1 :]
    return (function(*before, above, *after) - function(*before, below, *after)) / (above - below)


def combined(
    function: Callable[..., float],
    inputs: Sequence[Measured],
    slopes: Sequence[float],
    correlation: NDArray[np.float64] | None = None,
) -> Measured:
    """Combine the inputs' uncertainties with the sensitivities of a formula.

    Parameters
    ----------
    function : callable
        Takes as many floats as there are inputs, in their order.
    inputs : sequence of Measured
        At least one.
    slopes : sequence of float
        What `sensitivities` returns for them.
    correlation : ndarray of shape (n, n), optional
        Correlation coefficients of the inputs; None if they are independent.

    Raises
    ------
    ValueError
        If the formula gives no finite value there.

    Notes
    -----
    Inputs that are correlated with each other count as one component for the effective degrees of freedom, [2]_,
    with the fewest that any of them has.
    """
    pairs = [(each.value, each.standard_uncertainty) for each in inputs]
    if correlation is None:
        quantities = [uncertainties.ufloat(*pair) if pair[1] else pair[0] for pair in pairs]
    else:
        quantities = list(uncertainties.correlated_values_norm(pairs, correlation))
    derivatives = [lambda *_, slope=slope: slope for slope in slopes]
    result = uncertainties.wrap(function, derivatives)(*quantities)
    standard_uncertainty = float(uncertainties.std_dev(result))
    value = float(uncertainties.nominal_value(result))
    contributions = np.multiply(slopes, [pair[1] for pair in pairs])
    degrees = np.array([each.degrees_of_freedom for each in inputs])
    return Measured(
        value,
        standard_uncertainty,
        _effective_degrees(contributions, degrees, correlation, standard_uncertainty),
    )


def _effective_degrees(
    contributions: NDArray[np.float64],
    degrees_of_freedom: NDArray[np.float64],
    correlation: NDArray[np.float64] | None,
    standard_uncertainty: float,
) -> float:
    """Return what Welch and Satterthwaite give, infinity if every uncertainty that matters is known."""
    if not 0 < standard_uncertainty < math.inf:
        return math.inf
    # Shares of the combined uncertainty, because fourth powers of the contributions themselves may underflow.
    shares = contributions / standard_uncertainty
    if correlation is None:
        doubt = float(np.sum(shares**4 / degrees_of_freedom))
    else:
        covariance = correlation * np.outer(shares, shares)
        n_components, component = scipy.sparse.csgraph.connected_components(covariance != 0, directed=False)
        doubt = 0.0
        for number in range(n_components):
            members = component == number
            variance = covariance[np.ix_(members, members)].sum()
            doubt += variance**2 / degrees_of_freedom[members].min()
    return float(1 / doubt) if doubt else math.inf

"""Measured values with their uncertainty, and what becomes of it when they are put into a formula.

Conventions: a value and its uncertainties share one unit, whichever it is; infinite degrees of freedom mean
that the standard uncertainty is taken as known; the coverage probability is 95 % everywhere.

References
----------
.. [1] JCGM 100:2008 (GUM): 4.3.7 rectangular distribution, 5.1.2 and 5.1.3 combined standard uncertainty and
   its numerical sensitivities, G.3 Student's t, G.4 effective degrees of freedom (Welch-Satterthwaite).
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Self

from scipy.special import stdtrit

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
    return float(stdtrit(degrees_of_freedom, 0.5 + coverage_probability / 2))


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

    Notes
    -----
    Sensitivities are central differences. These have no error beyond rounding where the formula is linear or
    quadratic in the input, as static tension is in all of its inputs.
    """
    values = [each.value for each in inputs]
    contributions = [
        _sensitivity(function, values, place, each.standard_uncertainty) * each.standard_uncertainty
        for place, each in enumerate(inputs)
    ]
    combined = math.hypot(*contributions)
    # Shares of the combined uncertainty, because fourth powers of the contributions themselves may underflow.
    doubt = sum(
        (contribution / combined) ** 4 / each.degrees_of_freedom
        for contribution, each in zip(contributions, inputs, strict=True)
        if contribution
    )
    return Measured(function(*values), combined, 1 / doubt if doubt else math.inf)


def _sensitivity(function: Callable[..., float], values: list[float], place: int, widest: float) -> float:
    """Return how fast the result changes with one input, from a step that never takes it through zero."""
    value = values[place]
    step = min(widest, abs(value) / 1000) if value else widest
    above, below = value + step, value - step
    if above == below:
        return 0.0
    before, after = values[:place], values[place + 1 :]
    return (function(*before, above, *after) - function(*before, below, *after)) / (above - below)

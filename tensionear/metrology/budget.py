"""The uncertainty budget: every input of a result, what each contributes, and which it pays to improve.

Conventions: an input's unit is what it is given in (SI everywhere in this project); a share is of the variance,
so that the shares of a budget sum to 1; a share below 0 belongs to an input whose correlation with another
narrows the result.

References
----------
.. [1] JCGM 100:2008 (GUM): 4.2 Type A, 4.3 Type B, 4.3.7 to 4.3.9 rectangular, triangular distribution,
   5.2 correlated inputs, G.4 effective degrees of freedom, 7.2 what is to be reported.
.. [2] JCGM 101:2008, 6.4: distributions.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from tensionear.metrology.uncertainty import Measured, combined, sensitivities


class EvaluationType(StrEnum):
    """How a standard uncertainty was found."""

    A = "A"
    """From the scatter of repeated observations."""

    B = "B"
    """By any other means: a scale's reading, a calibration, a table, experience."""


class Distribution(StrEnum):
    """Where the true value may lie."""

    NORMAL = "normal"
    """Near the estimate; with few degrees of freedom it becomes Student's t."""

    RECTANGULAR = "rectangular"
    """Anywhere between two limits."""

    TRIANGULAR = "triangular"
    """Between two limits, rather in the middle."""

    ARCSINE = "arcsine"
    """Between two limits, rather near them, as what swings to and fro."""


_HALF_WIDTH = {
    Distribution.RECTANGULAR: math.sqrt(3),
    Distribution.TRIANGULAR: math.sqrt(6),
    Distribution.ARCSINE: math.sqrt(2),
}
"""Half-width over standard uncertainty, [2]_ 6.4.2, 6.4.5, 6.4.6. [1]"""


@dataclass(frozen=True)
class BudgetInput:
    """What goes into a result.

    Attributes
    ----------
    name : str
        Such as "span length"; no two of a budget are the same.
    measured : Measured
        Estimate, standard uncertainty, degrees of freedom, in `unit`.
    unit : str
        Such as "m"; empty for a pure number.
    evaluation : EvaluationType
        Type A or B.
    origin : str
        Where the uncertainty comes from, such as "tape measure, ± 2 mm".
    distribution : Distribution
        Where the true value may lie, normal unless said.
    improved_by : str
        What makes it better known, as in "measuring the span"; empty if nothing that is at hand does.
    """

    name: str
    measured: Measured
    unit: str
    evaluation: EvaluationType
    origin: str
    distribution: Distribution = Distribution.NORMAL
    improved_by: str = ""

    @property
    def half_width(self) -> float:
        """What is told behind ±: to the limits, or of a normal distribution the expanded uncertainty. [`unit`]."""
        factor = _HALF_WIDTH.get(self.distribution, self.measured.coverage_factor)
        return factor * self.measured.standard_uncertainty

    def known_to(self, half_width: float) -> "BudgetInput":
        """The same input, better known or worse.

        Parameters
        ----------
        half_width : float
            What then is told behind ±, 0 or more. [`unit`]
        """
        factor = _HALF_WIDTH.get(self.distribution, self.measured.coverage_factor)
        return replace(self, measured=replace(self.measured, standard_uncertainty=half_width / factor))


@dataclass(frozen=True)
class Correlation:
    """That two inputs err together.

    Attributes
    ----------
    first, second : str
        Names of two inputs.
    coefficient : float
        Correlation coefficient, -1 to 1.
    """

    first: str
    second: str
    coefficient: float


@dataclass(frozen=True)
class BudgetLine:
    """One input and what it does to the result.

    Attributes
    ----------
    given : BudgetInput
        The input.
    sensitivity : float
        By how much the result changes with the input. [result's unit per input's unit]
    share : float
        Share of the result's variance; all of them sum to 1.
    """

    given: BudgetInput
    sensitivity: float
    share: float

    @property
    def contribution(self) -> float:
        """Standard uncertainty that it brings into the result, 0 or more. [result's unit]."""
        return abs(self.sensitivity) * self.given.measured.standard_uncertainty


@dataclass(frozen=True)
class Budget:
    """A result and how its uncertainty is made up.

    Attributes
    ----------
    name, unit : str
        Of the result, such as "static tension" and "N".
    model : callable
        Takes the inputs' values in their order.
    result : Measured
        Its coverage factor and expanded uncertainty come from the effective degrees of freedom.
    lines : tuple of BudgetLine
        In the order of the model's arguments.
    correlations : tuple of Correlation
        Empty if the inputs are independent.
    """

    name: str
    unit: str
    model: Callable[..., float]
    result: Measured
    lines: tuple[BudgetLine, ...]
    correlations: tuple[Correlation, ...] = ()

    @property
    def inputs(self) -> tuple[BudgetInput, ...]:
        """The inputs of the lines."""
        return tuple(line.given for line in self.lines)

    def line(self, name: str) -> BudgetLine:
        """The line of an input.

        Raises
        ------
        KeyError
            If there is none of that name.
        """
        for line in self.lines:
            if line.given.name == name:
                return line
        raise KeyError(name)

    @property
    def dominant(self) -> BudgetLine:
        """The line with the largest share."""
        return max(self.lines, key=lambda line: line.share)

    def with_inputs(self, *changed: BudgetInput) -> "Budget":
        """The budget as it would be with some inputs known otherwise, recognised by their names.

        The values stay, and with them the sensitivities; only uncertainties and degrees of freedom change.

        Raises
        ------
        KeyError
            If the budget has no input of such a name.
        """
        by_name = {self.line(each.name).given.name: each for each in changed}
        inputs = [by_name.get(each.name, each) for each in self.inputs]
        slopes = [line.sensitivity for line in self.lines]
        return _assembled(self.name, self.unit, self.model, inputs, slopes, self.correlations)


def draw_up(
    name: str,
    unit: str,
    model: Callable[..., float],
    inputs: Sequence[BudgetInput],
    correlations: Sequence[Correlation] = (),
) -> Budget:
    """Draw up the uncertainty budget of a result.

    Parameters
    ----------
    name, unit : str
        Of the result.
    model : callable
        Takes as many floats as there are inputs, in their order; any function, also one that finds a root.
    inputs : sequence of BudgetInput
        At least one.
    correlations : sequence of Correlation
        Which of them err together.

    Raises
    ------
    ValueError
        If two inputs have one name, if correlations are impossible or name no input, or if the model gives no
        finite value.
    """
    measured = [each.measured for each in inputs]
    return _assembled(name, unit, model, inputs, sensitivities(model, measured), tuple(correlations))


def correlation_matrix(
    names: Sequence[str], correlations: Sequence[Correlation]
) -> NDArray[np.float64] | None:
    """Correlation coefficients of inputs, shape (n, n); None if they are independent.

    Parameters
    ----------
    names : sequence of str
        Of the inputs.
    correlations : sequence of Correlation
        As in a budget.

    Raises
    ------
    ValueError
        If two inputs have one name, if a correlation names no input or one input twice, or if no quantities can
        be correlated like that.
    """
    if len(set(names)) < len(names):
        raise ValueError(f"two inputs have one name: {', '.join(names)}")
    if not correlations:
        return None
    matrix = np.eye(len(names))
    for each in correlations:
        if each.first not in names or each.second not in names or each.first == each.second:
            raise ValueError(f"no two inputs are called {each.first} and {each.second}")
        place = names.index(each.first), names.index(each.second)
        matrix[place] = matrix[place[::-1]] = each.coefficient
    # Rounding leaves some 1e-16 below 0 where quantities are wholly correlated.
    if not np.all(np.abs(matrix) <= 1) or np.linalg.eigvalsh(matrix)[0] < -1e-9:
        raise ValueError(f"no inputs can be correlated like that: {matrix.tolist()}")
    return matrix


def _assembled(
    name: str,
    unit: str,
    model: Callable[..., float],
    inputs: Sequence[BudgetInput],
    slopes: Sequence[float],
    correlations: tuple[Correlation, ...],
) -> Budget:
    correlation = correlation_matrix([each.name for each in inputs], correlations)
    measured = [each.measured for each in inputs]
    result = combined(model, measured, slopes, correlation)
    parts = np.multiply(slopes, [each.standard_uncertainty for each in measured])
    reach = parts if correlation is None else correlation @ parts
    variance = result.standard_uncertainty**2
    shares = parts * reach / variance if variance else np.zeros(len(inputs))
    lines = tuple(
        BudgetLine(given, float(slope), float(share))
        for given, slope, share in zip(inputs, slopes, shares, strict=True)
    )
    return Budget(name, unit, model, result, lines, correlations)

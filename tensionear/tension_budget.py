"""Where physics and uncertainty meet: a tension, or a frequency, with the budget of what is not known of it.

Conventions: SI units; the inputs of a budget have the names of this module, so that advice can name them. Stiffness
and ends are always in the model; a flexible span is one with neither, known exactly.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tensionear.belt.stiff_span import partial_frequency, tension_of_partial
from tensionear.errors import InputError
from tensionear.metrology.budget import (
    Budget,
    BudgetInput,
    Correlation,
    Distribution,
    EvaluationType,
    draw_up,
)
from tensionear.metrology.monte_carlo import PropagatedDistribution, propagate
from tensionear.metrology.uncertainty import Measured

FUNDAMENTAL = "fundamental"
TENSION = "static tension"
SPAN_LENGTH = "span length"
LINEAR_DENSITY = "linear density"
BENDING_STIFFNESS = "bending stiffness"
END_FIXITY = "end fixity"
AIR = "air carried along"

UNITS = {
    FUNDAMENTAL: "Hz",
    TENSION: "N",
    SPAN_LENGTH: "m",
    LINEAR_DENSITY: "kg/m",
    BENDING_STIFFNESS: "N m²",
    END_FIXITY: "",
    AIR: "kg/m",
}

_IMPROVED_BY = {
    SPAN_LENGTH: "measuring the span",
    LINEAR_DENSITY: "weighing the belt",
    BENDING_STIFFNESS: "calibrating the bending stiffness",
    END_FIXITY: "finding out how the ends are held",
    FUNDAMENTAL: "plucking the span more often",
}


def budget_input(
    name: str,
    measured: Measured,
    origin: str,
    distribution: Distribution = Distribution.RECTANGULAR,
    evaluation: EvaluationType = EvaluationType.B,
) -> BudgetInput:
    """Make an input of a budget by its name in this module.

    Parameters
    ----------
    name : str
        One of those of `UNITS`.
    measured : Measured
        In the unit of `UNITS`.
    origin : str
        Where it, and its uncertainty, come from.
    distribution : Distribution
        Where the true value may lie.
    evaluation : EvaluationType
        Type A or B.

    Raises
    ------
    KeyError
        If there is no such input.
    """
    return BudgetInput(
        name, measured, UNITS[name], evaluation, origin, distribution, improved_by=_IMPROVED_BY.get(name, "")
    )


def tension_budget(inputs: Sequence[BudgetInput], correlations: Sequence[Correlation] = ()) -> Budget:
    """Static tension of a span that rings at a fundamental.

    Parameters
    ----------
    inputs : sequence of BudgetInput
        Fundamental, span length, linear density, bending stiffness, end fixity, and at will the air, in this order.
    correlations : sequence of Correlation
        Which of them err together, as those from one calibration do.

    Raises
    ------
    InputError
        If a value is outside its range, or the fundamental so low that the span would bend like a bar.
    """
    return draw_up(TENSION, UNITS[TENSION], _scalar_tension, inputs, correlations)


def frequency_budget(inputs: Sequence[BudgetInput], correlations: Sequence[Correlation] = ()) -> Budget:
    """Fundamental at which a span rings under a tension.

    Parameters
    ----------
    inputs : sequence of BudgetInput
        Tension, then as for `tension_budget`.
    correlations : sequence of Correlation
        As for `tension_budget`.

    Raises
    ------
    InputError
        If a value is outside its range, or the tension so low that the span would bend like a bar.
    """
    return draw_up(FUNDAMENTAL, UNITS[FUNDAMENTAL], _scalar_frequency, inputs, correlations)


def drawn(budget: Budget, generator: np.random.Generator) -> PropagatedDistribution:
    """Propagate the distributions of a budget of this module by drawing from them (JCGM 101).

    Parameters
    ----------
    budget : Budget
        From `tension_budget` or `frequency_budget`.
    generator : numpy Generator
        Where chance comes from.

    Raises
    ------
    InputError
        If some of the values that the inputs may have are outside the range of the model.
    """
    model = _tension if budget.name == TENSION else _frequency
    try:
        return propagate(model, budget.inputs, generator, budget.correlations)
    except InputError as error:
        raise InputError(f"some of the values that the inputs may have cannot be: {error}") from error


def _tension(
    fundamental: ArrayLike,
    length: ArrayLike,
    density: ArrayLike,
    bending: ArrayLike,
    fixity: ArrayLike,
    air: ArrayLike = 0.0,
) -> NDArray[np.float64]:
    return np.asarray(
        tension_of_partial(fundamental, length, np.add(density, air), *_possible(bending, fixity)),
        dtype=np.float64,
    )


def _frequency(
    tension: ArrayLike,
    length: ArrayLike,
    density: ArrayLike,
    bending: ArrayLike,
    fixity: ArrayLike,
    air: ArrayLike = 0.0,
) -> NDArray[np.float64]:
    return np.asarray(
        partial_frequency(tension, length, np.add(density, air), *_possible(bending, fixity)),
        dtype=np.float64,
    )


def _possible(bending: ArrayLike, fixity: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Bring what a bell curve's tails draw beyond the possible back to its edge."""
    return np.maximum(bending, 0.0), np.clip(fixity, 0.0, 1.0)


def _scalar_tension(*values: float) -> float:
    return float(_tension(*values))


def _scalar_frequency(*values: float) -> float:
    return float(_frequency(*values))


def own_part(budget: Budget) -> Measured:
    """A tension with what the fundamental alone leaves unknown of it, as for two settings of one span. [N].

    Parameters
    ----------
    budget : Budget
        From `tension_budget`.
    """
    line = budget.line(FUNDAMENTAL)
    return Measured(budget.result.value, line.contribution, line.given.measured.degrees_of_freedom)


def common_part_left_out(budgets: Sequence[Budget]) -> list[Measured]:
    """Tensions of spans of one belt, without what moves all of them by the same share. [N].

    Parameters
    ----------
    budgets : sequence of Budget
        From `tension_budget`, with the same belt.

    Returns
    -------
    list of Measured
        Fundamental and span length are each span's own. What is not known of the belt and its ends is in all; of
        that, what moves a span by another share than the mean of them stays, as stiffness moves short ones more.
    """
    shared = [
        name for name in (given.name for given in budgets[0].inputs) if name not in (FUNDAMENTAL, SPAN_LENGTH)
    ]
    mean_slopes = {
        name: float(np.mean([each.line(name).sensitivity / each.result.value for each in budgets]))
        for name in shared
    }
    tensions = []
    for budget in budgets:
        value = budget.result.value
        parts = [budget.line(FUNDAMENTAL).contribution, budget.line(SPAN_LENGTH).contribution]
        for name in shared:
            line = budget.line(name)
            beside_mean = line.sensitivity / value - mean_slopes[name]
            parts.append(value * beside_mean * line.given.measured.standard_uncertainty)
        tensions.append(Measured(value, float(np.hypot.reduce(parts)), budget.result.degrees_of_freedom))
    return tensions

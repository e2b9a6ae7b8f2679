"""Where physics and uncertainty meet: a tension, or a frequency, with the budget of what is not known of it.

Conventions: SI units; the inputs of a budget have the names of this module, so that advice can name them. Stiffness
and ends are always in the model; a flexible span is one with neither, known exactly.
Where nothing is known of the stiffness, the flexible tension is lowered by `UNKNOWN_STIFFNESS`, whose uncertainty
reaches from a flexible span to a stiff, clamped one.
"""

import math
from collections.abc import Callable, Sequence

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
CLOCK = "sound card clock"
UNKNOWN_STIFFNESS = "unknown stiffness"

LARGEST_REDUCTION_PERCENT = 21.0
"""By how much the flexible formula tells a clamped span of stiffness ratio 20 too tight, as a share of what it tells:
timing-belt spans have 20 to 150 (common practice, no source). [%]"""

CLOCK_WITHIN_PPM = 273.0
"""So far apart were the clocks of two phones that recorded one sound (a measurement on public recordings). [1e-6]"""

_Model = Callable[..., NDArray[np.float64]]

UNITS = {
    FUNDAMENTAL: "Hz",
    TENSION: "N",
    SPAN_LENGTH: "m",
    LINEAR_DENSITY: "kg/m",
    BENDING_STIFFNESS: "N m²",
    END_FIXITY: "",
    AIR: "kg/m",
    CLOCK: "ppm",
    UNKNOWN_STIFFNESS: "%",
}

_ARGUMENTS = {
    FUNDAMENTAL: "fundamental",
    TENSION: "tension",
    SPAN_LENGTH: "length",
    LINEAR_DENSITY: "density",
    BENDING_STIFFNESS: "bending",
    END_FIXITY: "fixity",
    AIR: "air",
    CLOCK: "clock_ppm",
    UNKNOWN_STIFFNESS: "reduction_percent",
}

_IMPROVED_BY = {
    SPAN_LENGTH: "measuring the span",
    LINEAR_DENSITY: "weighing the belt",
    BENDING_STIFFNESS: "calibrating the bending stiffness",
    END_FIXITY: "finding out how the ends are held",
    FUNDAMENTAL: "plucking the span more often",
    CLOCK: "using another microphone",
    UNKNOWN_STIFFNESS: "calibrating the stiffness, so that its effect is known",
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


def clock_input() -> BudgetInput:
    """How far the clock of a sound card or phone may be off, as no one has compared it with a better one."""
    return budget_input(CLOCK, Measured.within(0.0, CLOCK_WITHIN_PPM), "usual of clocks")


def unknown_stiffness_input() -> BudgetInput:
    """By how much a span's stiffness, of which nothing is known, lowers what the flexible formula tells."""
    half = LARGEST_REDUCTION_PERCENT / 2
    return budget_input(UNKNOWN_STIFFNESS, Measured.within(half, half), "stiff to flexible")


def tension_budget(inputs: Sequence[BudgetInput], correlations: Sequence[Correlation] = ()) -> Budget:
    """Static tension of a span that rings at a fundamental.

    Parameters
    ----------
    inputs : sequence of BudgetInput
        Fundamental, span length, linear density, bending stiffness, end fixity; at will the other names.
    correlations : sequence of Correlation
        Which of them err together, as those from one calibration do.

    Raises
    ------
    InputError
        If a value is outside its range, or the fundamental so low that the span would bend like a bar.
    """
    return draw_up(TENSION, UNITS[TENSION], _scalar(_tension, inputs), inputs, correlations)


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
    return draw_up(FUNDAMENTAL, UNITS[FUNDAMENTAL], _scalar(_frequency, inputs), inputs, correlations)


def tension_at(fundamental_hz: float, known: Sequence[BudgetInput]) -> float:
    """Static tension by the best estimates alone. [N].

    Parameters
    ----------
    fundamental_hz : float
        [Hz]
    known : sequence of BudgetInput
        As for `tension_budget`, without the fundamental.

    Raises
    ------
    InputError
        As `tension_budget` does.
    """
    return _at(_tension, fundamental_hz, FUNDAMENTAL, known)


def fundamental_at(tension_n: float, known: Sequence[BudgetInput]) -> float:
    """Fundamental by the best estimates alone. [Hz].

    Parameters
    ----------
    tension_n : float
        [N]
    known : sequence of BudgetInput
        As for `frequency_budget`, without the tension.

    Raises
    ------
    InputError
        As `frequency_budget` does.
    """
    return _at(_frequency, tension_n, TENSION, known)


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
        return propagate(_by_name(model, budget.inputs), budget.inputs, generator, budget.correlations)
    except InputError as error:
        raise InputError(f"some of the values that the inputs may have cannot be: {error}") from error


def _tension(
    fundamental: ArrayLike,
    length: ArrayLike,
    density: ArrayLike,
    bending: ArrayLike,
    fixity: ArrayLike,
    air: ArrayLike = 0.0,
    clock_ppm: ArrayLike = 0.0,
    reduction_percent: ArrayLike = 0.0,
) -> NDArray[np.float64]:
    true_hz = np.multiply(fundamental, 1 + np.divide(clock_ppm, 1e6))
    tension = tension_of_partial(true_hz, length, np.add(density, air), *_possible(bending, fixity))
    return np.asarray(tension * (1 - np.divide(reduction_percent, 100)), dtype=np.float64)


def _frequency(
    tension: ArrayLike,
    length: ArrayLike,
    density: ArrayLike,
    bending: ArrayLike,
    fixity: ArrayLike,
    air: ArrayLike = 0.0,
    clock_ppm: ArrayLike = 0.0,
    reduction_percent: ArrayLike = 0.0,
) -> NDArray[np.float64]:
    as_if_flexible = np.divide(tension, 1 - np.divide(reduction_percent, 100))
    fundamental = partial_frequency(as_if_flexible, length, np.add(density, air), *_possible(bending, fixity))
    return np.asarray(fundamental / (1 + np.divide(clock_ppm, 1e6)), dtype=np.float64)


def _possible(bending: ArrayLike, fixity: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Bring what a bell curve's tails draw beyond the possible back to its edge."""
    return np.maximum(bending, 0.0), np.clip(fixity, 0.0, 1.0)


def _by_name(model: _Model, inputs: Sequence[BudgetInput]) -> _Model:
    """The model with its arguments in the order of the inputs."""
    arguments = [_ARGUMENTS[given.name] for given in inputs]
    return lambda *values: model(**dict(zip(arguments, values, strict=True)))


def _scalar(model: _Model, inputs: Sequence[BudgetInput]) -> Callable[..., float]:
    ordered = _by_name(model, inputs)
    return lambda *values: float(ordered(*values))


def _at(model: _Model, value: float, name: str, known: Sequence[BudgetInput]) -> float:
    estimates = {_ARGUMENTS[given.name]: given.measured.value for given in known}
    return float(model(**{_ARGUMENTS[name]: value, **estimates}))


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

    Notes
    -----
    What stays is found at the limits of each input, as the ends' effect is far from straight. It is not independent
    between spans, while those who compare them take it so, and is therefore told √2 times as large: (a - b)² is
    never more than 2·(a² + b²), so that no difference of two spans is thought better known than it is (ours).
    """
    parts = [[each.line(FUNDAMENTAL).contribution, each.line(SPAN_LENGTH).contribution] for each in budgets]
    shortest_m = min(each.line(SPAN_LENGTH).given.measured.value for each in budgets)
    for place, given in enumerate(budgets[0].inputs):
        if given.name in (FUNDAMENTAL, SPAN_LENGTH) or given.measured.standard_uncertainty == 0:
            continue
        to_limit = given.half_width / given.measured.standard_uncertainty
        at_limits = []
        for side in (-1, 1):
            moved = np.array(
                [_moved(each, place, side * _reach(each, place, shortest_m)) for each in budgets]
            )
            at_limits.append(np.abs(moved - moved.mean()))
        for own, beside_mean in zip(parts, np.max(at_limits, axis=0), strict=True):
            own.append(math.sqrt(2) * float(beside_mean) / to_limit)
    return [
        Measured(
            each.result.value,
            math.hypot(*own[:2], *(share * each.result.value for share in own[2:])),
            each.result.degrees_of_freedom,
        )
        for each, own in zip(budgets, parts, strict=True)
    ]


def _reach(budget: Budget, place: int, shortest_m: float) -> float:
    """How far an input may be off in one span when it is at its limit in the shortest. [the input's unit].

    One stiffness lowers the tension of a span the less the longer it is; that all spans are told the same middle of
    what it may do to them is then wrong by up to twice the half-width.
    """
    given = budget.inputs[place]
    if given.name != UNKNOWN_STIFFNESS:
        return given.half_width
    return given.half_width * (2 * shortest_m / budget.line(SPAN_LENGTH).given.measured.value - 1)


def _moved(budget: Budget, place: int, by: float) -> float:
    """By which share a result moves with one of its inputs. [1]."""
    values = [given.measured.value for given in budget.inputs]
    values[place] += by
    return budget.model(*values) / budget.result.value - 1

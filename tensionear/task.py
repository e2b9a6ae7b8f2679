"""What is to be found out of a span, and what one fundamental frequency says of it.

Conventions: SI units. What is compared, and with which limits, is the `Comparison`'s to say: a frequency, the tension
by the flexible formula with the constants of whoever stated it, or the tension that is corrected for stiffness.
"""

from dataclasses import dataclass, replace

from tensionear.belt.comparison import ComparedQuantity, Comparison, SingleValue
from tensionear.belt.tension import static_tension
from tensionear.errors import InputError
from tensionear.known_span import KnownSpan
from tensionear.metrology.budget import Budget, BudgetInput, Distribution, EvaluationType, draw_up
from tensionear.metrology.decision import GUARDED, Decision, DecisionRule, conformance_probability, decide
from tensionear.metrology.uncertainty import Measured, propagated
from tensionear.tension_budget import (
    FUNDAMENTAL,
    LINEAR_DENSITY,
    SPAN_LENGTH,
    budget_input,
    clock_input,
    tension_budget,
)

LIMITS = "converted limits"
"""Name, in the budget of what is compared, of what is not known of the limits."""


@dataclass(frozen=True)
class Assessment:
    """What a fundamental frequency says of the belt.

    Attributes
    ----------
    fundamental : Measured
        [Hz]
    budget : Budget or None
        Of the static tension; None without a span, or if this span has no tension at which it would ring so.
    flexible_tension : Measured or None
        By 4·m·L²·f² with the span's own length and density; None without a span. [N]
    no_tension : str
        Why there is a span and no tension; empty otherwise.
    compared : Budget or None
        Of what is compared; None if nothing is, or nothing could be.
    decision : Decision or None
        None without limits, or if nothing could be compared.
    conformance_probability : float or None
        Probability that what is compared lies within the limits; None where `decision` is. [1]
    """

    fundamental: Measured
    budget: Budget | None = None
    flexible_tension: Measured | None = None
    no_tension: str = ""
    compared: Budget | None = None
    decision: Decision | None = None
    conformance_probability: float | None = None

    @property
    def tension(self) -> Measured | None:
        """Static tension [N]; None where `budget` is."""
        return None if self.budget is None else self.budget.result


@dataclass(frozen=True)
class BeltTask:
    """What is to be found out about a span.

    Attributes
    ----------
    span : KnownSpan or None
        The span; None leaves it at frequencies.
    comparison : Comparison or None
        What of the reading is compared with which limits; None gives no verdict.
    decision_rule : DecisionRule
        By what is decided.

    Raises
    ------
    InputError
        If a tension is to be compared and there is no span to find it with.
    """

    span: KnownSpan | None = None
    comparison: Comparison | None = None
    decision_rule: DecisionRule = GUARDED

    def __post_init__(self) -> None:
        if self.span is None and self._quantity is ComparedQuantity.CORRECTED_TENSION:
            raise InputError(
                "a band in newtons needs a tension to compare with: "
                "add the span length and the linear density, or give the band in hertz"
            )

    @property
    def _quantity(self) -> ComparedQuantity | None:
        return None if self.comparison is None else self.comparison.quantity

    def assessment(self, fundamental: Measured, n_plucks: int = 1) -> Assessment:
        """Say what a fundamental means for the belt.

        Parameters
        ----------
        fundamental : Measured
            Of one pluck, or the mean of a set. [Hz]
        n_plucks : int
            How many plucks it is the mean of.
        """
        given = _heard(fundamental, n_plucks)
        found = Assessment(fundamental)
        if self.span is not None:
            try:
                budget = tension_budget([given, *self.span.inputs], self.span.correlations)
            except InputError as error:
                found = replace(found, no_tension=str(error))
            else:
                found = replace(found, budget=budget, flexible_tension=_flexible(fundamental, self.span))
        return self._decided(replace(found, compared=self._compared(given, found.budget)))

    def _compared(self, given: BudgetInput, tension: Budget | None) -> Budget | None:
        if self.comparison is None:
            return None
        quantity, share = self.comparison.quantity, self.comparison.limits_relative_standard_uncertainty
        beside = [] if share == 0 else [_limits_input(share)]
        if quantity is ComparedQuantity.CORRECTED_TENSION:
            return tension
        inputs = [given, clock_input(), *beside]
        if quantity is ComparedQuantity.FREQUENCY:
            return draw_up(quantity, "Hz", _frequency, inputs)
        constants = self.comparison.constants
        assert constants is not None  # noqa: S101 - a comparison of this quantity has them
        length = Measured(constants.span_length_m, constants.span_length_standard_uncertainty_m)
        density = Measured(
            constants.linear_density_kg_per_m, constants.linear_density_standard_uncertainty_kg_per_m
        )
        inputs[1:1] = [
            budget_input(SPAN_LENGTH, length, "compared with"),
            budget_input(LINEAR_DENSITY, density, "compared with"),
        ]
        return draw_up(quantity, "N", _flexible_formula, inputs)

    def _decided(self, found: Assessment) -> Assessment:
        if self.comparison is None or found.compared is None:
            return found
        limits = self.comparison.limits
        if isinstance(limits, SingleValue):
            return found
        value = found.compared.result
        return replace(
            found,
            decision=decide(value, limits.lower, limits.upper, self.decision_rule),
            conformance_probability=conformance_probability(value, limits.lower, limits.upper),
        )


def _heard(fundamental: Measured, n_plucks: int) -> BudgetInput:
    if n_plucks == 1:
        origin = "ring-down fit"
    elif fundamental.degrees_of_freedom < float("inf"):
        origin = f"scatter, {n_plucks} plucks"
    else:
        origin = f"fits, {n_plucks} plucks"
    return budget_input(FUNDAMENTAL, fundamental, origin, Distribution.NORMAL, EvaluationType.A)


def _limits_input(share: float) -> BudgetInput:
    """What is not known of limits that had to be converted: a factor of 1, so that it counts once."""
    return BudgetInput(LIMITS, Measured(1.0, share), "", EvaluationType.B, "conversion to this span")


def _frequency(fundamental_hz: float, clock_ppm: float, limits: float = 1.0) -> float:
    return fundamental_hz * (1 + clock_ppm / 1e6) / limits


def _flexible_formula(
    fundamental_hz: float, length_m: float, density: float, clock_ppm: float, limits: float = 1.0
) -> float:
    return static_tension(fundamental_hz * (1 + clock_ppm / 1e6), length_m, density) / limits


def _flexible(fundamental: Measured, known: KnownSpan) -> Measured:
    length = known.span
    return propagated(
        static_tension,
        fundamental,
        Measured(length.span_length_m, length.span_length_standard_uncertainty_m),
        known.swinging_density,
    )

"""What a fundamental says of the belt: physics, uncertainty and decision put together."""

import math

import numpy as np
import pytest

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.belt.comparison import Comparison
from tensionear.belt.span import BeltSpan
from tensionear.belt.specification import Specification
from tensionear.belt.stated_value import BeltState, Method, ReferenceSpan, Stated
from tensionear.belt.stiff_span import partial_frequency
from tensionear.belt.stiffness import SpanStiffness
from tensionear.errors import InputError
from tensionear.known_span import KnownSpan, SpanModel
from tensionear.metrology.decision import DecisionRule, Rule, Side, Verdict
from tensionear.metrology.uncertainty import Measured
from tensionear.task import LIMITS, BeltTask
from tensionear.tension_budget import (
    CLOCK,
    END_FIXITY,
    LARGEST_REDUCTION_PERCENT,
    SPAN_LENGTH,
    UNKNOWN_STIFFNESS,
)
from tests.compared import AS_FLEXIBLE, SPAN, as_force, as_frequency, as_vibration

CLAMPED = SpanStiffness(0.03, 0.003, 1.0, 0.0)
ENDS_NOT_KNOWN = SpanStiffness(0.03, 0.003)


def rings_at(tension_n: float, stiffness: SpanStiffness) -> float:
    """Fundamental of `SPAN` under a tension."""
    return float(
        partial_frequency(
            tension_n,
            SPAN.span_length_m,
            SPAN.linear_density_kg_per_m,
            stiffness.bending_stiffness_n_m2,
            stiffness.end_fixity,
        )
    )


def test_a_stiff_span_gets_the_tension_that_it_has() -> None:
    found = BeltTask(KnownSpan.taken(SPAN, CLAMPED)).assessment(Measured(rings_at(400, CLAMPED), 0.05))
    assert found.tension is not None
    assert found.flexible_tension is not None
    assert found.tension.value == pytest.approx(400, rel=1e-9)
    # ξ = 0.213·√(400/0.03) = 24.6. Fletcher 1964, from memory: clamped f1/f0 is the pinned one, √(1 + B), times
    # 1 + (2/π)·√B + (4/π²)·B with B = π²/ξ²; at ξ = 20 it is 0.1 % below the exact one.
    b = (math.pi / 24.6) ** 2
    fletcher = math.sqrt(1 + b) * (1 + 2 / math.pi * math.sqrt(b) + 4 / math.pi**2 * b)
    assert found.flexible_tension.value / 400 == pytest.approx(fletcher**2, rel=0.002)


def test_ends_that_are_not_known_are_a_component_that_reaches_from_pinned_to_clamped() -> None:
    pinned, clamped = (SpanStiffness(0.03, 0.003, ends, 0.0) for ends in (0.0, 1.0))
    for held in (pinned, clamped):
        found = BeltTask(KnownSpan.taken(SPAN, ENDS_NOT_KNOWN)).assessment(
            Measured(rings_at(400, held), 0.05)
        )
        assert found.budget is not None
        assert found.budget.dominant.given.name == END_FIXITY
        assert abs(found.budget.result.value - 400) < found.budget.result.expanded_uncertainty


@pytest.mark.parametrize("stiffness_ratio", [20.1, 50, 150])
@pytest.mark.parametrize("end_fixity", [0.0, 0.5, 1.0])
def test_where_nothing_is_known_of_the_stiffness_the_true_tension_lies_within(
    stiffness_ratio: float, end_fixity: float
) -> None:
    bending = 400 * SPAN.span_length_m**2 / stiffness_ratio**2
    fundamental_hz = rings_at(400, SpanStiffness(bending, 0.0, end_fixity, 0.0))
    exact = BeltSpan(SPAN.span_length_m, 0.0, SPAN.linear_density_kg_per_m, 0.0)
    known = KnownSpan.taken(exact)
    found = BeltTask(known).assessment(Measured(fundamental_hz, 0.0))
    assert known.model is SpanModel.NOT_KNOWN
    assert found.tension is not None
    assert abs(found.tension.value - 400) < found.tension.expanded_uncertainty


def test_the_largest_reduction_is_that_of_a_clamped_span_of_stiffness_ratio_20() -> None:
    bending = 400 * SPAN.span_length_m**2 / 20**2
    clamped_hz = rings_at(400, SpanStiffness(bending, 0.0, 1.0, 0.0))
    flexible_n = 4 * SPAN.linear_density_kg_per_m * SPAN.span_length_m**2 * clamped_hz**2
    # Exact clamped f1/f0 at ξ = 20 is 1.12478, computed with finite elements in tests/docs/test_measuring_well.py.
    assert clamped_hz / rings_at(400, SpanStiffness(0.0, 0.0, 0.0, 0.0)) == pytest.approx(1.12478, abs=1e-5)
    assert 100 * (1 - 400 / flexible_n) == pytest.approx(LARGEST_REDUCTION_PERCENT, abs=0.1)


def test_a_force_is_not_called_in_band_on_the_strength_of_the_flexible_formula() -> None:
    """The flexible tension lies in the band, the force in a clamped belt below it."""
    fundamental = Measured(rings_at(370, CLAMPED), 0.05)
    as_string = BeltTask(AS_FLEXIBLE, as_force(420, 480)).assessment(fundamental)
    assert as_string.decision is not None
    assert as_string.decision.verdict is Verdict.IN_BAND  # what was asked for with as_flexible, and wrong
    honest = BeltTask(KnownSpan.taken(SPAN), as_force(420, 480)).assessment(fundamental)
    assert honest.decision is not None
    assert (honest.decision.verdict, honest.decision.side) == (Verdict.UNDECIDED, Side.LOW)
    right = BeltTask(KnownSpan.taken(SPAN, CLAMPED), as_force(420, 480)).assessment(fundamental)
    assert right.decision is not None
    assert (right.decision.verdict, right.decision.side) == (Verdict.OUT_OF_BAND, Side.LOW)


def test_a_vibrations_tension_is_found_with_the_constants_that_were_stated() -> None:
    comparison = as_vibration(380, 460, ReferenceSpan(0.2, 0.150))
    found = BeltTask(KnownSpan.taken(SPAN, CLAMPED), comparison).assessment(Measured(130.0, 0.0))
    assert found.compared is not None
    assert found.compared.result.value == pytest.approx(4 * 0.150 * 0.2**2 * 130**2)
    # The constants are exact as stated: what is left is twice the clock's 273 ppm/√3.
    assert found.compared.result.standard_uncertainty / found.compared.result.value == pytest.approx(
        2 * 273e-6 / math.sqrt(3), rel=1e-3
    )


def test_a_frequency_needs_no_span_and_counts_the_clock_once() -> None:
    found = BeltTask(comparison=as_frequency(110, 122)).assessment(Measured(115.0, 0.05))
    assert found.tension is None
    assert found.compared is not None
    assert found.compared.result.standard_uncertainty == pytest.approx(
        math.hypot(0.05, 115 * 273e-6 / math.sqrt(3))
    )
    assert found.conformance_probability == pytest.approx(1.0)


def test_limits_that_were_converted_bring_their_own_uncertainty() -> None:
    stated = Stated(BeltState.ANY, ToleranceBand(110, 122, BandUnit.HERTZ))
    specification = Specification(Method.FREQUENCY, (stated,), "invented", ReferenceSpan(0.2, 0.165))
    comparison: Comparison = specification.comparison(BeltState.ANY, SPAN)
    found = BeltTask(AS_FLEXIBLE, comparison).assessment(Measured(109.0, 0.0))
    assert found.compared is not None
    assert comparison.limits_relative_standard_uncertainty > 0
    assert found.compared.dominant.given.name == LIMITS
    share = found.compared.result.standard_uncertainty / found.compared.result.value
    assert share == pytest.approx(comparison.limits_relative_standard_uncertainty, rel=2e-3)


def test_a_fundamental_too_low_for_the_stiffness_gives_no_tension_and_says_why() -> None:
    stiff = SpanStiffness(1.0, 0.1, 1.0, 0.0)
    found = BeltTask(KnownSpan.taken(SPAN, stiff), as_force(380, 460)).assessment(Measured(60.0, 0.1))
    assert (found.tension, found.compared, found.decision) == (None, None, None)
    assert found.no_tension


def test_a_force_without_a_span_says_what_to_add() -> None:
    with pytest.raises(
        InputError, match="add the span length and the linear density, or give the band in hertz"
    ):
        BeltTask(comparison=as_force(380, 460))


def test_the_rule_that_was_chosen_decides_and_is_recorded() -> None:
    rule = DecisionRule(Rule.SIMPLE)
    fundamental = Measured(110.2, 0.5)
    found = BeltTask(comparison=as_frequency(110, 122), decision_rule=rule).assessment(fundamental)
    assert found.decision is not None
    assert (found.decision.verdict, found.decision.decision_rule) == (Verdict.IN_BAND, rule)
    guarded = BeltTask(comparison=as_frequency(110, 122)).assessment(fundamental).decision
    assert guarded is not None
    assert guarded.verdict is Verdict.UNDECIDED


def test_the_interval_holds_the_truth_in_95_of_100_simulated_measurements() -> None:
    """A clamped, stiff span; every input drawn from what is said of it, the mean of five plucks heard."""
    generator = np.random.default_rng(4)
    n, n_held = 400, 0
    for _ in range(n):
        length, density = generator.normal(0.213, 0.0005), generator.normal(0.165, 0.001)
        bending = generator.normal(0.03, 0.003)
        clock = 1 + generator.uniform(-273e-6, 273e-6)
        true_hz = float(partial_frequency(400.0, length, density, bending, 1.0))
        plucks = generator.normal(true_hz / clock, 0.3, 5)
        mean = Measured(float(plucks.mean()), float(plucks.std(ddof=1)) / math.sqrt(5), 4)
        known = KnownSpan.taken(BeltSpan(0.213, 0.0005, 0.165, 0.001), CLAMPED)
        found = BeltTask(known).assessment(mean, 5)
        assert found.tension is not None
        n_held += abs(found.tension.value - 400) <= found.tension.expanded_uncertainty
    assert 0.92 <= n_held / n <= 0.98  # 0.95 ± 3 standard deviations of a share of 400


def test_inputs_that_are_told_are_in_the_budget_with_where_they_come_from() -> None:
    found = BeltTask(KnownSpan.taken(SPAN)).assessment(Measured(118.0, 0.1, 4), 5)
    assert found.budget is not None
    origins = {given.name: given.origin for given in found.budget.inputs}
    assert origins["fundamental"] == "scatter, 5 plucks"
    assert {SPAN_LENGTH, CLOCK, UNKNOWN_STIFFNESS} < set(origins)

"""Budgets of tension and frequency: against a library of its own, and what spans share."""

import math

import GTC
import numpy as np
import pytest

from tensionear.belt.stiff_span import partial_frequency
from tensionear.metrology.budget import BudgetInput, Correlation, Distribution
from tensionear.metrology.uncertainty import Measured
from tensionear.tension_budget import (
    BENDING_STIFFNESS,
    END_FIXITY,
    FUNDAMENTAL,
    LINEAR_DENSITY,
    SPAN_LENGTH,
    TENSION,
    budget_input,
    common_part_left_out,
    drawn,
    frequency_budget,
    own_part,
    tension_budget,
)


def inputs(
    hertz: float, length_m: float = 0.213, bending: float = 0.0, ends: Measured | None = None
) -> list[BudgetInput]:
    return [
        budget_input(FUNDAMENTAL, Measured(hertz, 0.2, 4), "invented", Distribution.NORMAL),
        budget_input(SPAN_LENGTH, Measured.within(length_m, 0.001), "invented"),
        budget_input(LINEAR_DENSITY, Measured(0.165, 0.001), "invented", Distribution.NORMAL),
        budget_input(BENDING_STIFFNESS, Measured(bending, 0.05 * bending), "invented", Distribution.NORMAL),
        budget_input(END_FIXITY, ends or Measured(0.0, 0.0), "invented"),
    ]


def test_flexible_tension_agrees_with_gtc() -> None:
    result = tension_budget(inputs(121.4)).result
    f, length, m = GTC.ureal(121.4, 0.2, 4), GTC.ureal(0.213, 0.001 / math.sqrt(3)), GTC.ureal(0.165, 0.001)
    expected = 4 * m * length**2 * f**2
    assert result.value == pytest.approx(expected.x)
    assert result.standard_uncertainty == pytest.approx(expected.u, rel=1e-4)
    assert result.degrees_of_freedom == pytest.approx(expected.df, rel=1e-3)


def test_tension_and_frequency_are_each_others_inverse() -> None:
    given = inputs(
        partial_frequency(400.0, 0.213, 0.165, 0.045, 0.7), bending=0.045, ends=Measured(0.7, 0.05)
    )
    assert tension_budget(given).result.value == pytest.approx(400.0)
    back = frequency_budget([budget_input(TENSION, Measured(400.0, 0.0), "invented"), *given[1:]])
    assert back.result.value == pytest.approx(given[0].measured.value)


def test_correlation_of_a_calibration_narrows_or_widens() -> None:
    given = inputs(129.9, bending=0.045, ends=Measured(1.0, 0.0))
    free = tension_budget(given).result.standard_uncertainty
    bound = tension_budget(given, [Correlation(LINEAR_DENSITY, BENDING_STIFFNESS, 0.9)]).result
    # More density is more tension, more stiffness is less: together they cancel in part.
    assert bound.standard_uncertainty < free


def test_draws_beyond_what_can_be_are_brought_back_to_its_edge() -> None:
    given = inputs(129.9, bending=0.045, ends=Measured.within(0.5, 0.5))
    trials = drawn(tension_budget(given), np.random.default_rng(3))
    lowest, highest = 385.0, 515.0  # clamped and pinned, with what else is not known
    assert lowest < trials.symmetric[0] < trials.symmetric[1] < highest


def test_what_spans_share_is_left_out_and_what_they_do_not_stays() -> None:
    budgets = [tension_budget(inputs(hertz, length)) for hertz, length in ((121.4, 0.213), (86.2, 0.3))]
    for budget, left in zip(budgets, common_part_left_out(budgets), strict=True):
        own = math.hypot(budget.line(FUNDAMENTAL).contribution, budget.line(SPAN_LENGTH).contribution)
        assert left.value == budget.result.value
        assert left.standard_uncertainty == pytest.approx(
            own
        )  # flexible: the density moves both by one share
        assert left.standard_uncertainty < budget.result.standard_uncertainty
    ends = Measured.within(0.5, 0.5)
    stiff = [
        tension_budget(inputs(partial_frequency(400.0, length, 0.165, 0.045, 0.5), length, 0.045, ends))
        for length in (0.12, 0.4)
    ]
    short, long = common_part_left_out(stiff)
    assert short.standard_uncertainty > 20
    assert long.standard_uncertainty > 20


def test_own_part_is_that_of_the_fundamental() -> None:
    own = own_part(tension_budget(inputs(121.4)))
    assert own.standard_uncertainty == pytest.approx(2 * own.value * 0.2 / 121.4, rel=1e-4)
    assert own.degrees_of_freedom == 4

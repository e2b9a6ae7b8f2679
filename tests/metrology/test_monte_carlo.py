"""Propagation of distributions against JCGM 101, NIST TN 1900 and SciPy's own distributions."""

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from tensionear.metrology.budget import BudgetInput, Correlation, Distribution, EvaluationType, draw_up
from tensionear.metrology.monte_carlo import (
    N_PER_BLOCK,
    draw,
    propagate,
    shortest_interval,
    symmetric_interval,
)
from tensionear.metrology.uncertainty import Measured

Values = NDArray[np.float64]


def entry(name: str, measured: Measured, distribution: Distribution = Distribution.NORMAL) -> BudgetInput:
    return BudgetInput(name, measured, "1", EvaluationType.B, "published example", distribution)


def sum_of_four(a: Values, b: Values, c: Values, d: Values) -> Values:
    return a + b + c + d


@pytest.mark.parametrize(
    ("distributions", "last", "standard_uncertainty", "end", "by_budget"),
    [
        ("normal", 1, 2.0, 3.92, 3.92),
        ("rectangular", 1, 2.0, 3.88, 3.92),
        ("rectangular", 10, 10.1, 17.0, 19.9),
    ],
)
def test_additive_model_of_jcgm_101(
    distributions: str, last: float, standard_uncertainty: float, end: float, by_budget: float
) -> None:
    # JCGM 101:2008, 9.2.2 to 9.2.4, tables 2 to 4 (numbers from memory).
    inputs = [
        entry(name, Measured(0, last if name == "d" else 1), Distribution(distributions)) for name in "abcd"
    ]
    found = propagate(sum_of_four, inputs, np.random.default_rng(101))
    assert found.settled
    assert found.mean == pytest.approx(0, abs=0.03 * last)
    assert found.standard_uncertainty == pytest.approx(standard_uncertainty, rel=0.01)
    assert found.symmetric == pytest.approx((-end, end), rel=0.015)
    assert found.shortest[1] - found.shortest[0] == pytest.approx(2 * end, rel=0.015)
    budget = draw_up("y", "1", lambda *each: sum(each), inputs)
    assert budget.result.expanded_uncertainty == pytest.approx(by_budget, abs=0.05)


def viscosity(mu_c: Values, t_m: Values, rho_b: Values, rho_m: Values, t_c: Values, rho_c: Values) -> Values:
    return mu_c * t_m * (rho_b - rho_m) / (t_c * (rho_b - rho_c))


# NIST TN 1900, example E3; the inputs as carried by the example ex_viscometer.yaml of the package suncal.
VISCOMETER = [
    entry("viscosity of the calibration liquid", Measured(4.63, 0.0463)),
    entry("fall time in the sample", Measured(61, 6.1)),
    entry("density of the ball", Measured(2217, 0.5)),
    entry("density of the sample", Measured(1180, 0.5)),
    entry("fall time in the calibration liquid", Measured(36.6, 5.49)),
    entry("density of the calibration liquid", Measured(810, 0.5)),
]


def test_falling_ball_viscometer_of_nist() -> None:
    # NIST TN 1900, E3: first order 5.69 and 1.03 [mPa s]; Monte Carlo 5.82, 1.11 and 95 % in [4.05, 8.39].
    budget = draw_up("viscosity", "mPa s", lambda *each: float(viscosity(*map(np.array, each))), VISCOMETER)
    assert budget.result.value == pytest.approx(5.69, abs=0.005)
    assert budget.result.standard_uncertainty == pytest.approx(1.03, abs=0.005)
    found = propagate(viscosity, VISCOMETER, np.random.default_rng(1900))
    assert found.mean == pytest.approx(5.82, abs=0.01)
    assert found.standard_uncertainty == pytest.approx(1.11, abs=0.015)
    assert found.symmetric == pytest.approx((4.05, 8.39), abs=0.03)
    assert found.shortest[1] - found.shortest[0] < found.symmetric[1] - found.symmetric[0]
    assert found.shortest[0] < found.symmetric[0]


def test_thermal_expansion_of_nist() -> None:
    # NIST TN 1900, E13: 1.7266e-5 per kelvin with 1.76e-6; the inputs as carried by the example
    # ex_expansion.yaml of the package suncal.
    inputs = [
        entry("L0", Measured(1.4999, 0.0001)),
        entry("L1", Measured(1.5021, 0.0002)),
        entry("T0", Measured(288.15, 0.02)),
        entry("T1", Measured(373.10, 0.05)),
    ]
    budget = draw_up("expansion", "1/K", lambda l0, l1, t0, t1: (l1 - l0) / (l0 * (t1 - t0)), inputs)
    assert budget.result.value == pytest.approx(1.7266e-5, abs=5e-10)
    assert budget.result.standard_uncertainty == pytest.approx(1.76e-6, abs=5e-9)
    assert budget.dominant.given.name == "L1"
    found = propagate(lambda l0, l1, t0, t1: (l1 - l0) / (l0 * (t1 - t0)), inputs, np.random.default_rng(13))
    assert found.standard_uncertainty == pytest.approx(1.76e-6, rel=0.01)


@pytest.mark.parametrize(
    ("distribution", "degrees_of_freedom", "reference"),
    [
        (Distribution.NORMAL, math.inf, stats.norm(3, 0.5)),
        (Distribution.NORMAL, 4, stats.t(4, 3, 0.5)),
        (Distribution.RECTANGULAR, math.inf, stats.uniform(3 - 0.5 * 3**0.5, 3**0.5)),
        (Distribution.TRIANGULAR, math.inf, stats.triang(0.5, 3 - 0.5 * 6**0.5, 6**0.5)),
        (Distribution.ARCSINE, math.inf, stats.arcsine(3 - 0.5 * 2**0.5, 2**0.5)),
    ],
)
def test_draws_have_the_distribution_that_scipy_knows(
    distribution: Distribution, degrees_of_freedom: float, reference: "stats.rv_continuous"
) -> None:
    given = entry("x", Measured(3, 0.5, degrees_of_freedom), distribution)
    (drawn,) = draw([given], np.random.default_rng(5), 20_000)
    assert stats.kstest(drawn, reference.cdf).pvalue > 0.001


@pytest.mark.parametrize("degrees_of_freedom", [math.inf, 6])
def test_correlated_draws_are_correlated_and_the_others_are_not(degrees_of_freedom: float) -> None:
    inputs = [entry(name, Measured(1, 0.1, degrees_of_freedom)) for name in "ab"] + [
        entry("c", Measured(1, 1))
    ]
    drawn = draw(inputs, np.random.default_rng(6), 50_000, [Correlation("a", "b", -0.7)])
    coefficients = np.asarray(np.corrcoef(drawn))
    assert coefficients[0, 1] == pytest.approx(-0.7, abs=0.02)
    assert coefficients[0, 2] == pytest.approx(0, abs=0.02)
    for each in drawn[:2]:
        assert stats.kstest(each, stats.t(degrees_of_freedom, 1, 0.1).cdf).pvalue > 0.001


def test_only_normal_inputs_of_one_origin_can_be_correlated() -> None:
    flat = [entry("a", Measured(1, 0.1)), entry("b", Measured(1, 0.1), Distribution.RECTANGULAR)]
    unlike = [entry("a", Measured(1, 0.1, 3)), entry("b", Measured(1, 0.1, 4))]
    for inputs in (flat, unlike):
        with pytest.raises(ValueError, match="only normal inputs with the same degrees of freedom"):
            draw(inputs, np.random.default_rng(0), 10, [Correlation("a", "b", 0.5)])


def test_shortest_interval_of_a_skewed_distribution_begins_at_its_foot() -> None:
    # Exponential: the shortest 95 % reach from 0 to ln 20; the symmetric ones from -ln 0.975 to -ln 0.025.
    trials = np.sort(np.random.default_rng(9).exponential(size=200_000))
    assert shortest_interval(trials) == pytest.approx((0, math.log(20)), abs=0.03)
    assert symmetric_interval(trials) == pytest.approx((-math.log(0.975), -math.log(0.025)), abs=0.03)


def test_a_result_that_cannot_settle_says_so_and_stops() -> None:
    found = propagate(
        lambda x: x, [entry("x", Measured(0, 1, 1))], np.random.default_rng(2), n_most=3 * N_PER_BLOCK
    )
    assert not found.settled
    assert found.n_trials == 3 * N_PER_BLOCK


def test_the_same_seed_gives_the_same_trials() -> None:
    first, second = (propagate(viscosity, VISCOMETER, np.random.default_rng(3), n_most=20_000) for _ in "ab")
    assert first == second


def test_a_model_without_a_value_is_told() -> None:
    with pytest.raises(ValueError, match="no finite value"), np.errstate(invalid="ignore"):
        propagate(np.sqrt, [entry("x", Measured(0, 1))], np.random.default_rng(1))


def test_fewer_trials_than_a_block_are_refused() -> None:
    with pytest.raises(ValueError, match="9999 trials are fewer than a block of 10000"):
        propagate(viscosity, VISCOMETER, np.random.default_rng(1), n_most=9_999)

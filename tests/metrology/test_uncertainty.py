import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from tensionear.belt.tension import static_tension
from tensionear.metrology.uncertainty import Measured, coverage_factor, propagated

# NIST Technical Note 1297, appendix B, table B.1 (the same as table G.2 of the GUM): degrees of freedom, t at
# 95 % and t at 99 %.
STUDENT_T = [
    (1, 12.71, 63.66),
    (2, 4.30, 9.92),
    (3, 3.18, 5.84),
    (4, 2.78, 4.60),
    (5, 2.57, 4.03),
    (9, 2.26, 3.25),
    (16, 2.12, 2.92),
    (19, 2.09, 2.86),
    (50, 2.01, 2.68),
    (100, 1.984, 2.626),
    (math.inf, 1.960, 2.576),
]


@pytest.mark.parametrize(("degrees_of_freedom", "at_95", "at_99"), STUDENT_T)
def test_coverage_factor_is_that_of_the_published_table(
    degrees_of_freedom: float, at_95: float, at_99: float
) -> None:
    assert coverage_factor(degrees_of_freedom) == pytest.approx(at_95, abs=0.0051)
    assert coverage_factor(degrees_of_freedom, 0.99) == pytest.approx(at_99, abs=0.0051)


def test_end_gauge_of_the_gum() -> None:
    # GUM H.1: components of 25, 9.7, 2.9 and 16.6 nm give 32 nm; with 18, 25.6, 50 and 2 degrees of freedom
    # (as quoted in the manual of the CRAN package `propagate`, WelchSatter) there are 16 once truncated, and
    # the expanded uncertainty at 99 % is 93 nm (both from memory).
    components = [(25, 18), (9.7, 25.6), (2.9, 50), (16.6, 2)]
    length_nm = propagated(
        lambda *each: 50_000_838 + math.fsum(each), *(Measured(0, u, nu) for u, nu in components)
    )
    assert length_nm.value == 50_000_838
    assert length_nm.standard_uncertainty == pytest.approx(32, abs=0.5)
    assert math.floor(length_nm.degrees_of_freedom) == 16
    assert coverage_factor(16, 0.99) * 32 == pytest.approx(93, abs=0.5)


def test_product_of_three_of_the_gum() -> None:
    # GUM G.4.1, example (from memory): Y = b·X1·X2·X3 with relative standard uncertainties of 0.25, 0.57 and
    # 0.82 % from 10, 5 and 15 observations gives 1.03 %, 19.0 degrees of freedom and 2.2 % at 95 %.
    y = propagated(
        lambda x1, x2, x3: 7 * x1 * x2 * x3,
        Measured(2, 0.0025 * 2, 9),
        Measured(30, 0.0057 * 30, 4),
        Measured(0.5, 0.0082 * 0.5, 14),
    )
    assert y.standard_uncertainty / y.value == pytest.approx(0.0103, abs=0.00005)
    assert y.degrees_of_freedom == pytest.approx(19.0, abs=0.05)
    assert y.expanded_uncertainty / y.value == pytest.approx(0.022, abs=0.0005)


def test_half_width_becomes_its_rectangular_standard_uncertainty() -> None:
    # GUM 4.3.7: u² = a²/3.
    assert Measured.within(213, 1).standard_uncertainty == pytest.approx(1 / math.sqrt(3), rel=1e-15)


TENSION_INPUTS = (Measured(119.0, 0.4, 4), Measured(0.213, 0.001), Measured(0.165, 0.00165))


def test_tension_uncertainty_is_that_of_the_closed_formula() -> None:
    # For a product of powers the first order is exactly (u_T/T)² = (2 u_f/f)² + (2 u_L/L)² + (u_m/m)².
    tension = propagated(static_tension, *TENSION_INPUTS)
    f, length, m = (each.standard_uncertainty / each.value for each in TENSION_INPUTS)
    assert tension.value == static_tension(119.0, 0.213, 0.165)
    assert tension.standard_uncertainty == pytest.approx(
        tension.value * math.hypot(2 * f, 2 * length, m), rel=1e-12
    )
    by_hand = math.hypot(2 * f, 2 * length, m) ** 4 / ((2 * f) ** 4 / 4)
    assert tension.degrees_of_freedom == pytest.approx(by_hand, rel=1e-11)


@given(
    st.tuples(st.floats(20, 600), st.floats(0.04, 5), st.floats(0.01, 5)),
    st.tuples(st.floats(1e-6, 0.2), st.floats(1e-6, 0.2), st.floats(1e-6, 0.2)),
)
def test_tension_uncertainty_agrees_with_the_uncertainties_library(
    values: tuple[float, float, float], shares: tuple[float, float, float]
) -> None:
    # PyPI package `uncertainties`: first order by automatic differentiation.
    tension = propagated(
        static_tension, *(Measured(value, share * value) for value, share in zip(values, shares, strict=True))
    )
    f, length, m = (ufloat(value, share * value) for value, share in zip(values, shares, strict=True))
    reference = 4 * m * length**2 * f**2
    assert tension.value == pytest.approx(reference.n, rel=1e-12)
    assert tension.standard_uncertainty == pytest.approx(reference.s, rel=1e-9, abs=1e-12 * reference.n)


def test_monte_carlo_agrees_with_first_order() -> None:
    # JCGM 101: propagate the distributions themselves.
    rng = np.random.default_rng(20240611)
    inputs = (Measured(119.0, 0.4), Measured.within(0.213, 0.001), Measured(0.165, 0.00165))
    tension = propagated(static_tension, *inputs)
    n_trials = 200_000
    f = rng.normal(119.0, 0.4, n_trials)
    length = rng.uniform(0.212, 0.214, n_trials)
    m = rng.normal(0.165, 0.00165, n_trials)
    drawn = 4 * m * length**2 * f**2
    assert drawn.mean() == pytest.approx(tension.value, rel=1e-4)
    assert drawn.std() == pytest.approx(tension.standard_uncertainty, rel=0.01)
    covered = np.abs(drawn - tension.value) < tension.expanded_uncertainty
    assert covered.mean() == pytest.approx(0.95, abs=0.003)


def test_an_uncertainty_as_wide_as_the_value_stays_inside_the_formulas_domain() -> None:
    # A set of plucks that disagree by an octave may scatter as widely as its mean.
    tension = propagated(static_tension, Measured(310, 410, 1), Measured(0.2, 0), Measured(0.1, 0))
    assert tension.standard_uncertainty == pytest.approx(2 * 410 / 310 * tension.value, rel=1e-9)


def test_inputs_known_exactly_give_a_result_known_exactly() -> None:
    tension = propagated(static_tension, Measured(119, 0, 3), Measured(0.213, 0), Measured(0.165, 0))
    assert tension == Measured(static_tension(119, 0.213, 0.165), 0.0, math.inf)


@given(st.lists(st.tuples(st.floats(1e-9, 1e9), st.floats(1, 1e6)), min_size=1, max_size=6))
def test_effective_degrees_of_freedom_lie_between_the_least_and_the_sum(
    components: list[tuple[float, float]],
) -> None:
    # GUM G.4.1, note: the effective degrees of freedom never exceed the sum.
    total = propagated(lambda *each: math.fsum(each), *(Measured(0, u, nu) for u, nu in components))
    degrees = [nu for _, nu in components]
    assert min(degrees) * (1 - 1e-9) <= total.degrees_of_freedom <= sum(degrees) * (1 + 1e-9)


@pytest.mark.parametrize(
    ("value", "standard_uncertainty", "degrees_of_freedom", "message"),
    [
        (math.nan, 1, 1, "value nan is not finite"),
        (math.inf, 1, 1, "value inf is not finite"),
        (1, -1, 1, "standard uncertainty -1 is not finite and 0 or more"),
        (1, math.nan, 1, "standard uncertainty nan is not finite and 0 or more"),
        (1, math.inf, 1, "standard uncertainty inf is not finite and 0 or more"),
        (1, 1, 0, "degrees of freedom 0 are not above 0"),
        (1, 1, math.nan, "degrees of freedom nan are not above 0"),
    ],
)
def test_measured_refuses_what_is_no_measured_value(
    value: float, standard_uncertainty: float, degrees_of_freedom: float, message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        Measured(value, standard_uncertainty, degrees_of_freedom)

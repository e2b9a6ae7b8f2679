"""The finite-element span against exact frequencies of strings and beams."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from benchmarks.simulator.strip import Strip, strip_modes

LENGTH_M, DENSITY, TENSION_N = 0.213, 0.165, 420.0


def strip_of(xi: float, end_spring_n_m: float) -> Strip:
    bending = TENSION_N * LENGTH_M**2 / xi**2
    return Strip(LENGTH_M, DENSITY, TENSION_N, bending, 1e5, (end_spring_n_m, end_spring_n_m))


def flexible_hz() -> float:
    return math.sqrt(TENSION_N / DENSITY) / (2 * LENGTH_M)


# Exact clamped values computed from the tensioned-beam frequency equation, to five decimals.
@pytest.mark.parametrize(
    ("xi", "ratio"), [(10, 1.30485), (20, 1.12478), (50, 1.04374), (100, 1.02091), (200, 1.01023)]
)
def test_clamped_fundamental_is_the_tabulated_one(xi: float, ratio: float) -> None:
    modes = strip_modes(strip_of(xi, math.inf), 1)
    assert modes.frequency_hz[0] / flexible_hz() == pytest.approx(ratio, abs=1.2e-5)


# 2ab(1 - cosh a cos b) + (a² - b²) sinh a sin b = 0, a² = b² + xi², f = a b sqrt(EI/m)/(2 pi L²), divided by
# cosh a: the frequency equation of a tensioned beam with both ends clamped.
@pytest.mark.parametrize("xi", [10.0, 30.0, 100.0])
@pytest.mark.parametrize("number", [1, 2, 3, 5])
def test_clamped_partials_solve_the_frequency_equation(xi: float, number: int) -> None:
    def equation(b: float) -> float:
        a = math.sqrt(b * b + xi * xi)
        return 2 * a * b * (1 / math.cosh(a) - math.cos(b)) + (a * a - b * b) * math.tanh(a) * math.sin(b)

    b = brentq(equation, number * math.pi + 1e-9, (number + 0.75) * math.pi)
    strip = strip_of(xi, math.inf)
    exact_hz = (
        math.sqrt(b * b + xi * xi)
        * b
        * math.sqrt(strip.bending_stiffness_n_m2 / DENSITY)
        / (2 * math.pi * LENGTH_M**2)
    )
    assert strip_modes(strip, 5).frequency_hz[number - 1] == pytest.approx(exact_hz, rel=1e-4)


# Any textbook's stiff string between hinges: f_n = n f_0 sqrt(1 + pi² n²/xi²).
@pytest.mark.parametrize("xi", [10.0, 30.0, 200.0])
def test_hinged_partials_are_those_of_the_stiff_string(xi: float) -> None:
    number = np.arange(1, 9)
    exact_hz = number * flexible_hz() * np.sqrt(1 + (np.pi * number / xi) ** 2)
    np.testing.assert_allclose(strip_modes(strip_of(xi, 0.0), 8).frequency_hz, exact_hz, rtol=3e-4)


# The published string of OpenStax University Physics vol. 1, ch. 16: 5 g/m, 3.5 m, 90 N; its fifth partial is
# at 95.83 Hz. Its stiffness is taken as next to nothing.
def test_next_to_no_stiffness_gives_the_published_string() -> None:
    modes = strip_modes(Strip(3.5, 0.005, 90.0, 1e-6, 1e5, (0.0, 0.0)), 5)
    assert modes.frequency_hz[4] == pytest.approx(95.83, abs=0.01)


def test_a_turning_spring_lies_between_hinge_and_clamp() -> None:
    springs = [0.0, 0.3, 3.0, 30.0, math.inf]
    fundamentals = [strip_modes(strip_of(30, spring), 1).frequency_hz[0] for spring in springs]
    assert fundamentals == sorted(fundamentals)
    assert len(set(fundamentals)) == len(springs)


def test_shapes_are_mass_normalised_and_orthogonal() -> None:
    modes = strip_modes(strip_of(40, math.inf), 6)
    step_m = modes.position_m[1]
    overlap = DENSITY * step_m * modes.shape @ modes.shape.T
    np.testing.assert_allclose(overlap, np.eye(6), atol=2e-3)


def test_finer_elements_change_the_fundamental_by_less_than_a_hundred_thousandth() -> None:
    strip = strip_of(150, math.inf)
    coarse, fine = (strip_modes(strip, 1, n_elements).frequency_hz[0] for n_elements in (48, 96))
    assert coarse == pytest.approx(fine, rel=1e-5)


def test_more_modes_than_the_elements_resolve_are_refused() -> None:
    with pytest.raises(ValueError, match="25 modes of 48 elements: give 1 to 24"):
        strip_modes(strip_of(50, 0.0), 25)

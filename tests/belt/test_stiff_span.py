"""The stiff span against published strings, finite elements of two makers, and its own inverse."""

import math
import re

import numpy as np
import pytest

from benchmarks.simulator.strip import Strip, strip_modes
from tensionear.belt.stiff_approximations import (
    clamped_frequency_first_order,
    pinned_frequency,
    stretch_of_stiffness,
)
from tensionear.belt.stiff_span import (
    LOWEST_STIFFNESS_RATIO,
    end_fixity_of_spring,
    partial_frequency,
    stiffness_ratio,
    tension_of_partial,
)
from tensionear.belt.tension import fundamental_frequency, static_tension
from tensionear.errors import InputError

# Invented: a span of a timing belt.
LENGTH_M, DENSITY, TENSION_N = 0.213, 0.165, 420.0
PINNED, CLAMPED = 0.0, 1.0
NUMBERS = np.arange(1, 11)


def stiffness_at(ratio: float) -> float:
    return TENSION_N * LENGTH_M**2 / ratio**2


class TestPublished:
    def test_fifth_partial_of_the_textbook_string(self) -> None:
        # OpenStax, University Physics Volume 1, 16.6: 5 g/m, 3.5 m, 90 N.
        assert partial_frequency(90, 3.5, 0.005, 0, PINNED, 5) == pytest.approx(95.83, abs=0.006)

    @pytest.mark.parametrize(("number", "frequency_hz"), [(1, 43.03), (2, 86.07), (3, 129.10), (4, 172.13)])
    def test_next_to_no_stiffness_is_the_textbook_string(self, number: int, frequency_hz: float) -> None:
        # OpenStax, University Physics Volume 1, 16.3 and 16.6: 9 g on 3 m, 200 N.
        assert partial_frequency(200, 3, 0.003, 1e-9, CLAMPED, number) == pytest.approx(
            frequency_hz, abs=0.006
        )

    @pytest.mark.parametrize("number", range(1, 6))
    def test_beam_at_the_edge_of_validity_is_near_the_handbook_beam(self, number: int) -> None:
        # Roots b of the clamped beam without tension, cosh b cos b = 1: 4.730, 7.853, 10.996, 14.137, 17.279 in
        # any vibration handbook. Tension of ratio 3 raises b**4 by about b**2 * 9 times a factor below 1.
        root = (4.7300407, 7.8532046, 10.9956078, 14.1371655, 17.2787597)[number - 1]
        beam_hz = root**2 * math.sqrt(stiffness_at(3.0) / DENSITY) / (2 * math.pi * LENGTH_M**2)
        stretched_hz = beam_hz * math.sqrt(1 + 9 / root**2)
        got_hz = partial_frequency(TENSION_N, LENGTH_M, DENSITY, stiffness_at(3.0), CLAMPED, number)
        assert beam_hz < got_hz < stretched_hz


# Computed apart from this code: the root of 2ab(1 - cosh a cos b) + (a² - b²) sinh a sin b = 0, a² = b² + xi².
# Fletcher's values by his formula, from memory.
@pytest.mark.parametrize(
    ("ratio", "exact", "fletcher", "pinned", "too_high"),
    [
        (10, 1.30485, 1.29975, 1.04819, 0.70),
        (20, 1.12478, 1.12361, 1.01226, 0.265),
        (50, 1.04374, 1.04365, 1.00197, 0.089),
        (100, 1.02091, 1.02090, 1.00049, 0.042),
        (200, 1.01023, 1.01022, 1.00012, 0.021),
    ],
)
def test_table_of_clamped_and_pinned_fundamentals(
    ratio: float, exact: float, fletcher: float, pinned: float, too_high: float
) -> None:
    bending = stiffness_at(ratio)
    flexible_hz = fundamental_frequency(TENSION_N, LENGTH_M, DENSITY)
    clamped_hz = partial_frequency(TENSION_N, LENGTH_M, DENSITY, bending, CLAMPED)
    assert clamped_hz / flexible_hz == pytest.approx(exact, abs=6e-6)
    first_order_hz = clamped_frequency_first_order(TENSION_N, LENGTH_M, DENSITY, bending)
    assert first_order_hz / flexible_hz == pytest.approx(fletcher, abs=6e-6)
    hinged_hz = partial_frequency(TENSION_N, LENGTH_M, DENSITY, bending, PINNED)
    assert hinged_hz / flexible_hz == pytest.approx(pinned, abs=6e-6)
    assert static_tension(clamped_hz, LENGTH_M, DENSITY) / TENSION_N - 1 == pytest.approx(too_high, abs=0.006)


@pytest.mark.parametrize("ratio", [3, 10, 30, 100, 1e3, 1e6])
def test_pinned_partials_are_the_published_formula(ratio: float) -> None:
    span = (TENSION_N, LENGTH_M, DENSITY, stiffness_at(ratio))
    np.testing.assert_allclose(
        partial_frequency(*span, PINNED, NUMBERS), pinned_frequency(*span, NUMBERS), rtol=1e-14
    )
    assert stretch_of_stiffness(TENSION_N, LENGTH_M, stiffness_at(ratio)) == pytest.approx(
        (math.pi / ratio) ** 2, rel=1e-12
    )


@pytest.mark.parametrize("spring_n_m", [0.0, 0.02, 0.3, 3.0, 40.0, math.inf])
@pytest.mark.parametrize("ratio", [7, 15, 50, 150, 500])
def test_partials_are_those_of_finite_elements(ratio: float, spring_n_m: float) -> None:
    """Beam elements with geometric stiffness, solved by scipy.linalg.eigh: the simulator's, apart from `belt`."""
    bending = stiffness_at(ratio)
    strip = Strip(LENGTH_M, DENSITY, TENSION_N, bending, 1e5, (spring_n_m, spring_n_m))
    expected_hz = strip_modes(strip, 10).frequency_hz
    match spring_n_m:
        case 0.0:
            fixity = PINNED
        case math.inf:
            fixity = CLAMPED
        case _:
            fixity = float(end_fixity_of_spring(spring_n_m, TENSION_N, bending))
    got_hz = partial_frequency(TENSION_N, LENGTH_M, DENSITY, bending, fixity, NUMBERS)
    np.testing.assert_allclose(got_hz[:5], expected_hz[:5], rtol=5e-5)  # type: ignore[index]
    np.testing.assert_allclose(got_hz, expected_hz, rtol=5e-4)


def test_frequency_and_tension_are_inverse_over_the_whole_range() -> None:
    rng = np.random.default_rng(20)
    n = 20_000
    ratio = np.exp(rng.uniform(math.log(LOWEST_STIFFNESS_RATIO), math.log(1e6), n))
    tension_n, length_m = np.exp(rng.uniform(math.log(5), math.log(5000), n)), rng.uniform(0.04, 1, n)
    bending = np.where(rng.uniform(size=n) < 0.05, 0.0, tension_n * (length_m / ratio) ** 2)
    fixity = rng.choice([0.0, 1.0, 0.5], n)
    fixity[::2] = rng.uniform(0, 1, n // 2)
    kept = bending <= 100
    density = rng.uniform(0.01, 1, n)
    span = (length_m[kept], density[kept], bending[kept], fixity[kept])
    number = rng.integers(1, 11, n)[kept]
    frequency_hz = partial_frequency(tension_n[kept], *span, number)
    np.testing.assert_allclose(tension_of_partial(frequency_hz, *span, number), tension_n[kept], rtol=1e-10)


def test_more_tension_and_firmer_ends_ring_higher() -> None:
    fixity = np.linspace(0, 1, 21)[:, None]
    for bending in (stiffness_at(6.0), stiffness_at(60.0)):
        frequency_hz = partial_frequency(
            np.linspace(TENSION_N, 9 * TENSION_N, 30), LENGTH_M, DENSITY, bending, fixity
        )
        assert np.all(np.diff(frequency_hz, axis=0) > 0)
        assert np.all(np.diff(frequency_hz, axis=1) > 0)


def test_end_fixity_is_the_share_of_the_clamps_effect_on_a_long_span() -> None:
    fixity = np.linspace(0, 1, 6)
    span = (TENSION_N, LENGTH_M, DENSITY, stiffness_at(2000.0))
    raised = partial_frequency(*span, fixity) / fundamental_frequency(*span[:3]) - 1
    np.testing.assert_allclose(raised, 2 * fixity / 2000, rtol=2e-3, atol=2e-6)


def test_no_stiffness_is_the_flexible_span_whatever_the_ends() -> None:
    flexible_hz = fundamental_frequency(TENSION_N, LENGTH_M, DENSITY)
    got_hz = partial_frequency(TENSION_N, LENGTH_M, DENSITY, 0.0, np.array([0.0, 0.3, 1.0]), [[1], [2], [7]])
    assert np.array_equal(got_hz, flexible_hz * np.array([[1.0], [2.0], [7.0]]) * np.ones(3))
    assert stiffness_ratio(TENSION_N, LENGTH_M, 0.0) == math.inf


def test_floats_give_a_float_and_arrays_broadcast() -> None:
    assert type(partial_frequency(TENSION_N, LENGTH_M, DENSITY, 0.01, 0.7)) is float
    assert type(tension_of_partial(120.0, LENGTH_M, DENSITY, 0.01, 0.7, 1)) is float
    assert type(static_tension(120.0, LENGTH_M, DENSITY)) is float
    got = tension_of_partial(np.full((4, 1), 120.0), LENGTH_M, np.full(3, DENSITY), 0.01, 0.7)
    assert got.shape == (4, 3)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((0, 0.2, 0.1, 0.01, 1, 1), "tension 0 N must be above 0 N: was it left empty?"),
        ((400, 0.2, 0.1, -0.01, 1, 1), "bending stiffness -0.01 N m² does not lie from 0 to 100 N m²"),
        ((400, 0.2, 0.1, 20_000, 1, 1), "bending stiffness 20000 N m² does not lie from 0 to 100 N m²"),
        ((400, 0.2, 0.1, math.nan, 1, 1), "bending stiffness nan N m² is not a finite number"),
        ((400, 0.2, 0.1, 0.01, 70, 1), "end fixity 70 does not lie from 0 to 1"),
        ((400, 0.2, 0.1, 0.01, 1, 0), "partial number 0 is not a whole number from 1"),
        ((400, 0.2, 0.1, 0.01, 1, 1.5), "partial number 1.5 is not a whole number from 1"),
        ((400, 0.2, [0.1, math.inf], 0.01, 1, 1), "linear density inf kg/m is not a finite number"),
        (
            (40, 0.2, 0.1, 0.5, 1, 1),
            "stiffness ratio 1.79 is below 3: so short or slack a span bends like a bar",
        ),
    ],
)
def test_partial_frequency_names_what_it_cannot_use(arguments: tuple[float, ...], message: str) -> None:
    with pytest.raises(InputError, match=f"^{re.escape(message)}"):
        partial_frequency(*arguments)


def test_a_frequency_that_stiffness_alone_accounts_for_is_refused() -> None:
    with pytest.raises(
        InputError, match=r"^frequency 100 Hz is lower than .* leaves nothing to tell the tension"
    ):
        tension_of_partial([500.0, 100.0], LENGTH_M, DENSITY, 0.5, CLAMPED)
    lowest_hz = partial_frequency(9 * 0.5 / LENGTH_M**2, LENGTH_M, DENSITY, 0.5, CLAMPED)
    assert tension_of_partial(lowest_hz, LENGTH_M, DENSITY, 0.5, CLAMPED) == pytest.approx(
        9 * 0.5 / LENGTH_M**2
    )
    with pytest.raises(InputError, match=r"^frequency"):
        tension_of_partial(lowest_hz * 0.999, LENGTH_M, DENSITY, 0.5, CLAMPED)

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from tensionear.belt.air_and_amplitude import air_mass_per_length, relative_glide
from tensionear.belt.tension import fundamental_frequency
from tensionear.errors import InputError


def test_air_of_a_usual_belt_is_some_tenths_of_a_per_cent() -> None:
    # By hand: pi/4 · 1.2 · 0.025² = 0.589 g/m, on a belt of (invented) 140 g/m.
    assert air_mass_per_length(0.025) == pytest.approx(0.589e-3, rel=1e-3)
    assert air_mass_per_length(0.025) / 0.140 == pytest.approx(0.0042, rel=0.01)


def test_air_grows_with_its_density_and_the_square_of_the_width() -> None:
    np.testing.assert_allclose(
        air_mass_per_length(np.array([0.02, 0.04]), 0.6),
        0.5 * air_mass_per_length(0.02) * np.array([1.0, 4.0]),
    )


def test_glide_by_hand() -> None:
    # 3/32 · 1e5/400 · (pi · 3/200)² = 0.0520
    assert relative_glide(0.003, 400, 0.2, 1e5) == pytest.approx(0.0520, abs=5e-5)
    assert relative_glide(0.0, 400, 0.2, 1e5) == 0.0


@pytest.mark.parametrize("amplitude_m", [0.0005, 0.001, 0.0015])
def test_glide_is_that_of_the_swing_integrated_in_time(amplitude_m: float) -> None:
    """One mode of Kirchhoff's and Carrier's string; the time of a quarter swing, by SciPy's integrator."""
    tension_n, length_m, density, axial_stiffness_n = 400.0, 0.2, 0.14, 1e5
    soft_hz = fundamental_frequency(tension_n, length_m, density)
    omega_squared = (2 * math.pi * soft_hz) ** 2

    def swing(_: float, state: np.ndarray) -> list[float]:
        # Stretched length: the mean of (pi q/L cos)²/2 over the span.
        tension_at = tension_n + axial_stiffness_n * (math.pi * state[0] / length_m) ** 2 / 4
        return [state[1], -omega_squared * tension_at / tension_n * state[0]]

    def passes_rest(_: float, state: np.ndarray) -> float:
        return float(state[0])

    swung = solve_ivp(
        swing, (0, 1 / soft_hz), [amplitude_m, 0.0], events=passes_rest, rtol=1e-10, atol=1e-13, max_step=1e-4
    )
    assert swung.t_events is not None
    hard_hz = 1 / (4 * swung.t_events[0][0])
    expected = hard_hz / soft_hz - 1
    # The law is of first order: what it leaves out is of the order of its own square.
    assert relative_glide(amplitude_m, tension_n, length_m, axial_stiffness_n) == pytest.approx(
        expected, rel=2 * expected + 1e-4
    )


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((-0.001, 400, 0.2, 1e5), "amplitude -0.001 m does not lie from 0 to 0.1 m"),
        ((3, 400, 0.2, 1e5), "amplitude 3 m does not lie from 0 to 0.1 m: was it entered in another unit"),
        ((0.003, 0, 0.2, 1e5), "tension 0 N must be above 0 N"),
        ((0.003, 400, 0.2, math.inf), "axial stiffness inf N is not a finite number"),
    ],
)
def test_glide_names_what_it_cannot_use(arguments: tuple[float, float, float, float], message: str) -> None:
    with pytest.raises(InputError, match=f"^{message}"):
        relative_glide(*arguments)


def test_air_refuses_a_width_that_cannot_be() -> None:
    with pytest.raises(InputError, match=r"^belt width -0.02 m is negative"):
        air_mass_per_length(-0.02)

"""The plucked span in time: convergence, decay, and what stretch does to the pitch."""

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from benchmarks.simulator.strip import Strip, StripModes, strip_modes
from benchmarks.simulator.swing import Finger, held_shape, relative_stretch_shift, ring

RATE_HZ = 48000.0
STRIP = Strip(0.213, 0.165, 420.0, 0.008, 1e5, (math.inf, math.inf))


@pytest.fixture(scope="module")
def modes() -> StripModes:
    return strip_modes(STRIP, 8)


def decay_of(modes: StripModes, quality: float = 25.0) -> NDArray[np.float64]:
    return np.asarray(np.pi * modes.frequency_hz / quality)


def heard(modes: StripModes, amplitude_m: float, steps_a_period: int = 12) -> NDArray[np.float64]:
    finger = Finger(0.3, 0.01, 0.001, amplitude_m)
    sensitivity = modes.shape.sum(axis=1)
    return ring(STRIP, modes, decay_of(modes), finger, sensitivity, RATE_HZ, 36000, steps_a_period)


def test_swing_agrees_with_a_library_integrator(modes: StripModes) -> None:
    # scipy.integrate.solve_ivp (DOP853) on the modal equations written out here afresh.
    finger, decay, omega = Finger(0.3, 0.01, 0.001, 3e-3), decay_of(modes), 2 * np.pi * modes.frequency_hz
    held, overlap = held_shape(modes, finger), modes.slope_overlap
    cubic = STRIP.axial_stiffness_n / (2 * STRIP.length_m)

    def restoring(q: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(omega**2 * q + cubic * (q @ overlap @ q) * (overlap @ q))

    holding = restoring(held)

    def acceleration(t: float, q: NDArray[np.float64], v: NDArray[np.float64]) -> NDArray[np.float64]:
        left = 0.5 * (1 + math.cos(math.pi * min(t / finger.release_s, 1.0)))
        return np.asarray(left * holding - restoring(q) - 2 * decay * v)

    def slope(t: float, state: NDArray[np.float64]) -> NDArray[np.float64]:
        q, v = np.split(state, 2)
        return np.concatenate([v, acceleration(t, q, v)])

    time_s = np.arange(4800) / RATE_HZ
    solution = solve_ivp(
        slope,
        (0.0, time_s[-1]),
        np.concatenate([held, np.zeros_like(held)]),
        method="DOP853",
        t_eval=time_s,
        rtol=1e-9,
        atol=1e-12,
        max_step=2e-4,
    )
    sensitivity = modes.shape.sum(axis=1)
    reference = [
        sensitivity @ acceleration(t, *np.split(state, 2))
        for t, state in zip(time_s, solution.y.T, strict=True)
    ]
    ours = ring(STRIP, modes, decay, finger, sensitivity, RATE_HZ, 4800)
    assert np.max(np.abs(ours - reference)) < 4e-3 * np.max(np.abs(reference))


def test_finer_steps_change_nothing_that_is_heard(modes: StripModes) -> None:
    usual, fine = heard(modes, 4e-3), heard(modes, 4e-3, steps_a_period=60)
    assert np.max(np.abs(usual - fine)) < 3e-3 * np.max(np.abs(fine))


def test_the_ring_decays_at_the_rate_of_the_fundamental(modes: StripModes) -> None:
    sound = heard(modes, 0.3e-3)
    period = round(RATE_HZ / modes.frequency_hz[0])
    early, late = 9600, 9600 + 40 * period
    n = 10 * period
    ratio = np.sqrt(np.mean(sound[late : late + n] ** 2) / np.mean(sound[early : early + n] ** 2))
    assert ratio == pytest.approx(math.exp(-decay_of(modes)[0] * (late - early) / RATE_HZ), rel=0.02)


def test_an_undamped_soft_swing_keeps_its_level(modes: StripModes) -> None:
    finger = Finger(0.3, 0.01, 0.001, 1e-5)
    sound = ring(STRIP, modes, np.full(8, 1e-6), finger, np.eye(8)[0], RATE_HZ, 48000)
    assert np.max(np.abs(sound[-4800:])) == pytest.approx(np.max(np.abs(sound[4800:9600])), rel=1e-3)


def test_a_hard_pluck_begins_sharp_by_the_duffing_law_and_ends_true() -> None:
    # One mode alone is a Duffing oscillator: f(a) = f0 (1 + (3/32)(EA/T)(pi a/L)²) for a flexible string.
    flexible = Strip(0.213, 0.165, 420.0, 1e-7, 1e5, (0.0, 0.0))
    modes = strip_modes(flexible, 1)
    finger = Finger(0.5, 0.01, 1e-4, 2.0e-3)
    law = (
        3 / 32 * flexible.axial_stiffness_n / flexible.tension_n * (math.pi * finger.amplitude_m / 0.213) ** 2
    )
    assert relative_stretch_shift(flexible, modes, held_shape(modes, finger)) == pytest.approx(law, rel=2e-3)
    undamped = ring(flexible, modes, np.array([1e-3]), finger, np.array([1.0]), RATE_HZ, 24000)
    assert _frequency_hz(undamped) / modes.frequency_hz[0] - 1 == pytest.approx(law, rel=0.03)
    damped = ring(flexible, modes, np.array([12.0]), finger, np.array([1.0]), RATE_HZ, 48000)
    assert _frequency_hz(damped[-24000:]) / modes.frequency_hz[0] - 1 == pytest.approx(0.0, abs=3e-4)


def test_the_held_shape_has_its_peak_under_the_finger(modes: StripModes) -> None:
    shape = held_shape(modes, Finger(0.25, 0.01, 0.001, 2e-3)) @ modes.shape
    assert np.max(shape) == pytest.approx(2e-3, rel=1e-6)
    assert modes.position_m[np.argmax(shape)] / STRIP.length_m == pytest.approx(0.27, abs=0.06)


def _frequency_hz(sound: NDArray[np.float64]) -> float:
    """Mean frequency between the first and the last rising zero crossing."""
    rising = np.flatnonzero((sound[:-1] < 0) & (sound[1:] >= 0))
    crossing = rising - sound[rising] / (sound[rising + 1] - sound[rising])
    return float((len(crossing) - 1) * RATE_HZ / (crossing[-1] - crossing[0]))

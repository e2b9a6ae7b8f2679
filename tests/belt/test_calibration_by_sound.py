"""The dead-weight rig from sound to tension: simulated plucks of a finite-element strip, read as a recording is."""

import math

import numpy as np
import pytest

from benchmarks.simulator import air, noise
from benchmarks.simulator.span import damped_span
from benchmarks.simulator.strip import Strip
from benchmarks.simulator.swing import Finger
from tensionear.belt.calibration import STANDARD_GRAVITY_M_PER_S2, calibrate_on_rig
from tensionear.belt.estimate import Estimate
from tensionear.belt.plucked_spans import HungSpan, PluckedPartial
from tensionear.belt.stiff_span import tension_of_partial
from tensionear.belt.tension import static_tension
from tensionear.pluck.listener import PluckListener
from tensionear.pluck.outcome import PluckOutcome, PluckReading

SAMPLE_RATE_HZ = 48_000
DENSITY, BENDING, AXIAL_STIFFNESS_N = 0.165, 0.02, 1e5  # invented


MOST_PLUCKS = 12


def pluck(rng: np.random.Generator, length_m: float, tension_n: float) -> PluckOutcome:
    """Pluck a clamped strip near mid-span, hear it among noise from somewhere, and read it."""
    strip = Strip(length_m, DENSITY, tension_n, BENDING, AXIAL_STIFFNESS_N, (math.inf, math.inf))
    span = damped_span(rng, strip, quality=30.0)
    finger = Finger(position=0.42, width_m=0.012, release_s=0.0005, amplitude_m=0.004 * length_m)
    before, after = int(1.7 * SAMPLE_RATE_HZ), int(1.5 * SAMPLE_RATE_HZ)
    ring = span.plucked(finger, SAMPLE_RATE_HZ, after)
    sound = np.concatenate([np.zeros(before), ring / np.max(np.abs(ring))])
    sound += 0.1 * noise.coloured(rng, len(sound), SAMPLE_RATE_HZ, 0.5)
    listener = PluckListener(SAMPLE_RATE_HZ)
    (heard,) = [*listener.hear(air.digitised(sound, 0.3)), *listener.finish()]
    return heard.outcome


def read(rng: np.random.Generator, length_m: float, tension_n: float) -> PluckReading:
    """Pluck until a pluck is read, as a person would: a microphone may sit where the fundamental is faint."""
    for _ in range(MOST_PLUCKS):
        outcome = pluck(rng, length_m, tension_n)
        if isinstance(outcome, PluckReading):
            return outcome
    raise AssertionError(f"{MOST_PLUCKS} plucks of {length_m} m were refused")


@pytest.mark.parametrize("seed", [51, 52])
def test_rig_by_sound_makes_a_short_spans_tension_right_where_the_flexible_formula_is_not(seed: int) -> None:
    rng = np.random.default_rng(seed)
    mass = Estimate(25.0)
    spans = []
    for length_m in (0.14, 0.22, 0.4, 0.6):
        tension_n = STANDARD_GRAVITY_M_PER_S2 * (mass.value + DENSITY * length_m / 2)
        readings = [read(rng, length_m, tension_n) for _ in range(2)]
        partials = tuple(
            PluckedPartial(reading.fundamental_hz, reading.fundamental_standard_uncertainty_hz)
            for reading in readings
        )
        spans.append(HungSpan(Estimate(length_m), mass, partials))

    found = calibrate_on_rig(spans)
    density = found.estimate("linear_density_kg_per_m")
    bending = found.estimate("bending_stiffness_n_m2")
    assert density.value == pytest.approx(DENSITY, rel=0.005)
    assert bending.value == pytest.approx(BENDING, rel=0.10)
    assert abs(density.value - DENSITY) < 3 * density.standard_uncertainty
    assert abs(bending.value - BENDING) < 3 * bending.standard_uncertainty

    for tension_n, length_m in [(400.0, 0.16), (300.0, 0.2)]:
        fundamental_hz = read(rng, length_m, tension_n).fundamental_hz
        assert static_tension(fundamental_hz, length_m, DENSITY) / tension_n > 1.09
        read_n = tension_of_partial(fundamental_hz, length_m, density.value, bending.value, 1.0)
        assert read_n == pytest.approx(tension_n, rel=0.02)

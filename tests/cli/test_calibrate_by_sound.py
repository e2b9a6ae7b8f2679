"""A belt on a rig and on its engine, from recordings alone: simulated plucks of a finite-element strip."""

import math
from pathlib import Path

import numpy as np
import pytest
import soundfile

from benchmarks.simulator import air, noise
from benchmarks.simulator.span import damped_span
from benchmarks.simulator.strip import Strip
from benchmarks.simulator.swing import Finger
from tests.cli.command import Tensionear

RATE_HZ = 48_000
DENSITY, BENDING, AXIAL_STIFFNESS_N, MASS = 0.165, 0.02, 1e5, 25.0  # invented
GRAVITY = 9.80665  # standard, 3rd CGPM, 1901


def recorded(rng: np.random.Generator, path: Path, length_m: float, tension_n: float) -> Path:
    """Four plucks of a clamped strip among noise."""
    strip = Strip(length_m, DENSITY, tension_n, BENDING, AXIAL_STIFFNESS_N, (math.inf, math.inf))
    finger = Finger(position=0.42, width_m=0.012, release_s=0.0005, amplitude_m=0.004 * length_m)
    parts = []
    for _ in range(4):
        ring = damped_span(rng, strip, quality=30.0).plucked(finger, RATE_HZ, int(1.5 * RATE_HZ))
        parts += [np.zeros(int(1.7 * RATE_HZ)), ring / np.max(np.abs(ring))]
    sound = np.concatenate(parts)
    sound += 0.1 * noise.coloured(rng, len(sound), RATE_HZ, 0.5)
    soundfile.write(path, np.asarray(air.digitised(sound, 0.3)), RATE_HZ)
    return path


def test_recordings_of_a_rig_make_a_short_span_right_where_the_flexible_formula_is_not(
    tmp_path: Path, tensionear: Tensionear
) -> None:
    rng = np.random.default_rng(51)
    spans: list[object] = []
    for length_m in (0.14, 0.22, 0.6):
        tension_n = GRAVITY * (MASS + DENSITY * length_m / 2)
        path = recorded(rng, tmp_path / f"{1000 * length_m:.0f}.wav", length_m, tension_n)
        spans += ["--recording-mm", 1000 * length_m, path]
    kept = tmp_path / "belt.json"
    told = tensionear("calibrate", "--hung-mass-kg", MASS, *spans, "--keep", kept, "--json")
    assert told.code == 0
    (found,) = told.of_kind("calibration")
    assert found["linear_density_kg_per_m"] == pytest.approx(DENSITY, rel=0.005)
    assert found["bending_stiffness_n_m2"] == pytest.approx(BENDING, rel=0.10)

    path = recorded(rng, tmp_path / "span.wav", 0.16, 400.0)
    (together,) = tensionear("read", path, "--json").of_kind("set")
    told = tensionear(
        "tension", "--hertz", together["fundamental_hz"], "--span-length-mm", 160, "--calibration", kept,
        "--ends", "clamped", "--json",
    )  # fmt: skip
    (result,) = told.of_kind("budget_result")
    assert result["value"] == pytest.approx(400.0, rel=0.02)
    assert result["as_if_flexible"] > 1.09 * 400.0

"""The scenes: seeded, within their limits, and as loud as they say."""

import math

import numpy as np
import pytest

from benchmarks.simulator import SCENES, draw_pluck
from benchmarks.simulator.noise import band_power
from benchmarks.simulator.span import draw_finger, draw_span


@pytest.mark.parametrize("scene", SCENES)
def test_the_same_seed_gives_the_same_pluck(scene: str) -> None:
    one, two = (draw_pluck(np.random.default_rng(7), scene, 15.0) for _ in range(2))
    np.testing.assert_array_equal(one.samples, two.samples)
    assert one.parameters == two.parameters


@pytest.mark.parametrize("scene", SCENES)
def test_a_pluck_is_finite_sixteen_bit_sound_with_its_onset_inside(scene: str) -> None:
    pluck = draw_pluck(np.random.default_rng(8), scene, 10.0)
    assert pluck.samples.dtype == np.float32
    assert np.all(np.abs(pluck.samples) < 1.0)
    np.testing.assert_array_equal(pluck.samples * 32768, np.round(pluck.samples * 32768))
    assert 1.5 <= pluck.onset_s <= 2.0
    assert len(pluck.samples) / pluck.sample_rate_hz - pluck.onset_s >= 1.2
    assert 20.0 <= pluck.fundamental_hz <= 600.0


def test_another_seed_gives_another_span() -> None:
    hertz = {draw_pluck(np.random.default_rng(seed), "quiet", 20.0).fundamental_hz for seed in range(5)}
    assert len(hertz) == 5


def test_an_unknown_scene_is_refused() -> None:
    with pytest.raises(ValueError, match="no scene 'moon': choose from quiet"):
        draw_pluck(np.random.default_rng(0), "moon", 20.0)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("snr_db", [0.0, 10.0])
def test_the_ring_stands_above_the_background_as_defined(seed: int, snr_db: float) -> None:
    # What comes after the onset is ring plus noise, so the ratio can be found from the sound alone.
    pluck = draw_pluck(np.random.default_rng(seed), "quiet", snr_db)
    rate_hz, onset = pluck.sample_rate_hz, int(pluck.onset_s * pluck.sample_rate_hz)
    n = int(pluck.parameters.ring_time_s * rate_hz)
    before = band_power(pluck.samples[: onset - int(0.3 * rate_hz)].astype(np.float64), rate_hz)
    after = band_power(pluck.samples[onset : onset + n].astype(np.float64), rate_hz)
    knock = 10 ** (pluck.parameters.knock_db / 10)
    found_db = 10 * math.log10(max(after / before - 1, 0.1))
    assert found_db == pytest.approx(snr_db, abs=3.0 + 2.0 * knock)


def test_truth_is_the_damped_eigenfrequency() -> None:
    pluck = draw_pluck(np.random.default_rng(3), "quiet", 20.0)
    lowering = math.sqrt(1 - 1 / (4 * pluck.parameters.quality**2))
    assert pluck.fundamental_hz == pytest.approx(
        pluck.parameters.undamped_fundamental_hz * lowering, rel=1e-9
    )


def test_two_spans_tell_the_neighbour() -> None:
    pluck = draw_pluck(np.random.default_rng(3), "two spans", 20.0)
    assert pluck.parameters.second_fundamental_hz is not None
    assert 0.5 < pluck.parameters.second_fundamental_hz / pluck.fundamental_hz < 1.8
    assert pluck.parameters.second_level_db is not None
    assert -25 <= pluck.parameters.second_level_db <= 0


def test_no_finger_is_stronger_than_a_finger() -> None:
    rng = np.random.default_rng(5)
    for _ in range(20):
        span = draw_span(rng)
        finger = draw_finger(rng, span)
        across_m = finger.position * (1 - finger.position) * span.strip.length_m
        assert span.strip.tension_n * finger.amplitude_m / across_m <= 30.0 * (1 + 1e-9)
        assert span.glide(finger) <= 0.06 * (1 + 1e-9)

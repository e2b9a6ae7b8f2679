"""Mains hum that comes and goes, as when a machine is switched on and off, is no string."""

import numpy as np
import pytest

from benchmarks.simulator.noise import mains_hum
from tensionear.pluck.listener import PluckListener
from tensionear.pluck.outcome import PluckReading

RATE_HZ = 44100


@pytest.mark.parametrize(
    ("mains_hz", "seed"), [(50.0, 7), (60.0, 7), (50.0, 10), (60.0, 11), (50.0, 18), (60.0, 18)]
)
def test_hum_that_is_switched_on_and_off_gives_no_reading(mains_hz: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    hum = mains_hum(rng, int(rng.uniform(3.0, 5.0) * RATE_HZ), RATE_HZ, mains_hz)
    silence = np.zeros(3 * RATE_HZ)
    sound = np.concatenate([silence, 0.2 * hum / np.max(np.abs(hum)), silence])
    sound += rng.normal(scale=10 ** rng.uniform(-6.0, -3.0), size=len(sound))

    listener = PluckListener(RATE_HZ)
    heard = [*listener.hear(sound.astype(np.float32)), *listener.finish()]

    assert [pluck.outcome for pluck in heard if isinstance(pluck.outcome, PluckReading)] == []

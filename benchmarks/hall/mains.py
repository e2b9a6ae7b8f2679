"""Hum of mains with its multiples, wandering slowly, switched on and off."""

import numpy as np

from benchmarks.simulator import noise
from benchmarks.simulator.noise import Sound


def switched_hum(rng: np.random.Generator, n: int, sample_rate_hz: int) -> Sound:
    """Make the hum of one to three devices on one mains, each switched on and off at random.

    The mains wanders about 50 or 60 Hz; a device takes 2 to 80 ms to fall silent or to hum, stays for 1 to
    15 s, and a third of them hum all the time.
    """
    mains_hz = rng.choice([50.0, 60.0]) + rng.normal(0, 0.05)
    sound = np.zeros(n)
    for _ in range(rng.integers(1, 4)):
        hum = noise.mains_hum(rng, n, sample_rate_hz, mains_hz)
        if rng.uniform() < 2 / 3:
            hum *= _switched(rng, n, sample_rate_hz)
        sound += 10 ** (rng.uniform(-15, 0) / 20) * hum
    return sound


def _switched(rng: np.random.Generator, n: int, sample_rate_hz: int) -> Sound:
    """Level that steps between 0 and 1, each step an exponential approach."""
    level = np.zeros(n)
    start, is_on, before = 0, bool(rng.integers(2)), 0.0
    while start < n:
        stop = min(n, start + int(rng.uniform(1, 15) * sample_rate_hz))
        time_s = np.arange(stop - start) / sample_rate_hz
        level[start:stop] = is_on + (before - is_on) * np.exp(-time_s / rng.uniform(0.002, 0.08))
        before = float(level[stop - 1])
        start, is_on = stop, not is_on
    return level

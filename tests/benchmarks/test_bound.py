"""The Cramér-Rao bound against its closed form and a Fisher matrix."""

import math

import numpy as np
import pytest

from benchmarks.bound import bound_hz


def test_bound_of_a_long_record_is_the_closed_form() -> None:
    # sd(f) >= (2/pi)(sigma/A)/sqrt(fs tau³)
    bound = bound_hz(10.0, 0.2, 48000.0, 96000)
    assert bound == pytest.approx(2 / math.pi / 10 / math.sqrt(48000 * 0.2**3), rel=2e-3)


def test_bound_of_five_ring_times_is_a_little_above_the_closed_form() -> None:
    # A/sigma 10, tau 0.2 s, 48 kHz: 3.25 mHz for ever, 3.26 mHz for 1 s.
    assert bound_hz(10.0, 0.2, 48000.0, 48000) == pytest.approx(3.26e-3, abs=0.006e-3)


def test_bound_is_that_of_the_fisher_matrix_of_four_unknowns() -> None:
    rate_hz, n, frequency_hz, ring_time_s, phase = 8000.0, 4000, 300.0, 0.1, 0.4
    time_s = np.arange(n) / rate_hz
    decay = np.exp(-time_s / ring_time_s)
    angle = 2 * np.pi * frequency_hz * time_s + phase
    slopes = np.array(
        [
            decay * np.cos(angle),
            -decay * np.sin(angle),
            -decay * 2 * np.pi * time_s * np.sin(angle),
            decay * time_s / ring_time_s**2 * np.cos(angle),
        ]
    )
    covariance = np.linalg.inv(slopes @ slopes.T) / 20.0**2
    assert bound_hz(20.0, ring_time_s, rate_hz, n) == pytest.approx(math.sqrt(covariance[2, 2]), rel=3e-3)

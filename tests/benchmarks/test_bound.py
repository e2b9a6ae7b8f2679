"""The Cramér-Rao bound against its closed form and a Fisher matrix."""

import math

import numpy as np
import pytest

from benchmarks.bound import bound_hz


def test_bound_of_a_long_record_is_the_closed_form() -> None:
    # sd(f) >= (2/pi)(sigma/A)/sqrt(fs tau³)
    bound = bound_hz(10.0, 0.2, 48000.0, 96000, may_glide=False)
    assert bound == pytest.approx(2 / math.pi / 10 / math.sqrt(48000 * 0.2**3), rel=2e-3)


def test_bound_of_five_ring_times_is_a_little_above_the_closed_form() -> None:
    # A/sigma 10, tau 0.2 s, 48 kHz: 3.25 mHz for ever, 3.26 mHz for 1 s.
    assert bound_hz(10.0, 0.2, 48000.0, 48000, may_glide=False) == pytest.approx(3.26e-3, abs=0.006e-3)


@pytest.mark.parametrize("may_glide", [False, True])
def test_bound_is_that_of_the_fisher_matrix_of_all_unknowns(may_glide: bool) -> None:
    rate_hz, n, frequency_hz, ring_time_s, phase = 8000.0, 4000, 300.0, 0.1, 0.4
    time_s = np.arange(n) / rate_hz
    decay = np.exp(-time_s / ring_time_s)
    angle = 2 * np.pi * frequency_hz * time_s + phase
    # A glide g raises the frequency by g·exp(-2t/tau), the angle by the integral of that.
    ahead = np.pi * ring_time_s * (1 - np.exp(-2 * time_s / ring_time_s))
    slopes = [
        decay * np.cos(angle),
        -decay * np.sin(angle),
        -decay * 2 * np.pi * time_s * np.sin(angle),
        decay * time_s / ring_time_s**2 * np.cos(angle),
        -decay * ahead * np.sin(angle),
    ]
    unknown = np.array(slopes if may_glide else slopes[:-1])
    covariance = np.linalg.inv(unknown @ unknown.T) / 20.0**2
    bound = bound_hz(20.0, ring_time_s, rate_hz, n, may_glide)
    assert bound == pytest.approx(math.sqrt(covariance[2, 2]), rel=4e-3)

"""The comparison with general pitch detectors, as far as it needs none of their libraries."""

import math

import numpy as np
import pytest

from benchmarks.detectors import RATE_HZ, fft_peak
from benchmarks.peers import Answer, row


def test_largest_peak_of_a_clean_ring_is_its_frequency() -> None:
    time_s = np.arange(RATE_HZ) / RATE_HZ
    ring = np.exp(-time_s / 0.1) * np.sin(2 * np.pi * 123.4 * time_s)
    assert fft_peak()(ring) == pytest.approx(123.4, rel=1e-3)


def test_row_counts_shares_of_all_plucks_and_errors_of_the_answered_ones() -> None:
    answers = [Answer(error, 0.002) for error in (0.001, -0.005, 0.2, math.nan)]
    assert row("someone", answers).split() == [
        "someone",
        "0.50",
        "16.10",
        "18.05",
        "50.0",
        "25.0",
        "75.0",
        "2.0",
    ]

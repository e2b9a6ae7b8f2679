"""Levels of a ring's spectrum mean what they say: log-likelihood ratios over the noise, at the right place."""

import numpy as np
import pytest

from tensionear.pluck.hypotheses import spectrum_peaks
from tensionear.pluck.spectrum import ring_spectrum, running_median, zero_padded_length
from tests.pluck.sounds import string, white

RATE_HZ = 4800.0


@pytest.mark.parametrize(
    ("n", "factor", "padded"), [(1000, 1, 1024), (1024, 1, 1024), (1025, 1, 2048), (600, 2, 2048)]
)
def test_zero_padding_goes_to_the_next_power_of_two(n: int, factor: int, padded: int) -> None:
    assert zero_padded_length(n, factor) == padded


def test_the_running_median_follows_a_slope_and_lets_peaks_pass() -> None:
    floor = np.exp(np.linspace(0.0, 3.0, 1200))
    peaks = floor.copy()
    peaks[::5] *= 1e6
    found = running_median(peaks, 60)
    np.testing.assert_allclose(found[60:-60], floor[60:-60], rtol=0.1)


@pytest.mark.parametrize("n", [1, 5, 59, 60, 61, 119])
def test_the_running_median_serves_fewer_values_than_a_block(n: int) -> None:
    np.testing.assert_allclose(running_median(np.full(n, 7.0), 60), 7.0)


@pytest.mark.parametrize(
    ("frequency_hz", "ring_time_s"),
    [
        (23.4, 0.2),
        (51.7, 0.1),
        (51.7, 0.2),
        (147.2, 0.03),
        (147.2, 0.1),
        (433.0, 0.03),
        (433.0, 0.2),
        (1201.0, 0.04),
    ],
)
def test_the_level_of_a_partial_is_that_of_a_matched_filter(frequency_hz: float, ring_time_s: float) -> None:
    # |<x, e>|²/|e|² of A·cos against its own exponential of ring time τ is A²·τ·rate/8 in white noise of variance 1.
    # A window that does not fit costs 8 % at most, as the module says; the mirror image at negative frequencies adds
    # or takes as much where the ring is only a few periods long.
    quality = np.pi * frequency_hz * ring_time_s
    level = 60.0
    amplitude = np.sqrt(8 * level / (ring_time_s * RATE_HZ))
    ring = string(frequency_hz, 1.5, RATE_HZ, quality, {1: amplitude})
    spectrum = ring_spectrum(ring, RATE_HZ)
    k = int(np.argmax(spectrum.levels))
    assert 0.8 * level < spectrum.levels[k] < 1.1 * level
    half_bandwidth_hz = 1 / (2 * np.pi * ring_time_s)
    assert spectrum.frequencies_hz[k] == pytest.approx(
        frequency_hz, abs=0.3 * half_bandwidth_hz + spectrum.spacing_hz
    )


def test_the_frequencies_are_those_of_the_levels() -> None:
    spectrum = ring_spectrum(white(1, 0.5, RATE_HZ), RATE_HZ)
    assert spectrum.levels.shape == spectrum.ring_times_s.shape == spectrum.frequencies_hz.shape
    assert spectrum.frequencies_hz[0] == 0.0
    assert spectrum.frequencies_hz[1] == pytest.approx(spectrum.spacing_hz)
    assert spectrum.frequencies_hz[-1] == pytest.approx(RATE_HZ / 2)


@pytest.mark.parametrize("duration_s", [0.2, 1.0])
def test_noise_alone_seldom_makes_a_peak(duration_s: float) -> None:
    # The promise is one spectrum of fifty; with 100 of them, 8 would be chance once in ten thousand.
    noises = (white(seed, duration_s, RATE_HZ) for seed in range(100))
    assert sum(bool(spectrum_peaks(ring_spectrum(noise, RATE_HZ))) for noise in noises) < 8


def test_peaks_are_found_between_the_bins_of_the_spectrum() -> None:
    rng = np.random.default_rng(3)
    for frequency_hz in rng.uniform(25, 600, 30):
        ring = string(frequency_hz, 1.0, RATE_HZ, quality=30.0, amplitudes={1: 100.0})
        peaks = spectrum_peaks(ring_spectrum(ring + white(4, 1.0, RATE_HZ), RATE_HZ))
        half_bandwidth_hz = frequency_hz / 60
        assert peaks[0].frequency_hz == pytest.approx(frequency_hz, abs=0.1 * half_bandwidth_hz + 0.05)


def test_peaks_come_strongest_first_and_only_where_partials_are_looked_for() -> None:
    ring = string(120.0, 1.0, RATE_HZ, amplitudes={1: 5.0, 2: 8.0, 3: 9.0}) + string(
        9.0, 1.0, RATE_HZ, 30, {1: 10.0}
    )
    peaks = spectrum_peaks(ring_spectrum(ring + white(5, 1.0, RATE_HZ), RATE_HZ))
    levels = [peak.level for peak in peaks]
    assert levels == sorted(levels, reverse=True)
    assert min(peak.frequency_hz for peak in peaks) > 15.0
    for number in (1, 2, 3):
        assert min(abs(peak.frequency_hz - 120 * number) for peak in peaks) < 1.0 * number


@pytest.mark.parametrize("n", [50, 100])
def test_a_ring_of_a_few_samples_has_a_finite_spectrum(n: int) -> None:
    spectrum = ring_spectrum(np.random.default_rng(6).standard_normal(n), RATE_HZ)
    assert np.all(np.isfinite(spectrum.levels))

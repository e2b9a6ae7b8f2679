"""Decimation keeps what is analysed, where it was and as loud as it was, and lets nothing else in."""

import numpy as np
import pytest

from tensionear.pluck.conditioning import TOP_HZ, clipped_samples, decimate, decimation_factor
from tests.pluck.sounds import Sound

RATES_HZ = [8000, 11025, 16000, 22050, 32000, 37800, 44100, 47999, 48000, 88200, 96000, 176400, 192000]


def tone(frequency_hz: float, rate_hz: float, phase: float, duration_s: float = 0.25) -> Sound:
    time_s = np.arange(round(duration_s * rate_hz)) / rate_hz
    return np.asarray(np.cos(2 * np.pi * frequency_hz * time_s + phase))


def middle(sound: Sound) -> Sound:
    """All but the ends, where the filter hears the silence before and after."""
    return sound[30:-30]


def test_the_analysis_rate_is_a_whole_fraction_between_4500_and_9000_hz_at_every_rate() -> None:
    rates_hz = np.concatenate([RATES_HZ, np.random.default_rng(1).uniform(8000, 192000, 2000)])
    for rate_hz in rates_hz:
        factor = decimation_factor(rate_hz)
        assert isinstance(factor, int)
        assert 4500 <= rate_hz / factor < 9000


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_what_is_analysed_keeps_its_level_and_its_place(rate_hz: float) -> None:
    # Sample k of the result is sample k·factor of the tone itself, to 60 dB.
    rng = np.random.default_rng(2)
    factor = decimation_factor(rate_hz)
    for frequency_hz in (20.0, *rng.uniform(20, TOP_HZ, 8), TOP_HZ):
        sound = tone(frequency_hz, rate_hz, rng.uniform(0, 6))
        error = middle(decimate(sound, factor)) - middle(sound[::factor])
        assert np.max(np.abs(error)) < 1.5e-3, frequency_hz


@pytest.mark.parametrize("rate_hz", [r for r in RATES_HZ if decimation_factor(r) > 1])
def test_what_would_fold_onto_a_partial_is_60_db_down(rate_hz: float) -> None:
    rng = np.random.default_rng(3)
    factor = decimation_factor(rate_hz)
    for _ in range(20):
        multiple = rng.integers(1, factor // 2 + 1)
        folded_hz = rng.uniform(20, TOP_HZ)
        frequency_hz = multiple * rate_hz / factor + folded_hz * rng.choice([-1, 1])
        if frequency_hz >= rate_hz / 2:
            continue
        left = middle(decimate(tone(frequency_hz, rate_hz, rng.uniform(0, 6)), factor))
        assert np.max(np.abs(left)) < 1.2e-3, frequency_hz


def test_the_filter_is_zero_phase_so_that_an_onset_stays_where_it_is() -> None:
    for factor in (1, 2, 5, 10, 42):
        click = np.zeros(200 * factor)
        click[100 * factor] = 1.0
        answer = decimate(click, factor)
        assert np.argmax(np.abs(answer)) == 100
        np.testing.assert_allclose(answer[40:100], answer[101:161][::-1], atol=1e-12)


@pytest.mark.parametrize("n", [1, 2, 9, 10, 11, 159, 160, 161, 4801])
@pytest.mark.parametrize("factor", [1, 2, 10])
def test_a_sound_of_any_length_gives_a_sample_for_every_begun_factor(n: int, factor: int) -> None:
    assert decimate(np.ones(n, dtype=np.float32), factor).shape == (-(-n // factor),)


def test_a_rate_that_is_low_already_passes_unchanged() -> None:
    sound = np.random.default_rng(4).standard_normal(500).astype(np.float32)
    np.testing.assert_array_equal(decimate(sound, 1), sound.astype(np.float64))


def test_decimating_a_part_is_a_part_of_decimating_the_whole() -> None:
    # A listener decimates chunk by chunk; half a filter's length around each must be enough.
    sound = np.random.default_rng(5).standard_normal(20000)
    whole = decimate(sound, 10)
    part = decimate(sound[5000:9000], 10)
    np.testing.assert_allclose(part[16:-16], whole[516:884], atol=1e-12)


@pytest.mark.parametrize("full_scale", [1.0, -1.0, 32767 / 32768, 1.04])
def test_three_samples_at_full_scale_in_a_row_are_clipped(full_scale: float) -> None:
    samples = np.full(100, 0.5, dtype=np.float32)
    samples[40:43] = full_scale
    assert clipped_samples(samples)[0] == 40


def test_a_floating_point_recording_above_full_scale_is_not_clipped() -> None:
    samples = (3.0 * np.sin(2 * np.pi * 110.0 * np.arange(4800) / 48000)).astype(np.float32)
    assert len(clipped_samples(samples)) == 0


def test_a_long_flat_top_is_clipped_to_its_end() -> None:
    samples = np.zeros(100, dtype=np.float32)
    samples[10:60] = 1.0
    found = clipped_samples(samples)
    assert found[0] == 10
    assert 57 <= found[-1] <= 59


def test_lone_peaks_at_full_scale_are_not_clipped() -> None:
    samples = np.zeros(300, dtype=np.float32)
    samples[::3] = 1.0
    samples[1::3] = 1.0
    assert len(clipped_samples(samples)) == 0


def test_a_loud_sound_that_stays_below_full_scale_is_not_clipped() -> None:
    # A low tone lingers at its crests: that alone is no clipping.
    assert len(clipped_samples((0.95 * tone(20, 48000, 0.0)).astype(np.float32))) == 0


def test_a_sound_shorter_than_a_run_is_not_clipped() -> None:
    for n in range(3):
        assert len(clipped_samples(np.ones(n, dtype=np.float32))) == 0

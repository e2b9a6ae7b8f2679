"""What was there before the pluck is learnt: steady tones are carried on, fading ones are not, noise is whitened."""

import numpy as np
import pytest
from scipy.signal import lfilter

from tensionear.pluck.background import NoiseModel, SteadyTones, find_steady_tones, model_noise
from tests.pluck.sounds import Sound, pink, string, tones, white

RATE_HZ = 4800.0
HUM_HZ = (50.0, 100.0, 150.0, 200.0, 300.0, 350.0)


def power_db(sound: Sound) -> float:
    return float(10 * np.log10(np.mean(sound**2)))


def band_power_db(sound: Sound, low: float, high: float) -> float:
    """Mean power density between two frequencies in cycles per sample, 0 dB for white noise of variance 1."""
    power = np.abs(np.fft.rfft(sound)) ** 2 / len(sound)
    return float(10 * np.log10(np.mean(power[round(low * len(sound)) : round(high * len(sound))])))


@pytest.mark.parametrize("mains_hz", [49.93, 50.0, 60.0, 60.04])
def test_hum_is_found_and_carried_on_so_that_40_db_less_of_it_is_left(mains_hz: float) -> None:
    hum = tones([mains_hz * k for k in (1, 2, 3, 4, 6, 7)], 2.0, RATE_HZ)
    noise = 0.01 * white(1, 2.0, RATE_HZ)
    n = round(1.2 * RATE_HZ)
    found = find_steady_tones((hum + noise)[:n])
    np.testing.assert_allclose(
        np.sort(found.frequencies) * RATE_HZ, mains_hz * np.array([1, 2, 3, 4, 6, 7]), atol=0.01
    )
    left = hum - found.sound(0, len(hum))
    assert power_db(left[n:]) < power_db(hum) - 40


def test_a_span_one_hertz_beside_a_hum_line_is_left_untouched() -> None:
    n = round(1.2 * RATE_HZ)
    hum, noise = tones(HUM_HZ, 2.2, RATE_HZ), 0.003 * white(2, 2.2, RATE_HZ)
    ring = string(51.0, 1.0, RATE_HZ)
    sound = hum + noise
    sound[n:] += ring
    left = sound - find_steady_tones(sound[:n]).sound(0, len(sound))
    assert power_db(left[n:] - ring) < power_db(hum) - 40


def test_the_sound_of_tones_goes_on_where_it_left_off() -> None:
    steady = SteadyTones(np.array([0.01, 0.123]), np.array([1.0 + 0.5j, -0.2j]))
    whole = steady.sound(-50, 150)
    np.testing.assert_allclose(
        np.concatenate([steady.sound(-50, 70), steady.sound(20, 80)]), whole, atol=1e-12
    )
    # By hand: the real part of the phasors at sample 0.
    assert whole[50] == pytest.approx(1.0)


@pytest.mark.parametrize("ring_time_s", [0.2, 0.6, 0.8])
def test_a_fading_tone_is_not_taken_for_steady(ring_time_s: float) -> None:
    sound = string(110.0, 1.2, RATE_HZ, quality=np.pi * 110.0 * ring_time_s, amplitudes={1: 1.0})
    assert len(find_steady_tones(sound + 0.003 * white(3, 1.2, RATE_HZ)).frequencies) == 0


def test_a_swelling_tone_is_not_taken_for_steady() -> None:
    sound = string(110.0, 1.2, RATE_HZ, quality=200.0, amplitudes={1: 1.0})[::-1]
    assert len(find_steady_tones(sound + 0.003 * white(3, 1.2, RATE_HZ)).frequencies) == 0


def test_a_steady_tone_is_found_beside_a_fading_one() -> None:
    fading = string(110.0, 1.2, RATE_HZ, quality=100.0, amplitudes={1: 1.0})
    sound = fading + 0.3 * tones([50.0], 1.2, RATE_HZ) + 0.003 * white(3, 1.2, RATE_HZ)
    found = find_steady_tones(sound)
    np.testing.assert_allclose(found.frequencies * RATE_HZ, [50.0], atol=0.05)
    np.testing.assert_allclose(np.abs(found.amplitudes), [0.3], rtol=0.1)


def test_noise_alone_has_no_tones() -> None:
    n_found = 0
    for seed in range(60):
        noise = pink(seed, 1.2, RATE_HZ) if seed % 2 else white(seed, 1.2, RATE_HZ)
        n_found += len(find_steady_tones(noise).frequencies)
    assert n_found <= 1


@pytest.mark.parametrize("n", [0, 1, 100, 5000])
def test_digital_silence_has_no_tones_and_a_model_that_whitens_what_comes_after(n: int) -> None:
    silence = np.zeros(n)
    found = find_steady_tones(silence)
    assert len(found.frequencies) == 0
    np.testing.assert_array_equal(found.sound(0, 7), np.zeros(7))
    whitened = model_noise(silence).whiten(np.array([0.0, 0.5, -0.5]))
    assert np.all(np.isfinite(whitened))
    assert np.any(whitened)


def test_the_model_of_a_known_process_is_that_process() -> None:
    # x_k = 1.5 x_(k-1) - 0.8 x_(k-2) + e_k with e of deviation 0.02: a room that rings.
    noise = lfilter([0.02], [1.0, -1.5, 0.8], white(4, 20.0, RATE_HZ))
    whitener = model_noise(noise).whitener
    np.testing.assert_allclose(whitener[:3] * 0.02, [1.0, -1.5, 0.8], atol=0.03)
    np.testing.assert_allclose(whitener[3:] * 0.02, 0.0, atol=0.04)


def test_the_density_of_a_known_filter_is_worked_out_by_hand() -> None:
    # 1 - 0.5 z^-1 is 0.5 at 0, 1.5 at half the rate, |1 + 0.5j| at a quarter.
    density = NoiseModel(np.array([1.0, -0.5])).density(np.array([0.0, 0.25, 0.5]))
    np.testing.assert_allclose(density, [1 / 0.25, 1 / 1.25, 1 / 2.25])


@pytest.mark.parametrize("level", [1.0, 1e-3])
@pytest.mark.parametrize(
    "noise",
    [
        pytest.param(pink(6, 8.0, RATE_HZ), id="pink"),
        pytest.param(white(6, 8.0, RATE_HZ), id="white"),
        pytest.param(lfilter([1.0], [1.0, -1.9, 0.95], white(6, 8.0, RATE_HZ)), id="resonant"),
    ],
)
def test_the_model_of_one_second_whitens_the_next(noise: Sound, level: float) -> None:
    noise = level * noise
    n = round(1.2 * RATE_HZ)
    model = model_noise(noise[:n])
    whitened = model.whiten(noise[n:])[50:]
    assert np.var(whitened) == pytest.approx(1.0, rel=0.15)
    for low, high in ((0.005, 0.02), (0.02, 0.05), (0.05, 0.1), (0.1, 0.2), (0.2, 0.35), (0.35, 0.5)):
        assert abs(band_power_db(whitened, low, high)) < 1.5
        # What the model says the noise has is what the noise has.
        expected = np.mean(model.density(np.linspace(low, high, 200)))
        assert abs(10 * np.log10(expected) - band_power_db(noise[n:], low, high)) < 1.5


def test_noise_that_sixteen_bits_make_is_modelled_and_not_taken_for_silence() -> None:
    quantised = np.round(white(7, 2.0, RATE_HZ) * 0.7) / 32768
    assert np.std(model_noise(quantised).whiten(quantised)) == pytest.approx(1.0, rel=0.1)

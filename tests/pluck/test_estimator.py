"""A clip in, the true fundamental out, whatever the rate, the level, the hum and the partials that are heard."""

import inspect
import math
from dataclasses import fields, replace

import numpy as np
import pytest

from benchmarks.simulator import draw_pluck
from tensionear.pluck.estimator import read_clip
from tensionear.pluck.listener import PluckListener
from tensionear.pluck.outcome import PluckClip, PluckReading
from tests.pluck.sounds import Sound, hear, pluck_clip, string, tones

RATE_HZ = 16000
RATES_HZ = [8000, 11025, 16000, 22050, 44100, 48000, 96000, 192000]


def reading(clip: PluckClip) -> PluckReading:
    outcome = read_clip(clip)
    assert isinstance(outcome, PluckReading), outcome
    return outcome


def ring(fundamental_hz: float, rate_hz: float = RATE_HZ, quality: float = 30.0) -> Sound:
    return 0.2 * string(fundamental_hz, 1.5, rate_hz, quality)


def add(clip: PluckClip, sound: Sound) -> PluckClip:
    return replace(clip, samples=(clip.samples + sound).astype(np.float32))


@pytest.mark.parametrize("fundamental_hz", [20.5, 31, 49, 50, 60, 101, 150, 220, 410, 590])
def test_a_clean_pluck_is_read_to_a_tenth_of_a_per_cent(fundamental_hz: float) -> None:
    found = reading(pluck_clip(ring(fundamental_hz), RATE_HZ))
    assert found.fundamental_hz == pytest.approx(fundamental_hz, rel=1e-3)
    assert abs(found.fundamental_hz - fundamental_hz) < 2.5 * found.fundamental_standard_uncertainty_hz


@pytest.mark.parametrize(
    ("mains_hz", "fundamental_hz"),
    [(49.97, 49.0), (49.97, 50.5), (49.97, 101.0), (60.0, 61.0), (60.0, 243.0)],
)
def test_a_pluck_in_mains_hum_is_read_also_beside_a_line(mains_hz: float, fundamental_hz: float) -> None:
    clip = pluck_clip(ring(fundamental_hz), RATE_HZ)
    hum = 0.05 * tones([mains_hz * k for k in range(1, 9)], len(clip.samples) / RATE_HZ, RATE_HZ)
    found = reading(add(clip, hum))
    assert found.fundamental_hz == pytest.approx(fundamental_hz, rel=2e-3)
    assert abs(found.fundamental_hz - fundamental_hz) < 3 * found.fundamental_standard_uncertainty_hz


@pytest.mark.parametrize("fundamental_hz", [98.7])
def test_every_sample_rate_gives_the_same_fundamental(fundamental_hz: float) -> None:
    for rate_hz in RATES_HZ:
        found = reading(pluck_clip(ring(fundamental_hz, rate_hz), rate_hz))
        assert found.fundamental_hz == pytest.approx(fundamental_hz, rel=1e-3), rate_hz


@pytest.mark.parametrize("gain", [2.0, 0.03, -1.0])
def test_the_level_and_the_polarity_change_nothing(gain: float) -> None:
    clip = pluck_clip(ring(87.0), RATE_HZ)
    one, two = reading(clip), reading(replace(clip, samples=np.float32(gain) * clip.samples))
    assert two.fundamental_hz == pytest.approx(one.fundamental_hz, rel=1e-5)
    assert two.fundamental_standard_uncertainty_hz == pytest.approx(
        one.fundamental_standard_uncertainty_hz, rel=0.02
    )
    assert two.snr_db == pytest.approx(one.snr_db, abs=0.1)


def test_an_offset_of_the_converter_changes_nothing() -> None:
    clip = pluck_clip(ring(87.0), RATE_HZ)
    one, two = reading(clip), reading(add(clip, np.full(len(clip.samples), 0.05)))
    assert two.fundamental_hz == pytest.approx(
        one.fundamental_hz, abs=one.fundamental_standard_uncertainty_hz
    )


@pytest.mark.parametrize("late_s", [-0.03, 0.03])
def test_the_trigger_may_be_a_little_early_or_late(late_s: float) -> None:
    clip = pluck_clip(ring(87.0), RATE_HZ)
    found = reading(replace(clip, onset=clip.onset + round(late_s * RATE_HZ)))
    assert found.fundamental_hz == pytest.approx(87.0, rel=1e-3)


def test_nothing_but_the_sound_of_the_pluck_goes_in() -> None:
    # A band, a span or an expectation that came in could pull the answer to where it should be.
    assert list(inspect.signature(read_clip).parameters) == ["clip"]
    assert {field.name for field in fields(PluckClip)} == {
        "samples",
        "sample_rate_hz",
        "onset",
        "first_sample",
    }
    assert list(inspect.signature(PluckListener).parameters) == ["sample_rate_hz"]
    assert list(inspect.signature(PluckListener.hear).parameters) == ["self", "samples", "n_lost_before"]
    assert list(inspect.signature(PluckListener.finish).parameters) == ["self"]


def test_what_was_read_before_pulls_nothing() -> None:
    # Four plucks at 90 Hz, then one at 100 Hz, then the clip of that alone.
    plucks = [np.concatenate([np.zeros(RATE_HZ), ring(90.0)])] * 4 + [
        np.concatenate([np.zeros(RATE_HZ), ring(100.0)])
    ]
    sound = np.concatenate(plucks)
    sound += 1e-3 * np.random.default_rng(1).standard_normal(len(sound))
    last = hear(sound, RATE_HZ)[-1]
    assert isinstance(last.outcome, PluckReading)
    assert last.outcome.fundamental_hz == pytest.approx(100.0, rel=1e-3)
    assert read_clip(last.clip) == last.outcome


def test_reading_a_clip_leaves_it_as_it_is_and_gives_the_same_again() -> None:
    clip = pluck_clip(ring(87.0), RATE_HZ)
    before = clip.samples.copy()
    clip.samples.setflags(write=False)
    assert read_clip(clip) == read_clip(clip)
    np.testing.assert_array_equal(clip.samples, before)


@pytest.mark.parametrize(
    "amplitudes",
    [
        pytest.param({1: 0.03, 2: 1.0, 3: 0.8, 4: 0.5}, id="fundamental faint"),
        pytest.param({1: 1.0, 3: 0.4, 5: 0.2}, id="even partials silent"),
        pytest.param({1: 0.3, 2: 1.0, 3: 0.2}, id="second strongest"),
    ],
)
@pytest.mark.parametrize("fundamental_hz", [37.0, 72.0, 118.0])
def test_partials_that_are_missing_do_not_mislead(
    fundamental_hz: float, amplitudes: dict[int, float]
) -> None:
    sound = 0.2 * string(fundamental_hz, 1.5, RATE_HZ, 30.0, amplitudes)
    found = reading(pluck_clip(sound, RATE_HZ, noise=3e-4))
    assert found.fundamental_hz == pytest.approx(fundamental_hz, rel=5e-3)
    assert abs(found.fundamental_hz - fundamental_hz) < 3 * found.fundamental_standard_uncertainty_hz


@pytest.mark.parametrize("fundamental_hz", [37.0, 118.0])
@pytest.mark.parametrize("numbers", [(2, 3, 4, 5), (3, 4, 5), (2,)])
def test_a_fundamental_that_is_not_heard_at_all_is_read_right_or_refused(
    fundamental_hz: float, numbers: tuple[int, ...]
) -> None:
    sound = 0.2 * string(fundamental_hz, 1.5, RATE_HZ, 30.0, {n: 1 / n for n in numbers})
    outcome = read_clip(pluck_clip(sound, RATE_HZ, noise=3e-4))
    if isinstance(outcome, PluckReading):
        # What all partials heard have in common is all that can be known.
        common_hz = fundamental_hz * math.gcd(*numbers)
        assert abs(outcome.fundamental_hz - common_hz) < 3 * outcome.fundamental_standard_uncertainty_hz


@pytest.mark.parametrize("noise", [0.02, 0.04])
def test_a_ring_that_is_hardly_heard_is_read_right_or_refused(noise: float) -> None:
    for seed in range(4):
        outcome = read_clip(pluck_clip(0.1 * ring(110.0), RATE_HZ, noise=noise, seed=seed))
        if isinstance(outcome, PluckReading):
            error_hz = outcome.fundamental_hz - 110.0
            assert abs(error_hz) < 3 * outcome.fundamental_standard_uncertainty_hz, seed


@pytest.mark.parametrize("stretch", [0.001, 0.015])
def test_a_stiff_span_is_read_at_its_fundamental(stretch: float) -> None:
    sound = 0.2 * string(95.0, 1.5, RATE_HZ, 30.0, {n: 1 / n for n in range(1, 6)}, stretch)
    found = reading(pluck_clip(sound, RATE_HZ))
    assert found.fundamental_hz == pytest.approx(95.0, rel=1e-3)
    assert found.stretch == pytest.approx(stretch, rel=0.15)


@pytest.mark.parametrize("glide", [0.01, 0.03])
def test_a_hard_pluck_that_glides_is_read_where_it_falls_back_to(glide: float) -> None:
    time_s = np.arange(round(1.5 * RATE_HZ)) / RATE_HZ
    ring_time_s = 30 / (np.pi * 95.0)
    bent_s = time_s + glide * ring_time_s / 2 * (1 - np.exp(-2 * time_s / ring_time_s))
    sound = sum(
        (
            0.2 / n * np.exp(-n * time_s / ring_time_s) * np.sin(2 * np.pi * 95.0 * n * bent_s)
            for n in (1, 2, 3)
        ),
        np.zeros(len(time_s)),
    )
    found = reading(pluck_clip(sound, RATE_HZ))
    assert found.fundamental_hz == pytest.approx(95.0, rel=1e-3)
    assert found.glide_hz == pytest.approx(glide * 95.0, rel=0.15)


def test_a_reading_tells_what_the_ring_was() -> None:
    sound = 0.2 * string(95.0, 1.5, RATE_HZ, 30.0, {1: 1.0, 2: 0.5, 3: 0.25})
    clip = replace(pluck_clip(sound, RATE_HZ), first_sample=32000)
    found = reading(clip)
    ring_time_s = 30 / (np.pi * 95.0)
    assert found.at_s == pytest.approx((32000 + clip.onset) / RATE_HZ)
    assert found.ring_time_s == pytest.approx(ring_time_s, rel=0.05)
    assert found.support > 0.95
    assert [p.number for p in found.partials[:3]] == [1, 2, 3]
    for partial, amplitude in zip(found.partials, (0.2, 0.1, 0.05), strict=False):
        assert partial.frequency_hz == pytest.approx(95.0 * partial.number, rel=3e-3)
        assert partial.amplitude == pytest.approx(amplitude, rel=0.2)
        assert partial.ring_time_s == pytest.approx(ring_time_s / partial.number, rel=0.2)
    numbers = [p.number for p in found.partials]
    assert numbers == sorted(set(numbers))
    assert found.glide_hz < 0.3
    assert all(rival.fundamental_hz != found.fundamental_hz for rival in found.rivals)


@pytest.mark.parametrize("noise", [1e-3, 1e-2])
def test_the_signal_to_noise_ratio_is_told(noise: float) -> None:
    # One partial of amplitude 0.2 over its first ring time has (0.2²/2)·(1 - e^-2)/2; the fit's band holds but a
    # part of white noise, so the ratio is that or better by no more than the share of the band.
    found = reading(pluck_clip(0.2 * string(95.0, 1.5, RATE_HZ, 30.0, {1: 1.0}), RATE_HZ, noise=noise))
    whole_db = 10 * math.log10(0.02 * (1 - math.exp(-2)) / 2 / noise**2)
    assert whole_db < found.snr_db < whole_db + 20


def test_the_uncertainty_grows_with_the_noise_and_holds() -> None:
    uncertainties, n_read, n_beyond = [], 0, 0
    for noise in (1e-3, 1e-2, 4e-2):
        found_here = []
        for seed in range(5):
            fundamental_hz = 60.0 + 19.7 * seed
            outcome = read_clip(pluck_clip(ring(fundamental_hz), RATE_HZ, noise=noise, seed=seed))
            if isinstance(outcome, PluckReading):
                n_read += 1
                u_hz = outcome.fundamental_standard_uncertainty_hz
                n_beyond += abs(outcome.fundamental_hz - fundamental_hz) > 2.5 * u_hz
                found_here.append(u_hz / fundamental_hz)
        uncertainties.append(float(np.median(found_here)))
    assert n_read >= 12
    assert n_beyond <= 1
    assert uncertainties == sorted(uncertainties)


@pytest.mark.parametrize("fundamental_hz", [45.0, 98.7, 230.0])
def test_a_ring_that_is_cut_off_is_refused_or_read_right(fundamental_hz: float) -> None:
    for periods in (3, 4, 5, 7, 12):
        sound = ring(fundamental_hz)[: round(periods / fundamental_hz * RATE_HZ)]
        outcome = read_clip(pluck_clip(sound, RATE_HZ))
        if isinstance(outcome, PluckReading):
            error_hz = outcome.fundamental_hz - fundamental_hz
            assert abs(error_hz) < 3 * outcome.fundamental_standard_uncertainty_hz, periods


@pytest.mark.parametrize(
    ("scene", "snr_db", "n_least"), [("quiet", 25.0, 2), ("hum", 20.0, 2), ("hall", 20.0, 2)]
)
def test_simulated_plucks_are_read_right_or_not_at_all(scene: str, snr_db: float, n_least: int) -> None:
    # Finite-element spans with glide, knock, room and microphone: `benchmarks.simulator`, which shares no code.
    n_read = 0
    for seed in range(4):
        simulated = draw_pluck(np.random.default_rng(100 + seed), scene, snr_db, 16000)
        heard = hear(simulated.samples.astype(np.float64), 16000)
        for pluck in heard:
            if isinstance(pluck.outcome, PluckReading):
                n_read += 1
                error_hz = pluck.outcome.fundamental_hz - simulated.fundamental_hz
                limit_hz = max(
                    3 * pluck.outcome.fundamental_standard_uncertainty_hz, 3e-3 * simulated.fundamental_hz
                )
                assert abs(error_hz) < limit_hz, (seed, pluck.outcome, simulated.fundamental_hz)
    assert n_read >= n_least

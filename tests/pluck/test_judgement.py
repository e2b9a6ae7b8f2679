"""Every reason for a refusal is reached by a sound that deserves it, and what is no pluck of a span is never read."""

import numpy as np
import pytest

from tensionear.pluck.estimator import read_clip
from tensionear.pluck.outcome import PluckClip, PluckReading, PluckRefusal, RefusalReason
from tests.pluck.sounds import Sound, after, pink, pluck_clip, string, tones, white

RATE_HZ = 16000
TIME_S = np.arange(round(1.5 * RATE_HZ)) / RATE_HZ
RING = 0.2 * string(110.0, 1.5, RATE_HZ)


def refused(clip: PluckClip) -> RefusalReason:
    """The reason for which a clip is refused, its explanation looked at."""
    outcome = read_clip(clip)
    assert isinstance(outcome, PluckRefusal), outcome
    assert outcome.at_s == clip.at_s
    assert not outcome.explanation[0].islower()
    assert outcome.explanation.endswith(".")
    return outcome.reason


def is_read(clip: PluckClip) -> bool:
    return isinstance(read_clip(clip), PluckReading)


def clip_of(sound: Sound, noise: float = 1e-3, before_s: float = 1.2) -> PluckClip:
    """The clip of a whole sound, noise added, with its onset after `before_s`."""
    noisy = sound + noise * white(8, len(sound) / RATE_HZ, RATE_HZ)
    return PluckClip(noisy.astype(np.float32), RATE_HZ, round(before_s * RATE_HZ))


def test_the_ring_that_the_others_are_made_from_is_read() -> None:
    assert is_read(pluck_clip(RING, RATE_HZ))


@pytest.mark.parametrize("drive", [10.0])
def test_an_overdriven_ring_is_clipped(drive: float) -> None:
    clip = pluck_clip(drive * RING, RATE_HZ)
    assert refused(PluckClip(np.clip(clip.samples, -1, 1), RATE_HZ, clip.onset)) is RefusalReason.CLIPPED


def test_a_knock_that_clips_before_the_ring_does_not_spoil_it() -> None:
    sound = RING.copy()
    sound[: round(0.004 * RATE_HZ)] += 2.0
    clip = pluck_clip(sound, RATE_HZ)
    outcome = read_clip(PluckClip(np.clip(clip.samples, -1, 1), RATE_HZ, clip.onset))
    assert not (isinstance(outcome, PluckRefusal) and outcome.reason is RefusalReason.CLIPPED)


def test_what_clipped_before_the_pluck_does_not_matter() -> None:
    clip = pluck_clip(RING, RATE_HZ)
    samples = clip.samples.copy()
    samples[: round(0.01 * RATE_HZ)] = 1.0
    assert is_read(PluckClip(samples, RATE_HZ, clip.onset))


def test_silence_is_too_weak() -> None:
    clip = PluckClip(np.zeros(2 * RATE_HZ, np.float32), RATE_HZ, RATE_HZ)
    outcome = read_clip(clip)
    assert refused(clip) is RefusalReason.TOO_WEAK
    assert isinstance(outcome, PluckRefusal)
    assert (outcome.snr_db, outcome.rivals) == (None, ())


@pytest.mark.parametrize("colour", ["white", "pink"])
def test_noise_alone_is_never_read(colour: str) -> None:
    make = {"white": white, "pink": pink}[colour]
    reasons = [refused(clip_of(0.1 * make(seed, 2.0, RATE_HZ), 0.0)) for seed in range(7)]
    assert reasons.count(RefusalReason.TOO_WEAK) > 3


@pytest.mark.parametrize("noise", [0.1, 0.3])
def test_a_ring_far_below_the_noise_is_never_read(noise: float) -> None:
    for seed in range(4):
        assert not is_read(pluck_clip(0.1 * RING, RATE_HZ, noise=noise, seed=seed))


def test_a_ring_that_is_too_faint_in_its_noise_is_too_weak_and_no_reading_is_vague() -> None:
    ring = 0.02 * string(60.0, 1.5, RATE_HZ, 12.0, {1: 1.0, 2: 0.6})
    outcomes = [
        read_clip(pluck_clip(ring, RATE_HZ, noise=noise, seed=seed))
        for seed in range(6)
        for noise in (0.03, 0.05)
    ]
    reasons = [outcome.reason for outcome in outcomes if isinstance(outcome, PluckRefusal)]
    assert RefusalReason.TOO_WEAK in reasons
    for outcome in outcomes:
        if isinstance(outcome, PluckReading):
            assert outcome.fundamental_standard_uncertainty_hz < 0.025 * outcome.fundamental_hz


@pytest.mark.parametrize(
    ("fundamental_hz", "heard_s"), [(110.0, 0.02), (110.0, 0.03), (40.0, 0.06), (30.0, 0.1)]
)
def test_a_ring_that_is_cut_off_after_three_periods_is_too_short(
    fundamental_hz: float, heard_s: float
) -> None:
    ring = 0.2 * string(fundamental_hz, heard_s, RATE_HZ)
    assert refused(pluck_clip(ring, RATE_HZ)) is RefusalReason.TOO_SHORT


@pytest.mark.parametrize(
    "fundamentals_hz",
    [(110.0, 137.0), (110.0, 150.0), (75.0, 100.0), (55.0, 130.0)],
)
def test_two_spans_of_equal_strength_are_not_read(fundamentals_hz: tuple[float, float]) -> None:
    sound = sum((0.1 * string(f, 1.5, RATE_HZ) for f in fundamentals_hz), np.zeros(len(TIME_S)))
    assert not is_read(pluck_clip(sound, RATE_HZ))


def test_two_spans_of_equal_strength_are_rivals_and_both_are_named() -> None:
    clip = pluck_clip(0.1 * string(110.0, 1.5, RATE_HZ) + 0.1 * string(150.0, 1.5, RATE_HZ), RATE_HZ)
    assert refused(clip) is RefusalReason.RIVALS
    outcome = read_clip(clip)
    for fundamental_hz in (110.0, 150.0):
        assert min(abs(rival.fundamental_hz - fundamental_hz) for rival in outcome.rivals) < 1.0
    assert all(0 < rival.support <= 1 for rival in outcome.rivals)


@pytest.mark.parametrize(
    "sound",
    [
        pytest.param(np.exp(-TIME_S / 0.003) * np.sin(2 * np.pi * 180 * TIME_S), id="knock on a cover"),
        pytest.param(tones([50.0], 1.5, RATE_HZ), id="low tone switched on"),
        pytest.param(tones([120.0], 1.5, RATE_HZ), id="tone switched on"),
        pytest.param(tones([440.0], 1.5, RATE_HZ), id="high tone switched on"),
        pytest.param(tones([120.0, 240.0, 360.0], 1.5, RATE_HZ), id="machine switched on"),
        pytest.param(np.exp((TIME_S - 1.5) / 0.3) * np.sin(2 * np.pi * 120 * TIME_S), id="rising tone"),
        pytest.param(string(110.0, 1.5, RATE_HZ, 60.0)[::-1], id="string backwards"),
        pytest.param(string(300.0, 1.5, RATE_HZ, 500.0, {1: 1.0}), id="metal"),
    ],
)
def test_what_does_not_ring_down_like_rubber_is_not_a_string(sound: Sound) -> None:
    assert refused(pluck_clip(0.2 * sound / np.max(np.abs(sound)), RATE_HZ)) is RefusalReason.NOT_A_STRING


@pytest.mark.parametrize("heard_s", [0.0, 0.001, 0.004, 0.008, 0.012])
def test_a_ring_of_which_hardly_anything_is_heard_is_refused_without_a_fault(heard_s: float) -> None:
    ring = 0.2 * string(110.0, heard_s, RATE_HZ)
    assert refused(pluck_clip(ring, RATE_HZ)) in (RefusalReason.TOO_SHORT, RefusalReason.TOO_WEAK)


@pytest.mark.parametrize("ring_time_s", [0.05, 0.3])
def test_air_that_hisses_and_fades_is_not_read(ring_time_s: float) -> None:
    for seed in range(4):
        assert not is_read(
            pluck_clip(0.1 * np.exp(-TIME_S / ring_time_s) * white(seed, 1.5, RATE_HZ), RATE_HZ)
        )


@pytest.mark.parametrize("hertz", [[50.0, 100.0, 150.0], [120.0], [60.0, 120.0, 180.0, 240.0]])
def test_a_sound_that_stops_is_not_read(hertz: list[float]) -> None:
    hum = 0.1 * tones(hertz, 2.7, RATE_HZ)
    hum[round(1.2 * RATE_HZ) :] = 0.0
    assert refused(clip_of(hum)) in (RefusalReason.SOUND_BEFORE, RefusalReason.NOT_A_STRING)


@pytest.mark.parametrize("loudness", [0.3, 1.0])
def test_a_pluck_of_a_belt_that_still_rings_is_a_sound_before(loudness: float) -> None:
    last = 0.2 * after(1.1, string(111.0, 1.6, RATE_HZ, 40.0), RATE_HZ)
    this = 0.2 * loudness * after(1.2, string(110.0, 1.5, RATE_HZ, 40.0), RATE_HZ)
    assert refused(clip_of(last + this)) is RefusalReason.SOUND_BEFORE


@pytest.mark.parametrize("fundamental_hz", [19.3, 612.0])
@pytest.mark.parametrize("amplitudes", [{1: 1.0}, {1: 1.0, 2: 0.5}])
def test_a_string_just_beyond_the_belts_is_out_of_range(
    fundamental_hz: float, amplitudes: dict[int, float]
) -> None:
    ring = 0.2 * string(fundamental_hz, 1.5, RATE_HZ, 30.0, amplitudes)
    assert refused(pluck_clip(ring, RATE_HZ)) is RefusalReason.OUT_OF_RANGE


@pytest.mark.parametrize("frequency_hz", [12.0, 15.0, 18.0, 650.0, 1200.0, 5000.0])
def test_a_string_far_beyond_the_belts_is_not_read(frequency_hz: float) -> None:
    amplitudes = {1: 1.0, 2: 0.5, 3: 0.3}
    assert not is_read(pluck_clip(0.2 * string(frequency_hz, 1.5, RATE_HZ, 30.0, amplitudes), RATE_HZ))


def test_a_refusal_that_heard_a_ring_tells_how_loud_it_was() -> None:
    outcome = read_clip(pluck_clip(0.2 * string(612.0, 1.5, RATE_HZ), RATE_HZ))
    assert isinstance(outcome, PluckRefusal)
    assert outcome.snr_db is not None
    assert 20 < outcome.snr_db < 70

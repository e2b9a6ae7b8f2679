"""Counting samples against the clock: a false rate is told, bursts and jitter are not taken for one."""

import numpy as np
import pytest

from tensionear.sound.rate_watch import FalseRate, RateWatch

CLAIMED_HZ = 48_000.0


def first_verdict(
    true_hz: float,
    duration_s: float,
    *,
    block_s: float = 0.01,
    latest_s: float = 0.005,
    start_rush_s: float = 0.0,
    shift_at_s: float = np.inf,
    shift_s: float = 0.0,
    seed: int = 1,
) -> tuple[float, FalseRate] | None:
    """Let a device run and tell when its rate is called false.

    Every block comes late by a random time up to `latest_s`, never earlier than the one before. The blocks of
    the first `start_rush_s` come together at its end. From `shift_at_s` on, all come `shift_s` later.
    """
    random = np.random.default_rng(seed)
    watch = RateWatch(CLAIMED_HZ)
    n_blocks = int(duration_s / block_s)
    ends_s = block_s * np.arange(1, n_blocks + 1)
    times_s = np.maximum(ends_s, start_rush_s) + random.uniform(0, latest_s, n_blocks)
    times_s[ends_s > shift_at_s] += shift_s
    times_s = np.maximum.accumulate(times_s)
    for end_s, time_s in zip(ends_s, times_s, strict=True):
        if verdict := watch.see(1000.0 + time_s, round(end_s * true_hz)):
            return float(time_s), verdict
    return None


@pytest.mark.parametrize("true_hz", [44_100.0, 32_000.0, 16_000.0, 52_244.9, 96_000.0])
def test_grossly_false_rate_is_told_within_seven_seconds(true_hz: float) -> None:
    told = first_verdict(true_hz, 60.0)
    assert told is not None
    time_s, verdict = told
    assert time_s < 7.0
    assert verdict.measured_hz == pytest.approx(true_hz, rel=0.002)


def test_errors_that_a_false_rate_makes_are_those_of_hand_calculation() -> None:
    # 48000/44100 = 1.08844, squared 1.18469
    verdict = FalseRate(48_000.0, 44_100.0, 10.0)
    assert verdict.frequency_error == pytest.approx(0.08844, abs=1e-5)
    assert verdict.tension_error == pytest.approx(0.18469, abs=1e-5)


@pytest.mark.parametrize("share", [-0.006, 0.006, -0.01, 0.01])
def test_rate_beyond_half_a_per_cent_is_told_within_a_minute(share: float) -> None:
    assert first_verdict(CLAIMED_HZ * (1 + share), 60.0) is not None


@pytest.mark.parametrize("share", [0.0, -0.0045, 0.0045, 273e-6])
@pytest.mark.parametrize("seed", range(3))
def test_rate_within_half_a_per_cent_never_raises_an_alarm(share: float, seed: int) -> None:
    assert first_verdict(CLAIMED_HZ * (1 + share), 80.0, seed=seed) is None


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("block_s", [0.005, 0.1, 0.35, 1.0])
def test_wild_jitter_and_coarse_blocks_raise_no_alarm(block_s: float, seed: int) -> None:
    assert first_verdict(CLAIMED_HZ, 80.0, block_s=block_s, latest_s=0.3, seed=seed) is None


@pytest.mark.parametrize("start_rush_s", [0.5, 1.6, 3.0])
def test_rush_at_the_start_raises_no_alarm(start_rush_s: float) -> None:
    assert first_verdict(CLAIMED_HZ, 60.0, start_rush_s=start_rush_s) is None


@pytest.mark.parametrize("shift_at_s", [1.5, 3.0, 6.0, 15.0, 40.0])
@pytest.mark.parametrize("shift_s", [-0.2, 0.05, 0.2, 1.0])
def test_sound_server_that_changes_its_buffer_raises_no_alarm(shift_at_s: float, shift_s: float) -> None:
    assert first_verdict(CLAIMED_HZ, 90.0, shift_at_s=shift_at_s, shift_s=shift_s) is None


def test_device_that_changes_its_rate_later_is_told() -> None:
    watch = RateWatch(CLAIMED_HZ)
    told_s = None
    for step in range(20_000):
        time_s = 0.01 * step
        true_frames = CLAIMED_HZ * min(time_s, 100.0) + 44_100.0 * max(0.0, time_s - 100.0)
        if watch.see(time_s, round(true_frames)):
            told_s = time_s
            break
    assert told_s is not None
    assert 100.0 < told_s < 130.0


def test_restart_forgets_what_was_counted() -> None:
    watch = RateWatch(CLAIMED_HZ)
    n_frames = 0
    for step in range(6000):
        if step % 400 == 399:  # every 4 s a tenth of it is lost
            n_frames -= 19_200
            watch.restart()
        n_frames += 480
        assert watch.see(0.01 * step, n_frames) is None


def test_device_that_delivers_nothing_is_not_called_false() -> None:
    watch = RateWatch(CLAIMED_HZ)
    assert all(watch.see(0.1 * step, 4800) is None for step in range(1000))

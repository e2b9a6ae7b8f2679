"""A listener hears the same plucks however the sound arrives, and forgets what it has heard."""

import pickle
from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray

from tensionear.pluck.conditioning import decimate, decimation_factor
from tensionear.pluck.estimator import read_clip
from tensionear.pluck.listener import HeardPluck, PluckListener
from tensionear.pluck.outcome import PluckReading
from tensionear.pluck.trigger import BandMeter, Cut, Trigger
from tests.pluck.sounds import Sound, after, hear, string, white


def three_plucks(rate_hz: float) -> Sound:
    """Plucks at 1.5, 3.5 and 5.5 s, the last cut off by the end of the sound."""
    sound = 1e-3 * white(1, 5.9, rate_hz)
    for fundamental_hz, at_s in ((61.0, 1.5), (118.0, 3.5), (40.0, 5.5)):
        ring = 0.2 * after(at_s, string(fundamental_hz, 4.5, rate_hz), rate_hz)
        sound += ring[: len(sound)]
    return sound


def assert_same(one: Sequence[HeardPluck], two: Sequence[HeardPluck], later: int = 0) -> None:
    """Bit for bit the same plucks, the second so many samples later."""
    assert len(one) == len(two)
    for a, b in zip(one, two, strict=True):
        np.testing.assert_array_equal(a.clip.samples, b.clip.samples)
        assert (a.clip.onset, a.clip.first_sample + later) == (b.clip.onset, b.clip.first_sample)
        if later == 0:
            assert a.outcome == b.outcome
        else:
            assert isinstance(a.outcome, PluckReading)
            assert isinstance(b.outcome, PluckReading)
            assert a.outcome.fundamental_hz == b.outcome.fundamental_hz


@pytest.fixture(scope="module")
def plucked_8k() -> tuple[Sound, list[HeardPluck]]:
    sound = three_plucks(8000)
    return sound, hear(sound, 8000)


@pytest.fixture(scope="module")
def plucked_44k() -> tuple[Sound, list[HeardPluck]]:
    sound = three_plucks(44100)
    return sound, hear(sound, 44100)


def test_plucks_are_heard_where_and_as_they_are(plucked_44k: tuple[Sound, list[HeardPluck]]) -> None:
    first, second, third = plucked_44k[1]
    for pluck, at_s, fundamental_hz in ((first, 1.5, 61.0), (second, 3.5, 118.0), (third, 5.5, 40.0)):
        assert pluck.outcome.at_s == pytest.approx(at_s, abs=0.0201)
        assert pluck.clip.at_s == pluck.outcome.at_s
        assert isinstance(pluck.outcome, PluckReading)
        assert pluck.outcome.fundamental_hz == pytest.approx(fundamental_hz, rel=2e-3)


@pytest.mark.parametrize("block", [1, 7, 480, 4096, 65536])
def test_the_size_of_the_blocks_changes_no_bit(
    block: int, plucked_8k: tuple[Sound, list[HeardPluck]]
) -> None:
    sound, whole = plucked_8k
    assert_same(whole, hear(sound, 8000, block))


@pytest.mark.parametrize("block", [97, 441, 65536])
def test_the_size_of_the_blocks_changes_no_bit_at_a_rate_that_is_decimated(
    block: int, plucked_44k: tuple[Sound, list[HeardPluck]]
) -> None:
    sound, whole = plucked_44k
    assert_same(whole, hear(sound, 44100, block))


def test_blocks_of_changing_size_and_empty_ones_change_no_bit(
    plucked_44k: tuple[Sound, list[HeardPluck]],
) -> None:
    sound, whole = plucked_44k
    samples, rng, listener = sound.astype(np.float32), np.random.default_rng(2), PluckListener(44100)
    edges = np.sort(rng.integers(0, len(samples), 300)).tolist()
    heard = [pluck for block in np.split(samples, [*edges, edges[100]]) for pluck in listener.hear(block[:0])]
    for block in np.split(samples, edges):
        heard += listener.hear(block)
    assert_same(whole, heard + listener.finish())


@pytest.mark.parametrize("rate_hz", [11025, 48000])
def test_what_the_trigger_is_given_is_the_whole_sound_s_whatever_the_blocks(
    rate_hz: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    given: list[NDArray[np.float64]] = []

    class Recorder(Trigger):
        def advance(self, energies: NDArray[np.float64]) -> list[Cut]:
            given.append(energies)
            return []

    monkeypatch.setattr("tensionear.pluck.listener.Trigger", Recorder)
    sound, in_blocks = three_plucks(rate_hz), []
    for block in (None, 333, 10000):
        given.clear()
        assert hear(sound, rate_hz, block) == []
        in_blocks.append(np.concatenate(given))
    np.testing.assert_array_equal(in_blocks[0], in_blocks[1])
    np.testing.assert_array_equal(in_blocks[0], in_blocks[2])
    factor = decimation_factor(rate_hz)
    expected = BandMeter(rate_hz / factor).energies(decimate(sound.astype(np.float32), factor))
    n = min(len(expected), len(in_blocks[0]))
    assert n > 580
    np.testing.assert_allclose(in_blocks[0][:n], expected[:n], rtol=1e-6)


def test_a_clip_is_the_sound_itself_and_its_reading_comes_from_it_alone(
    plucked_44k: tuple[Sound, list[HeardPluck]],
) -> None:
    sound, whole = plucked_44k
    for pluck in whole:
        part = slice(pluck.clip.first_sample, pluck.clip.first_sample + len(pluck.clip.samples))
        np.testing.assert_array_equal(pluck.clip.samples, sound.astype(np.float32)[part])
        assert read_clip(pluck.clip) == pluck.outcome


def test_a_pluck_is_told_when_its_ring_has_ended_and_not_at_the_end_of_the_sound(
    plucked_44k: tuple[Sound, list[HeardPluck]],
) -> None:
    listener = PluckListener(44100)
    samples = plucked_44k[0].astype(np.float32)
    assert len(listener.hear(samples[: round(1.45 * 44100)])) == 0
    assert len(listener.hear(samples[round(1.45 * 44100) : round(3.4 * 44100)])) == 1


def test_what_is_open_when_the_sound_ends_is_read_then(plucked_44k: tuple[Sound, list[HeardPluck]]) -> None:
    listener = PluckListener(44100)
    assert len(listener.hear(plucked_44k[0].astype(np.float32))) == 2
    (last,) = listener.finish()
    assert last.clip.at_s == pytest.approx(5.5, abs=0.0201)
    assert listener.finish() == []


@pytest.mark.parametrize("n_lost", [1, 100000])
def test_after_lost_samples_it_hears_as_if_the_sound_began_there(n_lost: int) -> None:
    rate_hz = 44100
    second = 0.2 * after(1.5, string(118.0, 2.0, rate_hz), rate_hz) + 1e-3 * white(3, 3.5, rate_hz)
    first = three_plucks(rate_hz)[: round(2.5 * rate_hz)].astype(np.float32)
    afresh = hear(second, rate_hz)
    listener = PluckListener(rate_hz)
    assert len(listener.hear(first)) == 1
    heard = listener.hear(second.astype(np.float32), n_lost_before=n_lost)
    assert_same(afresh, heard + listener.finish(), later=len(first) + n_lost)


def test_a_ring_with_a_hole_is_dropped_or_read_right_from_what_comes_after_the_hole() -> None:
    sound = three_plucks(8000).astype(np.float32)
    listener, hole = PluckListener(8000), round(1.6 * 8000)
    assert listener.hear(sound[:hole]) == []
    heard = listener.hear(sound[hole + 80 : round(3.0 * 8000)], n_lost_before=80) + listener.finish()
    assert all(pluck.clip.first_sample >= hole + 80 for pluck in heard)
    for outcome in (pluck.outcome for pluck in heard):
        if isinstance(outcome, PluckReading):
            assert outcome.fundamental_hz == pytest.approx(61.0, rel=0.005)


def test_a_hole_leaves_the_clock_right() -> None:
    sound = three_plucks(8000).astype(np.float32)
    listener, hole = PluckListener(8000), round(2.4 * 8000)
    heard = (
        listener.hear(sound[:hole])
        + listener.hear(sound[hole + 800 :], n_lost_before=800)
        + listener.finish()
    )
    assert [pluck.clip.at_s for pluck in heard] == pytest.approx([1.5, 3.5, 5.5], abs=0.0201)


@pytest.mark.parametrize("n", [0, 1, 100, 5000])
def test_a_sound_too_short_for_a_pluck_holds_none(n: int) -> None:
    assert hear(0.1 * white(4, 1.0, 48000)[:n], 48000) == []


@pytest.mark.parametrize("rate_hz", [8000, 11025, 37800, 192000])
def test_a_pluck_is_heard_at_every_rate(rate_hz: float) -> None:
    sound = 0.2 * after(1.3, string(98.7, 1.2, rate_hz), rate_hz)
    (pluck,) = hear(sound + 1e-3 * white(5, len(sound) / rate_hz, rate_hz), rate_hz, 4096)
    assert isinstance(pluck.outcome, PluckReading)
    assert pluck.outcome.fundamental_hz == pytest.approx(98.7, rel=1e-3)
    assert pluck.clip.at_s == pytest.approx(1.3, abs=0.0201)


def test_minutes_of_sound_leave_no_more_behind_than_the_first() -> None:
    # What a listener holds is what it can be restored from.
    rate_hz, block_s = 8000, 4.0
    quiet = 1e-3 * white(6, block_s, rate_hz)
    plucked = quiet + 0.2 * after(1.0, string(118.0, block_s - 1.0, rate_hz), rate_hz)
    listener, n_heard, held = PluckListener(rate_hz), 0, []
    for k in range(45):
        n_heard += len(listener.hear((plucked if k % 15 == 5 else quiet).astype(np.float32)))
        held.append(len(pickle.dumps(listener)))
    assert n_heard == 3
    assert max(held) < max(held[:15]) + 200
    assert max(held) < 4 * rate_hz * 15

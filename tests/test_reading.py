"""The way from sound blocks to a verdict, with the real listener and with one made for the test."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from tensionear.errors import RecordingError
from tensionear.metrology.decision import Verdict
from tensionear.metrology.marks import Mark
from tensionear.pluck.listener import HeardPluck
from tensionear.pluck.outcome import PluckClip, PluckOutcome, PluckReading, PluckRefusal, RefusalReason
from tensionear.reading import best_channel, read_recording, read_source, summarise
from tensionear.sound.block import SoundBlock
from tensionear.task import BeltTask
from tests.compared import AS_FLEXIBLE, as_force
from tests.plain_pluck import RATE_HZ, plucks


@dataclass(frozen=True)
class Blocks:
    """A source of the blocks that a test gives it."""

    given: Sequence[SoundBlock]
    name: str = "test"
    sample_rate_hz: float = RATE_HZ

    @property
    def n_channels(self) -> int:
        return int(self.given[0].samples.shape[1])

    def blocks(self) -> Iterator[SoundBlock]:
        yield from self.given


def cut(sound: NDArray[np.float32], lengths: Sequence[int]) -> Blocks:
    """A source that yields `sound` in blocks of these lengths, over and over."""
    edges = [0]
    while edges[-1] < len(sound):
        edges.append(min(edges[-1] + lengths[(len(edges) - 1) % len(lengths)], len(sound)))
    return Blocks([SoundBlock(sound[a:b, None], a) for a, b in pairwise(edges)])


class MarksListener:
    """Hears a pluck for every sample that is not 0: above 0 a reading at so many hertz, below 0 a refusal."""

    def __init__(self, sample_rate_hz: float) -> None:
        self._rate_hz = sample_rate_hz
        self._n_heard = 0
        self._open: list[HeardPluck] = []

    def hear(self, samples: NDArray[np.float32], n_lost_before: int = 0) -> list[HeardPluck]:
        self._n_heard += n_lost_before
        closed = self._open
        self._open = [
            self._heard(float(value), self._n_heard + place) for place, value in enumerate(samples) if value
        ]
        self._n_heard += len(samples)
        return closed

    def finish(self) -> list[HeardPluck]:
        return self._open

    def _heard(self, value: float, place: int) -> HeardPluck:
        clip = PluckClip(np.zeros(1, np.float32), self._rate_hz, 0, place)
        outcome: PluckOutcome
        if value > 0:
            outcome = PluckReading(clip.at_s, value, 0.01, 0.2, value / 10, 0.9, 0.0, 0.0, (), ())
        else:
            outcome = PluckRefusal(clip.at_s, RefusalReason.TOO_WEAK, "Pluck harder.", 3.0)
        return HeardPluck(clip, outcome)


@pytest.fixture
def marks(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tensionear.reading.PluckListener", MarksListener)


def block(*channels: Sequence[float], first_frame: int = 0, n_lost_before: int = 0) -> SoundBlock:
    return SoundBlock(np.array(channels, np.float32).T, first_frame, n_lost_before)


@pytest.mark.usefixtures("marks")
def test_each_pluck_gets_its_tension_and_its_verdict_and_a_refusal_gets_none() -> None:
    task = BeltTask(AS_FLEXIBLE, as_force(380, 460))
    read, refused, slack = read_source(Blocks([block([0, 118, -1]), block([100])]), task)
    assert read.tension is not None
    assert read.tension.value == pytest.approx(4 * 0.165 * 0.213**2 * 118**2)
    assert read.decision is not None
    assert read.decision.verdict is Verdict.IN_BAND
    assert (refused.fundamental, refused.tension, refused.decision) == (None, None, None)
    assert slack.decision is not None
    assert slack.decision.verdict is Verdict.OUT_OF_BAND


@pytest.mark.usefixtures("marks")
def test_a_pluck_that_is_open_when_the_sound_ends_is_read() -> None:
    assert len(list(read_source(Blocks([block([0, 0, 110])]), BeltTask()))) == 1


@pytest.mark.usefixtures("marks")
def test_lost_frames_are_passed_to_the_listener() -> None:
    source = Blocks([block([0, 0]), block([110], first_frame=4802, n_lost_before=4800)])
    (reading,) = read_source(source, BeltTask())
    assert reading.pluck.outcome.at_s == pytest.approx(4802 / RATE_HZ)


@pytest.mark.usefixtures("marks")
@pytest.mark.parametrize(
    ("channels", "best"),
    [
        (([0, 0, 0], [0, 100, 0]), 2),
        (([110, 110, 0], [120, 0, 0]), 1),
        (([110, 120, 130], [120, 130, 140], [110, 110, 200]), 2),
        (([-1, -1, -1], [0, 0, 90]), 2),
        (([110, 0, 0], [110, 0, 0]), 1),
        (([0, 0, 0], [0, 0, 0]), 1),
    ],
)
def test_the_best_channel_has_most_readings_then_the_highest_median_snr(
    channels: Sequence[Sequence[float]], best: int
) -> None:
    assert best_channel(Blocks([block(*channels)])) == best


@pytest.mark.usefixtures("marks")
def test_the_set_is_formed_on_frequency_and_counts_what_was_refused() -> None:
    task = BeltTask(AS_FLEXIBLE, as_force(380, 460))
    together = summarise(read_source(Blocks([block([117, -1, 119])]), task), task)
    assert (together.n_readings, together.n_refused) == (2, 1)
    assert together.fundamental is not None
    assert together.fundamental.mean is not None
    assert together.fundamental.mean.value == 118.0
    assert together.fundamental.scatter == pytest.approx(2**0.5)
    assert together.tension is not None
    assert together.tension.value == pytest.approx(4 * 0.165 * 0.213**2 * 118**2)


@pytest.mark.usefixtures("marks")
def test_a_marked_pluck_keeps_its_number_and_does_not_move_the_set() -> None:
    task = BeltTask(AS_FLEXIBLE, as_force(380, 460))
    others = summarise(read_source(Blocks([block([118, 118.2, 117.9])]), task), task)
    together = summarise(read_source(Blocks([block([118, -1, 236.1, 118.2, 117.9])]), task), task)
    (marked,) = together.marked
    assert (marked.number, marked.mark) == (3, Mark.PARTIAL_2)
    assert marked.fundamental.value == pytest.approx(236.1)
    assert together.n_readings == 4
    assert (together.tension, together.decision) == (others.tension, others.decision)
    assert together.decision is not None


@pytest.mark.usefixtures("marks")
@pytest.mark.parametrize("heard_hz", [[118, 236], [118, 118.1, 236], [118, 118.1, 236, 236.2]])
def test_plucks_that_do_not_agree_give_no_tension_and_no_decision(heard_hz: Sequence[float]) -> None:
    task = BeltTask(AS_FLEXIBLE, as_force(380, 460))
    together = summarise(read_source(Blocks([block(heard_hz)]), task), task)
    assert together.n_readings == len(heard_hz)
    assert together.fundamental is not None
    assert not together.fundamental.agree
    assert (together.tension, together.decision) == (None, None)


@pytest.mark.usefixtures("marks")
def test_what_is_not_known_of_the_span_is_not_averaged_away() -> None:
    task = BeltTask(AS_FLEXIBLE)
    one = summarise(read_source(Blocks([block([118])]), task), task)
    many = summarise(read_source(Blocks([block([118] * 50)]), task), task)
    assert one.tension is not None
    assert many.tension is not None
    of_the_span = 2 * 0.001 / 0.213 * many.tension.value
    assert of_the_span < many.tension.standard_uncertainty < one.tension.standard_uncertainty


@pytest.mark.usefixtures("marks")
def test_a_set_without_readings_has_no_mean() -> None:
    together = summarise(read_source(Blocks([block([-1, 0, -1])]), BeltTask()), BeltTask())
    assert (together.n_readings, together.n_refused) == (0, 2)
    assert (together.fundamental, together.tension, together.decision) == (None, None, None)


@pytest.mark.parametrize("lengths", [[1024], [37, 4096, 1, 999], [1_000_000]])
def test_readings_do_not_depend_on_the_size_of_blocks(lengths: Sequence[int]) -> None:
    sound = plucks([110.0, 73.0])
    task = BeltTask(AS_FLEXIBLE)
    at_once = [reading.pluck.outcome for reading in read_source(cut(sound, [16384]), task)]
    assert [type(outcome) for outcome in at_once] == [PluckReading, PluckReading]
    assert [reading.pluck.outcome for reading in read_source(cut(sound, lengths), task)] == at_once


def test_a_recording_of_several_channels_is_read_by_its_better_one(tmp_path: Path) -> None:
    good = plucks([110.0])
    noisy = good + 0.01 * np.random.default_rng(1).standard_normal(len(good)).astype(np.float32)
    path = tmp_path / "stereo.flac"
    soundfile.write(path, np.column_stack([noisy, good]), RATE_HZ)
    (reading,) = read_recording(path, BeltTask())
    assert (reading.channel, reading.path) == (2, path)
    assert reading.fundamental is not None
    assert reading.fundamental.value == pytest.approx(110.0, rel=1e-3)


def test_what_comes_before_damage_is_read_from_the_better_channel(tmp_path: Path) -> None:
    good = plucks([110.0, 110.0])
    path = tmp_path / "stereo.wav"
    good[int(3.2 * RATE_HZ)] = np.nan
    soundfile.write(path, np.column_stack([np.zeros_like(good), good]), RATE_HZ, subtype="FLOAT")
    readings = read_recording(path, BeltTask())
    assert next(readings).channel == 2
    with pytest.raises(RecordingError, match="is not a number"):
        next(readings)


def test_a_pluck_just_before_trouble_is_read_before_the_trouble_is_raised() -> None:
    sound = plucks([110.0])

    class BreaksOff:
        name = "breaks off"
        sample_rate_hz = float(RATE_HZ)
        n_channels = 1

        def blocks(self) -> Iterator[SoundBlock]:
            yield SoundBlock(sound[: int(1.75 * RATE_HZ), None], 0)
            raise RecordingError("damaged")

    readings = read_source(BreaksOff(), BeltTask())
    first = next(readings)

    assert first.fundamental is not None
    assert first.fundamental.value == pytest.approx(110.0, rel=0.005)
    with pytest.raises(RecordingError, match="damaged"):
        next(readings)

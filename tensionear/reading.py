"""From sound to verdict: the one place where the rooms meet, and the way that every front end goes.

Sound blocks go to a `PluckListener`, what it hears becomes a fundamental, and a `BeltTask` says what that
means for the belt. Nothing here opens a device, draws or prints.

Conventions: SI units; channels are numbered from 1.
"""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from statistics import median

from tensionear.errors import RecordingError, TensionearError
from tensionear.metrology.decision import Decision
from tensionear.metrology.marks import Mark
from tensionear.metrology.pluck_set import SetStatistics, mean_of_set
from tensionear.metrology.uncertainty import Measured
from tensionear.pluck.listener import HeardPluck, PluckListener
from tensionear.pluck.outcome import PluckReading
from tensionear.sound.block import SoundSource
from tensionear.task import Assessment, BeltTask


@dataclass(frozen=True)
class BeltReading:
    """One pluck, and what it says of the belt.

    Attributes
    ----------
    source : str
        Name of the source of sound.
    channel : int
        The channel that was listened to, from 1.
    pluck : HeardPluck
        The pluck's sound and what became of it.
    found : Assessment or None
        What the pluck says of the belt; None if it was refused.
    path : Path or None
        The recording, as it was named; None for a microphone.
    """

    source: str
    channel: int
    pluck: HeardPluck
    found: Assessment | None = None
    path: Path | None = None

    @property
    def fundamental(self) -> Measured | None:
        """Fundamental frequency [Hz]; None if the pluck was refused."""
        return None if self.found is None else self.found.fundamental

    @property
    def tension(self) -> Measured | None:
        """Static tension [N]; None if the pluck was refused or the span gives none."""
        return None if self.found is None else self.found.tension

    @property
    def decision(self) -> Decision | None:
        """None if the pluck was refused or nothing is compared."""
        return None if self.found is None else self.found.decision


@dataclass(frozen=True)
class MarkedPluck:
    """A pluck that was read, and is left out of the mean of its set.

    Attributes
    ----------
    number : int
        Its place among all plucks of the set, the refused included, from 1.
    fundamental : Measured
        As it was read. [Hz]
    mark : Mark
        What is odd about it.
    """

    number: int
    fundamental: Measured
    mark: Mark


@dataclass(frozen=True)
class SetReading:
    """Plucks of one span at one setting, taken together.

    Attributes
    ----------
    n_readings, n_refused : int
        Plucks that were read, the marked included, and plucks that were refused.
    fundamental : SetStatistics or None
        What the fundamental frequencies [Hz] say together; None without readings.
    found : Assessment or None
        What the mean says of the belt; None without a mean.
    marked : tuple of MarkedPluck
        The readings that stand apart from the others.
    """

    n_readings: int
    n_refused: int
    fundamental: SetStatistics | None = None
    found: Assessment | None = None
    marked: tuple[MarkedPluck, ...] = ()

    @property
    def tension(self) -> Measured | None:
        """Tension at the mean fundamental [N]; None without such a mean or a span."""
        return None if self.found is None else self.found.tension

    @property
    def decision(self) -> Decision | None:
        """None without a mean, or if nothing is compared."""
        return None if self.found is None else self.found.decision


def read_pluck(source: str, channel: int, pluck: HeardPluck, task: BeltTask) -> BeltReading:
    """Tension and verdict of one pluck."""
    if not isinstance(pluck.outcome, PluckReading):
        return BeltReading(source, channel, pluck)
    fundamental = Measured(pluck.outcome.fundamental_hz, pluck.outcome.fundamental_standard_uncertainty_hz)
    return BeltReading(source, channel, pluck, task.assessment(fundamental))


def read_source(source: SoundSource, task: BeltTask, channel: int = 1) -> Iterator[BeltReading]:
    """Read the plucks of one channel, each as soon as it has rung out.

    Parameters
    ----------
    source : SoundSource
        A microphone, a recording, anything that yields blocks.
    task : BeltTask
        What is to be found out.
    channel : int, from 1 to the source's number of channels
        Which channel to listen to.

    Raises
    ------
    RecordingError, DeviceError
        If the sound cannot go on; what was read before has been yielded.
    """
    listener = PluckListener(source.sample_rate_hz)
    trouble: TensionearError | None = None
    try:
        for block in source.blocks():
            for pluck in listener.hear(block.samples[:, channel - 1], block.n_lost_before):
                yield read_pluck(source.name, channel, pluck, task)
    except TensionearError as error:
        trouble = error  # the last pluck before it is read first
    for pluck in listener.finish():
        yield read_pluck(source.name, channel, pluck, task)
    if trouble is not None:
        raise trouble


def read_recording(path: Path, task: BeltTask) -> Iterator[BeltReading]:
    """Read the plucks of a recording; of several channels, the plucks of the best one.

    A recording of several channels is gone through twice, so that a long one need not be kept in memory.

    Raises
    ------
    RecordingError
        If the file cannot be read as sound, or not to its end; what was read before has been yielded.
    """
    from tensionear.sound.recording import open_recording  # loads FFmpeg

    with open_recording(path) as recording:
        channel = best_channel(recording) if recording.n_channels > 1 else 1
    with open_recording(path) as recording:
        for reading in read_source(recording, task, channel):
            yield replace(reading, path=path)


def best_channel(source: SoundSource) -> int:
    """Which channel gives the most readings, or of several such the highest median signal-to-noise ratio.

    Parameters
    ----------
    source : SoundSource
        It is listened to until it ends, or as far as it can be read.

    Returns
    -------
    int
        From 1; the first of equals.
    """
    listeners = [PluckListener(source.sample_rate_hz) for _ in range(source.n_channels)]
    snr_db: list[list[float]] = [[] for _ in listeners]

    def note(channel_index: int, plucks: Iterable[HeardPluck]) -> None:
        outcomes = (pluck.outcome for pluck in plucks)
        snr_db[channel_index] += [outcome.snr_db for outcome in outcomes if isinstance(outcome, PluckReading)]

    with suppress(RecordingError):  # raised again, and told, when the chosen channel is read
        for block in source.blocks():
            for index, listener in enumerate(listeners):
                note(index, listener.hear(block.samples[:, index], block.n_lost_before))
    for index, listener in enumerate(listeners):
        note(index, listener.finish())
    ranks = [(len(levels), median(levels) if levels else 0.0) for levels in snr_db]
    return ranks.index(max(ranks)) + 1


def summarise(readings: Iterable[BeltReading], task: BeltTask) -> SetReading:
    """Take the plucks of one span at one setting together.

    The mean is formed of the fundamental frequencies and the tension found at the mean, so that what is not
    known of the span and the density counts once and is not averaged away. Readings that stand apart are marked
    and left out of the mean; plucks that do not agree even so get no mean, no tension and no verdict.

    Parameters
    ----------
    readings : iterable of BeltReading
        Consumed as it comes; no reading is kept.
    task : BeltTask
        The same as for the plucks.
    """
    return set_of([reading.fundamental for reading in readings], task)


def set_of(fundamentals: Sequence[Measured | None], task: BeltTask) -> SetReading:
    """Take the fundamentals of one span at one setting together, as `summarise` does.

    Parameters
    ----------
    fundamentals : sequence of Measured or None
        One for each pluck, in their order; None for a pluck that was refused. [Hz]
    task : BeltTask
        What is to be found out.
    """
    numbers = [number for number, each in enumerate(fundamentals, 1) if each is not None]
    read = [each for each in fundamentals if each is not None]
    n_refused = len(fundamentals) - len(read)
    if not read:
        return SetReading(0, n_refused)
    statistics = mean_of_set(read)
    marked = tuple(
        MarkedPluck(number, fundamental, mark)
        for number, fundamental, mark in zip(numbers, read, statistics.marks, strict=True)
        if mark is not None
    )
    found = None if statistics.mean is None else task.assessment(statistics.mean, statistics.n_in_mean)
    return SetReading(len(read), n_refused, statistics, found, marked)

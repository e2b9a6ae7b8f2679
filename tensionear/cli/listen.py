"""``tensionear listen``: plucks as a microphone hears them."""

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import Any

import click

from tensionear.cli.exit_code import ExitCode
from tensionear.cli.options import device_from, json_option, listening_options, picture_option, require_end
from tensionear.cli.pictures import Pictures
from tensionear.cli.reading_options import SECTIONS, reading_options, task_from, told_from
from tensionear.cli.report import Report, report_for
from tensionear.cli.sections import SectionedCommand
from tensionear.cli.telling import told
from tensionear.cli.trouble import tell_note, tell_trouble
from tensionear.errors import DeviceError
from tensionear.reading import BeltReading, read_source, summarise
from tensionear.sound.block import SoundBlock, SoundSource
from tensionear.sound.microphone import Microphone
from tensionear.task import BeltTask

EXAMPLE = """\b
Example:
  tensionear listen --plucks 5 --span-length-mm 213 --linear-density-g-per-m 165 --band-hz 110 122 --source "page 12"

A band in newtons also needs --method: whether it is meant as a force, or as what a vibration reading comes to.
Lengths may be given in inches (-in), tensions in pounds-force (-lbf).
"""

SHORT_CAUTION = (
    "Engine off and unable to start, belt drive cold, hands clear. The vehicle manufacturer's procedure and "
    'values win; "tensionear cautions" says it all.'
)


@click.command(cls=SectionedCommand, sections=SECTIONS, epilog=EXAMPLE)
@reading_options
@listening_options
@json_option
@picture_option
def command(
    device: str | None,
    seconds: float | None,
    n_plucks: int | None,
    as_json: bool,
    picture: Path | None,
    **typed: Any,
) -> ExitCode:
    """Read plucks as they are heard by a microphone.

    Hold the microphone close to the middle of the span, without touching it. Pluck the span once, like a
    string, and let it ring out: the reading comes at once and the next pluck may follow. No key is needed
    between plucks. All plucks are taken as one set of one span at one setting, told at the end. Ctrl-C ends
    the listening and tells the set.
    """
    require_end(seconds)
    task = task_from(typed)
    report = report_for(task, as_json, told_from(typed))
    pictures = None if picture is None else Pictures(picture, as_json)
    listening = _Listening(task, report, pictures, as_json)
    tell_note(SHORT_CAUTION)
    with Microphone(device_from(device)) as microphone:
        sound = StoppableSound(microphone, seconds)
        which = "" if sound.n_channels == 1 else f", channel 1 of {sound.n_channels},"
        tell_note(f"Listening on {sound.name}{which} at {sound.sample_rate_hz:g} Hz. Pluck; Ctrl-C ends.")
        report.begin()
        with ctrl_c_stops(sound):
            together = summarise(listening.readings(sound, n_plucks), task)
    report.tell_set(together, n_unreadable=int(listening.microphone_failed))
    if pictures is not None:
        pictures.tell_written()
    if listening.microphone_failed:
        return ExitCode.MICROPHONE
    if pictures is not None and pictures.n_failed:
        return ExitCode.INPUT
    return ExitCode.DONE if together.n_readings else ExitCode.NO_READING


class StoppableSound:
    """A source of sound that ends when it is told to, or after a time, and tells of lost sound.

    Parameters
    ----------
    source : SoundSource
        Where the sound comes from.
    seconds : float, optional
        How much of it to hear; without, all. [s]
    """

    def __init__(self, source: SoundSource, seconds: float | None = None) -> None:
        self._source = source
        self._last_frame = None if seconds is None else seconds * source.sample_rate_hz
        self._stopped = False

    @property
    def name(self) -> str:
        """The source's name."""
        return self._source.name

    @property
    def sample_rate_hz(self) -> float:
        """The source's rate. [Hz]."""
        return self._source.sample_rate_hz

    @property
    def n_channels(self) -> int:
        """The source's channels."""
        return self._source.n_channels

    def stop(self) -> None:
        """End the sound after the block that is heard now."""
        self._stopped = True

    def blocks(self) -> Iterator[SoundBlock]:
        """Yield the source's blocks until it is time to stop.

        Raises
        ------
        RecordingError, DeviceError
            As the source does.
        """
        for block in self._source.blocks():
            if block.n_lost_before:
                lost_s = block.n_lost_before / self.sample_rate_hz
                tell_note(f"{lost_s:.2f} s of sound were lost: the machine was too busy. Pluck again.")
            yield block
            heard = block.first_frame + len(block.samples)
            if self._stopped or (self._last_frame is not None and heard >= self._last_frame):
                return


class _Listening:
    """Tells each pluck as it comes, and a microphone that fails."""

    def __init__(self, task: BeltTask, report: Report, pictures: Pictures | None, as_json: bool) -> None:
        self._task = task
        self._report = report
        self._pictures = pictures
        self._as_json = as_json
        self.microphone_failed = False

    def readings(self, sound: StoppableSound, n_plucks: int | None) -> Iterator[BeltReading]:
        n_readings = 0
        try:
            for reading in told(read_source(sound, self._task), self._report, self._pictures):
                yield reading
                n_readings += reading.fundamental is not None
                if n_readings == n_plucks:
                    return
        except DeviceError as error:
            self.microphone_failed = True
            tell_trouble(str(error), self._as_json, source=sound.name)


@contextmanager
def ctrl_c_stops(sound: StoppableSound) -> Iterator[None]:
    """Let the first Ctrl-C end the sound, so that what still rings is read; a second one ends at once."""

    def stop(_number: int, _frame: FrameType | None) -> None:
        sound.stop()
        signal.signal(signal.SIGINT, before)

    before = signal.signal(signal.SIGINT, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)

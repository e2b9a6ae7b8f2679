"""``tensionear read``: the plucks in recordings."""

import filecmp
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import click

from tensionear.cli.exit_code import ExitCode
from tensionear.cli.options import json_option, picture_option
from tensionear.cli.pictures import Pictures
from tensionear.cli.reading_options import SECTIONS, reading_options, task_from, told_from
from tensionear.cli.report import Report, report_for
from tensionear.cli.sections import SectionedCommand
from tensionear.cli.telling import told
from tensionear.cli.trouble import tell_note, tell_trouble
from tensionear.errors import RecordingError
from tensionear.reading import BeltReading, read_recording, summarise
from tensionear.task import BeltTask

EXAMPLE = """\b
Example:
  tensionear read monday.wav --span-length-mm 213 --linear-density-g-per-m 165 --band-hz 110 122 --source "page 12"

A band in newtons also needs --method: whether it is meant as a force, or as what a vibration reading comes to.
Lengths may be given in inches (-in), tensions in pounds-force (-lbf).
"""


@click.command(cls=SectionedCommand, sections=SECTIONS, epilog=EXAMPLE)
@click.argument(
    "files", nargs=-1, required=True, type=click.Path(path_type=Path, readable=False), metavar="FILE..."
)
@reading_options
@json_option
@picture_option
def command(files: tuple[Path, ...], as_json: bool, picture: Path | None, **typed: Any) -> ExitCode:
    """Read the plucks in recordings.

    Any usual sound or video file will do. All files together are taken as plucks of one span at one setting:
    each pluck is told, and at the end all of them as one set. Of a recording with several channels the best
    one is used and said.

    A file that cannot be read is told and the others are read all the same; the exit code is then 2. So it is
    with a picture that cannot be written. Files that hold the same count once.
    """
    task = task_from(typed)
    report = report_for(task, as_json, told_from(typed))
    pictures = None if picture is None else Pictures(picture, as_json)
    reader = _Reader(task, report, pictures, as_json)
    report.begin()
    together = summarise(reader.readings(_once_each(files)), task)
    report.tell_set(together, reader.n_unreadable)
    if pictures is not None:
        pictures.tell_written()
    if reader.n_unreadable or (pictures is not None and pictures.n_failed):
        return ExitCode.INPUT
    return ExitCode.DONE if together.n_readings else ExitCode.NO_READING


def _once_each(files: tuple[Path, ...]) -> list[Path]:
    """Leave out files that hold the same as one given before: their plucks would count twice."""
    kept: list[Path] = []
    for path in files:
        same = next((before for before in kept if _hold_the_same(before, path)), None)
        if same is None:
            kept.append(path)
        elif same == path:
            tell_note(f"{path} is given twice: it counts once.")
        else:
            tell_note(f"{path} holds the same as {same}: it counts once.")
    return kept


def _hold_the_same(one: Path, other: Path) -> bool:
    try:
        return one == other or filecmp.cmp(one, other, shallow=False)
    except (OSError, ValueError):  # told when it is read
        return False


class _Reader:
    """Goes through the files, tells each pluck as it comes and each file that cannot be read."""

    def __init__(self, task: BeltTask, report: Report, pictures: Pictures | None, as_json: bool) -> None:
        self._task = task
        self._report = report
        self._pictures = pictures
        self._as_json = as_json
        self._n_told = 0
        self.n_unreadable = 0

    def readings(self, files: Sequence[Path]) -> Iterator[BeltReading]:
        for path in files:
            n_before = self._n_told
            try:
                for reading in told(read_recording(path, self._task), self._report, self._pictures):
                    self._n_told += 1
                    yield reading
                if len(files) > 1 and self._n_told == n_before:
                    tell_note(f"{path}: no pluck was heard.")
            except RecordingError as error:
                self.n_unreadable += 1
                tell_trouble(str(error), self._as_json, source=path.name, path=path)

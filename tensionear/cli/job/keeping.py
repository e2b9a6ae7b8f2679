"""Keeping plucks as they are heard: in the archive first, on the screen then."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from tensionear.cli.job.due_pass import turned_before
from tensionear.cli.job.pass_report import PassReport
from tensionear.cli.json_lines import readable
from tensionear.cli.trouble import tell_note
from tensionear.job import deeds
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.archived_job import ArchivedJob
from tensionear.job.course import is_complete
from tensionear.job.hearing import kept
from tensionear.job.passes import PassKind
from tensionear.job.pluck_document import PluckDocument
from tensionear.reading import BeltReading, read_pluck, read_recording
from tensionear.task import BeltTask


def are_kept_already(files: Sequence[Path], job: ArchivedJob) -> bool:
    """Whether the last pass holds all plucks of some recordings, which then is told.

    So it is if the reading was broken off just after its end, and the same is asked for again.

    Parameters
    ----------
    files : sequence of Path
        The recordings.
    job : ArchivedJob
        The job.

    Raises
    ------
    RecordingError
        If one of them cannot be read.
    """
    if not job.state.passes:
        return False
    last = job.state.passes[-1]
    sounds = {pluck.pluck.sound.flac_sha256 for pluck in last.plucks}
    names = {pluck.pluck.sound.source for pluck in last.plucks}
    if not {readable(path.name) for path in files} <= names:  # so much is told without reading them
        return False
    readings = [reading for path in files for reading in read_recording(path, BeltTask())]
    found = {_kept(reading, is_recording=True)[0].sound.flac_sha256 for reading in readings}
    if not found <= sounds:
        return False
    tell_note(
        f"All plucks of these recordings are in pass {last.number}, {last.kind}, already: nothing was added."
    )
    return True


def _kept(reading: BeltReading, *, is_recording: bool) -> tuple[PluckDocument, bytes]:
    return kept(reading.pluck, readable(reading.source), reading.channel, is_recording=is_recording)


class PluckKeeper:
    """Keeps plucks in the pass that goes on, and tells each.

    Parameters
    ----------
    archive : Archive
        Where the job is.
    job : ArchivedJob
        With the pass that goes on.
    report : PassReport
        What tells them.
    by : str
        Who plucks.
    turned : float or None
        In the run-in: revolutions before each pluck that follows a reading. [1]
    go_on : bool
        Whether the pass goes on though it has its readings.
    """

    def __init__(
        self,
        archive: Archive,
        job: ArchivedJob,
        report: PassReport,
        by: str,
        turned: float | None,
        *,
        go_on: bool,
    ) -> None:
        goes_on = job.state.open_pass
        assert goes_on is not None  # noqa: S101 - it was begun just now
        self._archive = archive
        self._job = job
        self._report = report
        self._by = by
        self._turned = turned
        self._go_on = go_on
        self._pass_number = goes_on.number
        self._kind = goes_on.kind
        self._task = job.setup.task_for(goes_on.kind)
        self.n_heard = 0
        self.n_known = 0
        self.n_readings = 0

    def keep(self, reading: BeltReading, *, is_recording: bool) -> None:
        """Keep a pluck and tell it; one that is in the pass already is only counted.

        Parameters
        ----------
        reading : BeltReading
            As it was heard.
        is_recording : bool
            Whether it comes from a recording.

        Raises
        ------
        ArchiveError
            If it cannot be kept; it is not told then.
        InputError
            If the pass was ended elsewhere, or this very sound counts in another pass.
        """
        document, flac = _kept(reading, is_recording=is_recording)
        self.n_heard += 1
        self.n_readings += document.fundamental is not None
        if self._turned is not None:
            turned = self._turned
            if deeds.keep_pluck(self._archive.job(self._job.number).state, document) is None:
                self.n_known += 1  # nothing was turned before a pluck that is there already
                return
            self._archive.write_down(self._job.number, lambda job: turned_before(job, turned), self._by)
        if self._archive.keep_pluck(self._job.number, document, flac, self._by) is None:
            self.n_known += 1
            return
        self._job = self._archive.job(self._job.number)
        outcome = document.outcome.pluck_outcome()
        heard = replace(reading.pluck, outcome=outcome)
        shown = replace(read_pluck(reading.source, reading.channel, heard, self._task), path=reading.path)
        pluck = next(
            each
            for each in reversed(self._job.state.plucks)
            if each.pluck.sound.flac_sha256 == document.sound.flac_sha256
        )
        self._report.tell_pluck(self._job, pluck, shown, reading.path)

    @property
    def has_enough(self) -> bool:
        """Whether the pass has its readings, or the run-in its revolutions with a reading after them."""
        if self._go_on:
            return False
        each = self._job.state.passes[self._pass_number - 1]
        if self._kind is not PassKind.RUN_IN:
            return is_complete(each, self._job.setup)
        plan = self._job.setup.run_in
        if self._turned is None or plan is None or not each.counting:
            return False
        return each.counting[-1].revolutions >= plan.revolutions

    def end_if_complete(self, *, is_whole: bool = True) -> ArchivedJob:
        """End the pass if it has its readings and is not to go on.

        Parameters
        ----------
        is_whole : bool
            Whether all that was given could be read.

        Raises
        ------
        ArchiveError
            If that cannot be written down.
        """
        self._job = self._archive.job(self._job.number)
        goes_on = self._job.state.open_pass
        if self._go_on or not is_whole or goes_on is None or not is_complete(goes_on, self._job.setup):
            return self._job
        self._job = self._archive.write_down(
            self._job.number, lambda job: deeds.end_pass(job.state), self._by
        )
        return self._job

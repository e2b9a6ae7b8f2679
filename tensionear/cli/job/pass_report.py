"""How a pass is told while it is read: a row or a line a pluck, then what the pass says, and what comes next."""

from pathlib import Path

import click

from tensionear.cli.job.lines import by_job_numbers, write_pass_line, write_pluck_line, write_step_line
from tensionear.cli.job.telling import run_in_words, tell_next
from tensionear.cli.layout import filled
from tensionear.cli.reading_options import HowTold
from tensionear.cli.report_json import JsonReport
from tensionear.cli.report_table import TableReport
from tensionear.job.archive.archived_job import ArchivedJob
from tensionear.job.course import next_step
from tensionear.job.passes import PassKind
from tensionear.job.results import PassResult, pass_result
from tensionear.job.state import JobPass, JobPluck
from tensionear.reading import BeltReading


class PassReport:
    """Tells a pass as it grows.

    Parameters
    ----------
    job : ArchivedJob
        With the pass that goes on.
    how : HowTold
        Units, and what is told beside the readings.
    as_json : bool
        Lines for programs.
    """

    def __init__(self, job: ArchivedJob, how: HowTold, as_json: bool) -> None:
        goes_on = job.state.open_pass
        assert goes_on is not None  # noqa: S101 - it was begun just now
        self._pass_number = goes_on.number
        self._how = how
        self._as_json = as_json
        self._table = TableReport(job.setup.task_for(goes_on.kind), how)

    def begin(self, job: ArchivedJob) -> None:
        """Tell which pass it is, and what it rests on."""
        if self._as_json:
            return
        each = self._pass_of(job)
        before = f", {len(each.plucks)} plucks kept before" if each.plucks else ""
        left = next_step(job.state, job.setup).readings_left
        asked = f": {left} {'reading' if left == 1 else 'readings'} to take" if left else ""
        click.echo(f"Job {job.number}, pass {each.number}, {each.kind}{before}{asked}.")
        self._table.begin()

    def tell_pluck(self, job: ArchivedJob, pluck: JobPluck, reading: BeltReading, path: Path | None) -> None:
        """Tell a pluck that is kept.

        Parameters
        ----------
        job : ArchivedJob
            With the pluck.
        pluck : JobPluck
            As it is kept.
        reading : BeltReading
            The same, as it was read.
        path : Path or None
            The recording.
        """
        if self._as_json:
            each = self._pass_of(job)
            write_pluck_line(job, each, pluck, pass_result(each, job.setup), path)
        else:
            self._table.tell_pluck(reading, pluck.number)

    def end(self, job: ArchivedJob, n_unreadable: int) -> None:
        """Tell what the pass says, whether it goes on, and what comes next."""
        each = self._pass_of(job)
        result = pass_result(each, job.setup)
        if self._as_json:
            write_pass_line(job, result)
            if result.together.found is not None:
                JsonReport(result.task, self._how).tell_budgets(result.together.found)
            write_step_line(job)
            return
        if each.kind is PassKind.RUN_IN:
            self._tell_run_in(result)
        else:
            self._table.tell_set(by_job_numbers(result), n_unreadable)
        click.echo()
        ended = "goes on" if each.ended_at is None else "has ended"
        click.echo(f"Pass {each.number}, {each.kind}, {ended}.")
        tell_next(job)

    def _tell_run_in(self, result: PassResult) -> None:
        """Readings while the belt settles are no set: the first and the last say how far it went."""
        counting = result.job_pass.counting
        click.echo()
        if not counting:
            click.echo("Run-in: no reading yet.")
            return
        many = "1 reading" if len(counting) == 1 else f"{len(counting)} readings"
        click.echo(filled(f"Run-in, {many}: {run_in_words(result, self._how.units)}."))

    def _pass_of(self, job: ArchivedJob) -> JobPass:
        return job.state.passes[self._pass_number - 1]

"""A deed that is done to a job from the command line, and how it is told."""

from collections.abc import Callable

import click

from tensionear.cli.archive_options import opened
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.job.lines import write_log_line, write_step_line
from tensionear.cli.job.log_words import fact_words
from tensionear.cli.job.telling import tell_next
from tensionear.cli.job.which import number_of
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.archived_job import ArchivedJob
from tensionear.job.log import Fact

Deed = Callable[[ArchivedJob], Fact | None]


def do(archive: str | None, job: str | None, deed: Deed, by: str, as_json: bool) -> ExitCode:
    """Do a deed to a job, write it down, and tell it and what comes next.

    Parameters
    ----------
    archive : str or None
        As it was named.
    job : str or None
        As it was typed; None: the only one that is open.
    deed : callable
        As `Archive.write_down` takes it.
    by : str
        Who does it.
    as_json : bool
        Lines for programs.

    Raises
    ------
    ArchiveError, InputError
        If it cannot be done.
    """
    with opened(archive) as there:
        done = there.write_down(number_of(there, job), deed, by)
    tell_done(done, as_json)
    return ExitCode.DONE


def do_both(there: Archive, number: str, deeds: tuple[Deed, ...], by: str, as_json: bool) -> ArchivedJob:
    """Do several deeds, one after the other, and tell each that was written down.

    Raises
    ------
    ArchiveError, InputError
        If one cannot be done; those before it are done.
    """
    job = there.job(number)
    for deed in deeds:
        n_before = len(job.log)
        job = there.write_down(number, deed, by)
        if len(job.log) > n_before:
            tell_entry(job, as_json)
    return job


def tell_done(job: ArchivedJob, as_json: bool) -> None:
    """Tell the last entry of a job's log, and what comes next."""
    tell_entry(job, as_json)
    if as_json:
        write_step_line(job)
    elif job.state.deleted_at is None:
        tell_next(job)


def tell_entry(job: ArchivedJob, as_json: bool) -> None:
    """Tell the last entry of a job's log."""
    entry = job.log[-1]
    if as_json:
        write_log_line(job, entry)
    else:
        click.echo(f"Job {job.number}: {fact_words(entry.fact)}.")

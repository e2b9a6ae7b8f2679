"""``tensionear job open``, ``take-setup``, ``close``, ``delete`` and ``restore``."""

from collections.abc import Callable
from typing import Any

import click
from pydantic import ValidationError

from tensionear.cli.archive_options import opened, writing_options
from tensionear.cli.asking import require_yes, yes_option
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.job.doing import do, tell_done
from tensionear.cli.job.lines import write_job_line, write_step_line
from tensionear.cli.job.telling import tell_next
from tensionear.cli.job.which import job_and_rest, number_of, words_argument
from tensionear.cli.options import Number, Text
from tensionear.errors import InputError
from tensionear.job import deeds
from tensionear.job.details import JobDetails
from tensionear.job.validation import faults_of

_DETAILS: tuple[Callable[[Callable[..., Any]], Callable[..., Any]], ...] = (
    click.option("--vehicle", metavar="TEXT", help="Make, model, year, as the workshop calls it."),
    click.option("--registration", metavar="TEXT", help="As on the plate."),
    click.option("--chassis-number", metavar="TEXT", help="As in the papers."),
    click.option("--odometer-km", type=Number(), metavar="KM", help="What the odometer shows."),
    click.option("--technician", metavar="NAME", help="Who does the job.  [default: as --by]"),
    click.option("--workshop", metavar="NAME", help="Where."),
    click.option("--ambient-c", type=Number(), metavar="°C", help="Temperature of the air."),
    click.option("--belt-c", type=Number(), metavar="°C", help="Temperature of the belt."),
)


def _details_options(command: Callable[..., Any]) -> Callable[..., Any]:
    for option in reversed(_DETAILS):
        command = option(command)
    return command


@click.command(name="open")
@click.option(
    "--setup",
    "setup_name",
    type=Text(),
    required=True,
    metavar="NAME",
    help="What the job goes by; its last version.",
)
@click.option(
    "--number", default="", metavar="JOB", help="As the workshop counts.  [default: the next of the year]"
)
@_details_options
@click.option(
    "--demonstration", is_flag=True, help="For practice or show: the job and its record say so for ever."
)
@writing_options
def open_command(
    setup_name: str,
    number: str,
    demonstration: bool,
    archive: str | None,
    by: str,
    as_json: bool,
    **typed: Any,
) -> ExitCode:
    """Open a job with a setup.

    The job keeps this version of the setup, whatever becomes of it later. All that is not known now can be given
    later with "tensionear job correct".
    """
    given = {name: value for name, value in typed.items() if value is not None}
    given.setdefault("technician", by)
    try:
        details = JobDetails.model_validate(given)
    except ValidationError as error:
        raise InputError(f"this job cannot be: {faults_of(error)}") from error
    with opened(archive) as there:
        job = there.open_job(
            there.setup(setup_name).name, details, number=number, is_demonstration=demonstration, by=by
        )
    if as_json:
        write_job_line(job)
        write_step_line(job)
    else:
        click.echo(f"Job {job.number} is open, by {job.kept_setup.name}, version {job.kept_setup.version}.")
        tell_next(job)
    return ExitCode.DONE


@click.command(name="take-setup")
@words_argument("SETUP")
@click.option(
    "--version", type=click.IntRange(min=1), metavar="N", help="Which version.  [default: the last]"
)
@click.option("--reason", required=True, metavar="TEXT", help="Why; kept in the record.")
@writing_options
def take_setup_command(
    words: tuple[str, ...], version: int | None, reason: str, archive: str | None, by: str, as_json: bool
) -> ExitCode:
    """Go by another setup, or another version, from now on.

    All passes of the job are judged anew by it; the log keeps what it went by before.
    """
    job, (typed,) = job_and_rest(words, 1)
    setup_name = Text().convert(typed, None, click.get_current_context())
    with opened(archive) as there:
        done = there.take_setup(number_of(there, job), setup_name, version, reason, by)
    tell_done(done, as_json)
    return ExitCode.DONE


@click.command(name="close")
@words_argument()
@writing_options
def close_command(words: tuple[str, ...], archive: str | None, by: str, as_json: bool) -> ExitCode:
    """Close a job; a re-check may follow at any time."""
    job, _ = job_and_rest(words)
    return do(archive, job, lambda job: deeds.close_job(job.state, job.setup), by, as_json)


@click.command(name="delete")
@click.argument("job", type=Text())
@click.option("--reason", required=True, metavar="TEXT", help="Why; kept.")
@yes_option
@writing_options
def delete_command(job: str, reason: str, yes: bool, archive: str | None, by: str, as_json: bool) -> ExitCode:
    """Put a job away.

    It can be restored for 30 days. JOB has to be named, and the question answered, or --yes given.
    """
    with opened(archive) as there:
        found = there.job(job)
        deeds.delete_job(found.state, reason)  # what is refused need not be asked
        require_yes(yes, f"Delete job {found.number}, {len(found.state.plucks)} plucks?")
        done = there.write_down(found.number, lambda job: deeds.delete_job(job.state, reason), by)
    tell_done(done, as_json)
    if not as_json:
        click.echo('"tensionear job restore" brings it back.')
    return ExitCode.DONE


@click.command(name="restore")
@click.argument("job", type=Text())
@click.option("--reason", default="", metavar="TEXT", help="Why; kept.")
@writing_options
def restore_command(job: str, reason: str, archive: str | None, by: str, as_json: bool) -> ExitCode:
    """Bring a deleted job back."""
    return do(archive, job, lambda job: deeds.restore_job(job.state, reason), by, as_json)

"""``tensionear job show``, ``log`` and ``list``."""

from dataclasses import asdict
from datetime import datetime, timedelta
from typing import Any

import click

from tensionear.cli.archive_options import looking_options, opened
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.job.lines import (
    moment,
    write_job_line,
    write_log_line,
    write_pass_line,
    write_pluck_line,
    write_run_in_line,
    write_step_line,
)
from tensionear.cli.job.log_words import fact_words
from tensionear.cli.job.telling import tell_job, tell_summaries
from tensionear.cli.job.which import job_and_rest, number_of, words_argument
from tensionear.cli.json_lines import readable, write_line
from tensionear.cli.layout import row
from tensionear.cli.trouble import tell_note
from tensionear.cli.units import ToldUnits, tell_in_option
from tensionear.errors import InputError
from tensionear.job.archive.search import MOST_JOBS, JobQuery, JobSummary
from tensionear.job.results import pass_results
from tensionear.metrology.decision import Verdict

VERDICTS = {verdict.value.replace(" ", "-"): verdict for verdict in Verdict}


@click.command(name="show")
@words_argument()
@tell_in_option
@looking_options
def show_command(
    words: tuple[str, ...], tell_in: tuple[str, ...], archive: str | None, as_json: bool
) -> ExitCode:
    """Show a job: passes, plucks, verdicts, and what is next.

    Of every pass the mean with its verdict; of every pluck its reading, or why it was refused, or does not count.
    """
    units = ToldUnits.of(tell_in)
    job, _ = job_and_rest(words)
    with opened(archive) as there:
        found = there.job(number_of(there, job))
    if not as_json:
        tell_job(found, units)
        return ExitCode.DONE
    write_job_line(found)
    for result in pass_results(found.state, found.setup):
        for pluck in result.job_pass.plucks:
            write_pluck_line(found, result.job_pass, pluck, result)
        write_pass_line(found, result)
    write_run_in_line(found)
    write_step_line(found)
    return ExitCode.DONE


@click.command(name="log")
@words_argument()
@looking_options
def log_command(words: tuple[str, ...], archive: str | None, as_json: bool) -> ExitCode:
    """Show every entry of a job's log, in the order in which they were written."""
    job, _ = job_and_rest(words)
    with opened(archive) as there:
        found = there.job(number_of(there, job))
    for entry in found.log:
        if as_json:
            write_log_line(found, entry)
        else:
            at = f"{entry.at.astimezone():%Y-%m-%d %H:%M:%S}"
            click.echo(
                row([f"{entry.number:>4}", at, *([entry.by] if entry.by else []), fact_words(entry.fact)])
            )
    return ExitCode.DONE


@click.command(name="list")
@click.argument("words", nargs=-1)
@click.option("--number", default="", metavar="WORDS", help="Words in the job's number.")
@click.option("--vehicle", default="", metavar="WORDS", help="Words in the vehicle.")
@click.option("--registration", default="", metavar="WORDS", help="Words in the registration.")
@click.option("--chassis-number", default="", metavar="WORDS", help="Words in the chassis number.")
@click.option("--technician", default="", metavar="WORDS", help="Words in the technician.")
@click.option("--workshop", default="", metavar="WORDS", help="Words in the workshop.")
@click.option("--setup", default="", metavar="WORDS", help="Words in the setup's name.")
@click.option(
    "--verdict", type=click.Choice(list(VERDICTS)), help="Verdict of the last final setting or re-check."
)
@click.option("--from", "opened_from", metavar="DATE", help="Opened on this day or later: 2026-03-02.")
@click.option("--to", "opened_to", metavar="DATE", help="Opened on this day or earlier.")
@click.option("--open/--closed", "is_open", default=None, help="Only those that are open, or closed.")
@click.option("--deleted", is_flag=True, help="Those that are deleted.")
@click.option(
    "--limit", type=click.IntRange(1, MOST_JOBS), default=50, show_default=True, help="So many at most."
)
@looking_options
def list_command(
    words: tuple[str, ...],
    verdict: str | None,
    opened_from: str | None,
    opened_to: str | None,
    archive: str | None,
    as_json: bool,
    **typed: Any,
) -> ExitCode:
    """List jobs, the newest first, or those that have some words.

    WORDS are looked for in number, vehicle, registration, chassis number, technician, workshop, setup, engine, belt
    and notes; case and accents do not count, and the beginning of a word is enough.
    """
    query = JobQuery(
        words=" ".join(words),
        verdict=None if verdict is None else VERDICTS[verdict],
        opened_from=None if opened_from is None else _day(opened_from),
        opened_to=None if opened_to is None else _day(opened_to) + timedelta(days=1),
        **typed,
    )
    with opened(archive) as there:
        found = there.find_jobs(query)
    if as_json:
        for each in found:
            _write(each)
    else:
        tell_summaries(found)
    if not found:
        tell_note("There is no such job.")
    elif len(found) == query.limit:
        tell_note(f"These are the first {query.limit}: there may be more; add words, or a larger --limit.")
    return ExitCode.DONE


def _day(typed: str) -> datetime:
    try:
        return datetime.strptime(typed, "%Y-%m-%d").astimezone()
    except (ValueError, OverflowError) as error:
        raise InputError(f"{typed!r} is no date: write year, month and day, such as 2026-03-02") from error


def _write(each: JobSummary) -> None:
    named = asdict(each)
    named |= {name: moment(named[name]) for name in ("opened_at", "changed_at", "closed_at", "deleted_at")}
    number = named.pop("number")
    named = {name: readable(value) if type(value) is str else value for name, value in named.items()}
    write_line("job_summary", job=readable(number), **named)

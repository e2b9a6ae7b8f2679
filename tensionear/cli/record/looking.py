"""``tensionear record list`` and ``show``."""

import click

from tensionear.cli.archive_options import looking_options, opened
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.record.telling import tell_record, tell_records, write_record_line
from tensionear.cli.trouble import tell_note
from tensionear.cli.units import ToldUnits, tell_in_option
from tensionear.job.record.record_reading import record_from


@click.command(name="list")
@click.argument("job", required=False)
@looking_options
def list_command(job: str | None, archive: str | None, as_json: bool) -> ExitCode:
    """List the records of the archive in the order of their chain, or those of one job."""
    with opened(archive) as there:
        listed = there.records()
        if job is not None:
            uid = there.job(job).uid
            listed = [each for each in listed if each.job_uid == uid]
    if as_json:
        for each in listed:
            write_record_line(each)
    else:
        tell_records(listed)
    if not listed:
        tell_note('There is no record yet: "tensionear record make".')
    return ExitCode.DONE


@click.command(name="show")
@click.argument("number", type=click.IntRange(min=1))
@tell_in_option
@looking_options
def show_command(number: int, tell_in: tuple[str, ...], archive: str | None, as_json: bool) -> ExitCode:
    """Show what a record says.

    NUMBER is the record's, as "tensionear record list" tells it. With --json, the line holds all of it.
    """
    units = ToldUnits.of(tell_in)
    with opened(archive) as there:
        kept = there.record(number)
    record = None if kept.document is None else record_from(kept.document)
    if as_json:
        write_record_line(kept, record=record)
    else:
        tell_record(kept, record, units)
    return ExitCode.DONE

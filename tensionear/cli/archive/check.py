"""``tensionear archive check``."""

import click

from tensionear.cli.archive.words import counted
from tensionear.cli.archive_options import looking_options
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.json_lines import readable, write_line
from tensionear.cli.layout import filled
from tensionear.cli.progress import progress_shown
from tensionear.job.archive.address import address_of
from tensionear.job.archive.checking import check


@click.command(name="check")
@click.option(
    "--quick",
    is_flag=True,
    help="Take the figures of passes in lists and histories as they are; much quicker.",
)
@looking_options
def command(quick: bool, archive: str | None, as_json: bool) -> ExitCode:
    """Find out whether an archive is still what was written into it.

    The database's own check, every hash of a sound, photo, setup, log entry and record, whether every log makes a
    job, whether what is listed follows from the logs, and the chain of records. Nothing is written, and others may
    go on working.
    """
    where = archive or None
    with progress_shown("Check") as progress:
        found = check(where, progress, quick=quick)
    shown = str(address_of(where))
    for each in found:
        if as_json:
            write_line(
                "archive_finding",
                fault=str(each.fault),
                job=None if each.job_number is None else readable(each.job_number),
                sentence=readable(each.sentence),
            )
        else:
            click.echo(filled(f"{each.fault}: {each.sentence}", later="    "))
    if as_json:
        write_line("archive_check", archive=readable(shown), n_findings=len(found))
    elif found:
        click.echo(
            filled(
                f"{shown}: {counted(len(found), 'finding')}. Restore a backup, or bring over what is readable with"
                ' "tensionear archive salvage"; keep the damaged one.'
            )
        )
    else:
        click.echo(f"{shown}: all is as it was written.")
    return ExitCode.NOT_AS_IT_WAS if found else ExitCode.DONE

"""``tensionear archive salvage``."""

from pathlib import Path

import click

from tensionear.cli.archive.words import held
from tensionear.cli.archive_options import path_argument
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.json_lines import readable, write_line
from tensionear.cli.layout import filled
from tensionear.cli.options import json_option
from tensionear.cli.progress import progress_shown
from tensionear.job.archive.salvage import salvage


@click.command(name="salvage")
@path_argument("damaged", "DAMAGED.sqlite")
@path_argument("to", "NEW.sqlite")
@click.option(
    "--by", envvar="TENSIONEAR_BY", metavar="NAME", default="", help="Who does this; kept in the new archive."
)
@json_option
def command(damaged: Path, to: Path, by: str, as_json: bool) -> ExitCode:
    """Bring what is readable of a damaged archive into a new one.

    The damaged file is only read. What has another hash than it should is left out, a job is kept up to the first
    hole in its log, and all that is lost is told. Nobody should be at work with the file meanwhile; if there is a
    file DAMAGED.sqlite-wal beside it, leave it there: it holds the newest entries.
    """
    with progress_shown("Salvage") as progress:
        report = salvage(damaged, to, by, progress)
    for loss in report.losses:
        if as_json:
            write_line(
                "archive_loss",
                table=loss.table or None,
                job=None if loss.job_number is None else readable(loss.job_number),
                sentence=readable(loss.sentence),
            )
        else:
            click.echo(filled(loss.sentence, later="    "))
    n_rows = report.n_rows
    if as_json:
        write_line(
            "archive_salvaged",
            archive=readable(str(to)),
            archive_id=report.archive_id,
            n_jobs=n_rows["jobs"],
            n_setups=n_rows["setups"],
            n_contents=n_rows["contents"],
            n_records=n_rows["records"],
            n_losses=len(report.losses),
        )
    else:
        click.echo(
            filled(
                f"Brought over into {to}: {held(n_rows)}."
                + (" Keep the damaged file." if report.losses else " Nothing is known to be lost.")
            )
        )
    return ExitCode.NOT_AS_IT_WAS if report.losses else ExitCode.DONE

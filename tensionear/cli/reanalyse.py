"""``tensionear reanalyse``: read kept plucks, or a folder of recordings, anew and tell what changed."""

from functools import partial
from pathlib import Path

import click
from click.core import ParameterSource

from tensionear.cli.archive_options import looking_options
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.progress import steps_shown
from tensionear.cli.reanalyse_telling import tell_report, write_report
from tensionear.cli.trouble import tell_note, tell_trouble
from tensionear.job.archive.opening_to_read import open_to_read
from tensionear.job.reanalysis.report import MOST_LISTED, Report
from tensionear.job.reanalysis.run import reanalyse_archive, reanalyse_folder
from tensionear.job.reanalysis.verdicts import PassReadTwice, passes_read_twice
from tensionear.job.reanalysis.workers import n_processors

EPILOG = """\b
Examples:
  tensionear reanalyse --results archive-now.jsonl
  tensionear reanalyse recordings --results now.jsonl --compare-with a-year-ago.jsonl
"""


@click.command(epilog=EPILOG)
@click.argument("folder", required=False, type=click.Path(path_type=Path, readable=False), metavar="[FOLDER]")
@click.option(
    "--results",
    type=click.Path(path_type=Path, readable=False),
    metavar="FILE.jsonl",
    help="Keep every reading here as it comes; if the file is there already, go on where it ends.",
)
@click.option(
    "--compare-with",
    "earlier",
    type=click.Path(path_type=Path, readable=False),
    metavar="EARLIER.jsonl",
    help="With FOLDER: the results of an earlier run, made with whatever version.",
)
@click.option(
    "--largest",
    type=click.IntRange(0, MOST_LISTED),
    default=10,
    show_default=True,
    help="How many of the largest differences are listed.",
)
@click.option(
    "--processes",
    type=click.IntRange(min=1),
    metavar="N",
    help="How many to read with at once.  [default: one a processor]",
)
@looking_options
def command(
    folder: Path | None,
    results: Path | None,
    earlier: Path | None,
    largest: int,
    processes: int | None,
    archive: str | None,
    as_json: bool,
) -> ExitCode:
    """Read kept plucks, or a folder of recordings, anew and tell what changed.

    Without FOLDER, every pluck of the archive is read by the estimator of this program and compared with what was
    kept, and the verdicts that passes would have with that are told; nothing in the archive changes. Jobs that are
    deleted are left out.

    With FOLDER, all recordings in it and in the folders within are read, and compared with an earlier run.

    It may take long. Ctrl-C stops it; with --results, the same command later goes on where it was.
    """
    n_processes = processes or n_processors()
    track = partial(steps_shown, "reading")
    read_otherwise: list[PassReadTwice] = []
    try:
        if folder is not None:
            if click.get_current_context().get_parameter_source("archive") is ParameterSource.COMMANDLINE:
                raise click.UsageError("a folder and an archive are both given: which one is to be read?")
            report = reanalyse_folder(folder, earlier, results, n_processes, track)
        else:
            if earlier is not None:
                raise click.UsageError(
                    "--compare-with is for a folder; an archive is compared with what it keeps"
                )
            with open_to_read(archive or None) as there:
                report = reanalyse_archive(there, results, n_processes, track)
                read_otherwise = list(passes_read_twice(there, report.changed))
    except KeyboardInterrupt:
        tell_note(
            "\nStopped; nothing was kept, for there is no --results."
            if results is None
            else f"\nStopped. The same command goes on where it was: {results} keeps what was read."
        )
        raise
    if as_json:
        write_report(report, read_otherwise, largest)
    else:
        tell_report(report, read_otherwise, largest)
    return _tell_not_read(report, folder, as_json)


def _tell_not_read(report: Report, folder: Path | None, as_json: bool) -> ExitCode:
    for _, each in sorted(report.not_read.items()):
        path = None if folder is None else folder / each.item
        tell_trouble(f"{each.name}: {each.message}", as_json, source=each.name, path=path)
    if not report.not_read:
        return ExitCode.DONE
    return ExitCode.ARCHIVE if folder is None else ExitCode.INPUT

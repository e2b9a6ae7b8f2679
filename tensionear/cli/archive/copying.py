"""``tensionear archive backup``, ``restore`` and ``move``."""

from pathlib import Path

import click

from tensionear.cli.archive.words import counted, held
from tensionear.cli.archive_options import looking_options, opened, path_argument
from tensionear.cli.asking import require_yes, yes_option
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.json_lines import readable, write_line
from tensionear.cli.layout import filled
from tensionear.cli.progress import progress_shown
from tensionear.cli.trouble import tell_note
from tensionear.job.archive.address import address_of
from tensionear.job.archive.copying import Copied, back_up, restore
from tensionear.job.archive.opening_to_read import open_to_read


@click.command(name="backup")
@path_argument("path", "FILE.sqlite")
@click.option("--overwrite", is_flag=True, help="Replace a file that is there already.")
@looking_options
def backup_command(path: Path, overwrite: bool, archive: str | None, as_json: bool) -> ExitCode:
    """Copy a whole archive into a file, while others go on working with it.

    The file is an archive itself: "tensionear archive check --archive FILE.sqlite" checks it. It appears under its
    name only when it is whole. Every sound's hash is checked on the way.
    """
    with opened(archive) as there, progress_shown("Backup") as progress:
        copied = back_up(there, path, overwrite=overwrite, progress=progress)
    return _tell("archive_backup", "Backup", str(path), copied, as_json)


@click.command(name="restore")
@path_argument("path", "BACKUP.sqlite")
@looking_options
def restore_command(path: Path, archive: str | None, as_json: bool) -> ExitCode:
    """Copy a backup to where nothing is yet.

    It goes to --archive, or to your own data folder: a file that is not there, or an archive or a PostgreSQL database
    that is empty. Whatever is there already is never written over: move it away first.
    """
    with open_to_read(str(path)) as backup, progress_shown("Restore") as progress:
        copied = restore(backup, archive or None, progress=progress)
    return _tell("archive_restored", "Restored", str(address_of(archive or None)), copied, as_json)


@click.command(name="move")
@click.argument("to", metavar="PATH|URL")
@yes_option
@looking_options
def move_command(to: str, yes: bool, archive: str | None, as_json: bool) -> ExitCode:
    """Copy a whole archive into another file or onto a PostgreSQL server.

    The archive that it came from stays as it is. Work with the new one only from then on: two that go on under one
    name number their records twice.
    """
    with opened(archive) as there:
        shown = str(address_of(to))
        require_yes(yes, f"Is nobody at work with {there.shown}, and will all work with {shown} from now on?")
        with progress_shown("Move") as progress:
            copied = restore(there, to, progress=progress)
    tell_note(
        filled(
            "From now on work with --archive and what you gave behind --to here, or set TENSIONEAR_ARCHIVE to it."
        )
    )
    return _tell("archive_moved", "Moved", shown, copied, as_json)


def _tell(kind: str, what: str, where: str, copied: Copied, as_json: bool) -> ExitCode:
    n_rows = copied.n_rows
    if as_json:
        write_line(
            kind,
            archive=readable(where),
            archive_id=copied.archive_id,
            n_jobs=n_rows["jobs"],
            n_setups=n_rows["setups"],
            n_contents=n_rows["contents"],
            n_records=n_rows["records"],
            damaged=list(copied.damaged),
        )
    else:
        click.echo(filled(f"{what}: {where}: {held(n_rows)}.", later="    "))
    if not copied.damaged:
        return ExitCode.DONE
    damaged = counted(len(copied.damaged), "sound or photo", "sounds or photos")
    tell_note(
        filled(
            f'Not what was kept, and copied as it is: {damaged}; "tensionear archive check" says of which jobs.'
        )
    )
    return ExitCode.NOT_AS_IT_WAS

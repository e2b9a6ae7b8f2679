"""``tensionear setup export`` and ``import``."""

from pathlib import Path

import click

from tensionear.cli.archive_options import looking_options, opened, path_argument, writing_options
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.json_lines import readable, write_line
from tensionear.cli.options import Text
from tensionear.cli.setup.telling import tell_setup, write_setup_line
from tensionear.cli.setup.typed_setup import renamed
from tensionear.cli.units import ToldUnits
from tensionear.errors import InputError
from tensionear.job.setup_file import read_setup, write_setup
from tensionear.job.setup_list_file import write_setup_list

EXAMPLE = """\b
Examples:
  tensionear setup export "invented four" four.json
  tensionear setup export --all setups.csv
"""


@click.command(name="export", epilog=EXAMPLE)
@click.argument("words", nargs=-1, required=True, metavar="[NAME] FILE")
@click.option("--all", "all_setups", is_flag=True, help="The list of all setups, as CSV for a spreadsheet.")
@click.option(
    "--decimal-comma", is_flag=True, help="With --all: for spreadsheets that write 0,5 rather than 0.5."
)
@click.option(
    "--version", type=click.IntRange(min=1), metavar="N", help="Which version.  [default: the last]"
)
@click.option("--overwrite", is_flag=True, help="Replace a file that is there already.")
@looking_options
def export_command(
    words: tuple[str, ...],
    all_setups: bool,
    decimal_comma: bool,
    version: int | None,
    overwrite: bool,
    archive: str | None,
    as_json: bool,
) -> ExitCode:
    """Write a setup, or the list of all, to a file.

    A setup becomes a JSON file, whose schema is docs/schemas/setup-1.schema.json; "tensionear setup import" takes it.
    """
    if len(words) != (1 if all_setups else 2):
        raise click.UsageError(
            "with --all, name the file alone" if all_setups else "name the setup and the file, or add --all"
        )
    path = Path(words[-1])
    wanted = ".csv" if all_setups else ".json"
    if path.suffix.lower() != wanted:
        raise InputError(f"file {path} does not end in {wanted}: give it such a name")
    with opened(archive) as there:
        listed = there.setups() if all_setups else [there.setup(_name(words[0]), version)]
    if all_setups:
        write_setup_list(path, listed, decimal_comma=decimal_comma, overwrite=overwrite)
    else:
        write_setup(path, listed[0].setup, overwrite=overwrite)
    if as_json:
        write_line("setup_export", path=readable(str(path)), n_setups=len(listed))
    else:
        click.echo(f"Written: {path}, {len(listed)} {'setup' if len(listed) == 1 else 'setups'}.")
    return ExitCode.DONE


def _name(typed: str) -> str:
    return Text().convert(typed, None, click.get_current_context())


@click.command(name="import")
@path_argument("path", "FILE.json")
@click.option("--name", metavar="NAME", help="Take it under this name instead of its own.")
@click.option("--reason", metavar="TEXT", help="Make it a new version of the setup of its name; why.")
@writing_options
def import_command(
    path: Path, name: str | None, reason: str | None, archive: str | None, by: str, as_json: bool
) -> ExitCode:
    """Take a setup from a file.

    Every value is checked as if it had been typed; what cannot be meant is told with the field, the value and the
    limit, and nothing is taken.
    """
    setup = read_setup(path)
    if name is not None:
        setup = renamed(setup, name)
    with opened(archive, make=True) as there:
        kept = (
            there.add_setup(setup, by)
            if reason is None
            else there.change_setup(setup.name, setup, reason, by)
        )
    if as_json:
        write_setup_line(kept)
    else:
        tell_setup(kept, ToldUnits())
    return ExitCode.DONE

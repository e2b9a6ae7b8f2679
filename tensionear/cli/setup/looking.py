"""``tensionear setup show``, ``list`` and ``versions``."""

import click

from tensionear.cli.archive_options import looking_options, opened
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.options import Text
from tensionear.cli.setup.telling import tell_list, tell_setup, tell_versions, write_setup_line
from tensionear.cli.trouble import tell_note
from tensionear.cli.units import ToldUnits, tell_in_option


@click.command(name="show")
@click.argument("name", type=Text())
@click.option(
    "--version", type=click.IntRange(min=1), metavar="N", help="Which version.  [default: the last]"
)
@tell_in_option
@looking_options
def show_command(
    name: str, version: int | None, tell_in: tuple[str, ...], archive: str | None, as_json: bool
) -> ExitCode:
    """Show a setup."""
    units = ToldUnits.of(tell_in)
    with opened(archive) as there:
        kept = there.setup(name, version)
    if as_json:
        write_setup_line(kept)
    else:
        tell_setup(kept, units)
    return ExitCode.DONE


@click.command(name="list")
@click.argument("words", nargs=-1)
@click.option("--deleted", is_flag=True, help="Those that are deleted.")
@looking_options
def list_command(words: tuple[str, ...], deleted: bool, archive: str | None, as_json: bool) -> ExitCode:
    """List the setups, or those that have some words.

    WORDS are looked for in all that is written in a setup; the beginning of a word is enough.
    """
    with opened(archive) as there:
        listed = there.setups(" ".join(words), deleted=deleted)
    if as_json:
        for each in listed:
            write_setup_line(each)
    else:
        tell_list(listed)
    if not listed:
        tell_note(
            "There is no such setup."
            if words or deleted
            else 'There is no setup yet: "tensionear setup new".'
        )
    return ExitCode.DONE


@click.command(name="versions")
@click.argument("name", type=Text())
@looking_options
def versions_command(name: str, archive: str | None, as_json: bool) -> ExitCode:
    """List the versions of a setup."""
    with opened(archive) as there:
        listed = there.setup_versions(name)
    if as_json:
        for each in listed:
            write_setup_line(each)
    else:
        tell_versions(listed)
    return ExitCode.DONE

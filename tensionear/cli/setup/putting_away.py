"""``tensionear setup delete`` and ``restore``."""

import click

from tensionear.cli.archive_options import opened, writing_options
from tensionear.cli.asking import require_yes, yes_option
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.json_lines import readable, write_line
from tensionear.cli.options import Text
from tensionear.cli.setup.telling import write_setup_line


@click.command(name="delete")
@click.argument("name", type=Text())
@click.option("--reason", required=True, metavar="TEXT", help="Why; kept.")
@yes_option
@writing_options
def delete_command(
    name: str, reason: str, yes: bool, archive: str | None, by: str, as_json: bool
) -> ExitCode:
    """Put a setup away.

    It is not offered any more; jobs that were done with it keep it, and it can be restored.
    """
    with opened(archive) as there:
        kept = there.setup(name)
        require_yes(yes, f"Delete the setup {kept.name}?")
        there.delete_setup(kept.name, reason, by)
    if as_json:
        write_line("setup_deleted", setup_name=readable(kept.name), reason=readable(reason))
    else:
        click.echo(f'Deleted: {kept.name}. "tensionear setup restore" brings it back.')
    return ExitCode.DONE


@click.command(name="restore")
@click.argument("name", type=Text())
@writing_options
def restore_command(name: str, archive: str | None, by: str, as_json: bool) -> ExitCode:
    """Bring a deleted setup back."""
    with opened(archive) as there:
        there.restore_setup(name, by)
        kept = there.setup(name)
    if as_json:
        write_setup_line(kept)
    else:
        click.echo(f"Restored: {kept.name}, version {kept.version}.")
    return ExitCode.DONE

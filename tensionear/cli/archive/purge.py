"""``tensionear archive purge``."""

import click

from tensionear.cli.archive.words import counted
from tensionear.cli.archive_options import opened, writing_options
from tensionear.cli.asking import require_yes, yes_option
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.json_lines import readable, write_line
from tensionear.cli.layout import filled
from tensionear.job.archive.purging import Purged, purge, to_be_purged

_MOST_NAMED = 20


@click.command(name="purge")
@click.option("--dry-run", is_flag=True, help="Only say what would be destroyed.")
@yes_option
@writing_options
def command(dry_run: bool, yes: bool, archive: str | None, by: str, as_json: bool) -> ExitCode:
    """Destroy for good what was deleted more than 30 days ago.

    Jobs with their logs, sounds and photos, and setups that no job names any more. The places of their records in the
    chain stay, and a line each in the archive's log says who did it. Nothing is ever purged without this command.
    """
    with opened(archive) as there:
        found = to_be_purged(there)
        if not dry_run and not found.is_empty:
            require_yes(yes, f"{_words(found)} Destroy this for good?")
            found = purge(there, by)
    if as_json:
        write_line(
            "archive_purge",
            is_done=not dry_run and not found.is_empty,
            jobs=[readable(each) for each in found.job_numbers],
            setup_names=[readable(each) for each in found.setup_names],
            n_records=found.n_records,
            n_contents=found.n_contents,
        )
    elif found.is_empty:
        click.echo("Nothing was deleted more than 30 days ago.")
    else:
        click.echo(filled(f"{'Would be destroyed' if dry_run else 'Destroyed'}: {_words(found)}"))
    return ExitCode.DONE


def _words(found: Purged) -> str:
    jobs = _named("job", found.job_numbers)
    setups = _named("setup", found.setup_names)
    contents = counted(found.n_contents, "sound or photo", "sounds and photos")
    return f"{jobs}{setups}{contents}, the content of {counted(found.n_records, 'record')}."


def _named(what: str, names: tuple[str, ...]) -> str:
    if not names:
        return ""
    more = " ..." if len(names) > _MOST_NAMED else ""
    return f"{counted(len(names), what)} ({', '.join(names[:_MOST_NAMED])}{more}), "

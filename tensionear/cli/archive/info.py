"""``tensionear archive info``."""

from dataclasses import asdict

import click

from tensionear.cli.archive.words import counted
from tensionear.cli.archive_options import looking_options, opened
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.json_lines import readable, write_line
from tensionear.cli.layout import filled
from tensionear.job.archive.holdings import ArchiveDeed, ArchiveHoldings, archive_deeds, holdings


@click.command(name="info")
@click.option("--log", is_flag=True, help="Also what was done to it: purges, setups deleted, salvaging.")
@looking_options
def command(log: bool, archive: str | None, as_json: bool) -> ExitCode:
    """Say what an archive holds, and where it is."""
    with opened(archive) as there:
        shown, held = there.shown, holdings(there)
        deeds = archive_deeds(there) if log else []
    if as_json:
        write_line(
            "archive", archive=readable(shown), **{**asdict(held), "made_at": held.made_at.isoformat()}
        )
        for deed in deeds:
            write_line(
                "archive_deed",
                number=deed.number,
                at=deed.at.isoformat(),
                by=readable(deed.by),
                deed=deed.deed,
                subject=readable(deed.subject),
                reason=readable(deed.reason),
            )
        return ExitCode.DONE
    for name, value in _lines(shown, held):
        click.echo(filled(value, f"{name:<9}", " " * 9))
    for deed in deeds:
        click.echo(filled(_deed(deed), later=" " * 4))
    return ExitCode.DONE


def _lines(shown: str, held: ArchiveHoldings) -> list[tuple[str, str]]:
    newest = "" if held.newest_record_sha256 is None else f", the newest {held.newest_record_sha256}"
    return [
        ("archive", shown),
        ("id", f"{held.archive_id}, made {held.made_at:%Y-%m-%d}, form {held.form}"),
        ("jobs", f"{held.n_jobs}, {held.n_open_jobs} of them open; {held.n_deleted_jobs} deleted"),
        ("setups", f"{held.n_setups}; {held.n_deleted_setups} deleted"),
        ("plucks", f"{held.n_plucks}"),
        (
            "content",
            f"{counted(held.n_contents, 'sound or photo', 'sounds and photos')}, {held.n_content_bytes / 1e6:.1f} MB",
        ),
        ("records", f"{held.n_records}{newest}"),
    ]


def _deed(deed: ArchiveDeed) -> str:
    by = f" by {deed.by}" if deed.by else ""
    return f"{deed.at:%Y-%m-%d %H:%M} UTC  {deed.deed}: {deed.subject} ({deed.reason or 'no reason'}){by}"

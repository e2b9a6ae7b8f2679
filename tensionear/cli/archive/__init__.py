"""``tensionear archive``: care of the archive in which jobs and setups are kept."""

import click

from tensionear.cli.lazy_group import LazyGroup

SUMMARIES = {
    "info": "Say what an archive holds, and where it is.",
    "backup": "Copy a whole archive into a file, while it is in use.",
    "restore": "Copy a backup to where nothing is yet.",
    "move": "Copy a whole archive into another file or onto a PostgreSQL server.",
    "check": "Find out whether an archive is still what was written into it.",
    "salvage": "Bring what is readable of a damaged archive into a new one.",
    "purge": "Destroy for good what was deleted more than 30 days ago.",
}

_MODULES = dict.fromkeys(("backup", "restore", "move"), "copying")

EPILOG = """\b
Example:
  tensionear archive backup /media/stick/archive-2026-11-25.sqlite
  tensionear archive check
  tensionear archive move postgresql://workshop@server/belts

\b
Exit codes beside the usual ones:
  5  the archive cannot be used
  6  something in it is not what was written into it
"""


@click.group(cls=LazyGroup, package=__name__, summaries=SUMMARIES, modules=_MODULES, epilog=EPILOG)
def command() -> None:
    """Look after the archive in which jobs and setups are kept.

    An archive is one file, or a database on a PostgreSQL server that several bays share. Make backups of it, and let
    a backup be checked now and then.
    """

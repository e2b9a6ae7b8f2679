"""``tensionear record``: the records of jobs, and their bundles."""

import click

from tensionear.cli.lazy_group import LazyGroup

SUMMARIES = {
    "make": "Make a record of a job, and write its bundle.",
    "again": "Write the bundle of a record that was made before.",
    "list": "List the records of the archive, or of one job.",
    "show": "Show what a record says.",
}

_MODULES = {**dict.fromkeys(("make", "again"), "making"), **dict.fromkeys(("list", "show"), "looking")}

EPILOG = """\b
Example:
  tensionear record make 17 --key workshop.pem --signer "Invented workshop"
  tensionear record again 3 --out copy.zip
  tensionear verify copy.zip

A record bundle holds the record as PDF and JSON, the plucks as CSV and as sound, photos, and a seal by which every
later change shows. The records of an archive are chained: each names the one before it, so that one that is taken
away leaves a gap. A record is never changed; after a correction, make another one.
"""


@click.group(cls=LazyGroup, package=__name__, summaries=SUMMARIES, modules=_MODULES, epilog=EPILOG)
def command() -> None:
    """Make records of jobs, and the bundles that carry them."""

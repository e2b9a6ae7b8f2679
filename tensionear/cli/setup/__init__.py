"""``tensionear setup``: what is known of a belt span on an engine, made once and used for every such job."""

import click

from tensionear.cli.lazy_group import LazyGroup

SUMMARIES = {
    "new": "Make a setup.",
    "change": "Make a new version of a setup.",
    "copy": "Make a setup like another one.",
    "show": "Show a setup.",
    "list": "List the setups, or those that have some words.",
    "versions": "List the versions of a setup.",
    "export": "Write a setup, or the list of all, to a file.",
    "import": "Take a setup from a file.",
    "delete": "Put a setup away.",
    "restore": "Bring a deleted setup back.",
}

_MODULES = {
    **dict.fromkeys(("new", "change", "copy"), "making"),
    **dict.fromkeys(("show", "list", "versions"), "looking"),
    **dict.fromkeys(("export", "import"), "files"),
    **dict.fromkeys(("delete", "restore"), "putting_away"),
}

EPILOG = """\b
Example:
  tensionear setup new "invented four" --belt "invented belt" --span-length-mm 213 --linear-density-g-per-m 165
    --band-hz 110 122 --source "invented manual, page 12" --revolutions 6 --direction clockwise
    --check tools-out "All pins out and counted" --check-value final-setting "Tensioner bolt" 25 "N m"

A setup that is changed stays as it was for the jobs that were done with it: each change makes a new version.
"""


@click.group(cls=LazyGroup, package=__name__, summaries=SUMMARIES, modules=_MODULES, epilog=EPILOG)
def command() -> None:
    """Keep what is known of a belt span on an engine.

    Engine, belt, span length, linear density, stiffness, what the manufacturer specifies and where that is written,
    how the belt is run in, and a checklist of your own. Made once, and used for every such job.
    """

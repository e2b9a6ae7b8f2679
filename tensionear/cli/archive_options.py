"""What every command has that works with an archive, and how it is opened."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tensionear.cli.options import json_option

if TYPE_CHECKING:
    from tensionear.job.archive.archive import Archive

_ARCHIVE = click.option(
    "--archive", envvar="TENSIONEAR_ARCHIVE", metavar="PATH|URL",
    help="The archive: a file, or the address of a PostgreSQL database. Without, the one in your own data folder."
    " Also by the environment variable TENSIONEAR_ARCHIVE.",
)  # fmt: skip

_BY = click.option(
    "--by", envvar="TENSIONEAR_BY", metavar="NAME", default="",
    help="Who does this; kept with it. Also by the environment variable TENSIONEAR_BY.",
)  # fmt: skip


def looking_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command that changes nothing the options ``--archive`` and ``--json``."""
    return _ARCHIVE(json_option(command))


def writing_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command that writes the options ``--archive``, ``--by`` and ``--json``."""
    return _ARCHIVE(_BY(json_option(command)))


@contextmanager
def opened(archive: str | None, *, make: bool = False) -> "Iterator[Archive]":
    """Open the archive that was named, or one's own.

    Parameters
    ----------
    archive : str or None
        Path or address.
    make : bool
        Whether one that was named is made if it is not there; one's own always is.

    Raises
    ------
    ArchiveError, InputError
        If it cannot be used, or the name cannot be meant.
    """
    from tensionear.job.archive.opening import open_archive  # only here: help must be quick

    with open_archive(archive or None, make=make or not archive) as opened_archive:
        yield opened_archive


def path_argument(name: str, metavar: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Give a command a file's name."""
    return click.argument(name, type=click.Path(path_type=Path, readable=False), metavar=metavar)

"""A bar that shows how far long work is, for people who wait at a terminal."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from tensionear.job.archive.copying import Progress


@contextmanager
def progress_shown(label: str) -> "Iterator[Progress | None]":
    """Give what has to be told how far the work is; None where nobody watches.

    The bar goes to the error output, so that it is never mixed up with the answer.
    """
    if not sys.stderr.isatty():
        yield None
        return
    with click.progressbar(length=1, label=label, file=sys.stderr) as bar:

        def show(done: int, total: int) -> None:
            bar.length = total
            bar.update(done - bar.pos)

        yield show

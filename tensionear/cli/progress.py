"""A bar on the error output that says how far long work is and how long it will take; only where somebody watches."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Protocol

import click


class Advance(Protocol):
    """Says that some more of the work is done."""

    def __call__(self, n_steps: int) -> object:
        """Take note of that."""


@contextmanager
def progress(label: str, n_steps: int) -> Iterator[Advance]:
    """Show a bar while the context lasts, if the error output is a terminal.

    Parameters
    ----------
    label : str
        What is being done.
    n_steps : int
        How much there is to do.
    """
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    with click.progressbar(length=max(n_steps, 1), label=label, file=sys.stderr) as bar:
        yield bar.update

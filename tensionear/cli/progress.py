"""A bar on the error output that says how far long work is and how long it will take; only where somebody watches.

It never goes to the output, so that it is not mixed up with the answer.
"""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click


@contextmanager
def progress_shown(label: str) -> Iterator[Callable[[int, int], None]]:
    """Show a bar while the context lasts, if the error output is a terminal.

    Parameters
    ----------
    label : str
        What is being done.

    Yields
    ------
    callable
        Takes how much is done and how much there is to do in all.
    """
    if not sys.stderr.isatty():
        yield lambda _done, _total: None
        return
    with click.progressbar(length=1, label=label, file=sys.stderr) as bar:

        def show(done: int, total: int) -> None:
            bar.length = total
            bar.update(done - bar.pos)

        yield show


@contextmanager
def steps_shown(label: str, n_steps: int) -> Iterator[Callable[[int], None]]:
    """Show the same bar for work that counts its steps.

    Parameters
    ----------
    label : str
        What is being done.
    n_steps : int
        How much there is to do.

    Yields
    ------
    callable
        Takes how many more steps are done.
    """
    n_done = 0
    with progress_shown(label) as show:

        def advance(n_more: int) -> None:
            nonlocal n_done
            n_done += n_more
            show(n_done, n_steps)

        yield advance

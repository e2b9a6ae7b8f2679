"""Which job is meant: the one that is named, or the only one that is open."""

from collections.abc import Callable
from typing import Any

import click

from tensionear.cli.options import Text
from tensionear.errors import InputError
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.search import JobQuery

_MOST_NAMED = 6


def words_argument(rest: str = "") -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Give a command the argument JOB, which may be left out, and after it the `rest` that it takes."""
    return click.argument("words", nargs=-1, metavar=f"[JOB] {rest}".strip())


def job_and_rest(words: tuple[str, ...], n_rest: int = 0) -> tuple[str | None, tuple[str, ...]]:
    """Tell the job from what comes behind it.

    Parameters
    ----------
    words : tuple of str
        From `words_argument`.
    n_rest : int
        How many come behind the job.

    Returns
    -------
    str or None
        The job; None: it was left out.
    tuple of str
        The rest.

    Raises
    ------
    click.UsageError
        If there are too few or too many.
    """
    if len(words) == n_rest:
        return None, words
    if len(words) == n_rest + 1:
        return words[0], words[1:]
    ctx = click.get_current_context()
    wanted = " ".join(ctx.command.collect_usage_pieces(ctx)[1:])
    raise click.UsageError(
        f"{wanted} is expected, and {len(words)} words are given: are quotation marks missing?"
    )


def number_of(archive: Archive, job: str | None) -> str:
    """The number of the job that is meant.

    Parameters
    ----------
    archive : Archive
        Where it is.
    job : str or None
        As it was typed; None: the only one that is open.

    Raises
    ------
    click.BadParameter
        If what was typed is no text.
    InputError
        If it was left out and not exactly one is open.
    """
    if job is not None:
        return Text().convert(job, None, click.get_current_context())
    jobs = archive.find_jobs(JobQuery(is_open=True, limit=_MOST_NAMED))
    if len(jobs) == 1:
        return jobs[0].number
    if not jobs:
        raise InputError('no job is open: name the job, or open one with "tensionear job open"')
    named = ", ".join(each.number for each in jobs[: _MOST_NAMED - 1])
    more = " ..." if len(jobs) == _MOST_NAMED else ""
    raise InputError(f"more than one job is open ({named}{more}): name the job")

"""Asking a person before something is put away."""

import sys

import click

yes_option = click.option("--yes", is_flag=True, help="Do not ask.")


def require_yes(yes: bool, question: str) -> None:
    """Go on only if a person wants it.

    Parameters
    ----------
    yes : bool
        They said so beforehand.
    question : str
        To be answered with yes or no.

    Raises
    ------
    click.UsageError
        If nobody is there to be asked.
    click.Abort
        If the answer is no.
    """
    if yes:
        return
    if not sys.stdin.isatty():
        raise click.UsageError(f"{question} Nobody is there to be asked: add --yes")
    click.confirm(question, abort=True, err=True)

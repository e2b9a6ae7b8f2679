"""Asking a person before something is put away."""

import sys

import click

from tensionear.cli.trouble import tell_note

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
    if not click.confirm(question, err=True):
        tell_note("Nothing was changed.")
        raise click.Abort

"""The password of a private key: typed where nobody sees it, or in the environment; never on the command line."""

import os
import sys
from pathlib import Path

import click

from tensionear.errors import InputError

VARIABLE = "TENSIONEAR_KEY_PASSWORD"


def new_password() -> str:
    """A password for a key that is to be made, typed twice or taken from the environment.

    Raises
    ------
    InputError
        If nobody is there to type it and the environment has none.
    """
    return _password("Password of the new key", twice=True)


def password_for(path: Path) -> str | None:
    """The password of a key; None if it is not protected by one.

    Raises
    ------
    InputError
        If the file cannot be read, or nobody is there to type the password and the environment has none.
    """
    from tensionear.job.bundle.signing import asks_for_password  # only here: help must be quick

    return _password(f"Password of {path}", twice=False) if asks_for_password(path) else None


def _password(what: str, *, twice: bool) -> str:
    given = os.environ.get(VARIABLE)
    if given:
        return given
    if not sys.stdin.isatty():
        raise InputError(
            f"{what}: nobody is there to type it; put it into the environment variable {VARIABLE}"
        )
    typed: str = click.prompt(what, hide_input=True, confirmation_prompt=twice, err=True)
    return typed

"""``tensionear key make`` and ``show``."""

from pathlib import Path

import click
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from tensionear.cli.archive_options import path_argument
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.json_lines import readable, write_line
from tensionear.cli.key_password import VARIABLE, new_password, password_for
from tensionear.cli.layout import filled
from tensionear.cli.options import json_option
from tensionear.cli.setup.telling import tell_named
from tensionear.job.bundle.signing import (
    fingerprint,
    holds_private_key,
    load_private_key,
    load_public_key,
    make_key_pair,
    raw_public_key,
)

UNPROTECTED = (
    "The private key is not protected by a password: whoever gets hold of the file, or of a copy of the disk, can"
    " sign in your name."
)
GIVE_AWAY = (
    "The public key may be given to anybody. Whoever is given it should compare the fingerprint with you in another"
    " way, by telephone or on paper."
)


@click.command(name="make")
@path_argument("path", "PRIVATE.pem")
@click.option(
    "--password",
    is_flag=True,
    help=f"Protect the private key; the password is asked for, or taken from the environment variable {VARIABLE}.",
)
@json_option
def make_command(path: Path, password: bool, as_json: bool) -> ExitCode:
    """Make a key pair: a private key that signs, a public one that checks.

    PRIVATE.pem gets the private key, PRIVATE-public.pem beside it the public one. No file is ever replaced.
    """
    public_path = make_key_pair(path, new_password() if password else None)
    _tell(load_public_key(public_path), path, public_path, as_json, is_protected=password)
    if not as_json:
        click.echo(filled(GIVE_AWAY if password else f"{UNPROTECTED} {GIVE_AWAY}"))
    return ExitCode.DONE


@click.command(name="show")
@path_argument("path", "FILE.pem")
@json_option
def show_command(path: Path, as_json: bool) -> ExitCode:
    """Show the fingerprint of a key.

    Of a private key, the fingerprint of the public key that belongs to it.
    """
    if holds_private_key(path):
        password = password_for(path)
        key = load_private_key(path, password).public_key()
        _tell(key, path, None, as_json, is_protected=password is not None)
    else:
        _tell(load_public_key(path), None, path, as_json, is_protected=None)
    return ExitCode.DONE


def _tell(
    key: Ed25519PublicKey,
    private_path: Path | None,
    public_path: Path | None,
    as_json: bool,
    *,
    is_protected: bool | None,
) -> None:
    if as_json:
        write_line(
            "key",
            private_path=None if private_path is None else readable(str(private_path)),
            public_path=None if public_path is None else readable(str(public_path)),
            public_key=raw_public_key(key).hex(),
            fingerprint=fingerprint(key),
            is_protected=is_protected,
        )
        return
    if private_path is not None:
        protected = "protected by a password" if is_protected else "not protected by a password"
        tell_named("private key", f"{private_path}, {protected}")
    if public_path is not None:
        tell_named("public key", str(public_path))
    tell_named("fingerprint", fingerprint(key))

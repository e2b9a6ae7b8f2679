"""``tensionear key``: the workshop's key, with which records are signed."""

import click

from tensionear.cli.lazy_group import LazyGroup

SUMMARIES = {
    "make": "Make a key pair: a private key that signs, a public one that checks.",
    "show": "Show the fingerprint of a key.",
}

_MODULES = dict.fromkeys(SUMMARIES, "keys")

EPILOG = """\b
Example:
  tensionear key make workshop.pem --password
  tensionear key show workshop-public.pem

The private key stays with the workshop. The public one may be given to anybody: it tells whether a record was signed
with the private one. Whoever is given it compares the fingerprint in another way, by telephone or on paper.
"""


@click.group(cls=LazyGroup, package=__name__, summaries=SUMMARIES, modules=_MODULES, epilog=EPILOG)
def command() -> None:
    """Make and show the workshop's key, with which records are signed."""

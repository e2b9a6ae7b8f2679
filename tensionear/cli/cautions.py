"""``tensionear cautions``: what to mind before a belt drive is touched."""

import click

from tensionear.cautions import CAUTIONS


@click.command()
def command() -> None:
    """Say what to mind before a belt drive is touched."""
    for caution in CAUTIONS:
        click.echo(f"- {caution}")

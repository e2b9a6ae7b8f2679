"""``tensionear cautions``: what to mind before a belt drive is touched."""

import click

from tensionear.cautions import cautions_text


@click.command()
def command() -> None:
    """Say what to mind before a belt drive is touched."""
    click.echo(cautions_text())

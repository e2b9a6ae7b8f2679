"""The one way in which lines for programs are written: a JSON object a line, full precision, null for unknown."""

import json
import math
from datetime import datetime
from typing import Any

import click

from tensionear import __version__

FORMAT_VERSION = 2
"""Changes when a program that reads the lines has to change. New names alone do not change it."""


def write_line(kind: str, **named: Any) -> None:
    """Write one object, with what every object has.

    Parameters
    ----------
    kind : str
        What the line is about.
    **named
        The rest of it; a number that is not finite becomes null.
    """
    line = {"kind": kind, "format_version": FORMAT_VERSION, "software_version": __version__, **named}
    finite = {
        key: None if isinstance(value, float) and not math.isfinite(value) else value
        for key, value in line.items()
    }
    click.echo(json.dumps(finite, allow_nan=False))


def now() -> str:
    """Return the date and time in ISO 8601, in local time with its distance from UTC."""
    return datetime.now().astimezone().isoformat(timespec="seconds")


def readable(name: str) -> str:
    r"""Write the bytes of a file's name that are no text as ``\xff``: JSON for other programs cannot hold them."""
    return name.encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")

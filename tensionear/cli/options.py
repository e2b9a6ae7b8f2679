"""Options that several commands have."""

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from tensionear.errors import InputError


class Number(click.ParamType[float]):
    """A decimal number, which says so when a comma was typed for the point."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Read a number as it was typed."""
        try:
            return float(value)
        except ValueError:
            hint = ": write the decimals with a point, not a comma" if "," in value else ""
            self.fail(f"{value!r} is not a number{hint}", param, ctx)


class Text(click.ParamType[str]):
    """A name to look something up by, which has to be text; a shell also passes on bytes that are none."""

    name = "text"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Let text pass."""
        typed = str(value)
        try:
            typed.encode()
        except UnicodeEncodeError:
            self.fail(f"{typed!r} is no text: was it copied from elsewhere?", param, ctx)
        return typed


json_option = click.option("--json", "as_json", is_flag=True, help="For programs: one JSON object a line.")

picture_option = click.option(
    "--picture",
    type=click.Path(path_type=Path, readable=False),
    metavar="OUT.png",
    help="Draw each pluck: the first into OUT.png, the next into OUT-2.png, OUT-3.png...",
)

device_option = click.option(
    "--device",
    metavar="NAME|NUMBER",
    help='The microphone, as "tensionear devices" lists it; without, the default one.',
)


def device_from(typed: str | None) -> int | str | None:
    """Tell a device's number from its name."""
    return int(typed) if typed is not None and typed.isdecimal() else typed


_LISTENING = (
    device_option,
    click.option(
        "--seconds",
        type=click.FloatRange(min=0.0, min_open=True),
        metavar="S",
        help="Stop after this many seconds of sound.",
    ),
    click.option(
        "--plucks", "n_plucks", type=click.IntRange(min=1), metavar="N", help="Stop after this many readings."
    ),
)


def listening_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command that listens the options of the microphone, and of when to stop."""
    for option in reversed(_LISTENING):
        command = option(command)
    return command


def require_end(seconds: float | None) -> None:
    """Let only seconds pass that come to an end.

    Raises
    ------
    InputError
        If they do not.
    """
    if seconds is not None and not math.isfinite(seconds):
        raise InputError(f"--seconds {seconds} has no end: leave it out to listen until Ctrl-C")

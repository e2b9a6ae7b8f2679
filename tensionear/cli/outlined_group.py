"""The commands in outline, for a shell that asks how a line could go on: quick, for no command is imported.

``outline.json`` holds the names, options and choices of every command. It is drawn up from the commands themselves by
``python3 dev.py fix``, and a test finds out when it is not that of the commands any more.
"""

import json
from pathlib import Path
from typing import Any

import click

from tensionear.cli.lazy_group import LazyGroup

OUTLINE = Path(__file__).with_name("outline.json")


class OutlinedGroup(LazyGroup):
    """A group that imports a command when it is run, and takes it from the outline when a shell completes a line."""

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """A command; while a line is completed, one that can be completed but not run."""
        if ctx.resilient_parsing:  # click's word for it
            outlines = json.loads(OUTLINE.read_text("utf-8"))
            if cmd_name in outlines:
                return _command(cmd_name, outlines[cmd_name])
        return super().get_command(ctx, cmd_name)


def _command(name: str, outline: dict[str, Any]) -> click.Command:
    parameters = [_parameter(each) for each in outline["parameters"]]
    if "commands" not in outline:
        return click.Command(name, params=parameters, short_help=outline["help"])
    commands = {each: _command(each, within) for each, within in outline["commands"].items()}
    return click.Group(name, commands, params=parameters, short_help=outline["help"])


def _parameter(outline: dict[str, Any]) -> click.Parameter:
    name, names, n_values = outline["name"], outline["names"], outline.get("n_values", 1)
    described: dict[str, Any] = {"multiple": outline.get("repeats", False), "help": outline.get("help")}
    if n_values == 0:
        return click.Option([name, *names], is_flag=True, **described)
    value: click.ParamType[Any] = click.STRING
    if "choices" in outline:
        value = click.Choice(outline["choices"])
    elif "path" in outline:
        value = click.Path(file_okay=outline["path"] == "file")
    if not names:
        return click.Argument([name], nargs=n_values, type=value, required=False)
    return click.Option([name, *names], nargs=n_values, type=value, **described)

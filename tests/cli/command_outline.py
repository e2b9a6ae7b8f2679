"""Draws up the outline from which a shell completes a line; `python3 dev.py fix` runs it."""

import json
from typing import Any

import click

from tensionear.cli import commands
from tensionear.cli.outlined_group import OUTLINE


def outline_text(group: click.Group = commands) -> str:
    """The outline of all commands, as its file holds it: one parameter a line, so that changes can be read."""
    return _written(_outlines(group, click.Context(group, info_name="tensionear"))) + "\n"


def _outlines(group: click.Group, ctx: click.Context) -> dict[str, Any]:
    found = {name: group.get_command(ctx, name) for name in group.list_commands(ctx)}
    return {name: _outline(each, ctx) for name, each in found.items() if each is not None and not each.hidden}


def _outline(command: click.Command, ctx: click.Context) -> dict[str, Any]:
    within = click.Context(command, parent=ctx)
    outline: dict[str, Any] = {
        "help": command.get_short_help_str(limit=200),
        "parameters": [_parameter(each, within) for each in command.params if not _is_hidden(each)],
    }
    if isinstance(command, click.Group):
        outline["commands"] = _outlines(command, within)
    return outline


def _parameter(parameter: click.Parameter, ctx: click.Context) -> dict[str, Any]:
    items = parameter.type.shell_complete(ctx, parameter, "")
    paths = [item.type for item in items if item.type in ("file", "dir")]
    is_option = isinstance(parameter, click.Option)
    is_bare = isinstance(parameter, click.Option) and (parameter.is_flag or parameter.count)
    n_values = 0 if is_bare else parameter.nargs
    outline = {
        "name": parameter.name,
        "names": [*parameter.opts, *parameter.secondary_opts] if is_option else [],
        "n_values": None if n_values == 1 else n_values,
        "repeats": parameter.multiple or None,
        "choices": None if paths or is_bare else [item.value for item in items] or None,
        "path": paths[0] if paths else None,
        "help": getattr(parameter, "help", None),
    }
    return {name: value for name, value in outline.items() if value is not None}


def _is_hidden(parameter: click.Parameter) -> bool:
    return isinstance(parameter, click.Option) and parameter.hidden


def _written(value: Any, depth: int = 0) -> str:
    if not isinstance(value, dict) or "names" in value:
        return json.dumps(value, ensure_ascii=False)
    indent = " " * (depth + 1)
    lines = []
    for name, each in value.items():
        if name == "parameters" and each:
            text = "[\n" + ",\n".join(f"{indent} {_written(one)}" for one in each) + f"\n{indent}]"
        else:
            text = _written(each, depth + 1)
        lines.append(f"{indent}{json.dumps(name)}: {text}")
    return "{\n" + ",\n".join(lines) + f"\n{' ' * depth}}}"


if __name__ == "__main__":
    OUTLINE.write_text(outline_text(), "utf-8", newline="\n")

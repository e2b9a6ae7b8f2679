"""Commands that are imported only when they are run, so that help is quick however many there are."""

import importlib
from collections.abc import Mapping
from typing import Any

import click

from tensionear.cli.exit_code import ExitCode


class LazyGroup(click.Group):
    """A group that knows its commands by name and one-line help, and imports each when it is run.

    Parameters
    ----------
    *arguments, **named
        As for a click group.
    package : str
        Where the commands' modules are.
    summaries : mapping of str to str
        One-line help of each command, in the order of help.
    modules : mapping of str to str
        Module, within `package`, of the commands that share one; there each stands under its own name, such as
        ``end_pass_command``. Every other command has a module of its own name, and is ``command`` there.
    """

    def __init__(
        self,
        *arguments: Any,
        package: str,
        summaries: Mapping[str, str],
        modules: Mapping[str, str] | None = None,
        **named: Any,
    ) -> None:
        super().__init__(*arguments, **named)
        self._package = package
        self._summaries = summaries
        self._modules = modules or {}

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """Names of the commands, in the order of help."""
        return list(self._summaries)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """Import a command; None if there is none of that name."""
        if cmd_name not in self._summaries:
            return None
        identifier = cmd_name.replace("-", "_")
        module = importlib.import_module(f"{self._package}.{self._modules.get(cmd_name, identifier)}")
        command = getattr(module, f"{identifier}_command" if cmd_name in self._modules else "command")
        assert isinstance(command, click.Command)  # noqa: S101 - tells mypy
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """List the commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl(list(self._summaries.items()))

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Take the arguments; nothing asks for help."""
        return super().parse_args(ctx, args or ["--help"])

    def make_context(self, *args: Any, **kwargs: Any) -> click.Context:
        """Understand what was typed, and tell the help if it was asked for; a closed output ends it quietly."""
        try:
            return super().make_context(*args, **kwargs)
        except BrokenPipeError as error:
            raise click.exceptions.Exit(ExitCode.OUTPUT_CLOSED) from error

    def invoke(self, ctx: click.Context) -> object:
        """Run a command; an output that was closed ends it quietly."""
        try:
            return super().invoke(ctx)
        except BrokenPipeError as error:
            raise click.exceptions.Exit(ExitCode.OUTPUT_CLOSED) from error

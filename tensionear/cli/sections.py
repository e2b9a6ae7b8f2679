"""Help of a command with many options, in sections."""

from collections.abc import Callable, Mapping
from typing import Any

import click


class SectionedCommand(click.Command):
    """A command whose help lists its options in sections; what is in none comes first.

    Parameters
    ----------
    *arguments, **named
        As for a click command.
    sections : mapping of str to set of str
        Heading of each section, and names of the parameters in it.
    """

    def __init__(self, *arguments: Any, sections: Mapping[str, set[str]], **named: Any) -> None:
        super().__init__(*arguments, **named)
        self._sections = sections

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the options, section by section."""
        listed = [
            (parameter.name, record)
            for parameter in self.get_params(ctx)
            if (record := parameter.get_help_record(ctx)) is not None
        ]
        in_sections = set().union(*self._sections.values())
        sections = {"Options": {name for name, _ in listed if name} - in_sections, **self._sections}
        for heading, names in sections.items():
            with formatter.section(heading):
                formatter.write_dl([record for name, record in listed if name in names])


def names_of(decorator: Callable[[Callable[..., Any]], Callable[..., Any]]) -> set[str]:
    """Names of the parameters that a decorator gives a command."""

    def command() -> None:
        """Stands in for a command."""

    parameters: list[click.Parameter] = getattr(decorator(command), "__click_params__", [])
    return {parameter.name for parameter in parameters if parameter.name}

"""What a person types of the checklist and the cautions of a setup."""

from collections.abc import Callable, Mapping
from typing import Any

import click

from tensionear.cli.options import Number
from tensionear.cli.step_words import STEPS
from tensionear.job.passes import Step

_STEP = click.Choice(list(STEPS))

_OPTIONS: tuple[Callable[[Callable[..., Any]], Callable[..., Any]], ...] = (
    click.option(
        "--check", "checks", type=(_STEP, str), multiple=True, metavar="STEP TEXT",
        help=f"A line of your own checklist, to be ticked at a step ({', '.join(STEPS)}); may be repeated.",
    ),
    click.option(
        "--check-value", "check_values", type=(_STEP, str, Number(), str), multiple=True,
        metavar="STEP TEXT VALUE UNIT", help="The same with a value, such as a torque; may be repeated.",
    ),
    click.option(
        "--caution", "cautions", multiple=True, metavar="TEXT",
        help="A caution of your own, beside those that always hold; may be repeated.",
    ),
)  # fmt: skip


def checklist_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options of checklist and cautions."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


def checklist_from(typed: Mapping[str, Any], given: set[str]) -> dict[str, Any]:
    """Checklist and cautions that were typed, each only if it was; lines by their steps."""
    fields: dict[str, Any] = {}
    if {"checks", "check_values"} & given:
        lines = [{"step": STEPS[step], "text": text} for step, text in typed["checks"]]
        lines += [
            {"step": STEPS[step], "text": text, "value": value, "unit": unit}
            for step, text, value, unit in typed["check_values"]
        ]
        places = list(Step)
        fields["checklist"] = tuple(sorted(lines, key=lambda line: places.index(line["step"])))
    if "cautions" in given:
        fields["cautions"] = typed["cautions"]
    return fields

"""What a technician types for a reading: the span, the belt, what is specified, and how the result is told."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import click

from tensionear.belt.comparison import Comparison
from tensionear.cli.options import Number
from tensionear.cli.sections import names_of
from tensionear.cli.trouble import tell_note
from tensionear.cli.typed_span import (
    belt_options,
    flexible_option,
    length_options,
    typed_belt,
    typed_length,
)
from tensionear.cli.typed_specification import (
    specification_options,
    typed_baseline,
    typed_specification,
    typed_state,
)
from tensionear.cli.units import LENGTHS, POUND_FORCE, ToldUnits, tell_in_option
from tensionear.errors import InputError
from tensionear.known_span import KnownSpan
from tensionear.metrology.decision import DecisionRule, Rule
from tensionear.metrology.uncertainty import COVERAGE_PROBABILITY
from tensionear.task import BeltTask

RULES = {"guarded": Rule.GUARDED, "simple": Rule.SIMPLE, "probability": Rule.STATED_PROBABILITY}

_DECISION: tuple[Callable[[Callable[..., Any]], Callable[..., Any]], ...] = (
    click.option(
        "--decision-rule", type=click.Choice(list(RULES)), default="guarded", show_default=True,
        help="guarded: in or out of band only if the whole ± is; simple: the value alone decides; probability: it is"
        " at least as probable as asked for.",
    ),
    click.option(
        "--asked-probability", type=Number(), metavar="PERCENT", default=100 * COVERAGE_PROBABILITY,
        show_default=True, help="With the decision rule probability.",
    ),
)  # fmt: skip

_TELLING: tuple[Callable[[Callable[..., Any]], Callable[..., Any]], ...] = (
    click.option("--budget", "with_budget", is_flag=True, help="Tell the uncertainty budget of the set as well."),
    click.option(
        "--monte-carlo", is_flag=True,
        help="Draw the inputs of the set's tension from their distributions as well (JCGM 101).",
    ),
    click.option(
        "--seed", type=click.IntRange(min=0), default=1, show_default=True, help="For the same draws again."
    ),
)  # fmt: skip


@dataclass(frozen=True)
class HowTold:
    """How a person wants readings to be told.

    Attributes
    ----------
    units : ToldUnits
        For tensions and lengths.
    with_budget : bool
        Whether the set's uncertainty budget is told.
    seed : int or None
        For drawing from the distributions; None: not asked for.
    """

    units: ToldUnits = field(default_factory=ToldUnits)
    with_budget: bool = False
    seed: int | None = None


def decision_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options of the decision rule."""
    for option in reversed(_DECISION):
        command = option(command)
    return command


def telling_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options of how readings are told."""
    command = tell_in_option(command)
    for option in reversed(_TELLING):
        command = option(command)
    return command


def reading_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options of span, belt, specification, decision and telling."""
    command = flexible_option(decision_options(telling_options(command)))
    return length_options(belt_options(specification_options(command)))


SECTIONS = {
    "Span and belt": names_of(length_options) | names_of(belt_options) | {"flexible"},
    "What is specified, or an earlier job": names_of(specification_options),
    "Deciding and telling": names_of(decision_options) | names_of(telling_options),
}
"""Headings of the help, for the options of `reading_options`."""


def told_from(typed: Mapping[str, Any]) -> HowTold:
    """How the readings are to be told.

    Raises
    ------
    InputError
        If two units of one quantity are asked for.
    """
    tell_in = tuple(typed["tell_in"])
    in_pounds = any(typed.get(f"{name}_lbf") is not None for name in ("band", "nominal"))
    if in_pounds and not {"N", "lbf"} & set(tell_in):
        tell_in = (*tell_in, POUND_FORCE.symbol)
    units = ToldUnits.of(tell_in, LENGTHS[1] if typed.get("span_length_in") is not None else None)
    return HowTold(units, typed["with_budget"], typed["seed"] if typed["monte_carlo"] else None)


def task_from(typed: Mapping[str, Any]) -> BeltTask:
    """Make the task of what was typed.

    A length or a density alone gives no tension; that is told, and the frequencies are read all the same.

    Raises
    ------
    InputError
        If a value is outside its limits, does not go with another, or something that is needed is missing.
    """
    belt, length = typed_belt(typed), typed_length(typed)
    span = None
    if belt is not None and length is not None:
        belt.span(length)  # its limits
        belt = belt.allowing_for_stiffness(typed["flexible"])
        span = KnownSpan.of((length, *belt.inputs), belt.correlations, belt.warnings)
    comparison = _comparison(typed, span)
    task = BeltTask(span, comparison, decision_rule_from(typed))
    if span is None and (belt is not None or length is not None):
        missing = "--span-length-mm" if length is None else "--linear-density-g-per-m"
        tell_note(f"No tension can be told: add {missing}.")
    return task


def _comparison(typed: Mapping[str, Any], span: KnownSpan | None) -> Comparison | None:
    specification, baseline = typed_specification(typed), typed_baseline(typed)
    if specification is not None and baseline is not None:
        raise InputError(
            "a specification and a baseline of your own are both given: the specification counts"
        )
    if baseline is not None:
        return baseline.comparison()
    if specification is None:
        return None
    return specification.comparison(
        typed_state(typed), None if span is None else span.span, None if span is None else span.stiffness
    )


def decision_rule_from(typed: Mapping[str, Any]) -> DecisionRule:
    """The decision rule that was typed.

    Raises
    ------
    InputError
        If the probability that is asked for cannot be meant.
    """
    percent = typed["asked_probability"]
    if not 50 < percent < 100:
        raise InputError(
            f"--asked-probability {percent:g} % is not above 50 % and below 100 %: was it entered as a share?"
        )
    return DecisionRule(RULES[typed["decision_rule"]], percent / 100)

"""What a person types of a setup, and what becomes of it: a new one, or one with what was given in its place."""

from collections.abc import Callable, Mapping
from typing import Any

import click
from pydantic import ValidationError

from tensionear.belt.stated_value import BeltState
from tensionear.cli.reading_options import decision_options, decision_rule_from
from tensionear.cli.sections import names_of
from tensionear.cli.setup.over_tension import over_tension_from, over_tension_options
from tensionear.cli.setup.typed_checklist import checklist_from, checklist_options
from tensionear.cli.typed_span import belt_options, flexible_option, length_options, typed_belt, typed_length
from tensionear.cli.typed_specification import (
    STATES,
    specification_options,
    typed_baseline,
    typed_specification,
    typed_state,
)
from tensionear.errors import InputError
from tensionear.job.setup import Direction, RuleDocument, Setup
from tensionear.job.span_document import SpanDocument
from tensionear.job.specification_document import BaselineDocument, SpecificationDocument
from tensionear.job.validation import faults_of
from tensionear.known_span import KnownSpan

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]

_STATES = {name: state for name, state in STATES.items() if state is not BeltState.OVER_TENSION}

_WORDS: tuple[Decorator, ...] = (
    click.option("--engine", metavar="TEXT", help="The engine."),
    click.option("--belt", metavar="TEXT", help="The belt."),
    click.option("--span-name", metavar="TEXT", help="Which span is plucked, such as between which pulleys."),
    click.option("--span-length-how", metavar="TEXT", help="How its length was found, in your own words."),
    click.option("--linear-density-how", metavar="TEXT", help="The same of the linear density."),
    click.option("--stiffness-how", metavar="TEXT", help="The same of the stiffness."),
    click.option("--notes", metavar="TEXT", help="Whatever else helps."),
)

_JOB: tuple[Decorator, ...] = (
    click.option("--final-setting-state", type=click.Choice(list(_STATES)),
                 help="Which belt the final setting is judged as.  [default: that of --state]"),
    click.option("--re-check-state", type=click.Choice(list(_STATES)),
                 help="Which belt a re-check is judged as.  [default: that of --state]"),
    click.option("--revolutions", type=int, metavar="N", help="Run-in: how often the engine is turned over by hand."),
    click.option("--direction", type=click.Choice([each.value for each in Direction]),
                 help="Run-in: in which direction the engine runs, and is turned."),
    click.option("--seen-from", metavar="TEXT", help="From where that is seen.  [default: the belt's side]"),
    click.option("--plucks", "plucks_per_pass", type=int, metavar="N",
                 help="After so many readings a pass is complete.  [default: 5]"),
)  # fmt: skip

WITHOUT = (
    "span", "specification", "over-tension", "run-in", "checklist", "cautions", "notes",
)  # fmt: skip
"""What can be taken out of a setup."""


def setup_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command all options of a setup."""
    for option in reversed((*_WORDS, *_JOB)):
        command = option(command)
    command = decision_options(checklist_options(command))
    command = over_tension_options(specification_options(command))
    return length_options(belt_options(flexible_option(command)))


_SPAN = names_of(length_options) | names_of(belt_options) | {"flexible"}
_SPECIFICATION = names_of(specification_options)
_OVER_TENSION = names_of(over_tension_options)
_DECISION = names_of(decision_options)
_CHECKLIST = names_of(checklist_options)

SECTIONS = {
    "Span and belt": _SPAN,
    "What is specified, or an earlier job": _SPECIFICATION,
    "What is specified for over-tension": _OVER_TENSION,
    "Steps, checklist, cautions": _CHECKLIST
    | {"revolutions", "direction", "seen_from", "plucks_per_pass", "final_setting_state", "re_check_state"},
    "Deciding": _DECISION,
}
"""Headings of the help, for the options of `setup_options`."""


def setup_from(
    name: str,
    typed: Mapping[str, Any],
    given: set[str],
    before: Setup | None = None,
    without: tuple[str, ...] = (),
) -> Setup:
    """Make a setup of what was typed.

    Parameters
    ----------
    name : str
        Of the setup.
    typed : mapping
        Options of `setup_options`.
    given : set of str
        Names of those that a person gave; the others stand at their defaults.
    before : Setup or None
        What is not given stays as it is here.
    without : tuple of str
        Of `WITHOUT`: what is taken out of `before`.

    Raises
    ------
    InputError
        If something cannot be meant, is not complete, or does not go together.
    """
    fields: dict[str, Any] = (
        {} if before is None else {each: getattr(before, each) for each in Setup.model_fields}
    )
    fields |= {"name": name, **{key: typed[key] for key in names_of(_words) & given}}
    _take_out(fields, without)
    if _SPAN & given:
        fields["span"] = _span(typed)
    if _SPECIFICATION & given:
        fields |= _specified(typed)
    if _OVER_TENSION & given:
        fields["over_tension"] = over_tension_from(typed, fields.get("specification"))
    for key in ("final_setting_state", "re_check_state"):
        if typed[key] is not None:
            fields[key] = STATES[typed[key]]
    if _DECISION & given:
        rule = decision_rule_from(typed)
        fields["decision_rule"] = RuleDocument(rule=rule.rule, asked_probability=rule.asked_probability)
    if {"revolutions", "direction", "seen_from"} & given:
        fields["run_in"] = _run_in(typed, before if "run-in" not in without else None)
    if typed["plucks_per_pass"] is not None:
        fields["plucks_per_pass"] = typed["plucks_per_pass"]
    fields |= checklist_from(typed, given)
    return _made(fields)


def renamed(setup: Setup, name: str) -> Setup:
    """The same setup under another name.

    Raises
    ------
    InputError
        If it cannot be called so.
    """
    return _made({**{each: getattr(setup, each) for each in Setup.model_fields}, "name": name})


def _made(fields: Mapping[str, Any]) -> Setup:
    try:
        return Setup.model_validate(fields)
    except ValidationError as error:
        raise InputError(f"this setup cannot be: {faults_of(error)}") from error


def _words(command: Callable[..., Any]) -> Callable[..., Any]:
    for option in _WORDS:
        command = option(command)
    return command


def _take_out(fields: dict[str, Any], without: tuple[str, ...]) -> None:
    names = {
        "span": ("span", "span_length_how", "linear_density_how", "stiffness_how"),
        "specification": ("specification", "baseline", "final_setting_state", "re_check_state"),
        "over-tension": ("over_tension",),
        "run-in": ("run_in",),
    }
    for each in without:
        for key in names.get(each, (each,)):
            fields.pop(key, None)


def _span(typed: Mapping[str, Any]) -> SpanDocument:
    belt, length = typed_belt(typed), typed_length(typed)
    if length is None:
        raise InputError(
            "the span length is missing: add --span-length-mm; span and belt are given as a whole"
        )
    if belt is None:
        raise InputError(
            "the linear density is missing: add --linear-density-g-per-m or weigh the belt; span and belt are given"
            " as a whole"
        )
    belt.span(length)  # its limits
    belt = belt.allowing_for_stiffness(typed["flexible"])
    return SpanDocument.of(KnownSpan.of((length, *belt.inputs), belt.correlations, belt.warnings))


def _specified(typed: Mapping[str, Any]) -> dict[str, Any]:
    specification, baseline = typed_specification(typed), typed_baseline(typed)
    if specification is not None and baseline is not None:
        raise InputError(
            "a specification and a baseline of your own are both given: the specification counts"
        )
    if specification is None and baseline is None:
        raise InputError("the value is missing: add --band-hz, --band-n, --nominal-hz ... or --baseline-hz")
    state = typed_state(typed)
    if state is BeltState.OVER_TENSION:
        raise InputError("a value for over-tension is given by --over-tension-band-hz and the like")
    return {
        "specification": None if specification is None else SpecificationDocument.of(specification),
        "baseline": None if baseline is None else BaselineDocument.of(baseline),
        "final_setting_state": state,
        "re_check_state": state,
    }


def _run_in(typed: Mapping[str, Any], before: Setup | None) -> dict[str, Any]:
    plan = {} if before is None or before.run_in is None else before.run_in.model_dump()
    plan |= {key: typed[key] for key in ("revolutions", "direction", "seen_from") if typed[key] is not None}
    for key in ("revolutions", "direction"):
        if key not in plan:
            raise InputError(f"--{key} is missing: a run-in has its revolutions and their direction")
    return plan

"""What a technician types of the manufacturer's specification, in the form in which it is stated."""

import math
from collections.abc import Callable, Mapping
from typing import Any

import click

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.belt.comparison import Baseline, SingleValue
from tensionear.belt.estimate import Estimate
from tensionear.belt.limits import Unit, require_positive
from tensionear.belt.span import LINEAR_DENSITY_LIMITS, SPAN_LENGTH_LIMITS
from tensionear.belt.specification import Specification
from tensionear.belt.stated_value import BeltState, Method, Push, ReferenceSpan, Stated
from tensionear.cli.options import Number
from tensionear.cli.units import (
    FORCES,
    GRAM_PER_METRE,
    LENGTHS,
    Decorator,
    Typed,
    quantity_from,
    quantity_options,
)
from tensionear.errors import InputError
from tensionear.metrology.uncertainty import coverage_factor

METHODS = {
    "frequency": Method.FREQUENCY,
    "vibration": Method.VIBRATION_TENSION,
    "force": Method.FORCE,
    "deflection": Method.DEFLECTION,
}
STATES = {
    "any": BeltState.ANY,
    "new": BeltState.NEW,
    "run-in": BeltState.RUN_IN,
    "over-tension": BeltState.OVER_TENSION,
}

_HERTZ = Unit("Hz", "hertz", 1.0)
_BAND_UNITS = (*FORCES, _HERTZ)


def _repeated_options(name: str, units: tuple[Unit, ...], what: str, nargs: int = 1) -> Decorator:
    """Options for a quantity in several units, with two numbers behind each, or to be given twice."""

    def decorate(command: Callable[..., Any]) -> Callable[..., Any]:
        for unit in reversed(units):
            symbol = unit.symbol
            command = click.option(
                f"--{name}-{symbol.lower()}",
                type=Number(),
                nargs=nargs,
                multiple=nargs == 1,
                metavar="LOW HIGH" if nargs == 2 else symbol.upper(),
                help=what,
                hidden=symbol in ("lbf", "in"),
            )(command)
        return command

    return decorate


_OPTIONS: tuple[Decorator, ...] = (
    click.option(
        "--method",
        type=click.Choice(list(METHODS)),
        help="By which way of measuring it is meant: newtons found from a vibration are not newtons as a force.",
    ),
    _repeated_options("band", _BAND_UNITS, "Stated as a range.", nargs=2),
    quantity_options("nominal", _BAND_UNITS, "Stated as a value, with a tolerance or alone."),
    quantity_options("tolerance", _BAND_UNITS, "What is stated behind its ±."),
    click.option("--tolerance-percent", type=Number(), metavar="PERCENT", help="The same in per cent of it."),
    _repeated_options("push-force", FORCES, "Stated as a push: force at mid-span; given twice for a range."),
    _repeated_options("push-deflection", LENGTHS, "Deflection under it; given twice for a range."),
    click.option(
        "--state", type=click.Choice(list(STATES)), default="any", show_default=True,
        help="For which belt it is stated.",
    ),
    click.option("--source", metavar="TEXT", help="Where it is written: document, page, date. Always needed."),
    quantity_options("stated-span-length", LENGTHS, "Span length that the value is stated for, if there is one."),
    click.option(
        "--stated-linear-density-g-per-m", type=Number(), metavar="G/M",
        help="Linear density that the value is stated for, if there is one.",
    ),
    click.option(
        "--stated-for-this-span", is_flag=True,
        help="With the method vibration: stated for this very span and belt, with no constants beside it.",
    ),
    click.option(
        "--baseline-hz", type=Number(), metavar="HERTZ",
        help="Without any specification: how the span rang after an earlier good job of your own.",
    ),
    click.option(
        "--baseline-plus-minus-hz", type=Number(), metavar="HERTZ", default=0.0, show_default=True,
        help="What was told behind its ±.",
    ),
    click.option(
        "--baseline-percent", type=Number(), metavar="PERCENT", help="How far from it is good; your own choice."
    ),
    click.option("--baseline-job", metavar="TEXT", help="Which job that was: date or number."),
)  # fmt: skip


def specification_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options of a specification."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


def typed_state(typed: Mapping[str, Any]) -> BeltState:
    """The belt that is measured."""
    return STATES[typed["state"]]


def typed_baseline(typed: Mapping[str, Any]) -> Baseline | None:
    """The earlier job that was typed, if any.

    Raises
    ------
    InputError
        If it cannot be meant or is not complete.
    """
    hertz = typed["baseline_hz"]
    if hertz is None:
        if typed["baseline_percent"] is not None or typed["baseline_job"] is not None:
            raise InputError("the baseline's frequency is missing: add --baseline-hz")
        return None
    if typed["baseline_percent"] is None:
        raise InputError(
            "--baseline-percent is missing: how far from the earlier job is good is your own choice"
        )
    require_positive("baseline", hertz, "Hz")
    plus_minus = typed["baseline_plus_minus_hz"]
    if not 0 <= plus_minus <= 0.2 * abs(hertz):
        raise InputError(
            f"--baseline-plus-minus-hz {plus_minus:g} does not lie from 0 to a fifth of {hertz:g} Hz: was it in"
            " per cent?"
        )
    return Baseline(
        Estimate(hertz, plus_minus / coverage_factor(math.inf)),
        typed["baseline_percent"],
        typed["baseline_job"] or "",
    )


def typed_specification(typed: Mapping[str, Any]) -> Specification | None:
    """The specification that was typed; None if there is no value of one.

    Raises
    ------
    InputError
        If it cannot be meant, is not complete, or does not say by which method it is meant.
    """
    values = [value for value in (_band(typed), _nominal(typed), _push(typed)) if value is not None]
    if not values:
        return None
    if len(values) > 1:
        raise InputError("the value is stated twice: give one of --band-..., --nominal-... and --push-...")
    (value,) = values
    if not (typed["source"] or "").strip():
        raise InputError(
            "--source is missing: name document, page and date; a value without a source is not taken"
        )
    return Specification(
        _method(typed, value), (Stated(typed_state(typed), value),), typed["source"], _reference(typed)
    )


def _method(typed: Mapping[str, Any], value: ToleranceBand | SingleValue | Push) -> Method:
    if typed["method"] is not None:
        return METHODS[typed["method"]]
    if isinstance(value, Push):
        return Method.DEFLECTION
    if value.unit is BandUnit.HERTZ:
        return Method.FREQUENCY
    raise InputError(
        "--method is missing: newtons may be meant as a force, or as what a vibration reading comes to, which is not"
        " the same; look whether the manufacturer's text speaks of a vibration, and ask rather than guess"
    )


def _band(typed: Mapping[str, Any]) -> ToleranceBand | None:
    found = [
        (unit, limits) for unit in _BAND_UNITS if (limits := typed[f"band_{unit.symbol.lower()}"]) is not None
    ]
    if len(found) > 1:
        raise InputError("the band is given in two units: which one is the manufacturer's?")
    if not found:
        return None
    unit, (lower, upper) = found[0]
    return ToleranceBand(lower / unit.per_si, upper / unit.per_si, _band_unit(unit))


def _nominal(typed: Mapping[str, Any]) -> ToleranceBand | SingleValue | None:
    nominal = quantity_from(typed, "nominal", _BAND_UNITS)
    tolerance = quantity_from(typed, "tolerance", _BAND_UNITS)
    percent = typed["tolerance_percent"]
    if nominal is None:
        if tolerance is not None or percent is not None:
            raise InputError("a tolerance is given without its value: add --nominal-n or --nominal-hz")
        return None
    unit = _band_unit(nominal.unit)
    if tolerance is not None and percent is not None:
        raise InputError(f"{tolerance.option} and --tolerance-percent are both given: which one is stated?")
    if percent is not None:
        return ToleranceBand.about_percent(nominal.si, percent, unit)
    if tolerance is None:
        return SingleValue(nominal.si, unit)
    if _band_unit(tolerance.unit) is not unit:
        raise InputError(f"{nominal.option} and {tolerance.option} do not go together: is a unit wrong?")
    return ToleranceBand.about(nominal.si, tolerance.si, unit)


def _push(typed: Mapping[str, Any]) -> Push | None:
    forces = _ends(typed, "push-force", FORCES, "force")
    deflections = _ends(typed, "push-deflection", LENGTHS, "deflection")
    if forces is None and deflections is None:
        return None
    if forces is None or deflections is None:
        raise InputError(
            "a push needs both its force and its deflection: add --push-force-n or --push-deflection-mm"
        )
    return Push(*forces, *deflections)


def _ends(
    typed: Mapping[str, Any], name: str, units: tuple[Unit, ...], quantity: str
) -> tuple[float, float] | None:
    found = [
        Typed(f"--{name}-{unit.symbol}", value, unit)
        for unit in units
        for value in typed[f"{name}-{unit.symbol}".replace("-", "_").lower()]
    ]
    if not found:
        return None
    if len(found) > 2:
        raise InputError(f"--{name} is given {len(found)} times: once, or twice for a range")
    values = sorted(each.positive(quantity) for each in found)
    return values[0], values[-1]


def _reference(typed: Mapping[str, Any]) -> ReferenceSpan | None:
    length = quantity_from(typed, "stated-span-length", LENGTHS)
    density = typed["stated_linear_density_g_per_m"]
    if typed["stated_for_this_span"]:
        if length is not None or density is not None:
            raise InputError(
                "--stated-for-this-span and a stated length or density exclude each other: which is it?"
            )
        return ReferenceSpan()
    if length is None and density is None:
        return None
    return ReferenceSpan(
        None if length is None else length.checked(SPAN_LENGTH_LIMITS),
        None if density is None else LINEAR_DENSITY_LIMITS.checked(density, GRAM_PER_METRE),
    )


def _band_unit(unit: Unit) -> BandUnit:
    return BandUnit.HERTZ if unit.symbol == "Hz" else BandUnit.NEWTON

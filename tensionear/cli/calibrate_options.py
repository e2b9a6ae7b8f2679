"""What a technician types for a calibration, and the task that it makes."""

from pathlib import Path
from typing import Any

import click

from tensionear.belt.calibration import CLAMPED_ENDS, STANDARD_GRAVITY_M_PER_S2
from tensionear.belt.estimate import Estimate
from tensionear.belt.limits import Limits, Unit
from tensionear.belt.span import LINEAR_DENSITY_LIMITS, SPAN_LENGTH_LIMITS
from tensionear.belt.stiffness import UNKNOWN_END_FIXITY
from tensionear.calibration_task import CalibrationTask, Rig
from tensionear.cli.options import Number
from tensionear.cli.typed_density import share_from
from tensionear.cli.units import (
    GRAM_PER_METRE,
    LENGTHS,
    Decorator,
    Typed,
    half_width_from,
    quantity_from,
)
from tensionear.errors import InputError
from tensionear.heard_spans import HeardSpan, recorded_plucks, typed_partials, typed_plucks
from tensionear.metrology.uncertainty import RECTANGLE

KILOGRAM = Unit("kg", "kilograms", 1.0)
POUND = Unit("lb", "pounds", 1 / 0.45359237)
MASSES = (KILOGRAM, POUND)

# What a belt bears and a person hangs up: common practice, no source.
HUNG_MASS_LIMITS = Limits(
    quantity="hung mass",
    lowest=0.5,
    highest=500.0,
    usual=20.0,
    units=(KILOGRAM, Unit("g", "grams", 1000.0), POUND, Unit("N", "newtons", STANDARD_GRAVITY_M_PER_S2)),
    below="lighter",
    above="heavier",
)
LENGTH_WITHIN_M = 0.0005
FREQUENCY_WITHIN_PERCENT = 0.3
DENSITY_WITHIN_PERCENT = 1.0
MASS_WITHIN_PERCENT = 0.1

ENDS = {"clamped": CLAMPED_ENDS, "pinned": Estimate(0.0), "unknown": UNKNOWN_END_FIXITY, "find": None}


def span_options(name: str, metavar: str, what: str) -> Decorator:
    """Give a command a repeatable option for spans, each with its length in either unit.

    Parameters
    ----------
    name : str
        What the options begin with.
    metavar : str
        What follows the length.
    what : str
        Its help.
    """

    def decorate(command: Any) -> Any:
        for unit in reversed(LENGTHS):
            command = click.option(
                f"--{name}-{unit.symbol}",
                type=(Number(), str),
                multiple=True,
                metavar=f"{unit.symbol.upper()} {metavar}",
                help=what,
                hidden=unit is not LENGTHS[0],
            )(command)
        return command

    return decorate


def rig_from(typed: dict[str, Any]) -> Rig | None:
    """The rig that was typed; None if there is no hung mass.

    Raises
    ------
    InputError
        If a value cannot be meant.
    """
    mass = quantity_from(typed, "hung-mass", MASSES)
    if mass is None:
        return None
    mass_kg = mass.checked(HUNG_MASS_LIMITS)
    within = share_from("--hung-mass-within-percent", typed["hung_mass_within_percent"], 10.0)
    return Rig(Estimate(mass_kg, mass_kg * within / RECTANGLE), typed["gravity_m_per_s2"])


def density_from(typed: dict[str, Any]) -> Estimate | None:
    """The linear density that was typed, if any. [kg/m].

    Raises
    ------
    InputError
        If a value cannot be meant.
    """
    density = typed["linear_density_g_per_m"]
    if density is None:
        return None
    density_kg_per_m = LINEAR_DENSITY_LIMITS.checked(density, GRAM_PER_METRE)
    within = share_from("--linear-density-within-percent", typed["linear_density_within_percent"], 30.0)
    return Estimate(density_kg_per_m, density_kg_per_m * within / RECTANGLE)


def ends_from(ends: str | None, rig: Rig | None) -> Estimate | None:
    """End fixity by its word; None says that it is to be found. [1]."""
    return ENDS[ends or ("unknown" if rig is None else "clamped")]


def frequency_share(typed: dict[str, Any]) -> float:
    """Relative standard uncertainty of typed frequencies. [1].

    Raises
    ------
    InputError
        If it cannot be meant.
    """
    percent = typed["frequency_within_percent"]
    if not percent > 0:
        raise InputError(
            f"--frequency-within-percent {percent:g} % is not above 0: no frequency is known exactly, and a fit needs"
            " to know how well each is"
        )
    return share_from("--frequency-within-percent", percent, 10.0) / RECTANGLE


def length_estimate(typed: dict[str, Any], length: Typed) -> Estimate:
    """Length of one span, with what was said of how right it is. [m].

    Raises
    ------
    InputError
        If a value cannot be meant.
    """
    within_m = half_width_from(typed, "span-length-within", LENGTHS)
    within_m = LENGTH_WITHIN_M if within_m is None else within_m
    length_m = length.checked(SPAN_LENGTH_LIMITS)
    if within_m > 0.1 * length_m:
        raise InputError(
            f"a length within {within_m * length.unit.per_si:g} {length.unit.symbol} is off by more than a tenth of"
            f" {length.value:g} {length.unit.symbol}: was it entered in another unit?"
        )
    return Estimate(length_m, within_m / RECTANGLE)


def task_from(typed: dict[str, Any]) -> CalibrationTask:
    """What was typed, as a task.

    Raises
    ------
    InputError
        If a value cannot be meant, or a recording cannot be read.
    """
    rig = rig_from(typed)
    spans = tuple(_spans_from(typed))
    return CalibrationTask(spans, density_from(typed), ends_from(typed["ends"], rig), rig)


def _spans_from(typed: dict[str, Any]) -> list[HeardSpan]:
    spans = []
    for unit in LENGTHS:
        for how, read in (("span", typed_plucks), ("partials", typed_partials)):
            for length, hertz in typed[f"{how}_{unit.symbol}"]:
                estimate = length_estimate(typed, Typed(f"--{how}-{unit.symbol}", length, unit))
                spans.append(read(estimate, hertz, frequency_share(typed)))
        for length, name in typed[f"recording_{unit.symbol}"]:
            estimate = length_estimate(typed, Typed(f"--recording-{unit.symbol}", length, unit))
            spans.append(recorded_plucks(estimate, Path(name), typed["with_partials"]))
    return spans

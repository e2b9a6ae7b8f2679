"""What a technician types of how heavy the belt is, and what it is."""

from collections.abc import Callable, Mapping
from typing import Any

import click

from tensionear.belt.drive_check import belt_length
from tensionear.belt.estimate import Estimate
from tensionear.belt.limits import Limits, Unit
from tensionear.belt.linear_density import (
    BELT_LENGTH_LIMITS,
    BELT_MASS_LIMITS,
    BeltKind,
    LinearDensity,
    known_density,
    rough_density,
    weighed_density,
)
from tensionear.belt.span import LINEAR_DENSITY_LIMITS
from tensionear.belt.tangent import TOOTH_PITCH_LIMITS
from tensionear.cli.options import Number
from tensionear.cli.units import (
    GRAM_PER_METRE,
    LENGTHS,
    quantity_from,
    quantity_options,
)
from tensionear.errors import InputError
from tensionear.metrology.budget import Distribution

KINDS = {kind.name.lower().replace("_", "-"): kind for kind in BeltKind}

_GRAM = Unit("g", "grams", 1000.0)
_LARGEST_SHARE = 0.2
_WIDTH_LIMITS = Limits(
    quantity="belt width", lowest=0.004, highest=0.15, usual=0.025, units=LENGTHS, below="narrower", above="wider"
)  # fmt: skip

DENSITY_OPTIONS: tuple[Callable[[Callable[..., Any]], Callable[..., Any]], ...] = (
    click.option(
        "--linear-density-g-per-m", type=Number(), metavar="G/M",
        help="Mass of one metre of the belt, in its own width.",
    ),
    click.option(
        "--linear-density-within-percent", type=Number(), metavar="PERCENT", default=1.0, show_default=True,
        help="It is right within this, either way.",
    ),
    click.option("--belt-mass-g", type=Number(), metavar="G", help="Instead: the whole belt on a scale."),
    click.option(
        "--belt-mass-within-g", type=Number(), metavar="G", default=1.0, show_default=True,
        help="The scale is right within this, either way.",
    ),
    click.option("--belt-teeth", type=int, metavar="N", help="The belt's teeth, for its length when weighed."),
    quantity_options("tooth-pitch", LENGTHS, "From one tooth to the next, with --belt-teeth."),
    quantity_options("belt-length", LENGTHS, "Or the belt's length all the way round."),
    click.option(
        "--belt-kind", type=click.Choice(list(KINDS)),
        help="Without a density: roughly what such belts have. With one: doubt it if it is far from that.",
    ),
    quantity_options("belt-width", LENGTHS, "The belt's width: for --belt-kind, and for the air carried along."),
    click.option("--belt-ribs", type=int, metavar="N", help="Ribs of a ribbed belt, for --belt-kind."),
)  # fmt: skip
"""Options of the linear density, and of the belt's kind and width."""


def typed_width(typed: Mapping[str, Any]) -> float | None:
    """The belt width that was typed, if any. [m].

    Raises
    ------
    InputError
        If it cannot be meant.
    """
    width = quantity_from(typed, "belt-width", LENGTHS)
    return None if width is None else width.checked(_WIDTH_LIMITS)


def typed_kind(typed: Mapping[str, Any]) -> BeltKind | None:
    """The kind of belt that was typed, if any."""
    return None if typed["belt_kind"] is None else KINDS[typed["belt_kind"]]


def typed_density(typed: Mapping[str, Any]) -> tuple[LinearDensity | None, str, Distribution]:
    """The density that was typed, where it comes from, and where its true value may lie; None if there is none.

    Raises
    ------
    InputError
        If it cannot be meant, or more than one is given.
    """
    typed_g_per_m, mass_g = typed["linear_density_g_per_m"], typed["belt_mass_g"]
    if typed_g_per_m is not None and mass_g is not None:
        raise InputError("--linear-density-g-per-m and --belt-mass-g are both given: which one holds?")
    if typed_g_per_m is not None:
        within = share_from("--linear-density-within-percent", typed["linear_density_within_percent"], 30.0)
        density = LINEAR_DENSITY_LIMITS.checked(typed_g_per_m, GRAM_PER_METRE)
        return known_density(Estimate.within(density, within * density)), "as given", Distribution.RECTANGULAR
    if mass_g is not None:
        return _weighed(typed, mass_g), "weighed", Distribution.NORMAL
    kind = typed_kind(typed)
    if kind is None:
        return None, "", Distribution.NORMAL
    return rough_density(kind, typed_width(typed), typed["belt_ribs"]), "rough", Distribution.NORMAL


def _weighed(typed: Mapping[str, Any], mass_g: float) -> LinearDensity:
    mass_kg = BELT_MASS_LIMITS.checked(mass_g, _GRAM)
    within_g = typed["belt_mass_within_g"]
    if not 0 <= within_g <= _LARGEST_SHARE * mass_g:
        raise InputError(
            f"--belt-mass-within-g {within_g:g} does not lie from 0 to {_LARGEST_SHARE:.0%} of {mass_g:g} g:"
            " it is how far the scale may be wrong"
        )
    length, pitch = quantity_from(typed, "belt-length", LENGTHS), quantity_from(typed, "tooth-pitch", LENGTHS)
    if length is not None:
        length_m = length.checked(BELT_LENGTH_LIMITS)
    elif typed["belt_teeth"] is not None and pitch is not None:
        length_m = belt_length(typed["belt_teeth"], pitch.checked(TOOTH_PITCH_LIMITS))
    else:
        raise InputError(
            "a weighed belt needs its length: add --belt-teeth and --tooth-pitch-mm, or --belt-length-mm"
        )
    return weighed_density(Estimate.within(mass_kg, within_g / 1000), Estimate(length_m))


def share_from(option: str, percent: float, highest: float) -> float:
    """A half-width in per cent as a share. [1].

    Raises
    ------
    InputError
        If it is below 0 or beyond `highest` per cent.
    """
    if not 0 <= percent <= highest:
        raise InputError(
            f"{option} {percent:g} % does not lie from 0 to {highest:g} %: it is how far the true value may be away"
        )
    return percent / 100

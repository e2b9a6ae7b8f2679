"""What a technician types about the span and the band, and the task that it makes."""

import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, TypedDict

import click

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.belt.span import BeltSpan
from tensionear.cli.trouble import tell_note
from tensionear.errors import InputError
from tensionear.metrology.uncertainty import RECTANGLE
from tensionear.reading import BeltTask

_USUAL_MM = 200.0
_USUAL_G_PER_M = 150.0


class Number(click.ParamType[float]):
    """A decimal number, which says so when a comma was typed for the point."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Read a number as it was typed."""
        try:
            return float(value)
        except ValueError:
            hint = ": write the decimals with a point, not a comma" if "," in value else ""
            self.fail(f"{value!r} is not a number{hint}", param, ctx)


class TypedBelt(TypedDict):
    """What was typed about the belt, in the units of the options."""

    span_length_mm: float | None
    span_length_within_mm: float
    linear_density_g_per_m: float | None
    linear_density_within_percent: float
    band_n: tuple[float, float] | None
    band_hz: tuple[float, float] | None


_BELT_OPTIONS: Sequence[Callable[[Callable[..., Any]], Callable[..., Any]]] = (
    click.option(
        "--span-length-mm", type=Number(), metavar="MM",
        help="Length of the plucked span, between the points where the belt touches the pulleys.",
    ),
    click.option(
        "--span-length-within-mm", type=Number(), metavar="MM", default=1.0, show_default=True,
        help="The true length lies within this much of it, either way.",
    ),
    click.option(
        "--linear-density-g-per-m", type=Number(), metavar="G/M",
        help="Mass of one metre of the belt, in its own width: weigh a belt, divide by its length.",
    ),
    click.option(
        "--linear-density-within-percent", type=Number(), metavar="PERCENT", default=1.0, show_default=True,
        help="The true linear density lies within this much of it, either way.",
    ),
    click.option(
        "--band-n", type=Number(), nargs=2, metavar="LOW HIGH",
        help="Tolerance band of the tension, in newtons, from the vehicle manufacturer.",
    ),
    click.option(
        "--band-hz", type=Number(), nargs=2, metavar="LOW HIGH",
        help="Tolerance band of the frequency, in hertz, from the vehicle manufacturer.",
    ),
)  # fmt: skip


json_option = click.option("--json", "as_json", is_flag=True, help="For programs: one JSON object a line.")

picture_option = click.option(
    "--picture",
    type=click.Path(path_type=Path, readable=False),
    metavar="OUT.png",
    help="Draw each pluck: the first into OUT.png, the next into OUT-2.png, OUT-3.png...",
)

device_option = click.option(
    "--device",
    metavar="NAME|NUMBER",
    help='The microphone, as "tensionear devices" lists it; without, the default one.',
)


def device_from(typed: str | None) -> int | str | None:
    """Tell a device's number from its name."""
    return int(typed) if typed is not None and typed.isdecimal() else typed


def belt_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options that `TypedBelt` holds."""
    for option in reversed(_BELT_OPTIONS):
        command = option(command)
    return command


def task_from(typed: TypedBelt) -> BeltTask:
    """Make the task of what was typed.

    A length or a density alone gives no tension; that is told, and the frequencies are read all the same.

    Raises
    ------
    InputError
        If a value is outside its limits, two bands are given, or a band in newtons comes without a span.
    """
    return BeltTask(_span_from(typed), _band_from(typed))


def _span_from(typed: TypedBelt) -> BeltSpan | None:
    length_mm, density_g_per_m = typed["span_length_mm"], typed["linear_density_g_per_m"]
    length_within_mm = _half_width("--span-length-within-mm", typed["span_length_within_mm"])
    density_within_percent = _half_width(
        "--linear-density-within-percent", typed["linear_density_within_percent"]
    )
    if length_mm is None and density_g_per_m is None:
        return None
    # Where one is missing a usual value stands in, only so that the other one is checked.
    checked_density_g_per_m = _USUAL_G_PER_M if density_g_per_m is None else density_g_per_m
    span = BeltSpan.from_workshop_units(
        _USUAL_MM if length_mm is None else length_mm,
        checked_density_g_per_m,
        length_within_mm / RECTANGLE,
        checked_density_g_per_m * density_within_percent / 100.0 / RECTANGLE,
    )
    if length_mm is None or density_g_per_m is None:
        missing = "--span-length-mm" if length_mm is None else "--linear-density-g-per-m"
        tell_note(f"No tension can be told: add {missing}.")
        return None
    return span


def _half_width(option: str, value: float) -> float:
    if not 0.0 <= value < math.inf:
        raise InputError(
            f"{option} {value:g} is not 0 or more: it is how far the true value may be away, either way"
        )
    return value


def _band_from(typed: TypedBelt) -> ToleranceBand | None:
    band_n, band_hz = typed["band_n"], typed["band_hz"]
    if band_n is not None and band_hz is not None:
        raise InputError(
            "--band-n and --band-hz are both given: give the one that the vehicle manufacturer states"
        )
    if band_n is not None:
        return ToleranceBand(*band_n, BandUnit.NEWTON)
    return None if band_hz is None else ToleranceBand(*band_hz, BandUnit.HERTZ)

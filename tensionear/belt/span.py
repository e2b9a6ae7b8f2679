"""The belt span: its free length and its mass per length, each with its standard uncertainty."""

import math
from dataclasses import dataclass
from typing import Self

from tensionear.belt.limits import Limits, Unit
from tensionear.errors import InputError

# First-order propagation (JCGM 100, 5.1.2) is no longer fair far beyond this, and nobody measures that badly.
LARGEST_RELATIVE_STANDARD_UNCERTAINTY = 0.2

_METRE = Unit("m", "metres", 1.0)
_MILLIMETRE = Unit("mm", "millimetres", 1000.0)
_KILOGRAM_PER_METRE = Unit("kg/m", "kilograms per metre", 1.0)
_GRAM_PER_METRE = Unit("g/m", "grams per metre", 1000.0)

# Shorter spans bend like a bar rather than ring like a string, and a limit of 40 mm shows centimetres that
# were typed for millimetres; longer spans are not found on an engine.
SPAN_LENGTH_LIMITS = Limits(
    quantity="span length",
    lowest=0.04,
    highest=5.0,
    usual=0.2,
    units=(_METRE, _MILLIMETRE, Unit("cm", "centimetres", 100.0), Unit("in", "inches", 1 / 0.0254)),
    below="shorter",
    above="longer",
)

# 10 g/m is less than a belt 6 mm wide weighs, 5 kg/m more than one 300 mm wide: common practice, no source.
# Tables often give the density for each millimetre of width; the usual width is taken as 25 mm.
LINEAR_DENSITY_LIMITS = Limits(
    quantity="linear density",
    lowest=0.01,
    highest=5.0,
    usual=0.12,
    units=(
        _KILOGRAM_PER_METRE,
        _GRAM_PER_METRE,
        Unit("(g/m)/mm", "grams per metre for each millimetre of width", 1000.0 / 25.0),
    ),
    below="lighter",
    above="heavier",
)


@dataclass(frozen=True)
class BeltSpan:
    """One span of a belt, as measured.

    Attributes
    ----------
    span_length_m : float
        Free length between the points where the belt meets its pulleys, 0.04 to 5. [m]
    span_length_standard_uncertainty_m : float
        0 (known exactly) to 20 % of the length. [m]
    linear_density_kg_per_m : float
        Mass per length, 0.01 to 5. [kg/m]
    linear_density_standard_uncertainty_kg_per_m : float
        0 (known exactly) to 20 % of the density. [kg/m]

    Raises
    ------
    InputError
        If a value is not finite or outside its limits; the message guesses the slip.
    """

    span_length_m: float
    span_length_standard_uncertainty_m: float
    linear_density_kg_per_m: float
    linear_density_standard_uncertainty_kg_per_m: float

    def __post_init__(self) -> None:
        SPAN_LENGTH_LIMITS.checked(self.span_length_m, _METRE)
        LINEAR_DENSITY_LIMITS.checked(self.linear_density_kg_per_m, _KILOGRAM_PER_METRE)
        _require_uncertainty("span length", self.span_length_m, self.span_length_standard_uncertainty_m, "m")
        _require_uncertainty(
            "linear density",
            self.linear_density_kg_per_m,
            self.linear_density_standard_uncertainty_kg_per_m,
            "kg/m",
        )

    @classmethod
    def from_workshop_units(
        cls,
        span_length_mm: float,
        linear_density_g_per_m: float,
        span_length_standard_uncertainty_mm: float,
        linear_density_standard_uncertainty_g_per_m: float,
    ) -> Self:
        """Take a span as a person in a workshop types it; messages then speak in millimetres and grams.

        Parameters
        ----------
        span_length_mm : float
            40 to 5000. [mm]
        linear_density_g_per_m : float
            10 to 5000. [g/m]
        span_length_standard_uncertainty_mm : float
            0 to 20 % of the length. [mm]
        linear_density_standard_uncertainty_g_per_m : float
            0 to 20 % of the density. [g/m]

        Raises
        ------
        InputError
            As for the class.
        """
        span_length_m = SPAN_LENGTH_LIMITS.checked(span_length_mm, _MILLIMETRE)
        linear_density_kg_per_m = LINEAR_DENSITY_LIMITS.checked(linear_density_g_per_m, _GRAM_PER_METRE)
        _require_uncertainty("span length", span_length_mm, span_length_standard_uncertainty_mm, "mm")
        _require_uncertainty(
            "linear density", linear_density_g_per_m, linear_density_standard_uncertainty_g_per_m, "g/m"
        )
        return cls(
            span_length_m=span_length_m,
            span_length_standard_uncertainty_m=span_length_standard_uncertainty_mm / _MILLIMETRE.per_si,
            linear_density_kg_per_m=linear_density_kg_per_m,
            linear_density_standard_uncertainty_kg_per_m=(
                linear_density_standard_uncertainty_g_per_m / _GRAM_PER_METRE.per_si
            ),
        )


def _require_uncertainty(quantity: str, value: float, standard_uncertainty: float, symbol: str) -> None:
    """Let only a finite uncertainty from 0 to the largest share of the value pass."""
    shown = f"standard uncertainty of the {quantity} {standard_uncertainty:g} {symbol}"
    if not math.isfinite(standard_uncertainty):
        raise InputError(f"{shown} is not a finite number: was something else than digits entered?")
    if standard_uncertainty < 0:
        raise InputError(f"{shown} is negative: was a minus sign entered by mistake?")
    if standard_uncertainty > LARGEST_RELATIVE_STANDARD_UNCERTAINTY * value:
        raise InputError(
            f"{shown} is more than {LARGEST_RELATIVE_STANDARD_UNCERTAINTY:.0%} of {value:g} {symbol}:"
            " was it entered in another unit or in per cent?"
        )

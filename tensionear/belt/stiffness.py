"""What is known of a span's stiffness: how the belt resists bending, and how firmly its ends are held."""

import math
from dataclasses import dataclass

from tensionear.belt.estimate import Estimate
from tensionear.belt.limits import Limits, Unit
from tensionear.belt.stiff_span import LARGEST_BENDING_STIFFNESS_N_M2
from tensionear.errors import InputError

_NEWTON_METRE_SQUARED = Unit("N m²", "newtons times square metres", 1.0)
_LARGEST_FIXITY_UNCERTAINTY = 0.5

# Between a string of cotton and a hundred timing belts: common practice, no source.
BENDING_STIFFNESS_LIMITS = Limits(
    quantity="bending stiffness",
    lowest=1e-7,
    highest=LARGEST_BENDING_STIFFNESS_N_M2,
    usual=0.02,
    units=(_NEWTON_METRE_SQUARED, Unit("N mm²", "newtons times square millimetres", 1e6)),
)

UNKNOWN_END_FIXITY = Estimate.within(0.5, 0.5)
"""Ends of which nothing is known: anywhere from pinned to clamped, equally likely (JCGM 100, 4.3.7)."""


@dataclass(frozen=True)
class SpanStiffness:
    """Bending stiffness and ends of a span; stands beside its `BeltSpan`.

    Attributes
    ----------
    bending_stiffness_n_m2 : float
        EI; 0 takes the span as flexible. [N m²]
    bending_stiffness_standard_uncertainty_n_m2 : float
        0 to as much as the bending stiffness. [N m²]
    end_fixity : float
        0 (pinned) to 1 (clamped). [1]
    end_fixity_standard_uncertainty : float
        0 to 0.5. [1]

    Raises
    ------
    InputError
        If a value is not finite or outside its limits.
    """

    bending_stiffness_n_m2: float
    bending_stiffness_standard_uncertainty_n_m2: float
    end_fixity: float = UNKNOWN_END_FIXITY.value
    end_fixity_standard_uncertainty: float = UNKNOWN_END_FIXITY.standard_uncertainty

    def __post_init__(self) -> None:
        if self.bending_stiffness_n_m2 != 0:
            BENDING_STIFFNESS_LIMITS.checked(self.bending_stiffness_n_m2, _NEWTON_METRE_SQUARED)
        _require_range(
            "standard uncertainty of the bending stiffness",
            self.bending_stiffness_standard_uncertainty_n_m2,
            self.bending_stiffness_n_m2,
            " N m²",
        )
        _require_range("end fixity", self.end_fixity, 1.0, "")
        _require_range(
            "standard uncertainty of the end fixity",
            self.end_fixity_standard_uncertainty,
            _LARGEST_FIXITY_UNCERTAINTY,
            "",
        )


def _require_range(quantity: str, value: float, highest: float, unit: str) -> None:
    """Let only finite values from 0 to `highest` pass."""
    shown = f"{quantity} {value:g}{unit}"
    if not math.isfinite(value):
        raise InputError(f"{shown} is not a finite number: was something else than digits entered?")
    if not 0 <= value <= highest:
        raise InputError(
            f"{shown} does not lie from 0 to {highest:g}{unit}: was it entered in another unit or in per cent?"
        )


FLEXIBLE = SpanStiffness(0.0, 0.0, 0.0, 0.0)
"""No stiffness: T = 4·m·L²·f²."""

"""The forms in which manufacturers state how tight a belt should be."""

from dataclasses import dataclass
from enum import StrEnum

from tensionear.belt.band import ToleranceBand
from tensionear.belt.comparison import SingleValue
from tensionear.belt.limits import Unit, require_positive
from tensionear.belt.span import LINEAR_DENSITY_LIMITS, SPAN_LENGTH_LIMITS
from tensionear.errors import InputError


class Method(StrEnum):
    """By which way of measuring a specification is meant; the value is the word for it."""

    FREQUENCY = "frequency"
    VIBRATION_TENSION = "tension from a vibration"
    FORCE = "tension as a force"
    DEFLECTION = "deflection under a force"


class BeltState(StrEnum):
    """For which belt a value is stated; the value is the word for it."""

    ANY = "any belt"
    NEW = "new belt"
    RUN_IN = "run-in belt"
    OVER_TENSION = "over-tension"


@dataclass(frozen=True)
class Push:
    """A deflection stated for a force at mid-span, one of them as a range; neither a range: no tolerance.

    Attributes
    ----------
    lower_force_n, upper_force_n : float
        [N]
    lower_deflection_m, upper_deflection_m : float
        [m]

    Raises
    ------
    InputError
        If a value is not finite and above 0, a range is upside down, or both are ranges.
    """

    lower_force_n: float
    upper_force_n: float
    lower_deflection_m: float
    upper_deflection_m: float

    def __post_init__(self) -> None:
        for quantity, lower, upper, symbol in (
            ("force", self.lower_force_n, self.upper_force_n, "N"),
            ("deflection", self.lower_deflection_m, self.upper_deflection_m, "m"),
        ):
            require_positive(quantity, lower, symbol)
            require_positive(quantity, upper, symbol)
            if lower > upper:
                raise InputError(
                    f"{quantity} from {lower:g} to {upper:g} {symbol}: is the range upside down?"
                )
        if self.lower_force_n < self.upper_force_n and self.lower_deflection_m < self.upper_deflection_m:
            raise InputError(
                "both force and deflection are ranges: which one is measured, and at which value of the other?"
            )

    @property
    def ends(self) -> list[tuple[float, float]]:
        """Force [N] and deflection [m] at the lower tension, then at the higher; one if nothing is a range."""
        ends = [
            (self.lower_force_n, self.upper_deflection_m),
            (self.upper_force_n, self.lower_deflection_m),
        ]
        return ends[:1] if ends[0] == ends[1] else ends


@dataclass(frozen=True)
class Stated:
    """One value of a specification.

    Attributes
    ----------
    state : BeltState
        For which belt.
    value : ToleranceBand, SingleValue or Push
        As stated.
    """

    state: BeltState
    value: ToleranceBand | SingleValue | Push


@dataclass(frozen=True)
class ReferenceSpan:
    """Span length and linear density for which a manufacturer states a frequency or a vibration's tension.

    Attributes
    ----------
    span_length_m : float or None
        0.04 to 5; None says that the span that is measured is meant. [m]
    linear_density_kg_per_m : float or None
        0.01 to 5; None says that the belt that is measured is meant. [kg/m]

    Raises
    ------
    InputError
        If a value is outside its range; the message guesses the slip.
    """

    span_length_m: float | None = None
    linear_density_kg_per_m: float | None = None

    def __post_init__(self) -> None:
        if self.span_length_m is not None:
            SPAN_LENGTH_LIMITS.checked(self.span_length_m, Unit("m", "metres", 1.0))
        if self.linear_density_kg_per_m is not None:
            LINEAR_DENSITY_LIMITS.checked(
                self.linear_density_kg_per_m, Unit("kg/m", "kilograms per metre", 1.0)
            )

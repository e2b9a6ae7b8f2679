"""The tolerance band that the vehicle manufacturer gives, in newtons or in hertz."""

from dataclasses import dataclass
from enum import StrEnum

from tensionear.belt.limits import Limits, Unit
from tensionear.errors import InputError


class BandUnit(StrEnum):
    """What a band's limits are given in; the value is the unit's symbol."""

    NEWTON = "N"
    HERTZ = "Hz"


_NEWTON = Unit("N", "newtons", 1.0)
_HERTZ = Unit("Hz", "hertz", 1.0)

# No engine's belt is set as slack as 5 N or as tight as 20 kN: common practice, no source.
_TENSION_LIMITS = Limits(
    quantity="band limit",
    lowest=5.0,
    highest=20_000.0,
    usual=400.0,
    units=(_NEWTON, Unit("kN", "kilonewtons", 0.001)),
)

# A band outside the frequencies that are read could never be met.
_FREQUENCY_LIMITS = Limits(
    quantity="band limit",
    lowest=20.0,
    highest=600.0,
    usual=100.0,
    units=(_HERTZ, Unit("kHz", "kilohertz", 0.001), Unit("/min", "cycles per minute", 60.0)),
    otherwise="is it a band in newtons?",
)

_TYPED = {BandUnit.NEWTON: (_TENSION_LIMITS, _NEWTON), BandUnit.HERTZ: (_FREQUENCY_LIMITS, _HERTZ)}


@dataclass(frozen=True)
class ToleranceBand:
    """The values of tension, or of fundamental frequency, that are permitted.

    Attributes
    ----------
    lower, upper : float
        Permitted themselves; 5 to 20 000 N or 20 to 600 Hz, `lower` below `upper`. [`unit`]
    unit : BandUnit
        Newtons or hertz.

    Raises
    ------
    InputError
        If a limit is not finite or implausible, or the band is upside down or has no width; the message
        guesses the slip.
    """

    lower: float
    upper: float
    unit: BandUnit

    def __post_init__(self) -> None:
        limits, unit = _TYPED[self.unit]
        limits.checked(self.lower, unit)
        limits.checked(self.upper, unit)
        if self.lower > self.upper:
            raise InputError(
                f"lower band limit {self.lower:g} {self.unit} is above upper band limit"
                f" {self.upper:g} {self.unit}: is the band upside down?"
            )
        if self.lower == self.upper:
            raise InputError(
                f"the band from {self.lower:g} {self.unit} to {self.upper:g} {self.unit} has no width:"
                " was the same limit entered twice?"
            )

"""The tolerance band that the vehicle manufacturer gives, in newtons or in hertz."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Self

from tensionear.belt.limits import Limits, Unit
from tensionear.errors import InputError


class BandUnit(StrEnum):
    """What a band's limits are given in; the value is the unit's symbol."""

    NEWTON = "N"
    HERTZ = "Hz"


LARGEST_BAND_PERCENT = 50.0
"""No manufacturer leaves more to either side: common practice, no source."""

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


def require_limit(value: float, unit: BandUnit) -> None:
    """Let only plausible limits of a band pass.

    Parameters
    ----------
    value : float
        5 to 20 000 N or 20 to 600 Hz. [`unit`]
    unit : BandUnit
        Newtons or hertz.

    Raises
    ------
    InputError
        If it is not finite or implausible; the message guesses the slip.
    """
    limits, typed = _TYPED[unit]
    limits.checked(value, typed)


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
        require_limit(self.lower, self.unit)
        require_limit(self.upper, self.unit)
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

    @classmethod
    def about(cls, nominal: float, half_width: float, unit: BandUnit) -> Self:
        """Take a band that is given as a nominal value and how far a value may be from it.

        Parameters
        ----------
        nominal : float
            Middle of the band. [`unit`]
        half_width : float
            Above 0, less than `nominal`. [`unit`]
        unit : BandUnit
            Newtons or hertz.

        Raises
        ------
        InputError
            If the half-width is not above 0 or not less than the nominal value, and as for the class.
        """
        if not 0 < half_width < nominal:
            raise InputError(
                f"{nominal:g} {unit} ± {half_width:g} {unit} is no band: what follows ± must be above 0 and less than"
                " the nominal value: are they exchanged, or is it the upper limit?"
            )
        return cls(nominal - half_width, nominal + half_width, unit)

    @classmethod
    def about_percent(cls, nominal: float, percent: float, unit: BandUnit) -> Self:
        """Take a band that is given as a nominal value and per cent of it.

        Parameters
        ----------
        nominal : float
            Middle of the band. [`unit`]
        percent : float
            Above 0, 50 at most. [%]
        unit : BandUnit
            Newtons or hertz.

        Raises
        ------
        InputError
            If the per cent are outside their range, and as for the class.
        """
        if not 0 < percent <= LARGEST_BAND_PERCENT:
            raise InputError(
                f"{nominal:g} {unit} ± {percent:g} % is no band: the per cent must be above 0 and not more than"
                f" {LARGEST_BAND_PERCENT:g}: were {unit} entered for per cent?"
            )
        return cls.about(nominal, nominal * percent / 100.0, unit)

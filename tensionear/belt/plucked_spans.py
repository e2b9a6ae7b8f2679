"""What was heard of spans of a belt, on its engine or hanging on a rig: what a calibration starts from."""

from dataclasses import dataclass

from tensionear.belt.estimate import Estimate
from tensionear.belt.limits import require_positive
from tensionear.belt.span import SPAN_LENGTH_LIMITS
from tensionear.errors import InputError


@dataclass(frozen=True)
class PluckedPartial:
    """One partial of one pluck, or a mean of several plucks.

    Attributes
    ----------
    frequency_hz, standard_uncertainty_hz : float
        Above 0. [Hz]
    number : int
        1 is the fundamental.

    Raises
    ------
    InputError
        If a value is outside its range.
    """

    frequency_hz: float
    standard_uncertainty_hz: float
    number: int = 1

    def __post_init__(self) -> None:
        require_positive("frequency", self.frequency_hz, "Hz")
        require_positive("standard uncertainty of the frequency", self.standard_uncertainty_hz, "Hz")
        if self.number < 1 or self.number != int(self.number):
            raise InputError(f"partial number {self.number:g} is not a whole number from 1")


@dataclass(frozen=True)
class PluckedSpan:
    """A span of the belt on its engine, and what was heard of it.

    Attributes
    ----------
    span_length : Estimate
        Equal estimates of two spans are taken for one and the same measurement. [m]
    partials : tuple of PluckedPartial
        One or more; plucks may repeat.

    Raises
    ------
    InputError
        If the length is implausible or nothing was heard.
    """

    span_length: Estimate
    partials: tuple[PluckedPartial, ...]

    def __post_init__(self) -> None:
        _require_length(self.span_length)
        _require_partials(self.partials)


@dataclass(frozen=True)
class HungSpan:
    """A piece of belt that hangs between two clamps with a mass below, and what was heard of it.

    Attributes
    ----------
    span_length : Estimate
        Between the clamps; equal estimates are taken for one and the same measurement. [m]
    hung_mass : Estimate
        All that hangs below the span: mass, lower clamp, loose end of the belt. Equal estimates are taken for one
        and the same measurement. [kg]
    partials : tuple of PluckedPartial
        One or more; plucks may repeat.

    Raises
    ------
    InputError
        If length or mass is implausible or nothing was heard.
    """

    span_length: Estimate
    hung_mass: Estimate
    partials: tuple[PluckedPartial, ...]

    def __post_init__(self) -> None:
        _require_length(self.span_length)
        require_positive("hung mass", self.hung_mass.value, "kg")
        _require_partials(self.partials)


def _require_length(span_length: Estimate) -> None:
    SPAN_LENGTH_LIMITS.checked(span_length.value, SPAN_LENGTH_LIMITS.units[0])


def _require_partials(partials: tuple[PluckedPartial, ...]) -> None:
    if not partials:
        raise InputError("a span without a frequency tells nothing: pluck it at least once")

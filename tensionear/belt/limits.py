"""Limits of what a person can have meant, and the guess of what slipped when a value is outside them.

Conventions: limits are in SI units; a value is given in the unit in which it was typed, and every message
speaks in that unit. The guess is the unit in which the same digits would come closest to the usual size.
"""

import math
from dataclasses import dataclass

from tensionear.errors import InputError


@dataclass(frozen=True)
class Unit:
    """A unit in which a quantity may be typed.

    Attributes
    ----------
    symbol : str
        As written behind a number.
    plural : str
        As spoken in a question.
    per_si : float
        How many of it make one SI unit.
    """

    symbol: str
    plural: str
    per_si: float


@dataclass(frozen=True)
class Limits:
    """What a quantity can plausibly be.

    Attributes
    ----------
    quantity : str
        Its name in messages.
    lowest, highest : float
        Both allowed. [SI unit]
    usual : float
        A size often met, from which slips are guessed. [SI unit]
    units : tuple of Unit
        Units that a person may have had in mind.
    below, above : str
        The comparatives that fit the quantity.
    otherwise : str
        What to ask when no unit explains the value.
    """

    quantity: str
    lowest: float
    highest: float
    usual: float
    units: tuple[Unit, ...]
    below: str = "less"
    above: str = "more"
    otherwise: str = "was a digit lost or added?"

    def checked(self, typed: float, unit: Unit) -> float:
        """Return the value in its SI unit.

        Parameters
        ----------
        typed : float
            The value as typed. [`unit`]
        unit : Unit
            The unit that it is taken to be in.

        Raises
        ------
        InputError
            If it is not finite, not above 0, or outside the limits.
        """
        shown = f"{self.quantity} {typed:g} {unit.symbol}"
        require_positive(self.quantity, typed, unit.symbol)
        value = typed / unit.per_si
        if value < self.lowest:
            limit = f"{self.below} than {self.lowest * unit.per_si:g} {unit.symbol}"
        elif value > self.highest:
            limit = f"{self.above} than {self.highest * unit.per_si:g} {unit.symbol}"
        else:
            return value
        raise InputError(f"{shown} is {limit}: {self._slip(typed)}")

    def _slip(self, typed: float) -> str:
        """Ask for the unit in which the typed digits would be most usual."""
        meant = [unit for unit in self.units if self.lowest <= typed / unit.per_si <= self.highest]
        if not meant:
            return self.otherwise
        likeliest = min(meant, key=lambda unit: abs(math.log(typed / unit.per_si / self.usual)))
        return f"was it entered in {likeliest.plural}?"


def require_positive(quantity: str, value: float, symbol: str) -> None:
    """Let only finite values above 0 pass.

    Parameters
    ----------
    quantity : str
        Its name in messages.
    value : float
        The value. [`symbol`]
    symbol : str
        The value's unit.

    Raises
    ------
    InputError
        If it is not finite or not above 0.
    """
    shown = f"{quantity} {value:g} {symbol}"
    if not math.isfinite(value):
        raise InputError(f"{shown} is not a finite number: was something else than digits entered?")
    if value < 0:
        raise InputError(f"{shown} is negative: was a minus sign entered by mistake?")
    if value == 0:
        raise InputError(f"{shown} must be above 0 {symbol}: was it left empty?")

"""The units in which a workshop types and reads: an option for each, and figures told in the one that is wanted."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import click

from tensionear.belt.limits import Limits, Unit, require_positive
from tensionear.cli.options import Number
from tensionear.errors import InputError
from tensionear.figures import with_uncertainty
from tensionear.metrology.uncertainty import RECTANGLE, Measured

MILLIMETRE = Unit("mm", "millimetres", 1000.0)
INCH = Unit("in", "inches", 1 / 0.0254)
NEWTON = Unit("N", "newtons", 1.0)
POUND_FORCE = Unit("lbf", "pounds-force", 1 / 4.4482216152605)
GRAM_PER_METRE = Unit("g/m", "grams per metre", 1000.0)

LENGTHS = (MILLIMETRE, INCH)
FORCES = (NEWTON, POUND_FORCE)

_TOLD_UNITS = {unit.symbol: unit for unit in (*FORCES, *LENGTHS)}

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]


@dataclass(frozen=True)
class Typed:
    """A number as it was typed, and in which unit.

    Attributes
    ----------
    option : str
        The option that it was typed behind.
    value : float
        [`unit`]
    unit : Unit
        One of the workshop's.
    """

    option: str
    value: float
    unit: Unit

    @property
    def si(self) -> float:
        """The value in its SI unit."""
        return self.value / self.unit.per_si

    def checked(self, limits: Limits) -> float:
        """The value in its SI unit, if it can have been meant.

        Raises
        ------
        InputError
            If it is outside the limits; the message speaks in the unit that was typed.
        """
        return limits.checked(self.value, self.unit)

    def positive(self, quantity: str) -> float:
        """The value in its SI unit, if it is finite and above 0.

        Raises
        ------
        InputError
            If it is not; the message speaks in the unit that was typed.
        """
        require_positive(quantity, self.value, self.unit.symbol)
        return self.si


def quantity_options(name: str, units: tuple[Unit, ...], what: str) -> Decorator:
    """Give a command an option for each unit of a quantity, such as ``--tangent-mm`` and ``--tangent-in``.

    Parameters
    ----------
    name : str
        What the options begin with, without hyphens before it.
    units : tuple of Unit
        The first is the usual one.
    what : str
        Help of the first; the others are not listed.
    """

    def decorate(command: Callable[..., Any]) -> Callable[..., Any]:
        for place in reversed(range(len(units))):
            symbol = units[place].symbol
            command = click.option(
                f"--{name}-{symbol.lower()}",
                type=Number(),
                metavar=symbol.upper(),
                help=what,
                hidden=place > 0,  # the help says once for all that there are these
            )(command)
        return command

    return decorate


def quantity_from(typed: Mapping[str, Any], name: str, units: tuple[Unit, ...]) -> Typed | None:
    """Which of the options that `quantity_options` made was typed; None if none was.

    Raises
    ------
    InputError
        If more than one was.
    """
    found = [
        Typed(f"--{name}-{unit.symbol.lower()}", value, unit)
        for unit in units
        if (value := typed[f"{name}-{unit.symbol}".lower().replace("-", "_")]) is not None
    ]
    if len(found) > 1:
        raise InputError(f"{found[0].option} and {found[1].option} are both given: which one holds?")
    return found[0] if found else None


def half_width_from(typed: Mapping[str, Any], name: str, units: tuple[Unit, ...]) -> float | None:
    """How far a value may be away, either way, in its SI unit; None if it was not typed.

    Raises
    ------
    InputError
        If it was typed in two units or is below 0.
    """
    found = quantity_from(typed, name, units)
    if found is None:
        return None
    if not 0 <= found.value < float("inf"):
        raise InputError(
            f"{found.option} {found.value:g} is not 0 or more: it is how far the true value may be away, either way"
        )
    return found.si


tell_in_option = click.option(
    "--tell-in",
    type=click.Choice(list(_TOLD_UNITS)),
    multiple=True,
    help="Unit of what is told: N or lbf, mm or in; may be repeated. Lines for programs are in SI units.",
)


@dataclass(frozen=True)
class ToldUnits:
    """The units in which results are told to people.

    Attributes
    ----------
    force, length : Unit
    """

    force: Unit = NEWTON
    length: Unit = MILLIMETRE

    @classmethod
    def of(cls, tell_in: tuple[str, ...], typed: Unit | None = None) -> "ToldUnits":
        """Take those that were asked for, else the unit of what was typed.

        Parameters
        ----------
        tell_in : tuple of str
            What `tell_in_option` gives.
        typed : Unit, optional
            In which the main quantity was typed.

        Raises
        ------
        InputError
            If two units of one quantity are asked for.
        """

        def chosen(units: tuple[Unit, ...]) -> Unit:
            asked = [unit for unit in units if unit.symbol in tell_in]
            if len(asked) > 1:
                raise InputError(
                    f"--tell-in {asked[0].symbol} and {asked[1].symbol} are both given: choose one"
                )
            return asked[0] if asked else typed if typed in units else units[0]

        return cls(chosen(FORCES), chosen(LENGTHS))

    def tension(self, tension: Measured) -> str:
        """A tension in newtons, with its expanded uncertainty, in the unit that is told."""
        return told(tension, self.force)

    def span_length(self, length: Measured) -> str:
        """A length in metres, with its expanded uncertainty, in the unit that is told."""
        return told(length, self.length)


def told(measured: Measured, unit: Unit) -> str:
    """A value in its SI unit, with its expanded uncertainty, told in another unit.

    Parameters
    ----------
    measured : Measured
        [SI unit]
    unit : Unit
        In which it is told.
    """
    per_si = unit.per_si
    return with_uncertainty(measured.value * per_si, measured.expanded_uncertainty * per_si, unit.symbol)


def half_width_of(standard_uncertainty: float) -> float:
    """Half-width that stands for a standard uncertainty where a person is asked for the former. [its unit]."""
    return standard_uncertainty * RECTANGLE

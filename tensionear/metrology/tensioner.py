"""How far along to move a tensioner, once the tension has been read at two of its positions.

A straight line through two readings: a tensioner on an eccentric or behind a spring follows it over a short way
only. What it says is advice for the next move, and the reading after it decides. The vehicle manufacturer's
procedure and marks win over it.
"""

from dataclasses import dataclass
from enum import StrEnum

from tensionear.metrology.uncertainty import Measured, propagated

MOST_STEPS_BEYOND = 1.0
"""How far beyond the two positions advice is given, in steps between them (ours). [1]"""

LEAST_DIFFERENCE = 2.0
"""Least difference of the two tensions over its own expanded uncertainty (ours): below it the line has no slope to
rely on. [1]"""


@dataclass(frozen=True)
class TensionerReading:
    """What was read at one position of the tensioner.

    Attributes
    ----------
    position : float
        In degrees, millimetres, turns: whatever is read or counted there.
    tension : Measured
        Tension at that position, above 0. What both readings have in common (span length, linear density, ends)
        belongs not into its uncertainty, as it moves both the same way.
    """

    position: float
    tension: Measured


@dataclass(frozen=True)
class TensionerMove:
    """Where the tensioner should go.

    Attributes
    ----------
    position : Measured
        In the unit of the positions.
    change : Measured
        From the later of the two positions.
    is_extrapolated : bool
        Whether the position lies beyond both of those that were read.
    """

    position: Measured
    change: Measured
    is_extrapolated: bool


class TensionerRefusalReason(StrEnum):
    """Why the two readings give no advice."""

    SAME_POSITION = "same position"
    TENSIONS_TOO_ALIKE = "tensions too alike"
    TOO_FAR = "too far beyond"


@dataclass(frozen=True)
class TensionerRefusal:
    """That the two readings give no advice.

    Attributes
    ----------
    reason : TensionerRefusalReason
        Why.
    explanation : str
        The same in a sentence, with what to do.
    """

    reason: TensionerRefusalReason
    explanation: str


def tensioner_move(
    earlier: TensionerReading, later: TensionerReading, target: float
) -> TensionerMove | TensionerRefusal:
    """Position of the tensioner at which the belt should have the target tension.

    Parameters
    ----------
    earlier, later : TensionerReading
        At two positions; the tensioner is at the later one now.
    target : float
        Tension that is aimed at, above 0, in the readings' unit.
    """
    if earlier.position == later.position:
        return TensionerRefusal(
            TensionerRefusalReason.SAME_POSITION,
            f"both tensions were read at position {later.position:g}: move the tensioner a little and read again",
        )
    difference = propagated(lambda a, b: b - a, earlier.tension, later.tension)
    if abs(difference.value) <= LEAST_DIFFERENCE * difference.expanded_uncertainty:
        return TensionerRefusal(
            TensionerRefusalReason.TENSIONS_TOO_ALIKE,
            f"the two tensions differ by {abs(difference.value):.3g}, known to "
            f"± {difference.expanded_uncertainty:.2g}: move the tensioner further, or pluck more often at each",
        )

    def steps(tension_earlier: float, tension_later: float) -> float:
        return (target - tension_earlier) / (tension_later - tension_earlier)

    n_steps = steps(earlier.tension.value, later.tension.value)
    if not -MOST_STEPS_BEYOND <= n_steps <= 1 + MOST_STEPS_BEYOND:
        return TensionerRefusal(
            TensionerRefusalReason.TOO_FAR,
            f"{target:.3g} lies further beyond the two tensions than they lie from each other "
            f"({earlier.tension.value:.3g} and {later.tension.value:.3g}): "
            "go part of the way, read again, and take that reading",
        )
    way = later.position - earlier.position
    position = propagated(lambda a, b: earlier.position + way * steps(a, b), earlier.tension, later.tension)
    change = Measured(
        position.value - later.position, position.standard_uncertainty, position.degrees_of_freedom
    )
    return TensionerMove(position, change, not 0 <= n_steps <= 1)

"""Whether a measured value lies within its limits, as far as its uncertainty lets anyone say.

References
----------
.. [1] JCGM 106:2012: 7.4 conformance probability, 8.3.2 guarded acceptance, 8.3.3 guarded rejection.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from scipy.special import stdtr

from tensionear.metrology.uncertainty import Measured


class Verdict(StrEnum):
    """The outcome of a conformity decision; the value is the word for it, for people and programs alike."""

    IN_BAND = "in band"
    OUT_OF_BAND = "out of band"
    UNDECIDED = "undecided"


class Side(StrEnum):
    """At which limit a value gives cause for doubt or rejection."""

    LOW = "low"
    HIGH = "high"


@dataclass(frozen=True)
class Decision:
    """A conformity decision.

    Attributes
    ----------
    verdict : Verdict
        In band, out of band or undecided.
    side : Side or None
        Out of band: beyond which limit. Undecided: which limit the value cannot be told from. None if in
        band, or if the uncertainty reaches over both limits.
    """

    verdict: Verdict
    side: Side | None


def decide(measured: Measured, lower: float, upper: float) -> Decision:
    """Decide with the expanded uncertainty as guard band, against acceptance and against rejection alike.

    Parameters
    ----------
    measured : Measured
        The value to judge.
    lower, upper : float
        The tolerance band's limits, permitted themselves, in the value's unit.

    Raises
    ------
    ValueError
        If `lower` is not below `upper`.

    Notes
    -----
    The interval of the value and its expanded uncertainty decides: wholly within the limits it is in band,
    wholly beyond one of them out of band, otherwise undecided. A belt that is out of its band is thus called
    in band in at most 2.5 % of cases at either limit, and the other way round.
    """
    _require_order(lower, upper)
    lowest = measured.value - measured.expanded_uncertainty
    highest = measured.value + measured.expanded_uncertainty
    if highest < lower:
        return Decision(Verdict.OUT_OF_BAND, Side.LOW)
    if lowest > upper:
        return Decision(Verdict.OUT_OF_BAND, Side.HIGH)
    if lower <= lowest and highest <= upper:
        return Decision(Verdict.IN_BAND, None)
    if lower <= lowest:
        return Decision(Verdict.UNDECIDED, Side.HIGH)
    if highest <= upper:
        return Decision(Verdict.UNDECIDED, Side.LOW)
    return Decision(Verdict.UNDECIDED, None)


def conformance_probability(measured: Measured, lower: float, upper: float) -> float:
    """Probability that the true value lies within the limits, by Student's t. [1].

    Parameters
    ----------
    measured : Measured
        The value to judge.
    lower, upper : float
        As for `decide`.

    Raises
    ------
    ValueError
        If `lower` is not below `upper`.
    """
    _require_order(lower, upper)
    if measured.standard_uncertainty == 0:
        return float(lower <= measured.value <= upper)
    to_upper, to_lower = (
        stdtr(measured.degrees_of_freedom, (limit - measured.value) / measured.standard_uncertainty)
        for limit in (upper, lower)
    )
    return float(to_upper - to_lower)


def _require_order(lower: float, upper: float) -> None:
    if math.isnan(lower) or math.isnan(upper) or lower >= upper:
        raise ValueError(f"lower limit {lower} is not below upper limit {upper}")

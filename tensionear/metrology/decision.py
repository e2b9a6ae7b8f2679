"""Whether a measured value lies within its limits, as far as its uncertainty lets anyone say.

Limits are permitted themselves. A band may have one limit only: the other is then infinite.

References
----------
.. [1] JCGM 106:2012: 7.2 to 7.4 conformance probability, 8.2 simple acceptance, 8.3.2 guarded acceptance,
   8.3.3 guarded rejection, 9.3 specific risks.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

import scipy

from tensionear.metrology.uncertainty import COVERAGE_PROBABILITY, Measured


class Verdict(StrEnum):
    """The outcome of a conformity decision; the value is the word for it, for people and programs alike."""

    IN_BAND = "in band"
    OUT_OF_BAND = "out of band"
    UNDECIDED = "undecided"


class Side(StrEnum):
    """At which limit a value gives cause for doubt or rejection."""

    LOW = "low"
    HIGH = "high"


class Rule(StrEnum):
    """By what a value is judged; the value is the rule's name in a record."""

    GUARDED = "guarded acceptance and rejection"
    """The expanded uncertainty is kept as guard band on both sides of each limit; between them undecided."""

    SIMPLE = "simple acceptance"
    """The value alone decides: near a limit, half of the verdicts are wrong, and never is one left open."""

    STATED_PROBABILITY = "stated conformance probability"
    """In band, or beyond a limit, if that is at least as probable as is asked for; otherwise undecided."""


@dataclass(frozen=True)
class DecisionRule:
    """A rule, and what it asks for.

    Attributes
    ----------
    rule : Rule
        Guarded unless said.
    asked_probability : float
        Of a stated conformance probability: what is asked for, above 0.5, below 1. The other rules do not use it.

    Raises
    ------
    ValueError
        If the probability is outside its range.
    """

    rule: Rule = Rule.GUARDED
    asked_probability: float = COVERAGE_PROBABILITY

    def __post_init__(self) -> None:
        if not 0.5 < self.asked_probability < 1:
            raise ValueError(f"conformance probability {self.asked_probability} is not above 0.5 and below 1")


GUARDED = DecisionRule()
"""The rule unless another is chosen."""


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
    decision_rule : DecisionRule
        By what it was decided.
    """

    verdict: Verdict
    side: Side | None
    decision_rule: DecisionRule = GUARDED


def decide(measured: Measured, lower: float, upper: float, decision_rule: DecisionRule = GUARDED) -> Decision:
    """Decide whether a value lies in its band.

    Parameters
    ----------
    measured : Measured
        The value to judge.
    lower, upper : float
        The tolerance band's limits, permitted themselves, in the value's unit; one of them may be infinite.
    decision_rule : DecisionRule
        By what; the expanded uncertainty as guard band, against acceptance and against rejection alike, unless
        said.

    Raises
    ------
    ValueError
        If `lower` is not below `upper`, or both are infinite.

    Notes
    -----
    By the guarded rule the interval of the value and its expanded uncertainty decides: wholly within the limits
    it is in band, wholly beyond one of them out of band, otherwise undecided. A belt that is out of its band is
    thus called in band in at most 2.5 % of cases at either limit, and the other way round.
    """
    _require_order(lower, upper)
    match decision_rule.rule:
        case Rule.GUARDED:
            verdict, side = _by_interval(measured, measured.expanded_uncertainty, lower, upper)
        case Rule.SIMPLE:
            verdict, side = _by_interval(measured, 0.0, lower, upper)
        case Rule.STATED_PROBABILITY:
            verdict, side = _by_probability(measured, lower, upper, decision_rule.asked_probability)
    return Decision(verdict, side, decision_rule)


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
        If `lower` is not below `upper`, or both are infinite.
    """
    _require_order(lower, upper)
    if measured.standard_uncertainty == 0:
        return float(lower <= measured.value <= upper)
    return _probability_below(measured, upper) - _probability_below(measured, lower)


def specific_risk(decision: Decision, measured: Measured, lower: float, upper: float) -> float | None:
    """Probability that this one verdict is wrong: the consumer's risk in band, the producer's out of band. [1].

    Parameters
    ----------
    decision : Decision
        On the value.
    measured : Measured
        The value that was judged.
    lower, upper : float
        As for `decide`.

    Returns
    -------
    float or None
        None if it is undecided: nothing is claimed that could be wrong.

    Raises
    ------
    ValueError
        If `lower` is not below `upper`, or both are infinite.
    """
    conforms = conformance_probability(measured, lower, upper)
    if decision.verdict is Verdict.UNDECIDED:
        return None
    return 1 - conforms if decision.verdict is Verdict.IN_BAND else conforms


def _by_interval(measured: Measured, guard: float, lower: float, upper: float) -> tuple[Verdict, Side | None]:
    lowest, highest = measured.value - guard, measured.value + guard
    if highest < lower:
        return Verdict.OUT_OF_BAND, Side.LOW
    if lowest > upper:
        return Verdict.OUT_OF_BAND, Side.HIGH
    above, below = lower <= lowest, highest <= upper
    return (Verdict.IN_BAND, None) if above and below else (Verdict.UNDECIDED, _doubtful_side(above, below))


def _by_probability(
    measured: Measured, lower: float, upper: float, asked: float
) -> tuple[Verdict, Side | None]:
    if measured.standard_uncertainty == 0:
        return _by_interval(measured, 0.0, lower, upper)
    too_low = _probability_below(measured, lower)
    too_high = 1 - _probability_below(measured, upper)
    if 1 - too_low - too_high >= asked:
        return Verdict.IN_BAND, None
    if too_low >= asked:
        return Verdict.OUT_OF_BAND, Side.LOW
    if too_high >= asked:
        return Verdict.OUT_OF_BAND, Side.HIGH
    return Verdict.UNDECIDED, _doubtful_side(too_low <= 1 - asked, too_high <= 1 - asked)


def _doubtful_side(is_above_lower: bool, is_below_upper: bool) -> Side | None:
    """Return the limit that is in doubt, None if both are (or each a little)."""
    if is_above_lower is is_below_upper:
        return None
    return Side.HIGH if is_above_lower else Side.LOW


def _probability_below(measured: Measured, limit: float) -> float:
    deviation = (limit - measured.value) / measured.standard_uncertainty
    return float(scipy.special.stdtr(measured.degrees_of_freedom, deviation))


def _require_order(lower: float, upper: float) -> None:
    if math.isnan(lower) or math.isnan(upper) or lower >= upper:
        raise ValueError(f"lower limit {lower} is not below upper limit {upper}")
    if math.isinf(lower) and math.isinf(upper):
        raise ValueError("a band needs at least one limit")

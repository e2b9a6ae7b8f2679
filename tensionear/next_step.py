"""What to do after a set: decide what is undecided, and change what is to be changed.

Advice; the next reading decides, and the vehicle manufacturer's procedure and marks win over it.
"""

from dataclasses import dataclass
from math import sqrt

from tensionear.belt.comparison import ComparedQuantity, SingleValue
from tensionear.errors import InputError
from tensionear.metrology.advice import RepeatedInput, WayOut, next_move, way_out
from tensionear.metrology.decision import Verdict
from tensionear.task import Assessment, BeltTask
from tensionear.tension_budget import (
    BENDING_STIFFNESS,
    END_FIXITY,
    FUNDAMENTAL,
    LINEAR_DENSITY,
    SPAN_LENGTH,
    UNKNOWN_STIFFNESS,
    fundamental_at,
    tension_at,
)

# To what half-widths inputs can be known with what a workshop has: common practice, no source; the bending stiffness
# and what it leaves of the tension as the calibration on a rig was found to give them.
_REACHABLE = {SPAN_LENGTH: 0.0005, END_FIXITY: 0.25, UNKNOWN_STIFFNESS: 2.0}
_REACHABLE_SHARES = {LINEAR_DENSITY: 0.005, BENDING_STIFFNESS: 0.10}


@dataclass(frozen=True)
class BeltMove:
    """By how much to change the belt.

    Attributes
    ----------
    target_hz : float
        Fundamental at which what is compared is in the middle of the band, or at the stated value. [Hz]
    change_hz : float
        From the fundamental as it is. [Hz]
    target_n, change_n : float or None
        The same as static tension; None without a span. [N]
    is_enough : bool or None
        Whether a value there, as well known as now, would be in band; None of a value stated without tolerance.
    """

    target_hz: float
    change_hz: float
    target_n: float | None
    change_n: float | None
    is_enough: bool | None


def way_out_of(task: BeltTask, found: Assessment, n_plucks: int) -> WayOut | None:
    """What would decide it; None if it is decided, or nothing is compared.

    Parameters
    ----------
    task : BeltTask
        By which it was found.
    found : Assessment
        Of the set.
    n_plucks : int
        In the set's mean.
    """
    if found.decision is None or found.decision.verdict is not Verdict.UNDECIDED:
        return None
    if task.comparison is None or found.compared is None or isinstance(task.comparison.limits, SingleValue):
        return None
    reachable = {}
    for line in found.compared.lines:
        name, value = line.given.name, line.given.measured.value
        if name in _REACHABLE:
            reachable[name] = _REACHABLE[name]
        elif name in _REACHABLE_SHARES:
            reachable[name] = _REACHABLE_SHARES[name] * value
    limits = task.comparison.limits
    return way_out(
        found.compared,
        limits.lower,
        limits.upper,
        repeated=RepeatedInput(FUNDAMENTAL, n_plucks),
        reachable=reachable,
        decision_rule=task.decision_rule,
    )


def move_of(task: BeltTask, found: Assessment) -> BeltMove | None:
    """By how much to change the belt; None if that is not called for or cannot be told.

    Parameters
    ----------
    task : BeltTask
        By which it was found.
    found : Assessment
        Of the set.
    """
    comparison = task.comparison
    if comparison is None or found.compared is None:
        return None
    if found.decision is not None and found.decision.side is None:
        return None
    now, limits = found.compared.result, comparison.limits
    if isinstance(limits, SingleValue):
        target, is_enough = limits.value, None
    else:
        move = next_move(now, limits.lower, limits.upper)
        if move is None:
            return None
        target, is_enough = move.target, move.is_enough
    now_hz = found.fundamental.value
    try:
        target_hz = _fundamental_at(task, comparison.quantity, target, now_hz, now.value)
        target_n = change_n = None
        if task.span is not None and found.tension is not None:
            target_n = tension_at(target_hz, task.span.inputs)
            change_n = target_n - found.tension.value
    except InputError:  # so slack that the span would bend like a bar
        return None
    return BeltMove(target_hz, target_hz - now_hz, target_n, change_n, is_enough)


def tension_when_compared(task: BeltTask, found: Assessment, value: float) -> float:
    """Static tension at which what is compared would have a value, as a limit of its band. [N].

    Parameters
    ----------
    task : BeltTask
        With a span and a comparison.
    found : Assessment
        Of any reading of the task.
    value : float
        [unit of what is compared]

    Raises
    ------
    InputError
        If the span would bend like a bar there.
    ValueError
        If there is no span, or nothing is compared.
    """
    if task.span is None or task.comparison is None or found.compared is None:
        raise ValueError("nothing is compared, or there is no span")
    if task.comparison.quantity is ComparedQuantity.CORRECTED_TENSION:
        return value
    now_hz, now = found.fundamental.value, found.compared.result.value
    fundamental_hz = _fundamental_at(task, task.comparison.quantity, value, now_hz, now)
    return tension_at(fundamental_hz, task.span.inputs)


def _fundamental_at(
    task: BeltTask, quantity: ComparedQuantity, target: float, now_hz: float, now: float
) -> float:
    match quantity:
        case ComparedQuantity.FREQUENCY:
            return target
        case ComparedQuantity.FLEXIBLE_TENSION:
            return now_hz * sqrt(target / now)
        case ComparedQuantity.CORRECTED_TENSION:
            assert task.span is not None  # noqa: S101 - a task without it would not have been taken
            return fundamental_at(target, task.span.inputs)

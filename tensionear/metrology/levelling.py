"""Whether the tension of a belt has levelled off during run-in: by significance, not by looks.

That no fall shows is no proof that there is none. So there are three answers, and "level" is given only where a fall
of a relevant size would have shown:

- still falling: the last two counts of revolutions differ by more than chance explains;
- level since a count: no part of the stretch from there to the end falls by more than chance explains, and its whole
  fall is, with the confidence asked for, smaller than the relevant size;
- not told: anything else, with the reason and with what would tell.

References
----------
.. [1] D. J. Schuirmann, "A comparison of the two one-sided tests procedure and the power approach for assessing the
   equivalence of average bioavailability", J. Pharmacokinet. Biopharm. 15 (1987) 657-680 (from memory): to show that
   nothing relevant is there, the confidence limit has to lie below the relevant size.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise

import numpy as np
import scipy

from tensionear.metrology.advice import MOST_PLUCKS
from tensionear.metrology.marks import LARGEST_AGREEING_DIFFERENCE
from tensionear.metrology.tension_ratio import LogContrast, PluckMean, Repeatability, contrast

RELEVANT_SHARE = 0.01
"""A fall by less than this share of the tension over the stretch at the end is of no weight (ours). [1]"""

SIGNIFICANCE = 0.05
"""How often "still falling", or "level", may be said at most where it is wrong. [1]"""

POWER = 0.8
"""How often the plucks that are advised show what they are to show (usual in planning, ours here). [1]"""


_LARGEST_AGREEING_SCATTER = 2 * LARGEST_AGREEING_DIFFERENCE / math.sqrt(2)
"""Standard deviation of two tensions whose fundamentals differ by as much as a set may. [1]"""


class LevelState(StrEnum):
    """Whether the tension has levelled off; the value is the word for it, for people and programs alike."""

    FALLING = "still falling"
    LEVEL = "level"
    NOT_TOLD = "not told"


class NotToldReason(StrEnum):
    """Why it cannot be told whether the tension has levelled off."""

    ONE_COUNT = "plucked at fewer than two counts of revolutions"
    DISAGREE = "plucks at one count of revolutions do not agree, as if the belt was set anew between them"
    NO_REPEATS = "nowhere plucked twice, so that it is not known how plucks scatter"
    ROSE = "the tension rose between counts, which settling does not do"
    SCATTER = "a fall of a relevant size might be hidden in the scatter of the plucks"
    STEADY_FALL = "a slow, steady fall explains the last counts as well"


@dataclass(frozen=True)
class Levelling:
    """Whether the tension has levelled off, and what would tell.

    Attributes
    ----------
    state : LevelState
        The answer.
    level_since_revolutions : float or None
        Count of revolutions from which on it is level; None unless it is.
    largest_fall_share : float or None
        What the tension fell at most, as a share, over the level stretch, or else over the last two counts, with a
        confidence of 1 less the significance; None with fewer than two counts. [1]
    reason : NotToldReason or None
        Why it is not told.
    n_more_plucks : int or None
        Not told: so many more plucks now, at the last count, would tell, if the means stay as they are; None if they
        would not, or would be too many.
    n_plucks_after_more : int or None
        Not told: so many plucks in all at the last count, and as many after some more revolutions, would tell in four
        cases of five whether the tension falls between them by the relevant size; None if that would be too many,
        or the scatter is not known.
    """

    state: LevelState
    level_since_revolutions: float | None = None
    largest_fall_share: float | None = None
    reason: NotToldReason | None = None
    n_more_plucks: int | None = None
    n_plucks_after_more: int | None = None


def levelling(
    revolutions: Sequence[float],
    means: Sequence[PluckMean],
    repeatability: Repeatability | None,
    relevant_share: float = RELEVANT_SHARE,
    significance: float = SIGNIFICANCE,
) -> Levelling:
    """Tell whether, and since when, the tension is level.

    Parameters
    ----------
    revolutions : sequence of float
        Counts since the over-tension pass, rising.
    means : sequence of PluckMean
        One for each count.
    repeatability : Repeatability or None
        Of a single pluck; None if it is not known.
    relevant_share : float
        The smallest fall, over the stretch at the end, that matters, above 0, below 1. [1]
    significance : float
        Above 0, below 0.5.

    Raises
    ------
    ValueError
        If a share is outside its range.

    Notes
    -----
    The fall over a stretch is the difference of the means at its ends: right for every way in which it may have
    fallen between, also all of it in the last revolution. A straight line through the stretch would make light of a
    fall at either end. The line is used only to object: to a stretch that falls, or rises, as a whole.
    """
    if not 0 < relevant_share < 1:
        raise ValueError(f"relevant share {relevant_share} is not above 0 and below 1")
    if not 0 < significance < 0.5:
        raise ValueError(f"significance {significance} is not above 0 and below 0.5")
    if any(mean.sample_scatter > _LARGEST_AGREEING_SCATTER for mean in means):
        return Levelling(LevelState.NOT_TOLD, reason=NotToldReason.DISAGREE)
    if len(means) < 2:
        return Levelling(LevelState.NOT_TOLD, reason=NotToldReason.ONE_COUNT)
    relevant = -math.log1p(-relevant_share)
    last_fall = stretch_fall(means[-2:], repeatability)
    largest = _largest_share(last_fall, significance)
    if repeatability is None:
        return Levelling(LevelState.NOT_TOLD, None, largest, NotToldReason.NO_REPEATS)
    in_doubt = Levelling(
        LevelState.NOT_TOLD,
        largest_fall_share=largest,
        n_plucks_after_more=_plucks_after_more(relevant, means, repeatability, significance),
    )
    if _rises(means, repeatability, significance):
        return replace(in_doubt, reason=NotToldReason.ROSE)
    if last_fall.probability_by_chance() < significance:
        return Levelling(LevelState.FALLING, largest_fall_share=largest)
    start = _level_start(revolutions, means, repeatability, relevant, significance)
    if start is None:
        more = _more_plucks(means, repeatability, relevant, significance)
        return replace(in_doubt, reason=NotToldReason.SCATTER, n_more_plucks=more)
    slope = fall_per_revolution(revolutions[start:], means[start:], repeatability)
    if slope.turned.probability_by_chance() < significance:
        return replace(in_doubt, reason=NotToldReason.ROSE)
    if _may_be_steady(revolutions, means, repeatability, start, significance):
        return replace(in_doubt, reason=NotToldReason.STEADY_FALL)
    level = _largest_share(stretch_fall(means[start:], repeatability), significance)
    return Levelling(LevelState.LEVEL, revolutions[start], level)


def stretch_fall(means: Sequence[PluckMean], repeatability: Repeatability | None) -> LogContrast:
    """Fall from the first to the last of some means, as a logarithm of their ratio; above 0 if it fell. [1].

    Parameters
    ----------
    means : sequence of PluckMean
        Two or more.
    repeatability : Repeatability or None
        Of a single pluck.
    """
    return contrast((1.0, -1.0), (means[0], means[-1]), repeatability)


def fall_per_revolution(
    revolutions: Sequence[float], means: Sequence[PluckMean], repeatability: Repeatability | None
) -> LogContrast:
    """Fall of the logarithm of the tension a revolution, by least squares over all plucks. [1].

    Parameters
    ----------
    revolutions : sequence of float
        Two or more, rising.
    means : sequence of PluckMean
        One for each count.
    repeatability : Repeatability or None
        Of a single pluck.
    """
    n = sum(mean.n_plucks for mean in means)
    middle = math.fsum(mean.n_plucks * x for x, mean in zip(revolutions, means, strict=True)) / n
    weighted = [mean.n_plucks * (x - middle) for x, mean in zip(revolutions, means, strict=True)]
    spread = math.fsum(w * (x - middle) for x, w in zip(revolutions, weighted, strict=True))
    return contrast([-w / spread for w in weighted], means, repeatability)


def _largest_share(fall: LogContrast, significance: float) -> float:
    return max(-math.expm1(-(fall.value + fall.reach(1 - significance))), 0.0)


def _rises(means: Sequence[PluckMean], repeatability: Repeatability, significance: float) -> bool:
    """Whether a step rises by more than chance explains, in as many chances as there are steps."""
    steps = [stretch_fall(pair, repeatability).turned for pair in pairwise(means)]
    return any(step.probability_by_chance() < significance / len(steps) for step in steps)


def _level_start(
    revolutions: Sequence[float],
    means: Sequence[PluckMean],
    repeatability: Repeatability,
    relevant: float,
    significance: float,
) -> int | None:
    """Place of the earliest count from which on nothing falls and a relevant fall would have shown.

    Backwards from the end, up to the first stretch that fails: in an order that was fixed before, tests may follow
    each other without costing any of the significance.
    """
    found = None
    for start in range(len(means) - 2, -1, -1):
        fall = stretch_fall(means[start:], repeatability)
        slope = fall_per_revolution(revolutions[start:], means[start:], repeatability)
        falls = min(fall.probability_by_chance(), slope.probability_by_chance()) < significance
        if falls or fall.value + fall.reach(1 - significance) >= relevant:
            break
        found = start
    return found


def _may_be_steady(
    revolutions: Sequence[float],
    means: Sequence[PluckMean],
    repeatability: Repeatability,
    start: int,
    significance: float,
) -> bool:
    """Whether a straight fall to the end explains the level stretch and the count before it as well.

    A fall that is slow enough stays below the relevant size over any short stretch; over a longer one it shows.
    """
    if start == 0:
        return False
    x, tail = revolutions[start - 1 :], means[start - 1 :]
    slope = fall_per_revolution(x, tail, repeatability)
    if slope.probability_by_chance() >= significance:
        return False
    n = np.array([mean.n_plucks for mean in tail])
    logs = np.array([mean.log_tension for mean in tail])
    about_line = logs + slope.value * np.array(x)
    about_line -= np.average(about_line, weights=n)
    about_level = logs[1:] - np.average(logs[1:], weights=n[1:])
    return float(n @ about_line**2) <= float(n[1:] @ about_level**2)


def _more_plucks(
    means: Sequence[PluckMean], repeatability: Repeatability, relevant: float, significance: float
) -> int | None:
    """Fewest plucks to add to the last count so that the last step is told to fall or not, as the means are."""
    fall = means[-2].log_tension - means[-1].log_tension
    for n_more in range(1, MOST_PLUCKS - means[-1].n_plucks + 1):
        per_pluck = 1 / means[-2].n_plucks + 1 / (means[-1].n_plucks + n_more)
        reach = _reach(repeatability, n_more, per_pluck, 1 - significance)
        if fall > reach or fall + reach < relevant:
            return n_more
    return None


def _plucks_after_more(
    relevant: float, means: Sequence[PluckMean], repeatability: Repeatability, significance: float
) -> int | None:
    """Fewest plucks at the last count and at a next one that show the relevant fall with `POWER`."""
    n_last = means[-1].n_plucks
    for n in range(max(2, n_last), MOST_PLUCKS + 1):
        n_new = 2 * n - n_last
        reach = _reach(repeatability, n_new - 1, 2 / n, 1 - significance)
        if reach + _reach(repeatability, n_new - 1, 2 / n, POWER) < relevant:
            return n
    return None


def _reach(repeatability: Repeatability, n_more: int, per_pluck: float, probability: float) -> float:
    quantile = float(scipy.special.stdtrit(repeatability.degrees_of_freedom + n_more, probability))
    return quantile * repeatability.scatter_share * math.sqrt(per_pluck)

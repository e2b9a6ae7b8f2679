"""The mean of repeated plucks of one span, and how far it can be trusted.

A set is averaged in frequency, and the tension computed from the mean frequency: the span length and the
linear density are the same for every pluck, so their uncertainty enters once and does not shrink with the
number of plucks, as it would if each pluck's tension were averaged.

Readings that stand apart (`tensionear.metrology.marks`) are left out of the mean and told. If a third or more stand
apart, or what is left does not agree, there is no mean: the average of different things is the value of none.
"""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from tensionear.metrology.marks import LARGEST_AGREEING_DIFFERENCE, Mark, marks_of
from tensionear.metrology.uncertainty import Measured, propagated

_CLEAR_GAP = 3.0
"""A gap between two halves of a set divides them if it is so many times as wide as the wider half."""


class Disagreement(StrEnum):
    """Why a set has no mean; the value is the word for it, for people and programs alike."""

    DIFFERENT = "the readings differ by more than 3 %"
    TWO_GROUPS = "the readings fall into two groups"
    MANY_APART = "a third or more of the readings stand apart"


@dataclass(frozen=True)
class SetStatistics:
    """What a set of readings says together.

    Attributes
    ----------
    n : int
        Readings in the set, the marked ones included.
    marks : tuple of Mark or None, one for each reading
        What is odd about a reading; a marked one is left out of the mean.
    mean : Measured or None
        Arithmetic mean of the readings that are not marked; None if the set does not agree.
    scatter : float or None
        Their sample standard deviation; None for a single reading or if the set does not agree.
    lowest, highest : float
        The outermost values of the whole set.
    disagreement : Disagreement or None
        Why there is no mean. Something other than chance moved the values then: another span answered, an
        octave, a belt still settling.
    """

    n: int
    marks: tuple[Mark | None, ...]
    mean: Measured | None
    scatter: float | None
    lowest: float
    highest: float
    disagreement: Disagreement | None = None

    @property
    def agree(self) -> bool:
        """Whether the readings that are not marked agree, and are enough to be believed."""
        return self.disagreement is None

    @property
    def n_in_mean(self) -> int:
        """How many readings the mean is formed of; 0 if there is none."""
        return self.n - sum(mark is not None for mark in self.marks) if self.agree else 0


def mean_of_set(readings: Sequence[Measured]) -> SetStatistics:
    """Average independent readings of one quantity, as far as they agree.

    Parameters
    ----------
    readings : sequence of Measured
        At least one, each above 0.

    Raises
    ------
    ValueError
        If there is none, or one is not above 0.

    Notes
    -----
    Two things tell the mean's uncertainty: the scatter of the values (Type A, scatter/sqrt(n) with n - 1
    degrees of freedom), and the readings' own uncertainties combined. The scatter already contains what
    caused the latter, so adding the two would count it twice; the one with the larger expanded uncertainty
    stands. Both are of the readings that are not marked.

    One reading in four may stand apart and the others are believed, one in three not: two against one are too
    few to say who is right. Values that do not agree are not repeated observations of one quantity, and no mean
    is formed of them.

    A single reading keeps its own uncertainty, which knows nothing of how plucks differ from each other.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 4.2.3 and G.3.
    """
    if not readings:
        raise ValueError("a set needs at least one reading")
    values = [reading.value for reading in readings]
    if min(values) <= 0.0:
        raise ValueError(f"a reading of {min(values)} is not above 0")
    marks = marks_of(readings)
    kept = [reading for reading, mark in zip(readings, marks, strict=True) if mark is None]
    disagreement = _disagreement([reading.value for reading in kept], len(readings))
    mean, scatter = (None, None) if disagreement is not None else _mean_and_scatter(kept)
    return SetStatistics(len(readings), marks, mean, scatter, min(values), max(values), disagreement)


def _disagreement(kept: Sequence[float], n: int) -> Disagreement | None:
    if 3 * (n - len(kept)) >= n:
        return Disagreement.MANY_APART
    if max(kept) - min(kept) > LARGEST_AGREEING_DIFFERENCE * statistics.fmean(kept):
        return Disagreement.DIFFERENT
    return Disagreement.TWO_GROUPS if _are_two_groups(sorted(kept)) else None


def _are_two_groups(kept: Sequence[float]) -> bool:
    """Whether two halves stand against each other; of unequal groups the smaller one is apart already."""
    half, odd = divmod(len(kept), 2)
    if half < 2 or odd:
        return False
    lower, upper = kept[:half], kept[half:]
    gap = upper[0] - lower[-1]
    widest = max(lower[-1] - lower[0], upper[-1] - upper[0])
    return gap > max(_CLEAR_GAP * widest, LARGEST_AGREEING_DIFFERENCE / 2 * statistics.fmean(kept))


def _mean_and_scatter(kept: Sequence[Measured]) -> tuple[Measured, float | None]:
    if len(kept) == 1:
        return kept[0], None
    values = [reading.value for reading in kept]
    scatter = statistics.stdev(values)
    from_scatter = Measured(statistics.fmean(values), scatter / math.sqrt(len(kept)), len(kept) - 1)
    from_readings = propagated(lambda *each: statistics.fmean(each), *kept)
    return max(from_scatter, from_readings, key=lambda measured: measured.expanded_uncertainty), scatter

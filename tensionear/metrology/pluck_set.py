"""The mean of repeated plucks of one span, and how far it can be trusted.

A set is averaged in frequency, and the tension computed from the mean frequency: the span length and the
linear density are the same for every pluck, so their uncertainty enters once and does not shrink with the
number of plucks, as it would if each pluck's tension were averaged.
"""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from tensionear.metrology.uncertainty import Measured, propagated

# 3 % of frequency is 6 % of tension: plucks of one span at rest scatter less (common practice, no source).
LARGEST_AGREEING_DIFFERENCE = 0.03


@dataclass(frozen=True)
class SetStatistics:
    """What a set of readings says together.

    Attributes
    ----------
    n : int
        Readings in the set.
    mean : Measured
        Their arithmetic mean.
    scatter : float or None
        Sample standard deviation of the values; None for a single reading.
    agree : bool
        Whether the values differ by no more than 3 % of their mean. If not, something other than chance
        moved them (another span answered, an octave, a belt still settling).
    """

    n: int
    mean: Measured
    scatter: float | None
    agree: bool


def mean_of_set(readings: Sequence[Measured]) -> SetStatistics:
    """Average independent readings of one quantity.

    Parameters
    ----------
    readings : sequence of Measured
        At least one.

    Raises
    ------
    ValueError
        If there is none.

    Notes
    -----
    Two things tell the mean's uncertainty: the scatter of the values (Type A, scatter/sqrt(n) with n - 1
    degrees of freedom), and the readings' own uncertainties combined. The scatter already contains what
    caused the latter, so adding the two would count it twice; the one with the larger expanded uncertainty
    stands.

    Values that do not agree are not repeated observations of one quantity, and averaging does not narrow
    them: then the scatter itself, not divided by sqrt(n), is the standard uncertainty.

    A single reading keeps its own uncertainty, which knows nothing of how plucks differ from each other.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 4.2.3 and G.3.
    """
    if not readings:
        raise ValueError("a set needs at least one reading")
    values = [reading.value for reading in readings]
    n = len(values)
    if n == 1:
        return SetStatistics(n=1, mean=readings[0], scatter=None, agree=True)
    mean = statistics.fmean(values)
    scatter = statistics.stdev(values)
    agree = max(values) - min(values) <= LARGEST_AGREEING_DIFFERENCE * abs(mean)
    from_scatter = Measured(mean, scatter / math.sqrt(n) if agree else scatter, n - 1)
    from_readings = propagated(lambda *each: statistics.fmean(each), *readings)
    larger = max(from_scatter, from_readings, key=lambda measured: measured.expanded_uncertainty)
    return SetStatistics(n=n, mean=larger, scatter=scatter, agree=agree)

"""Whether the spans of one drive at rest have the same tension, or whether the belt has not evened out.

At rest nothing drives the belt, and what friction and the teeth hold back evens out as the engine is turned. Spans
that differ by more than friction and uncertainty explain say: turn it over again, and read again.

References
----------
.. [1] M. G. Cox, "The evaluation of key comparison data", Metrologia 39 (2002) 589-595 (from memory):
   consistency of results by the chi-square of their weighted mean.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import scipy

from tensionear.metrology.uncertainty import (
    COVERAGE_PROBABILITY,
    RECTANGLE,
    Measured,
    coverage_factor,
)

IDLER_FRICTION = 0.03
"""Half-width of what a freely turning idler may hold back, as a share of the tension: common practice, no source.
[1]"""

LARGEST_USEFUL_DIFFERENCE = 0.15
"""If only spans that differ by more could be told apart, agreement says nothing (ours). [1]"""


@dataclass(frozen=True)
class SpanComparison:
    """What the tensions of several spans say together.

    Attributes
    ----------
    evened_out : bool
        Whether friction and uncertainty explain how much they differ.
    could_be_told : bool
        Whether an uneven belt would have shown: if not, `evened_out` is no more than a lack of proof.
    mean : float
        Weighted mean of the tensions. [their unit]
    chi_square : float
        Sum of the squared deviations from the mean, each over its variance; about one less than there are spans if
        they are even.
    probability : float
        That chance alone makes it as large, 0 to 1; below 0.05 the belt has not evened out.
    tightest, slackest : int
        Places of these two in the order given, from 0.
    largest_difference : float
        Between these two, as a share of the mean.
    least_visible_difference : float
        Of any two spans, what friction and uncertainty explain at most, with 95 % probability, as a share of the
        mean.
    """

    evened_out: bool
    could_be_told: bool
    mean: float
    chi_square: float
    probability: float
    tightest: int
    slackest: int
    largest_difference: float
    least_visible_difference: float

    def sentence(self) -> str:
        """What follows, in a sentence."""
        differ = f"the spans differ by {100 * self.largest_difference:.2g} %"
        explained = f"of {100 * self.least_visible_difference:.2g} %"
        if not self.evened_out:
            return (
                f"{differ}, more than friction and uncertainty explain: the belt has not evened out; "
                "turn the engine over again by hand, as the manufacturer's procedure says, and read again"
            )
        if not self.could_be_told:
            return f"{differ}, but a difference {explained} would not show: this says nothing of the belt"
        return f"{differ}, no more than friction and uncertainty explain; a difference {explained} would show"


def compare_spans(tensions: Sequence[Measured], friction: float = IDLER_FRICTION) -> SpanComparison:
    """Compare tensions of spans of one drive, read at rest.

    Parameters
    ----------
    tensions : sequence of Measured
        Two or more, above 0. What all have in common (the belt's linear density, its bending stiffness) belongs
        not into their uncertainties, as it moves all the same way.
    friction : float, 0 or more, below 1
        Half-width of what may be held back at each span, as a share of the tension.

    Raises
    ------
    ValueError
        If there are fewer than two, if one is not above 0, or if nothing at all may differ.

    Notes
    -----
    Each span gets the variance of its reading, with Student's t for few degrees of freedom, and that of the
    rectangular friction. The chi-square of the deviations from the weighted mean is judged at 5 %, [1]_.
    """
    if len(tensions) < 2:
        raise ValueError("a comparison needs two spans or more")
    values = np.array([each.value for each in tensions])
    if np.any(values <= 0):
        raise ValueError(f"tensions {values.tolist()} are not all above 0")
    # What a normal distribution of the same expanded uncertainty has: chi-square knows no degrees of freedom.
    spread = np.array([each.expanded_uncertainty for each in tensions]) / coverage_factor(math.inf)
    variances = spread**2 + (friction * values.mean() / RECTANGLE) ** 2
    if np.any(variances == 0):
        raise ValueError("without friction and uncertainty no two tensions are alike")
    mean = float(np.average(values, weights=1 / variances))
    chi_square = float(np.sum((values - mean) ** 2 / variances))
    probability = float(scipy.special.chdtrc(len(values) - 1, chi_square))
    tightest, slackest = int(np.argmax(values)), int(np.argmin(values))
    widest = max(math.sqrt(a + b) for a, b in combinations(variances.tolist(), 2))
    least_visible = coverage_factor(math.inf) * widest / mean
    return SpanComparison(
        probability >= 1 - COVERAGE_PROBABILITY,
        least_visible <= LARGEST_USEFUL_DIFFERENCE,
        mean,
        chi_square,
        probability,
        tightest,
        slackest,
        float(values[tightest] - values[slackest]) / mean,
        least_visible,
    )

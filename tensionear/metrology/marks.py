"""Which readings of a set stand apart from the others, and whether by a step between partials.

A mark is told beside its reading. It takes the reading out of the mean, never out of the set.

References
----------
.. [1] B. Iglewicz, D. C. Hoaglin, How to Detect and Handle Outliers, ASQC Basic References in Quality Control,
   vol. 16, 1993 (from memory): the distance from the median over 1.4826 times the median absolute deviation,
   suspect beyond 3.5.
.. [2] N. H. Fletcher, Normal vibration frequencies of a stiff piano string, J. Acoust. Soc. Am. 36, 1964, 203-209
   (from memory): partial n of a stiff string at n·f_0·√(1 + B·n²).
"""

import math
from collections.abc import Sequence
from enum import StrEnum
from statistics import median

from tensionear.metrology.uncertainty import Measured

LARGEST_AGREEING_DIFFERENCE = 0.03
"""Plucks of one span at rest differ by less; 3 % of frequency is 6 % of tension (common practice, no source). [1]"""

LARGEST_STRETCH = 0.025
"""B of a hinged span of stiffness ratio 20: π²/20². Few belts are stiffer (common practice, no source). [1]"""

_DEVIATION_TO_STANDARD = 1.4826
"""Standard deviation over median absolute deviation of normal values, [1]_."""

_CUT = 7.0
# Twice the 3.5 of [1]_, which is meant for larger samples: among three to seven values the median absolute
# deviation is often small by chance, and 3.5 marks one in every seven sets of normal scatter of 1 %.

_N_UNCERTAINTIES = 3.5
"""A reading is not apart by less than so many of its own standard uncertainties."""


class Mark(StrEnum):
    """What is odd about one reading of a set; the value is the word for it, for people and programs alike."""

    PARTIAL_2 = "partial 2 of the others' fundamental"
    PARTIAL_3 = "partial 3 of the others' fundamental"
    HALF = "half the others' fundamental"
    THIRD = "a third of the others' fundamental"
    THREE_HALVES = "three halves of the others' fundamental"
    TWO_THIRDS = "two thirds of the others' fundamental"
    APART = "apart from the others"


# A partial taken for another one: which the reading and which the others may have heard.
_SLIPS = {
    Mark.PARTIAL_2: (2, 1),
    Mark.PARTIAL_3: (3, 1),
    Mark.HALF: (1, 2),
    Mark.THIRD: (1, 3),
    Mark.THREE_HALVES: (3, 2),
    Mark.TWO_THIRDS: (2, 3),
}


def marks_of(readings: Sequence[Measured]) -> tuple[Mark | None, ...]:
    """Mark the readings that cannot be of one quantity with the others.

    Parameters
    ----------
    readings : sequence of Measured
        Above 0, any number of them.

    Returns
    -------
    tuple of Mark or None, one for each reading
        All None where no majority agrees, as among two readings: nobody knows then which of them is right.

    Notes
    -----
    Readings more than 3 % from the median do not agree with it; they are set aside first, lest they move the
    median to the edge of the others. A reading is apart if its distance from the median of the rest passes seven
    robust standard deviations [1]_ of the rest, where that limit is kept between 1.5 and 3 %: below, because in a
    small set readings may lie close together by chance, and a difference that small does little harm in the mean,
    whose uncertainty contains it. A reading is never apart by less than 3.5 of its own standard uncertainties.
    """
    values = [reading.value for reading in readings]
    if not values:
        return ()
    widest = LARGEST_AGREEING_DIFFERENCE * median(values)
    rest = [value for value in values if abs(value - median(values)) <= widest]
    if 2 * len(rest) <= len(values):
        return (None,) * len(values)
    middle = median(rest)
    spread = _DEVIATION_TO_STANDARD * median(abs(value - middle) for value in rest)
    limit = min(max(_CUT * spread, LARGEST_AGREEING_DIFFERENCE / 2.0 * middle), widest)
    apart = [
        abs(reading.value - middle) > max(limit, _N_UNCERTAINTIES * reading.standard_uncertainty)
        for reading in readings
    ]
    others = [value for value, is_apart in zip(values, apart, strict=True) if not is_apart]
    if 2 * len(others) <= len(values):
        return (None,) * len(values)
    return tuple(
        _mark(reading, median(others)) if is_apart else None
        for reading, is_apart in zip(readings, apart, strict=True)
    )


def _mark(reading: Measured, others: float) -> Mark:
    """Name the step between partials that leads from the others to a reading, if one does."""
    ratio = reading.value / others
    margin = 1.0 + LARGEST_AGREEING_DIFFERENCE + 2.0 * reading.standard_uncertainty / reading.value
    for mark, (reading_number, others_number) in _SLIPS.items():
        stretched = _partial_ratio(max(reading_number, others_number)) / _partial_ratio(
            min(reading_number, others_number)
        )
        step = stretched if reading_number > others_number else 1.0 / stretched
        whole = reading_number / others_number
        # Neither a partial taken for the fundamental nor one counted wrongly is ever stretched the other way
        # round, except where both of the numbers were counted wrongly: three halves and two thirds.
        bounds = [whole, step] if 1 in (reading_number, others_number) else [whole**2 / step, step]
        if min(bounds) / margin <= ratio <= max(bounds) * margin:
            return mark
    return Mark.APART


def _partial_ratio(number: int) -> float:
    """Partial over fundamental of the stiffest span, [2]_."""
    return number * math.sqrt((1.0 + LARGEST_STRETCH * number**2) / (1.0 + LARGEST_STRETCH))

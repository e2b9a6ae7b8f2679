"""Plucks of two readings of one recording, put side by side."""

from collections.abc import Sequence

from tensionear.job.pluck_document import ReadingDocument, RefusalDocument
from tensionear.metrology.uncertainty import Measured

_Outcome = ReadingDocument | RefusalDocument

SAME_MOMENT_S = 0.1
"""Onsets that lie nearer to each other are of one pluck. [s]"""


def fundamental_of(outcome: _Outcome | None) -> Measured | None:
    """Fundamental [Hz]; None of a refusal, and of nothing."""
    if not isinstance(outcome, ReadingDocument):
        return None
    return Measured(outcome.fundamental_hz, outcome.fundamental_standard_uncertainty_hz)


def paired(
    before: Sequence[_Outcome], after: Sequence[_Outcome]
) -> list[tuple[_Outcome | None, _Outcome | None]]:
    """Find for each pluck the one of the other reading that began at the same moment; None where there is none.

    Parameters
    ----------
    before, after : sequence of ReadingDocument or RefusalDocument
        In the order of time.
    """
    pairs: list[tuple[_Outcome | None, _Outcome | None]] = []
    one, other = 0, 0
    while one < len(before) or other < len(after):
        gap_s = (
            after[other].at_s - before[one].at_s
            if one < len(before) and other < len(after)
            else float("inf")
            if one < len(before)
            else float("-inf")
        )
        first = before[one] if gap_s >= -SAME_MOMENT_S else None
        second = after[other] if gap_s <= SAME_MOMENT_S else None
        one, other = one + (first is not None), other + (second is not None)
        pairs.append((first, second))
    return pairs

"""The history of a vehicle or a setup as it is drawn: one quantity for all passes, so that they can be compared."""

import math
from collections.abc import Sequence

from tensionear.belt.band import BandUnit
from tensionear.belt.comparison import ComparedQuantity
from tensionear.history_picture import HistoryPass, TensionHistory
from tensionear.job.archive.history import HistoryLine
from tensionear.tension_axes import Band, Mean


def tension_history(lines: Sequence[HistoryLine], title: str) -> TensionHistory:
    """Take what can be drawn of a history.

    If the same quantity was compared in all passes, it is that quantity, with the limits of each pass. Else it is the
    static tension, corrected for stiffness where that is known, or the fundamental frequency where no span is known;
    limits stand only where that very quantity was compared.

    Parameters
    ----------
    lines : sequence of HistoryLine
        A pass without a value in that quantity is left out, such as a run-in.
    title : str
        Whose history it is.
    """
    quantity = _quantity(lines)
    unit = BandUnit.HERTZ if quantity is ComparedQuantity.FREQUENCY else BandUnit.NEWTON
    passes = tuple(
        HistoryPass(
            each.ended_at,
            each.job_number,
            each.kind.value,
            mean,
            _band(each) if each.compared_quantity is quantity else None,
            each.is_demonstration,
        )
        for each in lines
        if (mean := _mean(each, quantity)) is not None
    )
    name = "static tension" if quantity is ComparedQuantity.CORRECTED_TENSION else quantity.value
    return TensionHistory(passes, title, name, str(unit))


def _quantity(lines: Sequence[HistoryLine]) -> ComparedQuantity:
    compared = {each.compared_quantity for each in lines if each.compared is not None}
    only = compared.pop() if len(compared) == 1 else None
    if only is not None:
        return only
    has_tension = any(each.tension_n is not None for each in lines)
    return ComparedQuantity.CORRECTED_TENSION if has_tension else ComparedQuantity.FREQUENCY


def _mean(each: HistoryLine, quantity: ComparedQuantity) -> Mean | None:
    if each.compared_quantity is quantity:
        value, uncertainty = each.compared, each.compared_expanded_uncertainty
    elif quantity is ComparedQuantity.FREQUENCY:
        value, uncertainty = each.fundamental_hz, each.fundamental_expanded_uncertainty_hz
    elif quantity is ComparedQuantity.CORRECTED_TENSION:
        value, uncertainty = each.tension_n, each.tension_expanded_uncertainty_n
    else:
        return None
    return None if value is None or uncertainty is None else Mean(value, uncertainty)


def _band(each: HistoryLine) -> Band | None:
    if each.single_value is not None:
        return Band(each.single_value, each.single_value)
    if each.lower is None and each.upper is None:
        return None
    return Band(
        -math.inf if each.lower is None else each.lower, math.inf if each.upper is None else each.upper
    )

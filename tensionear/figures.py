"""Figures as people read them."""

import math
from decimal import Decimal

from tensionear.metrology.uncertainty import RECTANGLE

_MOST_DECIMALS = 3


def with_uncertainty(value: float, expanded_uncertainty: float, unit: str) -> str:
    """Write a value with its expanded uncertainty, both to the uncertainty's second significant digit.

    Parameters
    ----------
    value, expanded_uncertainty : float
        In `unit`.
    unit : str
        Symbol of the unit.
    """
    shown_value, shown_uncertainty = value_and_uncertainty(value, expanded_uncertainty)
    return f"{shown_value} ± {shown_uncertainty} {unit}" if shown_uncertainty else f"{shown_value} {unit}"


def value_and_uncertainty(value: float, expanded_uncertainty: float) -> tuple[str, str]:
    """Write a value and its expanded uncertainty for two columns, rounded as `with_uncertainty` does.

    Parameters
    ----------
    value, expanded_uncertainty : float
        In one unit.

    Returns
    -------
    str, str
        The second is empty if there is no uncertainty.
    """
    if expanded_uncertainty <= 0.0:
        return f"{value:g}", ""
    shown = max(expanded_uncertainty, 10.0**-_MOST_DECIMALS)
    n_decimals = min(max(1 - math.floor(math.log10(shown)), 0), _MOST_DECIMALS)
    return f"{value:.{n_decimals}f}", f"{shown:.{n_decimals}f}"


def half_width(value: float, standard_uncertainty: float, per_si: float, unit: str) -> str:
    """Write a value in a workshop unit with the limits that it surely lies between.

    Parameters
    ----------
    value, standard_uncertainty : float
        [SI unit]
    per_si : float
        How many of `unit` make one SI unit.
    unit : str
        Symbol of the workshop unit.
    """
    within = standard_uncertainty * RECTANGLE * per_si
    return f"{value * per_si:g} {unit} (within {within:.3g} {unit})"


def significant(value: float, n_figures: int) -> str:
    """Write a value to so many significant figures at most, never in powers of ten."""
    return f"{Decimal(f'{value:.{n_figures}g}'):f}"

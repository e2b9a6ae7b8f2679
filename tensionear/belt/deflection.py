"""Tension of a span that is pushed in at its middle, and how far it gives under a tension.

Conventions: SI units; the force acts square to the span, at its middle, and the deflection is measured there
from where the belt was at rest. It is small (a tenth of the span at most), so that it leaves the tension as it is.
"""

import math

import scipy

from tensionear.belt.limits import require_positive
from tensionear.errors import InputError

LARGEST_DEFLECTION_PER_SPAN = 0.1
"""Beyond this the push itself stretches the belt: common practice, no source."""


def deflection_under_force(
    force_n: float,
    tension_n: float,
    span_length_m: float,
    bending_stiffness_n_m2: float = 0.0,
    end_fixity: float = 0.0,
) -> float:
    """How far the middle of a span gives under a force. [m].

    Parameters
    ----------
    force_n : float
        At mid-span, above 0. [N]
    tension_n : float
        Static tension, above 0. [N]
    span_length_m : float
        Free length, above 0. [m]
    bending_stiffness_n_m2 : float, 0 or more
        0 is a flexible span. [N m²]
    end_fixity : float, 0 (pinned) to 1 (clamped)
        As in `tensionear.belt.stiff_span`. [1]

    Raises
    ------
    InputError
        If an argument is outside its range.

    Notes
    -----
    d = F·L/(4·T)·(1 - (1 - c)·tanh(ξ/2)/(ξ/2) - c·tanh(ξ/4)/(ξ/4)) with ξ = L·√(T/EI): the static bending line of
    a tensioned beam between hinges (c = 0) and clamps (c = 1); the effect of end moments is linear, and c is the
    share of the clamps' moment that springs of fixity e take up, c = e·t/(1 - e + e·t) with t = tanh(ξ/2).
    Derived here; for pinned and clamped ends it is in handbooks of stress and strain (from memory).
    """
    for quantity, value, symbol in (
        ("force", force_n, "N"),
        ("tension", tension_n, "N"),
        ("span length", span_length_m, "m"),
    ):
        require_positive(quantity, value, symbol)
    _require_stiffness(bending_stiffness_n_m2, end_fixity)
    flexible_m = force_n * span_length_m / (4.0 * tension_n)
    return flexible_m * _share_left(tension_n, span_length_m, bending_stiffness_n_m2, end_fixity)


def tension_of_deflection(
    force_n: float,
    deflection_m: float,
    span_length_m: float,
    bending_stiffness_n_m2: float = 0.0,
    end_fixity: float = 0.0,
) -> float:
    """Tension of a span whose middle gives by `deflection_m`; inverse of `deflection_under_force`. [N].

    Parameters
    ----------
    force_n : float
        At mid-span, above 0. [N]
    deflection_m : float
        Above 0, a tenth of the span at most. [m]
    span_length_m, bending_stiffness_n_m2, end_fixity
        As for `deflection_under_force`.

    Raises
    ------
    InputError
        If an argument is outside its range, or the belt's stiffness alone holds the force so well that no
        tension is left.

    Notes
    -----
    For a flexible span T = F·L/(4·d).
    """
    for quantity, value, symbol in (
        ("force", force_n, "N"),
        ("deflection", deflection_m, "m"),
        ("span length", span_length_m, "m"),
    ):
        require_positive(quantity, value, symbol)
    _require_stiffness(bending_stiffness_n_m2, end_fixity)
    if deflection_m > LARGEST_DEFLECTION_PER_SPAN * span_length_m:
        raise InputError(
            f"deflection {1000 * deflection_m:g} mm is more than {LARGEST_DEFLECTION_PER_SPAN:.0%} of the span length"
            f" {1000 * span_length_m:g} mm: was it entered in another unit?"
        )
    flexible_n = force_n * span_length_m / (4.0 * deflection_m)
    if bending_stiffness_n_m2 == 0:
        return flexible_n

    def left_over(tension_n: float) -> float:
        share = _share_left(tension_n, span_length_m, bending_stiffness_n_m2, end_fixity)
        return flexible_n * share / tension_n - 1.0

    # Stiffness only helps the tension, so that the flexible tension is the highest; a hundredth of it is nothing.
    lowest_n = 0.01 * flexible_n
    if left_over(lowest_n) <= 0:
        raise InputError(
            f"a bending stiffness of {bending_stiffness_n_m2:g} N m² alone would let the middle give by less than"
            f" {1000 * deflection_m:g} mm under {force_n:g} N: are force, deflection and stiffness right?"
        )
    return float(scipy.optimize.brentq(left_over, lowest_n, flexible_n, xtol=1e-12, rtol=1e-13))


def _share_left(tension_n: float, span_length_m: float, stiffness_n_m2: float, end_fixity: float) -> float:
    """Deflection over that of a flexible span."""
    if stiffness_n_m2 == 0:
        return 1.0
    xi = span_length_m * math.sqrt(tension_n / stiffness_n_m2)
    hinge = math.tanh(xi / 2.0)
    clamp_share = end_fixity * hinge / (1.0 - end_fixity + end_fixity * hinge)
    return 1.0 - (1.0 - clamp_share) * hinge / (xi / 2.0) - clamp_share * math.tanh(xi / 4.0) / (xi / 4.0)


def _require_stiffness(bending_stiffness_n_m2: float, end_fixity: float) -> None:
    if not (math.isfinite(bending_stiffness_n_m2) and bending_stiffness_n_m2 >= 0):
        raise InputError(
            f"bending stiffness {bending_stiffness_n_m2:g} N m² is not a finite number of 0 or more:"
            " was a minus sign entered by mistake?"
        )
    if not 0 <= end_fixity <= 1:
        raise InputError(
            f"end fixity {end_fixity:g} is not from 0 (pinned) to 1 (clamped): was it in per cent?"
        )

"""How often a decision goes wrong over many values, of which it is known how they are distributed.

References
----------
.. [1] JCGM 106:2012, 9.5: global consumer's and producer's risk, formulas 17 to 20.
"""

import math
from dataclasses import dataclass
from typing import Protocol, SupportsFloat

import scipy


class KnownDistribution(Protocol):
    """A frozen distribution of `scipy.stats`, as far as it is used here."""

    def pdf(self, x: float, /) -> SupportsFloat:
        """Probability density."""

    def ppf(self, q: float, /) -> SupportsFloat:
        """Value with this probability below it."""

    def isf(self, q: float, /) -> SupportsFloat:
        """Value with this probability above it."""


@dataclass(frozen=True)
class GlobalRisks:
    """Shares of all values that are judged.

    Attributes
    ----------
    consumers : float
        Out of band, and yet accepted.
    producers : float
        In band, and yet not accepted.
    """

    consumers: float
    producers: float


def global_risks(
    prior: KnownDistribution,
    standard_uncertainty: float,
    band: tuple[float, float],
    acceptance: tuple[float, float],
) -> GlobalRisks:
    """Consumer's and producer's risk of accepting what is measured within an interval.

    Parameters
    ----------
    prior : frozen distribution of `scipy.stats`
        How the true values are distributed.
    standard_uncertainty : float
        Of the measurement, whose errors are normal; above 0, in the values' unit.
    band : tuple of float
        Lower and upper limit of what is permitted; either may be infinite.
    acceptance : tuple of float
        Lower and upper limit of the measured value for acceptance: the band for simple acceptance, the band less
        the guard bands for guarded acceptance.
    """

    def joint(true_value: float, accepted: bool) -> float:
        below = [
            float(scipy.special.ndtr((limit - true_value) / standard_uncertainty)) for limit in acceptance
        ]
        share = below[1] - below[0]
        return float(prior.pdf(true_value)) * (share if accepted else 1 - share)

    # quad would miss a narrow flank on an infinite range; beyond these nothing is left to be found.
    foot, top = float(prior.ppf(1e-12)), float(prior.isf(1e-12))

    def integral(start: float, end: float, accepted: bool) -> float:
        start, end = max(start, foot), min(end, top)
        if start >= end:
            return 0.0
        reach = 8 * standard_uncertainty
        near = [limit + side for limit in acceptance if math.isfinite(limit) for side in (-reach, 0, reach)]
        breaks = [point for point in near if start < point < end]
        return float(
            scipy.integrate.quad(joint, start, end, args=(accepted,), points=breaks or None, limit=200)[0]
        )

    return GlobalRisks(
        integral(-math.inf, band[0], True) + integral(band[1], math.inf, True),
        integral(band[0], band[1], False),
    )

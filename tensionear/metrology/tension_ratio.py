"""Ratios of tensions of one span, from sets of plucks: what all of them have in common cancels.

Conventions: tensions in newtons, compared by their natural logarithms, so that a difference is a ratio and scatter a
share of the tension. The uncertainty of a pluck is its own part alone: span length, density and stiffness move every
tension of the span by the same share and have no place in a ratio. Every pluck counts the same.

Two things tell how far a mean may be off, as in `tensionear.metrology.pluck_set`: how plucks at one setting scatter,
pooled over all sets, and what each reading says of itself. Whichever reaches further stands.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

import scipy

from tensionear.metrology.uncertainty import COVERAGE_PROBABILITY, Measured


@dataclass(frozen=True)
class Repeatability:
    """How plucks of one span at one setting scatter.

    Attributes
    ----------
    scatter_share : float
        Standard deviation of a single pluck's tension, as a share of the tension, 0 or more. [1]
    degrees_of_freedom : int
        How well it is known: plucks less sets, 1 or more.
    """

    scatter_share: float
    degrees_of_freedom: int


@dataclass(frozen=True)
class PluckMean:
    """Mean of the plucks at one setting, in the logarithm of the tension.

    Attributes
    ----------
    log_tension : float
        Natural logarithm of the geometric mean in newtons.
    n_plucks : int
        1 or more.
    own_variance : float
        Of the mean, by what the readings say of themselves. [1]
    own_degrees_of_freedom : float
        Of `own_variance`.
    squared_deviations : float
        Sum over the plucks, about their mean. [1]
    """

    log_tension: float
    n_plucks: int
    own_variance: float
    own_degrees_of_freedom: float
    squared_deviations: float

    @property
    def sample_scatter(self) -> float:
        """Sample standard deviation of the plucks, 0 of a single one. [1]."""
        return math.sqrt(self.squared_deviations / (self.n_plucks - 1)) if self.n_plucks > 1 else 0.0

    @classmethod
    def of(cls, plucks: Sequence[Measured]) -> Self:
        """Average plucks.

        Parameters
        ----------
        plucks : sequence of Measured
            Tensions of at least one pluck, above 0, without what all have in common. [N]

        Raises
        ------
        ValueError
            If there is none, or one is not above 0.
        """
        if not plucks:
            raise ValueError("a mean needs at least one pluck")
        if min(pluck.value for pluck in plucks) <= 0:
            raise ValueError(f"tensions {[pluck.value for pluck in plucks]} are not all above 0")
        n = len(plucks)
        logs = [math.log(pluck.value) for pluck in plucks]
        mean = math.fsum(logs) / n
        variances = [(pluck.standard_uncertainty / pluck.value / n) ** 2 for pluck in plucks]
        degrees = effective_degrees(variances, [pluck.degrees_of_freedom for pluck in plucks])
        return cls(mean, n, math.fsum(variances), degrees, math.fsum((log - mean) ** 2 for log in logs))

    @property
    def tension_n(self) -> float:
        """Geometric mean of the plucks. [N]."""
        return math.exp(self.log_tension)


def repeatability_of(means: Sequence[PluckMean]) -> Repeatability | None:
    """Pool the scatter of all sets; None if nowhere was plucked twice.

    Parameters
    ----------
    means : sequence of PluckMean
        All sets of one span.
    """
    degrees = sum(mean.n_plucks - 1 for mean in means)
    if not degrees:
        return None
    return Repeatability(math.sqrt(math.fsum(mean.squared_deviations for mean in means) / degrees), degrees)


@dataclass(frozen=True)
class LogContrast:
    """A weighted sum of logarithms of tensions, such as the difference of two, with both its uncertainties.

    Attributes
    ----------
    by_scatter : Measured or None
        With the uncertainty that repeated plucks show; None without repeats.
    by_readings : Measured
        With the uncertainty that the readings say themselves.
    """

    by_scatter: Measured | None
    by_readings: Measured

    @property
    def value(self) -> float:
        """The sum. [1]."""
        return self.by_readings.value

    @property
    def measured(self) -> Measured:
        """With the uncertainty that reaches further."""
        return max(self._each(), key=lambda measured: measured.expanded_uncertainty)

    @property
    def turned(self) -> "LogContrast":
        """With the other sign."""
        return LogContrast(
            _negative(self.by_scatter) if self.by_scatter else None, _negative(self.by_readings)
        )

    def reach(self, probability: float = (1 + COVERAGE_PROBABILITY) / 2) -> float:
        """How far above the value the true one lies at most, with a one-sided probability. [1].

        Parameters
        ----------
        probability : float
            Above 0.5, below 1.
        """
        return max(
            float(scipy.special.stdtrit(each.degrees_of_freedom, probability)) * each.standard_uncertainty
            for each in self._each()
        )

    def probability_by_chance(self) -> float:
        """Probability that chance makes the value as large as it is, or larger, where the true one is 0. [1]."""
        return max(_tail(each) for each in self._each())

    def _each(self) -> list[Measured]:
        return [each for each in (self.by_scatter, self.by_readings) if each is not None]


def contrast(
    coefficients: Sequence[float], means: Sequence[PluckMean], repeatability: Repeatability | None
) -> LogContrast:
    """Weigh logarithms of mean tensions and add them up.

    Parameters
    ----------
    coefficients : sequence of float
        One for each mean.
    means : sequence of PluckMean
        Independent of each other.
    repeatability : Repeatability or None
        Of a single pluck.
    """
    pairs = list(zip(coefficients, means, strict=True))
    value = math.fsum(c * mean.log_tension for c, mean in pairs)
    own = [c**2 * mean.own_variance for c, mean in pairs]
    degrees = effective_degrees(own, [mean.own_degrees_of_freedom for mean in means])
    by_readings = Measured(value, math.sqrt(math.fsum(own)), degrees)
    if repeatability is None:
        return LogContrast(None, by_readings)
    spread = repeatability.scatter_share * math.sqrt(math.fsum(c**2 / mean.n_plucks for c, mean in pairs))
    return LogContrast(Measured(value, spread, repeatability.degrees_of_freedom), by_readings)


def effective_degrees(variances: Sequence[float], degrees: Sequence[float]) -> float:
    """Degrees of freedom of a sum of independent variances, by Welch and Satterthwaite (JCGM 100:2008, G.4.1).

    Parameters
    ----------
    variances, degrees : sequence of float
        As many of one as of the other.
    """
    limiting = math.fsum(v**2 / nu for v, nu in zip(variances, degrees, strict=True))
    return math.fsum(variances) ** 2 / limiting if limiting else math.inf


def _negative(measured: Measured) -> Measured:
    return Measured(-measured.value, measured.standard_uncertainty, measured.degrees_of_freedom)


def _tail(measured: Measured) -> float:
    if measured.standard_uncertainty == 0:
        return float(measured.value <= 0)
    return float(
        scipy.special.stdtr(measured.degrees_of_freedom, -measured.value / measured.standard_uncertainty)
    )

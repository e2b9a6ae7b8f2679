"""Changes between two settings of one span, and where a tension stands between its limits.

Conventions: tensions in newtons; a fall is above 0, a rise below. What all tensions of the span have in common is
told as a share: it cancels in per cent, widens newtons, and counts against limits.
"""

import math
from dataclasses import dataclass

from tensionear.metrology.decision import GUARDED, Decision, DecisionRule, decide
from tensionear.metrology.tension_ratio import PluckMean, Repeatability, contrast, effective_degrees
from tensionear.metrology.uncertainty import COVERAGE_PROBABILITY, Measured


@dataclass(frozen=True)
class SettingPlucks:
    """Plucks of a final setting or of a re-check.

    Attributes
    ----------
    tensions : tuple of Measured
        One or more, above 0, each with its own uncertainty alone. [N]
    decision : Decision or None
        The conformity decision that was told of them; None to have it made from the tensions. One pass has one
        verdict, and the pass's own may rest on more than is known here.
    """

    tensions: tuple[Measured, ...]
    decision: Decision | None = None


@dataclass(frozen=True)
class TensionLimits:
    """Limits that the final setting and re-checks are compared with.

    Attributes
    ----------
    lower_n, upper_n : float
        As tensions of this span, permitted themselves; one of them may be infinite. [N]
    common_share : float
        Standard uncertainty of a tension over a limit beyond the plucks' own, as a share: that of the common part if
        the limits are given as a force, 0 if they are given as a frequency of this span. [1]
    decision_rule : DecisionRule
        By what is decided.
    """

    lower_n: float
    upper_n: float
    common_share: float
    decision_rule: DecisionRule = GUARDED


@dataclass(frozen=True)
class TensionFall:
    """How far the tension fell between two settings of one span.

    Attributes
    ----------
    fall_percent : Measured
        Of the earlier tension; below 0 if it rose. [%]
    fall_n : Measured
        The same in newtons, with what is not known of the span. [N]
    probability : float
        That chance alone makes them differ so much, either way, 0 to 1.
    """

    fall_percent: Measured
    fall_n: Measured
    probability: float

    @property
    def is_significant(self) -> bool:
        """Whether chance makes them differ so much in less than five cases of a hundred."""
        return self.probability < 1 - COVERAGE_PROBABILITY


@dataclass(frozen=True)
class LimitMargin:
    """Where a tension lies between its limits.

    Attributes
    ----------
    above_lower_percent : Measured or None
        How far above the lower limit, of that limit; None if there is none. [%]
    below_upper_percent : Measured or None
        How far below the upper limit, of that limit; None if there is none. [%]
    decision : Decision
        On the conformity.
    """

    above_lower_percent: Measured | None
    below_upper_percent: Measured | None
    decision: Decision


@dataclass(frozen=True)
class ReCheck:
    """What a re-check says against the final setting.

    Attributes
    ----------
    fall : TensionFall
        Since the final setting.
    margin : LimitMargin or None
        None without limits.
    approaches_lower : bool
        Whether the tension fell significantly, so that the margin to a lower limit that there is became smaller.
    """

    fall: TensionFall
    margin: LimitMargin | None
    approaches_lower: bool


def fall_between(
    earlier: PluckMean, later: PluckMean, repeatability: Repeatability | None, common_share: float
) -> TensionFall:
    """Fall of the tension between two settings.

    Parameters
    ----------
    earlier, later : PluckMean
        Their plucks.
    repeatability : Repeatability or None
        Of a single pluck.
    common_share : float
        Standard uncertainty of what both tensions have in common, as a share. [1]
    """
    log_fall = contrast((1.0, -1.0), (earlier, later), repeatability)
    measured = log_fall.measured
    rest = math.exp(-measured.value)
    fall_n = earlier.tension_n - later.tension_n
    own = math.hypot(
        *(_log_mean(mean, repeatability).standard_uncertainty * mean.tension_n for mean in (earlier, later))
    )
    common = common_share * fall_n
    degrees = effective_degrees([own**2, common**2], [measured.degrees_of_freedom, math.inf])
    chance = 2 * min(log_fall.probability_by_chance(), log_fall.turned.probability_by_chance())
    return TensionFall(
        Measured(100 * (1 - rest), 100 * rest * measured.standard_uncertainty, measured.degrees_of_freedom),
        Measured(fall_n, math.hypot(own, common), degrees),
        min(chance, 1.0),
    )


def margin_of(
    mean: PluckMean,
    repeatability: Repeatability | None,
    limits: TensionLimits,
    *,
    log_fall: Measured | None = None,
    decision: Decision | None = None,
) -> LimitMargin:
    """Where a tension stands between its limits.

    Parameters
    ----------
    mean : PluckMean
        Its plucks.
    repeatability : Repeatability or None
        Of a single pluck.
    limits : TensionLimits
        To be compared with.
    log_fall : Measured, optional
        By which the logarithm of the tension is to have fallen. [1]
    decision : Decision, optional
        If it is made already.
    """
    parts = [_log_mean(mean, repeatability), Measured(0.0, limits.common_share)]
    if log_fall is not None:
        parts.append(Measured(-log_fall.value, log_fall.standard_uncertainty, log_fall.degrees_of_freedom))
    variances = [part.standard_uncertainty**2 for part in parts]
    degrees = effective_degrees(variances, [part.degrees_of_freedom for part in parts])
    tension_n = _exponential(
        Measured(math.fsum(part.value for part in parts), math.sqrt(math.fsum(variances)), degrees)
    )
    if decision is None:
        decision = decide(tension_n, limits.lower_n, limits.upper_n, limits.decision_rule)
    above = scaled(tension_n, 100 / limits.lower_n, -100.0) if 0 < limits.lower_n < math.inf else None
    below = scaled(tension_n, -100 / limits.upper_n, 100.0) if limits.upper_n < math.inf else None
    return LimitMargin(above, below, decision)


def recheck_against(
    final: PluckMean,
    later: PluckMean,
    repeatability: Repeatability | None,
    common_share: float,
    limits: TensionLimits | None,
    decision: Decision | None = None,
) -> ReCheck:
    """What a re-check says against the final setting.

    Parameters
    ----------
    final, later : PluckMean
        Plucks of the final setting and of the re-check.
    repeatability : Repeatability or None
        Of a single pluck.
    common_share : float
        As for `fall_between`. [1]
    limits : TensionLimits or None
        To be compared with.
    decision : Decision, optional
        If it is made already.
    """
    fall = fall_between(final, later, repeatability, common_share)
    margin = margin_of(later, repeatability, limits, decision=decision) if limits else None
    has_lower = margin is not None and margin.above_lower_percent is not None
    return ReCheck(fall, margin, has_lower and fall.is_significant and fall.fall_percent.value > 0)


def mean_tension(mean: PluckMean, repeatability: Repeatability | None) -> Measured:
    """Mean of the plucks at one setting, without what all have in common. [N].

    Parameters
    ----------
    mean : PluckMean
        The plucks.
    repeatability : Repeatability or None
        Of a single pluck.
    """
    return _exponential(_log_mean(mean, repeatability))


def scaled(measured: Measured, factor: float, offset: float = 0.0) -> Measured:
    """A measured value by a factor, and moved, both known exactly.

    Parameters
    ----------
    measured : Measured
        The value.
    factor, offset : float
        `offset` is in the result's unit.
    """
    return Measured(
        offset + factor * measured.value,
        abs(factor) * measured.standard_uncertainty,
        measured.degrees_of_freedom,
    )


def _log_mean(mean: PluckMean, repeatability: Repeatability | None) -> Measured:
    return contrast((1.0,), (mean,), repeatability).measured


def _exponential(log_tension: Measured) -> Measured:
    return scaled(
        Measured(1.0, log_tension.standard_uncertainty, log_tension.degrees_of_freedom),
        math.exp(log_tension.value),
    )

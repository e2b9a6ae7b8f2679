"""How the tension of a belt went from the over-tension pass through the run-in to the final setting and after.

Three kinds of change are kept apart: what the belt settles while the engine is turned by hand (the run-in), what the
tensioner is moved between run-in and final setting (no settlement), and what changes with time from the final
setting to a re-check.

Conventions: tensions in newtons; a pluck comes with the part of its uncertainty that is its own, and without those
that stand apart in its set (`tensionear.metrology.marks`). What all tensions of the span have in common is told once,
as a share: it cancels in per cent, widens newtons, and counts against limits. A fall is above 0, a rise below.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tensionear.metrology.levelling import (
    RELEVANT_SHARE,
    SIGNIFICANCE,
    Levelling,
    LevelState,
    NotToldReason,
    fall_per_revolution,
    levelling,
)
from tensionear.metrology.settling_law import FurtherFall, NoForecast, further_fall
from tensionear.metrology.tension_change import (
    LimitMargin,
    ReCheck,
    SettingPlucks,
    TensionFall,
    TensionLimits,
    fall_between,
    margin_of,
    mean_tension,
    recheck_against,
    scaled,
)
from tensionear.metrology.tension_ratio import PluckMean, Repeatability, effective_degrees, repeatability_of
from tensionear.metrology.uncertainty import Measured


@dataclass(frozen=True)
class CountedPlucks:
    """Plucks at one count of revolutions.

    Attributes
    ----------
    revolutions : float
        Turned since the over-tension pass, all together, 0 or more; 0 is the over-tension pass itself.
    tensions : tuple of Measured
        One or more, above 0, each with its own uncertainty alone. [N]
    """

    revolutions: float
    tensions: tuple[Measured, ...]


@dataclass(frozen=True)
class RunIn:
    """How the tension went from over-tension to the last re-check.

    Attributes
    ----------
    revolutions : tuple of float
        Counts at which was plucked, rising.
    mean_tensions_n : tuple of Measured
        At each count, without what all have in common. [N]
    repeatability : Repeatability or None
        How plucks scatter, from all sets together; None if nowhere was plucked twice: then only the readings' own
        uncertainty is in all that follows.
    fall : TensionFall or None
        From the first count to the last; None with fewer than two counts, or if plucks at one count do not agree.
    per_revolution_percent : Measured or None
        Fall a revolution over the last stretch: the level one, or else from the last count but one; of the tension
        there. [%]
    per_revolution_n : Measured or None
        The same in newtons. [N]
    stretch_start_revolutions : float or None
        Where the last stretch begins.
    levelling : Levelling
        Whether the tension has levelled off.
    further : FurtherFall or NoForecast
        What as many revolutions again would bring, or why it cannot be told.
    final_tension_n : Measured or None
        Mean of the final setting, without what all have in common; None if it is not made yet. [N]
    by_setting : TensionFall or None
        From the last count to the final setting, where the tensioner was moved: no settlement.
    final_margin : LimitMargin or None
        Of the final setting; None without it or without limits.
    final_margin_after_further : LimitMargin or None
        The same, were the final tension to fall by the share of the further fall.
    rechecks : tuple of ReCheck
        In their order.
    """

    revolutions: tuple[float, ...]
    mean_tensions_n: tuple[Measured, ...]
    repeatability: Repeatability | None
    fall: TensionFall | None
    per_revolution_percent: Measured | None
    per_revolution_n: Measured | None
    stretch_start_revolutions: float | None
    levelling: Levelling
    further: FurtherFall | NoForecast
    final_tension_n: Measured | None
    by_setting: TensionFall | None
    final_margin: LimitMargin | None
    final_margin_after_further: LimitMargin | None
    rechecks: tuple[ReCheck, ...]


def judge_run_in(
    counted: Sequence[CountedPlucks],
    final: SettingPlucks | None = None,
    rechecks: Sequence[SettingPlucks] = (),
    *,
    common_share: float,
    limits: TensionLimits | None = None,
    relevant_share: float = RELEVANT_SHARE,
    significance: float = SIGNIFICANCE,
) -> RunIn:
    """Say how far the tension fell in run-in, whether it is level, and where it stands since.

    Parameters
    ----------
    counted : sequence of CountedPlucks
        In any order; plucks at the same count are taken together. May be empty.
    final : SettingPlucks, optional
        Of the final setting; None if it is not made yet.
    rechecks : sequence of SettingPlucks
        Of each re-check; only after a final setting.
    common_share : float
        Standard uncertainty of what all tensions have in common (span length, linear density, stiffness), as a
        share of the tension, 0 or more. [1]
    limits : TensionLimits, optional
        That final setting and re-checks are compared with.
    relevant_share : float
        As for `tensionear.metrology.levelling.levelling`.
    significance : float
        The same.

    Raises
    ------
    ValueError
        If a number is outside its range, a set is empty, or there are re-checks without a final setting.
    """
    if not 0 <= common_share < math.inf:
        raise ValueError(f"common share {common_share} is not finite and 0 or more")
    if rechecks and final is None:
        raise ValueError("a re-check needs a final setting before it")
    revolutions, means = _merged(counted)
    final_mean = PluckMean.of(final.tensions) if final else None
    later = [PluckMean.of(recheck.tensions) for recheck in rechecks]
    repeatability = repeatability_of([*means, *([final_mean] if final_mean else []), *later])
    level = levelling(revolutions, means, repeatability, relevant_share, significance)
    agree = level.reason is not NotToldReason.DISAGREE
    further = further_fall(revolutions, means, repeatability, significance) if agree else NoForecast.DISAGREE
    start = _stretch_start(revolutions, level)
    is_told = agree and len(means) > 1
    slope = fall_per_revolution(revolutions[start:], means[start:], repeatability) if is_told else None
    by_setting = margin = after = None
    if final and final_mean:
        if means and agree:
            by_setting = fall_between(means[-1], final_mean, repeatability, common_share)
        if limits:
            margin = margin_of(final_mean, repeatability, limits, decision=final.decision)
            if isinstance(further, FurtherFall):
                after = margin_of(final_mean, repeatability, limits, log_fall=further.log_fall)
    return RunIn(
        tuple(revolutions),
        tuple(mean_tension(mean, repeatability) for mean in means),
        repeatability,
        fall_between(means[0], means[-1], repeatability, common_share) if is_told else None,
        scaled(slope.measured, 100.0) if slope else None,
        _per_revolution_n(slope.measured, means[-1].tension_n, common_share) if slope else None,
        revolutions[start] if slope else None,
        level,
        further,
        mean_tension(final_mean, repeatability) if final_mean else None,
        by_setting,
        margin,
        after,
        tuple(
            recheck_against(final_mean, mean, repeatability, common_share, limits, each.decision)
            for mean, each in zip(later, rechecks, strict=True)
            if final_mean
        ),
    )


def _merged(counted: Sequence[CountedPlucks]) -> tuple[list[float], list[PluckMean]]:
    by_count: dict[float, list[Measured]] = {}
    for each in counted:
        if not 0 <= each.revolutions < math.inf:
            raise ValueError(f"revolutions {each.revolutions} are not finite and 0 or more")
        by_count.setdefault(float(each.revolutions), []).extend(each.tensions)
    revolutions = sorted(by_count)
    return revolutions, [PluckMean.of(by_count[count]) for count in revolutions]


def _stretch_start(revolutions: Sequence[float], level: Levelling) -> int:
    if level.state is LevelState.LEVEL and level.level_since_revolutions is not None:
        return revolutions.index(level.level_since_revolutions)
    return len(revolutions) - 2


def _per_revolution_n(slope: Measured, tension_n: float, common_share: float) -> Measured:
    own, common = slope.standard_uncertainty * tension_n, common_share * slope.value * tension_n
    degrees = effective_degrees([own**2, common**2], [slope.degrees_of_freedom, math.inf])
    return Measured(slope.value * tension_n, math.hypot(own, common), degrees)

import math
from collections import Counter
from collections.abc import Sequence

import numpy as np
import pytest
from scipy import stats

from tensionear.metrology.levelling import (
    Levelling,
    LevelState,
    NotToldReason,
    fall_per_revolution,
    levelling,
    stretch_fall,
)
from tensionear.metrology.tension_ratio import PluckMean, Repeatability, repeatability_of
from tensionear.metrology.uncertainty import Measured

COUNTS = [0.0, 2.0, 4.0, 6.0, 8.0, 10.0]
RELEVANT = -math.log(0.99)


def plucked(tension_n: float, n: int = 3, scatter_share: float = 0.003) -> PluckMean:
    """Plucks about a tension with exactly this scatter."""
    steps = np.linspace(-1, 1, n) if n > 1 else np.zeros(1)
    logs = steps * (scatter_share / steps.std(ddof=1) if n > 1 else 0)
    return PluckMean.of([Measured(float(tension), 0.4) for tension in tension_n * np.exp(logs)])


def judged(tensions_n: Sequence[float], n: int = 3, scatter_share: float = 0.003) -> Levelling:
    means = [plucked(tension, n, scatter_share) for tension in tensions_n]
    return levelling(COUNTS[: len(means)], means, repeatability_of(means))


def shares(
    falls: Sequence[float], scatter: float, n_plucks: int, seed: int, n_trials: int = 1000
) -> Counter[str]:
    """How often which answer is given of a belt whose tension fell by these logarithms."""
    rng = np.random.default_rng(seed)
    told: Counter[str] = Counter()
    for _ in range(n_trials):
        drawn = 400 * np.exp(rng.normal(0, scatter, (len(falls), n_plucks)) - np.array(falls)[:, None])
        means = [PluckMean.of([Measured(float(t), 0.4) for t in each]) for each in drawn]
        answer = levelling(COUNTS[: len(falls)], means, repeatability_of(means))
        told[answer.state] += 1
        told[f"since {answer.level_since_revolutions}"] += 1
    return told


def most(n_trials: int = 1000) -> float:
    """Five of a hundred, and four standard deviations of the count."""
    return n_trials * 0.05 + 4 * math.sqrt(n_trials * 0.05 * 0.95)


def test_a_belt_that_settled_is_level_since_the_count_at_which_it_stopped() -> None:
    told = judged([500, 440, 410, 396, 396.2, 395.8])
    assert told.state is LevelState.LEVEL
    assert told.level_since_revolutions == 6
    assert told.reason is None
    # By hand: ln(396/395.8) = 0.051 %, and 1.782 (Student, 12 degrees, 95 % one-sided) · 0.3 % · √(2/3) = 0.437 %.
    assert told.largest_fall_share == pytest.approx(0.00487, abs=0.00002)


def test_a_belt_that_never_fell_is_level_from_the_start() -> None:
    assert judged([400, 400.2, 399.9, 400.1]).level_since_revolutions == 0


def test_a_fall_between_the_last_counts_is_still_falling() -> None:
    told = judged([500, 440, 410, 400, 396])
    assert told.state is LevelState.FALLING
    assert told.level_since_revolutions is None
    assert told.largest_fall_share == pytest.approx(1 - 0.99 * math.exp(-0.00441), abs=0.0002)


def test_few_plucks_that_look_level_are_no_proof() -> None:
    told = judged([500, 440, 410, 396, 395, 394.5], n=2, scatter_share=0.008)
    assert told.state is LevelState.NOT_TOLD
    assert told.reason is NotToldReason.SCATTER
    assert told.largest_fall_share is not None
    assert told.largest_fall_share > 0.01


def test_more_plucks_that_are_advised_would_tell_and_one_fewer_would_not() -> None:
    tensions = [500, 440, 396, 395.6]
    told = judged(tensions, n=2, scatter_share=0.0045)
    assert told.reason is NotToldReason.SCATTER
    assert told.n_more_plucks is not None
    before = [plucked(tension, 2, 0.0045) for tension in tensions[:-1]]
    answers = []
    for n_more in (told.n_more_plucks, told.n_more_plucks - 1):
        # The same pooled scatter with as many degrees of freedom as the plucks then have.
        means = [*before, plucked(tensions[-1], 2 + n_more, 0.0045)]
        degrees = sum(mean.n_plucks - 1 for mean in means)
        answers.append(levelling(COUNTS[:4], means, Repeatability(0.0045, degrees)).state)
    assert answers == [LevelState.LEVEL, LevelState.NOT_TOLD]


def test_plucks_advised_after_more_revolutions_show_a_relevant_fall_four_times_in_five() -> None:
    told = judged([500, 440, 396, 392.5], n=2, scatter_share=0.008)
    n = told.n_plucks_after_more
    assert n is not None
    rng = np.random.default_rng(8)
    first, second = rng.normal(0, 0.008, (4000, n)), rng.normal(-RELEVANT, 0.008, (4000, n))
    shown = stats.ttest_ind(first, second, axis=1, alternative="greater").pvalue < 0.05
    # Four degrees of freedom of the earlier counts more than this test has; it falls a little short of them.
    assert 0.75 < shown.mean() < 0.87


def test_plucks_that_scatter_too_much_lead_to_no_advice() -> None:
    told = judged([500, 440, 396, 395], n=2, scatter_share=0.03)
    assert told.reason is NotToldReason.SCATTER
    assert told.n_more_plucks is None
    assert told.n_plucks_after_more is None


def test_single_plucks_tell_nothing_of_levelling() -> None:
    told = judged([500, 440, 396, 396], n=1)
    assert told.state is LevelState.NOT_TOLD
    assert told.reason is NotToldReason.NO_REPEATS


def test_a_scatter_known_from_elsewhere_serves_single_plucks() -> None:
    means = [plucked(tension, 1) for tension in (500, 440, 396, 396)]
    assert levelling(COUNTS[:4], means, Repeatability(0.002, 10)).level_since_revolutions == 4


@pytest.mark.parametrize("tensions", [[], [400]])
def test_fewer_than_two_counts_tell_nothing(tensions: list[float]) -> None:
    assert judged(tensions) == Levelling(LevelState.NOT_TOLD, reason=NotToldReason.ONE_COUNT)


def test_a_rise_between_two_counts_is_no_settling() -> None:
    told = judged([500, 440, 396, 404, 396, 396])
    assert told.reason is NotToldReason.ROSE


def test_a_slow_rise_is_no_settling_either() -> None:
    # No step of 0.35 % stands out by itself, their sum does.
    told = judged([400 * math.exp(0.0035 * step) for step in range(6)])
    assert told.reason is NotToldReason.ROSE


def test_a_slow_steady_fall_is_not_called_level() -> None:
    told = judged([400 * math.exp(-0.0035 * step) for step in range(6)])
    assert told.reason is NotToldReason.STEADY_FALL


@pytest.mark.parametrize(("scatter", "n_plucks"), [(0.002, 2), (0.005, 2), (0.005, 4)])
@pytest.mark.parametrize(
    "falls",
    [[0, 0.12, 0.17, 0.2, 0.2, 0.2], [0, 0, 0, 0, 0, 0], [0.1, 0.1]],
    ids=["settled", "never fell", "two"],
)
def test_a_level_belt_is_called_falling_in_no_more_than_five_cases_of_a_hundred(
    falls: list[float], scatter: float, n_plucks: int
) -> None:
    assert shares(falls, scatter, n_plucks, seed=2)[LevelState.FALLING] < most()


@pytest.mark.parametrize(("scatter", "n_plucks"), [(0.003, 2), (0.005, 2), (0.005, 4)])
@pytest.mark.parametrize(
    "falls",
    [[0, 0, 0, 0, 0, RELEVANT], [0, 0.1, 0.1, 0.1, 0.1, 0.1 + RELEVANT], [0.1, 0.1 + RELEVANT]],
    ids=["fell only at the end", "fell, rested, fell", "two"],
)
def test_a_belt_that_still_falls_by_the_relevant_size_is_called_level_in_no_more_than_five_cases_of_a_hundred(
    falls: list[float], scatter: float, n_plucks: int
) -> None:
    # The hardest falls for it: all in the last step, so that every stretch falls by just the relevant size.
    assert shares(falls, scatter, n_plucks, seed=3)[LevelState.LEVEL] < most()


def test_level_is_said_too_early_in_no_more_than_five_cases_of_a_hundred() -> None:
    # From the second count on it falls by the relevant size, and is level from the fourth.
    told = shares(
        [0, 0.2, 0.2 + RELEVANT / 2, 0.2 + RELEVANT, 0.2 + RELEVANT, 0.2 + RELEVANT], 0.004, 3, seed=4
    )
    assert told["since 0.0"] + told["since 2.0"] < most()
    assert told[LevelState.LEVEL] > 650


def test_good_plucks_find_a_level_belt_level() -> None:
    told = shares([0, 0.12, 0.17, 0.2, 0.2, 0.2], 0.003, 3, seed=5)
    assert told["since 6.0"] > 0.8 * 1000


def test_fall_of_a_stretch_is_that_between_its_ends() -> None:
    means = [plucked(tension) for tension in (400, 100, 380)]
    assert stretch_fall(means, None).value == pytest.approx(math.log(400 / 380))


def test_intervals_of_fall_and_settlement_hold_the_truth_in_95_cases_of_a_hundred() -> None:
    rng = np.random.default_rng(9)
    n_trials, held_fall, held_slope = 2000, 0, 0
    for _ in range(n_trials):
        drawn = 400 * np.exp(rng.normal(0, 0.005, (4, 3)) - 0.01 * np.array(COUNTS[:4])[:, None])
        means = [PluckMean.of([Measured(float(t), 0.4) for t in each]) for each in drawn]
        fall = stretch_fall(means, repeatability_of(means)).measured
        slope = fall_per_revolution(COUNTS[:4], means, repeatability_of(means)).measured
        held_fall += abs(fall.value - 0.06) <= fall.expanded_uncertainty
        held_slope += abs(slope.value - 0.01) <= slope.expanded_uncertainty
    four_deviations = 4 * math.sqrt(0.05 * 0.95 / n_trials)
    assert held_fall / n_trials == pytest.approx(0.95, abs=four_deviations)
    assert held_slope / n_trials == pytest.approx(0.95, abs=four_deviations)


@pytest.mark.parametrize(
    ("given", "message"),
    [({"relevant_share": 0.0}, "relevant share 0.0"), ({"significance": 0.5}, "significance 0.5")],
)
def test_shares_outside_their_range_are_refused(given: dict[str, float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        levelling(COUNTS[:2], [plucked(400), plucked(390)], None, **given)

import math

import numpy as np
import pytest
from scipy import stats

from tensionear.metrology.levelling import fall_per_revolution, stretch_fall
from tensionear.metrology.tension_ratio import (
    PluckMean,
    Repeatability,
    contrast,
    effective_degrees,
    repeatability_of,
)
from tensionear.metrology.uncertainty import Measured


def plucked(*tensions_n: float, own_n: float = 0.0) -> PluckMean:
    return PluckMean.of([Measured(tension, own_n) for tension in tensions_n])


def test_common_factors_cancel_in_a_ratio() -> None:
    means = [plucked(400, 402), plucked(350, 351)]
    longer = [plucked(440, 442.2), plucked(385, 386.1)]
    first, second = (stretch_fall(each, repeatability_of(each)).measured for each in (means, longer))
    assert first.value == pytest.approx(second.value)
    assert first.standard_uncertainty == pytest.approx(second.standard_uncertainty)


def test_scatter_is_pooled_as_by_hand() -> None:
    # By hand, in shares: ±1 % about 100, and -1, 0, +1 % about 200: (2 + 2)/(1 + 2) (0.01)² with 3 degrees.
    sets = [
        plucked(100 * math.exp(0.01), 100 * math.exp(-0.01)),
        plucked(*(200 * math.exp(x) for x in (-0.01, 0, 0.01))),
    ]
    found = repeatability_of(sets)
    assert found is not None
    assert found.scatter_share == pytest.approx(0.01 * math.sqrt(4 / 3))
    assert found.degrees_of_freedom == 3


def test_without_repeats_there_is_no_repeatability() -> None:
    means = [plucked(400, own_n=1), plucked(350, own_n=1)]
    assert repeatability_of(means) is None
    fall = stretch_fall(means, None)
    assert fall.by_scatter is None
    assert fall.measured.standard_uncertainty == pytest.approx(math.hypot(1 / 400, 1 / 350))


def test_difference_of_two_sets_is_that_of_a_two_sample_t_test() -> None:
    rng = np.random.default_rng(5)
    first, second = 400 * np.exp(rng.normal(0, 0.004, 5)), 398 * np.exp(rng.normal(0, 0.004, 3))
    means = [plucked(*first), plucked(*second)]
    fall = stretch_fall(means, repeatability_of(means))
    independent = stats.ttest_ind(np.log(first), np.log(second), alternative="greater")
    assert fall.probability_by_chance() == pytest.approx(float(independent.pvalue))
    two_sided = stats.ttest_ind(np.log(first), np.log(second)).confidence_interval(0.95)
    assert fall.value - fall.reach() == pytest.approx(float(two_sided.low))
    assert fall.value + fall.measured.expanded_uncertainty == pytest.approx(float(two_sided.high))


def test_fall_per_revolution_is_the_slope_of_a_regression_over_all_plucks() -> None:
    rng = np.random.default_rng(6)
    counts, n_plucks = [0.0, 2.0, 5.0, 6.0], [3, 1, 4, 2]
    sets = [400 * np.exp(-0.01 * x + rng.normal(0, 0.004, n)) for x, n in zip(counts, n_plucks, strict=True)]
    means = [plucked(*each) for each in sets]
    slope = fall_per_revolution(counts, means, repeatability_of(means))
    x = np.repeat(counts, n_plucks)
    independent = stats.linregress(x, np.log(np.concatenate(sets)))
    assert slope.value == pytest.approx(-independent.slope)
    # The uncertainty by a linear model with a mean for each count, whose residual is the pooled scatter.
    residual = np.concatenate([np.log(each) - np.log(each).mean() for each in sets])
    scatter = math.sqrt(float(residual @ residual) / (len(x) - 4))
    assert slope.by_scatter is not None
    assert slope.by_scatter.standard_uncertainty == pytest.approx(
        scatter / math.sqrt(((x - x.mean()) ** 2).sum())
    )
    assert slope.by_scatter.degrees_of_freedom == 6


def test_a_slope_and_its_uncertainty_are_those_of_a_published_example() -> None:
    # The thermometer of JCGM 100:2008 (GUM), H.3, table H.6, as the documentation of the package GTC carries it. The
    # GUM's results (slope 0.00218, standard uncertainty 0.00067, residual scatter 0.0035) are from memory and agree
    # with SciPy's regression below. A scatter that is given takes the place of the pooled one.
    t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
    b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
    means = [plucked(math.exp(each)) for each in b]
    slope = fall_per_revolution(t, means, Repeatability(0.0035, 9)).turned
    independent = stats.linregress(t, b)
    assert slope.value == pytest.approx(independent.slope)
    assert slope.value == pytest.approx(0.00218, abs=0.000005)
    assert slope.measured.standard_uncertainty == pytest.approx(0.00067, abs=0.000005)
    assert slope.measured.standard_uncertainty == pytest.approx(independent.stderr, rel=0.01)


def test_the_uncertainty_that_reaches_further_stands() -> None:
    means = [plucked(400, 401, own_n=4), plucked(390, 391, own_n=4)]
    own = stretch_fall(means, repeatability_of(means))
    assert own.measured == own.by_readings
    assert own.reach(0.95) == pytest.approx(1.645 * own.by_readings.standard_uncertainty, rel=1e-3)
    # Two plucks: one degree of freedom for each set, so that k is 4.30 and the smaller scatter reaches further.
    means = [plucked(400, 404, own_n=2), plucked(390, 394, own_n=2)]
    scattered = stretch_fall(means, repeatability_of(means))
    assert scattered.measured == scattered.by_scatter


@pytest.mark.parametrize("n_plucks", [2, 3])
@pytest.mark.parametrize("own_share", [0.0, 0.002, 0.004])
def test_chance_is_called_a_fall_in_no_more_than_five_cases_of_a_hundred(
    n_plucks: int, own_share: float
) -> None:
    rng = np.random.default_rng(n_plucks)
    n_trials, n_called = 2000, 0
    for _ in range(n_trials):
        means = [
            plucked(*each, own_n=400 * own_share)
            for each in 400 * np.exp(rng.normal(0, 0.004, (2, n_plucks)))
        ]
        n_called += stretch_fall(means, repeatability_of(means)).probability_by_chance() < 0.05
    four_deviations = 4 * math.sqrt(0.05 * 0.95 / n_trials)
    assert n_called / n_trials < 0.05 + four_deviations
    assert n_called / n_trials > (0.05 - four_deviations if own_share == 0 else 0.01)


def test_what_is_known_exactly_is_told_apart_without_doubt() -> None:
    higher = contrast((1.0, -1.0), [plucked(400), plucked(399)], None)
    assert higher.probability_by_chance() == 0
    assert higher.turned.probability_by_chance() == 1
    assert contrast((1.0, -1.0), [plucked(400), plucked(400)], None).probability_by_chance() == 1


def test_effective_degrees_are_those_of_welch_and_satterthwaite() -> None:
    # Two equal variances: degrees add up; one known exactly: (1 + 1)²/(1/ν).
    assert effective_degrees([1, 1], [4, 4]) == pytest.approx(8)
    assert effective_degrees([1, 1], [4, math.inf]) == pytest.approx(16)
    assert math.isinf(effective_degrees([1, 1], [math.inf, math.inf]))


@pytest.mark.parametrize(
    ("tensions", "message"), [([], "at least one pluck"), ([Measured(-1, 0)], "not all above 0")]
)
def test_what_cannot_be_averaged_is_refused(tensions: list[Measured], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        PluckMean.of(tensions)

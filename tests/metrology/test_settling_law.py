import math
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import curve_fit

from tensionear.metrology.settling_law import FurtherFall, NoForecast, SettlingLaw, further_fall
from tensionear.metrology.tension_ratio import PluckMean, Repeatability, repeatability_of
from tensionear.metrology.uncertainty import Measured

COUNTS = np.array([0.0, 2, 4, 6, 8, 10])
Fall = Callable[[NDArray[np.float64]], NDArray[np.float64]]


def to_plateau(r: float) -> Fall:
    return lambda x: 0.2 * (1 - np.exp(-x / r))


def logarithm(r: float) -> Fall:
    return lambda x: 0.06 * np.log1p(x / r)


def plucked(fall: Fall, scatter: float, rng: np.random.Generator, n: int = 3) -> list[PluckMean]:
    drawn = 400 * np.exp(rng.normal(0, scatter, (len(COUNTS), n)) - fall(COUNTS)[:, None])
    return [PluckMean.of([Measured(float(tension), 0.2) for tension in each]) for each in drawn]


def foretold(means: list[PluckMean]) -> FurtherFall:
    further = further_fall(COUNTS.tolist(), means, repeatability_of(means))
    assert isinstance(further, FurtherFall)
    return further


@pytest.mark.parametrize(
    ("fall", "law"), [(to_plateau(4), SettlingLaw.PLATEAU), (logarithm(1), SettlingLaw.LOGARITHM)]
)
def test_good_plucks_tell_the_law_and_what_it_brings(fall: Fall, law: SettlingLaw) -> None:
    further = foretold(plucked(fall, 0.001, np.random.default_rng(1), n=5))
    assert further.law is law
    assert further.revolutions == 10
    true = float((fall(np.array([20.0])) - fall(np.array([10.0])))[0])
    assert further.log_fall.value == pytest.approx(true, abs=further.log_fall.expanded_uncertainty)
    assert further.log_fall.expanded_uncertainty < 0.005
    assert further.fall_share.value == pytest.approx(1 - math.exp(-further.log_fall.value))


def test_forecast_agrees_with_a_least_squares_fit_by_scipy() -> None:
    means = plucked(to_plateau(4), 0.001, np.random.default_rng(2), n=5)
    logs = np.array([mean.log_tension for mean in means])

    def curve(x: NDArray[np.float64], a: float, b: float, r: float) -> NDArray[np.float64]:
        return a + b * np.exp(-x / r)

    found = curve_fit(curve, COUNTS, logs, p0=(5.8, 0.2, 3.0))[0]
    independent = float(curve(np.array([10.0]), *found)[0] - curve(np.array([20.0]), *found)[0])
    further = foretold(means).log_fall
    assert further.value == pytest.approx(independent, abs=0.3 * further.standard_uncertainty)


@pytest.mark.parametrize("scatter", [0.002, 0.006])
@pytest.mark.parametrize(
    "fall", [to_plateau(2), to_plateau(4), to_plateau(8), logarithm(0.3), logarithm(1), logarithm(4)]
)
def test_interval_of_the_forecast_holds_the_truth_in_95_cases_of_a_hundred_or_more(
    fall: Fall, scatter: float
) -> None:
    rng = np.random.default_rng(3)
    true = float((fall(np.array([20.0])) - fall(np.array([10.0])))[0])
    n_told = n_held = 0
    for _ in range(300):
        means = plucked(fall, scatter, rng)
        further = further_fall(COUNTS.tolist(), means, repeatability_of(means))
        if isinstance(further, FurtherFall):
            n_told += 1
            n_held += abs(further.log_fall.value - true) <= further.log_fall.expanded_uncertainty
    assert n_told > 200
    assert n_held / n_told > 0.95 - 4 * math.sqrt(0.05 * 0.95 / n_told)


def test_probability_of_the_laws_is_that_of_an_integral_over_all_their_numbers() -> None:
    # With a scatter that is known: the likelihood summed over level, fall so far and r, ln r equally likely.
    scatter = 0.006
    drawn = plucked(to_plateau(6), 0.001, np.random.default_rng(10))
    means = [
        PluckMean(mean.log_tension, 3, scatter**2 / 3, math.inf, mean.squared_deviations) for mean in drawn
    ]
    logs = np.array([mean.log_tension for mean in means])
    level = np.linspace(-0.03, 0.03, 61)[:, None, None] + logs[0]
    fall = np.linspace(0.08, 0.28, 121)[None, :, None]

    def evidence(shape: Fall, shortest: float) -> float:
        likelihoods = []
        for r in np.geomspace(shortest, 30, 200):
            curve = shape(COUNTS / r) / shape(np.array([10 / r]))
            chi_squares = 3 * ((logs - level + fall * curve) ** 2).sum(axis=2) / scatter**2
            likelihoods.append(float(np.exp(-chi_squares / 2).sum()))
        return float(np.mean(likelihoods))

    plateau, slowing = evidence(lambda z: 1 - np.exp(-z), 2 / 5), evidence(np.log1p, 2 / 50)
    further = foretold(means)
    assert 0.2 < further.plateau_probability < 0.8
    assert further.plateau_probability == pytest.approx(plateau / (plateau + slowing), abs=0.002)


def test_plucks_that_cannot_tell_the_laws_apart_name_none_and_cover_both() -> None:
    further = foretold(plucked(to_plateau(8), 0.004, np.random.default_rng(4)))
    assert further.law is None
    assert 0.1 < further.plateau_probability < 0.9
    reached = further.log_fall.value - further.log_fall.expanded_uncertainty
    assert reached < 0.041 < further.log_fall.value + further.log_fall.expanded_uncertainty


def test_a_law_that_the_plucks_contradict_is_not_used() -> None:
    # Level, then a sudden fall: neither law does that.
    means = plucked(lambda x: np.where(x < 6, 0.0, 0.1), 0.002, np.random.default_rng(5))
    assert further_fall(COUNTS.tolist(), means, repeatability_of(means)) is NoForecast.NO_LAW


def test_laws_that_hold_are_rejected_in_about_five_cases_of_a_hundred() -> None:
    rng = np.random.default_rng(6)
    n_rejected = 0
    for _ in range(600):
        means = plucked(to_plateau(3), 0.002, rng)
        n_rejected += further_fall(COUNTS.tolist(), means, repeatability_of(means)) is NoForecast.NO_LAW
    assert n_rejected / 600 == pytest.approx(0.05, abs=4 * math.sqrt(0.05 * 0.95 / 600))


def test_readings_less_sure_than_they_scatter_widen_the_forecast() -> None:
    exact = plucked(to_plateau(4), 0.001, np.random.default_rng(7))
    unsure = [
        PluckMean(mean.log_tension, mean.n_plucks, 0.01**2 / mean.n_plucks, math.inf, mean.squared_deviations)
        for mean in exact
    ]
    wide = foretold(unsure)
    assert math.isinf(wide.log_fall.degrees_of_freedom)
    assert wide.log_fall.expanded_uncertainty > 3 * foretold(exact).log_fall.expanded_uncertainty


@pytest.mark.parametrize(
    ("tensions", "scatter", "reason"),
    [
        ([400, 380, 370], 0.002, NoForecast.FEW_COUNTS),
        ([400, 400.5, 399.9, 400.2], 0.002, NoForecast.NO_FALL),
        ([400, 380, 370, 366], None, NoForecast.NO_REPEATS),
        ([400, 380, 370, 366], 0.0, NoForecast.NO_REPEATS),
        ([400, 396, 392, 388], 0.003, NoForecast.TOO_UNSURE),
    ],
)
def test_what_cannot_be_foretold_says_why(
    tensions: list[float], scatter: float | None, reason: NoForecast
) -> None:
    means = [PluckMean(math.log(tension), 3, 0.0, math.inf, 0.0) for tension in tensions]
    n_degrees = 1 if reason is NoForecast.TOO_UNSURE else 8
    repeatability = None if scatter is None else Repeatability(scatter, n_degrees)
    assert further_fall(COUNTS[: len(means)].tolist(), means, repeatability) is reason

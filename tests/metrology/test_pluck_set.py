import math
from collections.abc import Callable

import numpy as np
import pytest

from tensionear.belt.tension import static_tension
from tensionear.metrology.decision import Verdict, decide
from tensionear.metrology.pluck_set import mean_of_set
from tensionear.metrology.uncertainty import Measured, propagated


def readings(*values: float, standard_uncertainty: float = 0.0) -> list[Measured]:
    return [Measured(value, standard_uncertainty) for value in values]


# GUM H.2, table H.2: five simultaneous observations of voltage [V], current [A] and phase [rad].
VOLTAGE = (5.007, 4.994, 5.005, 4.990, 4.999)
CURRENT = (0.019663, 0.019639, 0.019640, 0.019685, 0.019678)
PHASE = (1.0456, 1.0438, 1.0468, 1.0428, 1.0433)


@pytest.mark.parametrize(
    ("quantity", "mean", "standard_uncertainty"),
    [
        (lambda v, i, phi: v / i * math.cos(phi), 127.732, 0.071),
        (lambda v, i, phi: v / i * math.sin(phi), 219.847, 0.295),
        (lambda v, i, _: v / i, 254.260, 0.236),
    ],
    ids=["resistance", "reactance", "impedance"],
)
def test_impedance_of_the_gum(
    quantity: Callable[[float, float, float], float], mean: float, standard_uncertainty: float
) -> None:
    # GUM H.2.4, second approach: each set of observations gives one value, the five values are averaged.
    statistics = mean_of_set(
        readings(*(quantity(v, i, phi) for v, i, phi in zip(VOLTAGE, CURRENT, PHASE, strict=True)))
    )
    assert statistics.n == 5
    assert statistics.mean.value == pytest.approx(mean, abs=0.0015)
    assert statistics.mean.standard_uncertainty == pytest.approx(standard_uncertainty, abs=0.0006)
    assert statistics.mean.degrees_of_freedom == 4


def test_one_reading_stands_for_itself() -> None:
    reading = Measured(119, 0.05, 40)
    statistics = mean_of_set([reading])
    assert (statistics.n, statistics.mean, statistics.scatter) == (1, reading, None)


def test_two_readings_get_the_large_factor_that_two_deserve() -> None:
    statistics = mean_of_set(readings(119.0, 119.4, standard_uncertainty=0.01))
    assert statistics.scatter == pytest.approx(0.4 / math.sqrt(2))
    assert statistics.mean.expanded_uncertainty == pytest.approx(12.706 * 0.2, rel=1e-4)


def test_readings_that_agree_better_than_they_are_known_are_not_believed_more() -> None:
    statistics = mean_of_set(readings(119.00, 119.01, 119.00, 119.01, standard_uncertainty=0.2))
    assert statistics.mean.standard_uncertainty == pytest.approx(0.1, rel=1e-9)
    assert statistics.mean.degrees_of_freedom == math.inf


def test_identical_readings_keep_their_own_uncertainty() -> None:
    statistics = mean_of_set(readings(119, 119, 119, 119, standard_uncertainty=0.2))
    assert statistics.scatter == 0
    assert statistics.mean.standard_uncertainty == pytest.approx(0.1, rel=1e-9)


def test_noise_that_shows_in_the_scatter_is_not_counted_twice() -> None:
    values = (118.7, 119.1, 119.3, 118.9)
    bare = mean_of_set(readings(*values)).mean
    noisy = mean_of_set(readings(*values, standard_uncertainty=0.25)).mean
    assert noisy == bare


@pytest.mark.parametrize(("between_plucks_hz", "of_reading_hz"), [(0.3, 0.05), (0.0, 0.2), (0.2, 0.2)])
@pytest.mark.parametrize("n_plucks", [2, 3, 5, 10])
def test_interval_of_the_mean_holds_the_truth_as_often_as_promised(
    n_plucks: int, between_plucks_hz: float, of_reading_hz: float
) -> None:
    rng = np.random.default_rng([n_plucks, int(1000 * between_plucks_hz)])
    spread_hz = math.hypot(between_plucks_hz, of_reading_hz)
    n_trials = 1500
    n_held = 0
    for drawn in rng.normal(119, spread_hz, (n_trials, n_plucks)):
        mean = mean_of_set(readings(*drawn.tolist(), standard_uncertainty=of_reading_hz)).mean
        n_held += abs(mean.value - 119) <= mean.expanded_uncertainty
    # Four standard deviations of the count below 95 %; more is allowed, the rule being cautious.
    assert n_held / n_trials >= 0.95 - 4 * math.sqrt(0.95 * 0.05 / n_trials)


@pytest.mark.parametrize(
    "values",
    [
        (90.0, 90.1, 180.2),
        (90.0, 180.0),
        (180.0, 180.1, 179.9, 90.0),
        (90.0,) * 9 + (180.0,),
        (90.0, 93.0) * 10,
        (20.0, 600.0),
    ],
    ids=["octave", "one of each", "octave below", "one in ten", "two spans in turn", "ends of the range"],
)
def test_readings_that_disagree_never_put_a_belt_in_band(values: tuple[float, ...]) -> None:
    statistics = mean_of_set(readings(*values, standard_uncertainty=0.05))
    assert not statistics.agree
    assert statistics.scatter is not None
    assert statistics.mean.standard_uncertainty == pytest.approx(statistics.scatter)
    assert statistics.mean.degrees_of_freedom == len(values) - 1
    tension = propagated(static_tension, statistics.mean, Measured(0.213, 0), Measured(0.165, 0))
    # A band of ± 5 % laid most favourably, around the mean itself.
    assert decide(tension, 0.95 * tension.value, 1.05 * tension.value).verdict is Verdict.UNDECIDED


def test_three_per_cent_is_where_agreement_ends() -> None:
    assert mean_of_set(readings(98.51, 101.49)).agree
    assert not mean_of_set(readings(98.49, 101.51)).agree


def test_span_length_and_density_do_not_shrink_with_the_number_of_plucks() -> None:
    span_length, linear_density = Measured(0.213, 0.001), Measured(0.165, 0.00165)
    rng = np.random.default_rng(3)
    frequencies = mean_of_set(readings(*rng.normal(119, 0.2, 400).tolist(), standard_uncertainty=0.2))
    tension = propagated(static_tension, frequencies.mean, span_length, linear_density)
    of_the_span = propagated(static_tension, Measured(119, 0), span_length, linear_density)
    assert tension.standard_uncertainty >= of_the_span.standard_uncertainty * 0.999


def test_an_empty_set_has_no_mean() -> None:
    with pytest.raises(ValueError, match="at least one reading"):
        mean_of_set([])

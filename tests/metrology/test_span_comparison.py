import math

import numpy as np
import pytest
from scipy import stats

from tensionear.metrology.span_comparison import IDLER_FRICTION, compare_spans
from tensionear.metrology.uncertainty import Measured


def test_chi_square_is_that_of_the_weighted_mean_by_hand() -> None:
    # Without friction: 400 ± 2 and 410 ± 4 N have the mean (400/4 + 410/16)/(1/4 + 1/16) = 402 N and the
    # chi-square 1 + 4 = 5, with one degree of freedom 2.5 %.
    compared = compare_spans([Measured(400, 2), Measured(410, 4)], friction=0)
    assert compared.mean == pytest.approx(402)
    assert compared.chi_square == pytest.approx(5)
    assert compared.probability == pytest.approx(stats.chi2(1).sf(5))
    assert compared.probability == pytest.approx(0.0253, abs=0.0001)
    assert not compared.evened_out
    assert (compared.tightest, compared.slackest) == (1, 0)
    assert compared.largest_difference == pytest.approx(10 / 402)


def test_friction_explains_what_uncertainty_does_not() -> None:
    spans = [Measured(400, 2), Measured(414, 2)]
    assert not compare_spans(spans, friction=0).evened_out
    assert compare_spans(spans).evened_out


def test_a_slack_span_means_turning_the_engine_over_again() -> None:
    compared = compare_spans([Measured(420, 4), Measured(415, 4), Measured(330, 4)])
    assert not compared.evened_out
    assert compared.slackest == 2
    assert "turn the engine over again" in compared.sentence()
    assert "differ by 23 %" in compared.sentence()


def test_even_spans_are_told_with_what_would_have_shown() -> None:
    compared = compare_spans([Measured(420, 4), Measured(415, 4), Measured(410, 4)])
    assert compared.evened_out
    assert compared.could_be_told
    # By hand: 1.96·√2·√(4² + (0.03·415/√3)²)/415 = 5.5 %.
    assert compared.least_visible_difference == pytest.approx(0.055, abs=0.0005)
    assert compared.sentence().endswith("a difference of 5.5 % would show")


def test_spans_hardly_known_say_nothing_of_the_belt() -> None:
    compared = compare_spans([Measured(420, 40), Measured(350, 40)])
    assert compared.evened_out
    assert not compared.could_be_told
    assert compared.sentence().endswith("this says nothing of the belt")


def test_few_plucks_excuse_more() -> None:
    many, few = ([Measured(400, 4, nu), Measured(440, 4, nu)] for nu in (math.inf, 1))
    assert not compare_spans(many).evened_out
    assert compare_spans(few).evened_out


@pytest.mark.parametrize("n_spans", [2, 4])
def test_an_even_belt_is_sent_round_again_in_five_cases_of_a_hundred(n_spans: int) -> None:
    rng = np.random.default_rng(n_spans)
    n_trials = 3000
    read = rng.normal(400, 4, (n_trials, n_spans))
    n_uneven = sum(
        not compare_spans([Measured(float(value), 4) for value in each], friction=0).evened_out
        for each in read
    )
    # The tolerance is four standard deviations of the count.
    assert n_uneven / n_trials == pytest.approx(0.05, abs=4 * math.sqrt(0.05 * 0.95 / n_trials))


def test_friction_within_its_half_width_seldom_sends_round_again() -> None:
    rng = np.random.default_rng(3)
    true = 400 * (1 + rng.uniform(-IDLER_FRICTION, IDLER_FRICTION, (3000, 3)))
    read = rng.normal(true, 2)
    uneven = [not compare_spans([Measured(float(value), 2) for value in each]).evened_out for each in read]
    assert np.mean(uneven) < 0.06


@pytest.mark.parametrize(
    ("tensions", "message"),
    [
        ([Measured(400, 1)], "two spans or more"),
        ([Measured(400, 1), Measured(-1, 1)], "not all above 0"),
    ],
)
def test_what_cannot_be_compared_is_refused(tensions: list[Measured], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        compare_spans(tensions)


def test_nothing_may_differ_without_friction_and_uncertainty() -> None:
    with pytest.raises(ValueError, match="no two tensions are alike"):
        compare_spans([Measured(400, 0), Measured(400, 0)], friction=0)

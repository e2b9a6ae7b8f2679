import math

import numpy as np
import pytest
from scipy.stats import median_abs_deviation

from tensionear.metrology.marks import Mark, marks_of
from tensionear.metrology.uncertainty import Measured


def marks(*values: float, standard_uncertainty: float = 0.01) -> list[Mark | None]:
    return list(marks_of([Measured(value, standard_uncertainty) for value in values]))


# 1.036 and 1.093: partials 2 and 3 over their whole multiples at B = 0.025, f_n = n·f_0·√(1 + B·n²), by hand.
@pytest.mark.parametrize(
    ("ratio", "mark"),
    [
        (2.0, Mark.PARTIAL_2),
        (2.03, Mark.PARTIAL_2),
        (2.0 * 1.036, Mark.PARTIAL_2),
        (1.98, Mark.PARTIAL_2),
        (3.0, Mark.PARTIAL_3),
        (3.0 * 1.093, Mark.PARTIAL_3),
        (0.5, Mark.HALF),
        (0.5 / 1.036, Mark.HALF),
        (1 / 3, Mark.THIRD),
        (1.5, Mark.THREE_HALVES),
        (1.5 * 1.055, Mark.THREE_HALVES),
        (2 / 3, Mark.TWO_THIRDS),
        (1.1, Mark.APART),
        (0.9, Mark.APART),
        (1.35, Mark.APART),
        (1.8, Mark.APART),
        (2.5, Mark.APART),
        (4.0, Mark.APART),
        (0.42, Mark.APART),
        (0.75, Mark.APART),
    ],
)
def test_a_step_between_partials_gets_its_name(ratio: float, mark: Mark) -> None:
    assert marks(109.9, 110.0, 110.1, 110.0 * ratio, 110.2) == [None, None, None, mark, None]


def test_two_slips_in_seven_are_both_marked() -> None:
    told = marks(110.0, 220.3, 110.1, 109.8, 55.0, 110.2, 110.0)
    assert told == [None, Mark.PARTIAL_2, None, None, Mark.HALF, None, None]


@pytest.mark.parametrize(
    "values",
    [(), (110.0,), (110.0, 220.0), (110.0, 110.1, 220.0, 220.1), (100.0, 104.0, 108.0, 112.0, 116.0)],
)
def test_without_a_majority_that_agrees_nobody_is_marked(values: tuple[float, ...]) -> None:
    assert marks(*values) == [None] * len(values)


def test_two_against_one_mark_the_one() -> None:
    assert marks(110.0, 110.1, 220.0) == [None, None, Mark.PARTIAL_2]


def test_the_limit_is_seven_robust_standard_deviations_between_one_and_a_half_and_three_per_cent() -> None:
    rng = np.random.default_rng(4)
    n_between = 0
    for _ in range(500):
        values = rng.normal(100.0, 0.25, 7)
        values[6] += rng.uniform(0.5, 4.0)
        rest = values[abs(values - np.median(values)) <= 0.03 * np.median(values)]
        limit = 7.0 * median_abs_deviation(rest, scale="normal")
        n_between += bool(1.5 < limit < 3.0)
        limit = min(max(limit, 0.015 * np.median(rest)), 0.03 * np.median(values))
        expected = [abs(value - np.median(rest)) > limit for value in values]
        # SciPy's scale has more digits than the rounded 1.4826: nothing may lie between the two.
        assert [mark is not None for mark in marks(*values.tolist())] == expected
    assert n_between > 100


@pytest.mark.parametrize(
    ("standard_uncertainty", "mark"), [(0.1, Mark.APART), (0.6, Mark.APART), (0.8, None)]
)
def test_a_reading_within_its_own_uncertainty_of_the_others_is_not_apart(
    standard_uncertainty: float, mark: Mark | None
) -> None:
    surely = [Measured(value, 0.01) for value in (100.0, 100.05, 99.95, 100.0)]
    told = marks_of([*surely, Measured(102.5, standard_uncertainty)])
    assert list(told) == [None, None, None, None, mark]


def test_marks_do_not_depend_on_the_order_or_the_unit() -> None:
    values = [110.0, 220.0, 110.2, 109.9, 110.1, 113.5, 110.0]
    forwards = marks(*values)
    assert forwards[::-1] == marks(*values[::-1])
    assert forwards == marks(*(value / 1000.0 for value in values), standard_uncertainty=1e-5)
    assert [mark for mark in forwards if mark] == [Mark.PARTIAL_2, Mark.APART]


def test_the_own_uncertainty_widens_what_is_taken_for_a_slip() -> None:
    surely = [Measured(110.0, 0.01)] * 4
    assert marks_of([*surely, Measured(220.0 * 0.95, 0.01)])[4] is Mark.APART
    assert marks_of([*surely, Measured(220.0 * 0.95, 4.0)])[4] is Mark.PARTIAL_2
    assert math.isclose(2.0 * 4.0 / (220.0 * 0.95), 0.038, abs_tol=0.001)

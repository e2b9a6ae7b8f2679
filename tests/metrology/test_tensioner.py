import math

import numpy as np
import pytest

from tensionear.metrology.tensioner import (
    TensionerMove,
    TensionerReading,
    TensionerRefusal,
    TensionerRefusalReason,
    tensioner_move,
)
from tensionear.metrology.uncertainty import Measured


def reading(position: float, tension_n: float, standard_uncertainty_n: float = 1.0) -> TensionerReading:
    return TensionerReading(position, Measured(tension_n, standard_uncertainty_n))


def moved(earlier: TensionerReading, later: TensionerReading, target_n: float) -> TensionerMove:
    move = tensioner_move(earlier, later, target_n)
    assert isinstance(move, TensionerMove)
    return move


def refused(earlier: TensionerReading, later: TensionerReading, target_n: float) -> TensionerRefusal:
    refusal = tensioner_move(earlier, later, target_n)
    assert isinstance(refusal, TensionerRefusal)
    return refusal


@pytest.mark.parametrize(
    ("target_n", "position", "is_extrapolated"),
    [(400, 15, False), (350, 10, False), (450, 20, False), (500, 25, True), (300, 5, True)],
)
def test_positions_lie_on_the_line_through_two_readings(
    target_n: float, position: float, is_extrapolated: bool
) -> None:
    move = moved(reading(10, 350), reading(20, 450), target_n)
    assert move.position.value == pytest.approx(position)
    assert move.change.value == pytest.approx(position - 20)
    assert move.is_extrapolated is is_extrapolated


def test_a_tensioner_that_slackens_forward_is_followed_too() -> None:
    assert moved(reading(3.0, 450), reading(3.5, 400), 425).position.value == pytest.approx(3.25)


@pytest.mark.parametrize("target_n", [350, 400, 500])
def test_uncertainty_of_the_position_is_that_of_simulated_readings(target_n: float) -> None:
    move = moved(reading(10, 350, 2), reading(20, 450, 2), target_n)
    rng = np.random.default_rng(11)
    earlier, later = rng.normal(350, 2, 100_000), rng.normal(450, 2, 100_000)
    positions = 10 + 10 * (target_n - earlier) / (later - earlier)
    assert move.position.standard_uncertainty == pytest.approx(positions.std(), rel=0.02)


def test_extrapolation_is_less_sure_than_interpolation() -> None:
    between, beyond = (moved(reading(10, 350), reading(20, 450), target).position for target in (400, 530))
    assert beyond.standard_uncertainty > 2 * between.standard_uncertainty


@pytest.mark.parametrize("target_n", [551, 249])
def test_more_than_one_step_beyond_is_refused(target_n: float) -> None:
    refusal = refused(reading(10, 350), reading(20, 450), target_n)
    assert refusal.reason is TensionerRefusalReason.TOO_FAR
    assert "go part of the way" in refusal.explanation


def test_tensions_that_hardly_differ_are_refused() -> None:
    # Their difference is known to ± 2.8 N; twice that is asked for.
    refusal = refused(reading(10, 400), reading(20, 405.4), 402)
    assert refusal.reason is TensionerRefusalReason.TENSIONS_TOO_ALIKE
    assert "differ by 5.4, known to ± 2.8" in refusal.explanation
    moved(reading(10, 400), reading(20, 405.7), 402)


def test_two_readings_of_few_plucks_have_to_differ_more() -> None:
    few = TensionerReading(20, Measured(406, 1, 1))
    assert refused(reading(10, 400), few, 403).reason is TensionerRefusalReason.TENSIONS_TOO_ALIKE


def test_one_position_gives_no_line() -> None:
    refusal = refused(reading(10, 350), reading(10, 450), 400)
    assert refusal.reason is TensionerRefusalReason.SAME_POSITION


def test_readings_known_exactly_give_an_exact_position() -> None:
    move = moved(reading(10, 350, 0), reading(20, 450, 0), 400)
    assert move.position == Measured(15, 0, math.inf)

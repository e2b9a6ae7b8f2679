"""Advice after a set: what would decide it, and by how much to change the belt."""

import pytest

from tensionear.belt.band import BandUnit
from tensionear.belt.comparison import Comparison, SingleValue
from tensionear.belt.stated_value import ReferenceSpan
from tensionear.belt.stiffness import SpanStiffness
from tensionear.known_span import KnownSpan
from tensionear.metrology.decision import Verdict
from tensionear.metrology.uncertainty import Measured
from tensionear.next_step import move_of, way_out_of
from tensionear.task import BeltTask
from tests.compared import SPAN, as_force, as_frequency, as_vibration

STIFF = KnownSpan.taken(SPAN, SpanStiffness(0.03, 0.003, 1.0, 0.0))


@pytest.mark.parametrize(
    "comparison",
    [as_force(380, 460), as_frequency(120, 140), as_vibration(480, 560, ReferenceSpan(0.2, 0.18))],
    ids=lambda comparison: comparison.quantity,
)
def test_what_the_move_aims_at_is_the_middle_of_the_band(comparison: Comparison) -> None:
    task = BeltTask(STIFF, comparison)
    slack = task.assessment(Measured(100.0, 0.1))
    move = move_of(task, slack)
    assert move is not None
    assert slack.tension is not None
    assert move.change_hz == pytest.approx(move.target_hz - 100.0)
    there = task.assessment(Measured(move.target_hz, 0.1))
    assert there.compared is not None
    assert there.tension is not None
    assert not isinstance(comparison.limits, SingleValue)
    assert there.compared.result.value == pytest.approx(
        (comparison.limits.lower + comparison.limits.upper) / 2, rel=1e-6
    )
    assert move.target_n == pytest.approx(there.tension.value)
    assert move.change_n == pytest.approx(there.tension.value - slack.tension.value)


def test_a_belt_in_band_is_not_moved() -> None:
    task = BeltTask(STIFF, as_frequency(100, 140))
    assert move_of(task, task.assessment(Measured(120.0, 0.1))) is None
    assert way_out_of(task, task.assessment(Measured(120.0, 0.1)), 5) is None


def test_without_a_span_the_move_is_told_in_hertz_alone() -> None:
    task = BeltTask(comparison=as_frequency(120, 140))
    move = move_of(task, task.assessment(Measured(110.0, 0.1)))
    assert move is not None
    assert (move.target_hz, move.target_n, move.change_n) == (130.0, None, None)


def test_a_value_stated_without_tolerance_is_aimed_at_and_gives_no_verdict() -> None:
    band = as_force(380, 460)
    single = Comparison(
        band.quantity, SingleValue(420, BandUnit.NEWTON), 0.0, None, True, "Compared with 420 N."
    )
    task = BeltTask(STIFF, single)
    found = task.assessment(Measured(100.0, 0.1))
    move = move_of(task, found)
    assert (found.decision, found.conformance_probability) == (None, None)
    assert move is not None
    assert move.target_n == pytest.approx(420)
    assert move.is_enough is None


def test_few_plucks_that_scatter_are_told_to_become_more() -> None:
    task = BeltTask(comparison=as_frequency(110, 122))
    found = task.assessment(Measured(110.5, 0.3, 2), 3)
    assert found.decision is not None
    assert found.decision.verdict is Verdict.UNDECIDED
    way_out = way_out_of(task, found, 3)
    assert way_out is not None
    assert way_out.decides
    assert way_out.n_more_plucks > 0


def test_where_nothing_is_known_of_the_stiffness_calibrating_is_the_way_out() -> None:
    task = BeltTask(KnownSpan.taken(SPAN), as_force(300, 420))
    way_out = way_out_of(task, task.assessment(Measured(110.0, 0.05, 4), 5), 5)
    assert way_out is not None
    assert way_out.decides
    assert way_out.sentence().startswith("calibrating the stiffness")

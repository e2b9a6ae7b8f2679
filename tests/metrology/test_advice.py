"""The way out of an undecided value, and the next move."""

import math

import pytest

from tensionear.belt.tension import fundamental_frequency, static_tension
from tensionear.metrology.advice import MOST_PLUCKS, Aim, Move, RepeatedInput, WayOut, next_move, way_out
from tensionear.metrology.budget import Budget, BudgetInput, Distribution, EvaluationType, draw_up
from tensionear.metrology.decision import DecisionRule, Rule, Verdict, decide
from tensionear.metrology.uncertainty import Measured


def tension_budget(scatter_hz: float, within_m: float, density_share: float = 0.002, n: int = 3) -> Budget:
    """Invented span of 213 mm at 119 Hz: 424 N."""
    inputs = [
        BudgetInput(
            "fundamental", Measured(119, scatter_hz / math.sqrt(n), n - 1), "Hz", EvaluationType.A, "scatter"
        ),
        BudgetInput(
            "span length",
            Measured.within(0.213, within_m),
            "m",
            EvaluationType.B,
            "tape measure",
            Distribution.RECTANGULAR,
            "measuring the span",
        ),
        BudgetInput(
            "linear density", Measured(0.165, density_share * 0.165), "kg/m", EvaluationType.B, "scale"
        ),
    ]
    return draw_up("tension", "N", static_tension, inputs)


THREE_PLUCKS = RepeatedInput("fundamental", 3)


def found(way: WayOut | None) -> WayOut:
    assert way is not None
    return way


def test_what_is_decided_needs_no_way_out() -> None:
    assert way_out(tension_budget(0.1, 0.0002), 380, 470) is None


def test_scatter_asks_for_so_many_plucks_and_no_more() -> None:
    budget = tension_budget(1.0, 0.0002)
    way = found(way_out(budget, 416, 500, repeated=THREE_PLUCKS))
    assert way.decides
    assert way.improvements == ()
    assert way.sentence().startswith(f"{way.n_more_plucks} more plucks would decide it")
    for n_more, verdict in ((way.n_more_plucks, Verdict.IN_BAND), (way.n_more_plucks - 1, Verdict.UNDECIDED)):
        n = 3 + n_more
        then = tension_budget(1.0, 0.0002, n=n)
        assert decide(then.result, 416, 500).verdict is verdict


def test_a_rough_tape_asks_for_a_better_measurement_just_good_enough() -> None:
    budget = tension_budget(0.05, 0.004)
    way = found(
        way_out(
            budget,
            412,
            500,
            repeated=THREE_PLUCKS,
            reachable={"span length": 0.0005, "linear density": 0.0001},
        )
    )
    assert way.decides
    assert way.n_more_plucks == 0
    (step,) = way.improvements
    assert step.now.name == "span length"
    assert 0.0005 <= step.then.half_width < 0.004
    assert (
        decide(tension_budget(0.05, step.then.half_width * 0.999).result, 412, 500).verdict is Verdict.IN_BAND
    )
    assert (
        decide(tension_budget(0.05, step.then.half_width * 1.01).result, 412, 500).verdict
        is Verdict.UNDECIDED
    )
    sentence = way.sentence(lambda _, half_width: f"{1000 * half_width:.1f} mm")
    assert sentence.startswith("measuring the span to ± ")
    assert "mm instead of ± 4.0 mm would decide it, if the value stays as it is" in sentence


def test_what_takes_both_is_told_as_both() -> None:
    budget = tension_budget(1.0, 0.002)
    way = found(way_out(budget, 416, 600, repeated=THREE_PLUCKS, reachable={"span length": 0.0001}))
    assert way.decides
    assert way.n_more_plucks == MOST_PLUCKS - 3
    assert [step.now.name for step in way.improvements] == ["span length"]
    assert "17 more plucks and measuring the span to ± 0.0001 m" in way.sentence()


def test_what_is_not_needed_is_not_asked_for() -> None:
    # Both the tape and twenty plucks are needed, as above; a better scale would help a little and is spared.
    budget = tension_budget(1.0, 0.002, density_share=0.003)
    reachable = {"linear density": 0.0001, "span length": 0.0001}
    alone = way_out(budget, 416, 600, repeated=THREE_PLUCKS, reachable={"linear density": 0.0001})
    assert not found(alone).decides
    assert [step.now.name for step in found(alone).improvements] == ["linear density"]
    way = found(way_out(budget, 416, 600, repeated=THREE_PLUCKS, reachable=reachable))
    assert way.decides
    assert [step.now.name for step in way.improvements] == ["span length"]


def test_an_improvement_that_brings_nothing_is_not_told() -> None:
    way = found(way_out(tension_budget(0.3, 0.004), 423, 600, reachable={"linear density": 0.0001}))
    assert not way.decides
    assert way.improvements == ()


def test_what_no_equipment_decides_is_said_to_be_undecidable() -> None:
    budget = tension_budget(0.3, 0.001, density_share=0.03)
    way = found(way_out(budget, 415, 433, repeated=THREE_PLUCKS, reachable={"span length": 0.0005}))
    assert not way.decides
    assert not way.is_decided_in_the_middle
    assert way.sentence().startswith("with this equipment it cannot be decided: even after 17 more plucks")
    assert decide(way.reached.result, 415, 433).verdict is Verdict.UNDECIDED


def test_without_anything_to_improve_the_middle_of_a_wide_band_is_the_way() -> None:
    way = found(way_out(tension_budget(0.3, 0.001), 421, 600))
    assert not way.decides
    assert way.is_decided_in_the_middle
    assert way.sentence().endswith("set to the middle of the band, it could be decided as it is measured now")


def test_the_way_out_follows_the_rule() -> None:
    budget = tension_budget(0.3, 0.001)
    assert way_out(budget, 421, 600, decision_rule=DecisionRule(Rule.SIMPLE)) is None


def move(measured: Measured, lower: float, upper: float, aim: Aim = Aim.MIDDLE) -> Move:
    step = next_move(measured, lower, upper, aim)
    assert step is not None
    return step


def test_the_move_to_the_middle_in_newtons_and_hertz() -> None:
    # By hand: 424.0 N to 400 N; f goes with the root of T, 119 Hz·(√(400/T) − 1).
    tension_n = static_tension(119, 0.213, 0.165)
    step = move(Measured(tension_n, 4), 360, 440)
    assert step.change == pytest.approx(400 - tension_n)
    change_hz = step.change_through(lambda t: fundamental_frequency(t, 0.213, 0.165))
    assert change_hz == pytest.approx(119 * (math.sqrt(400 / tension_n) - 1))
    assert step.is_enough


@pytest.mark.parametrize(
    ("value", "lower", "upper"), [(350, 380, 460), (500, 380, 460), (350, 380, math.inf)]
)
def test_the_nearest_sure_value_is_just_in_band(value: float, lower: float, upper: float) -> None:
    step = move(Measured(value, 0.02 * value), lower, upper, Aim.GUARDED_LIMIT)
    for nearer, verdict in ((-1e-6, Verdict.UNDECIDED), (1e-6, Verdict.IN_BAND)):
        target = step.target + nearer * math.copysign(1, step.change)
        assert decide(Measured(target, 0.02 * target), lower, upper).verdict is verdict


def test_a_value_that_is_surely_in_band_need_not_move() -> None:
    assert move(Measured(420, 4), 380, 460, Aim.GUARDED_LIMIT).change == 0


def test_a_band_without_a_middle_is_entered_by_the_nearest_way() -> None:
    step = move(Measured(500, 5), -math.inf, 460)
    assert step.aim is Aim.GUARDED_LIMIT
    assert step.target == pytest.approx(460 / (1 + 0.01 * 1.959964))


def test_a_band_narrower_than_the_uncertainty_leaves_the_middle_and_says_so() -> None:
    step = move(Measured(500, 50), 380, 460, Aim.GUARDED_LIMIT)
    assert (step.target, step.aim, step.is_enough) == (420, Aim.MIDDLE, False)


def test_a_value_of_which_nothing_is_known_gets_no_advice_for_one_limit() -> None:
    assert next_move(Measured(500, 500), 380, math.inf) is None


def test_a_move_from_nothing_is_a_bug() -> None:
    with pytest.raises(ValueError, match="value 0 is not above 0"):
        next_move(Measured(0, 1), 380, 460)

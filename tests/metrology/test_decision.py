import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tensionear.metrology.decision import (
    Decision,
    DecisionRule,
    Rule,
    Side,
    Verdict,
    conformance_probability,
    decide,
)
from tensionear.metrology.uncertainty import Measured

IN_BAND = Decision(Verdict.IN_BAND, None)
LOW = Decision(Verdict.OUT_OF_BAND, Side.LOW)
HIGH = Decision(Verdict.OUT_OF_BAND, Side.HIGH)
PERHAPS_LOW = Decision(Verdict.UNDECIDED, Side.LOW)
PERHAPS_HIGH = Decision(Verdict.UNDECIDED, Side.HIGH)
UNDECIDED = Decision(Verdict.UNDECIDED, None)


@pytest.mark.parametrize(
    ("tension_n", "decision"),
    [
        (360, LOW),
        (375, PERHAPS_LOW),
        (380, PERHAPS_LOW),
        (385, PERHAPS_LOW),
        (420, IN_BAND),
        (455, PERHAPS_HIGH),
        (460, PERHAPS_HIGH),
        (465, PERHAPS_HIGH),
        (480, HIGH),
    ],
)
def test_a_tension_is_judged_with_its_uncertainty(tension_n: float, decision: Decision) -> None:
    assert decide(Measured(tension_n, 5), 380, 460) == decision


def test_an_uncertainty_wider_than_the_band_decides_nothing() -> None:
    assert decide(Measured(420, 40), 380, 460) == UNDECIDED


MEASURED = Measured(400, 3, 7)
LOWEST = MEASURED.value - MEASURED.expanded_uncertainty
HIGHEST = MEASURED.value + MEASURED.expanded_uncertainty


@pytest.mark.parametrize(
    ("lower", "upper", "decision"),
    [
        (LOWEST, HIGHEST, IN_BAND),
        (math.nextafter(LOWEST, math.inf), 500, PERHAPS_LOW),
        (300, math.nextafter(HIGHEST, -math.inf), PERHAPS_HIGH),
        (HIGHEST, 500, PERHAPS_LOW),
        (math.nextafter(HIGHEST, math.inf), 500, LOW),
        (300, LOWEST, PERHAPS_HIGH),
        (300, math.nextafter(LOWEST, -math.inf), HIGH),
    ],
)
def test_an_interval_that_touches_a_limit_is_not_beyond_it(
    lower: float, upper: float, decision: Decision
) -> None:
    assert decide(MEASURED, lower, upper) == decision


@pytest.mark.parametrize(
    ("value", "decision"),
    [(380, IN_BAND), (460, IN_BAND), (379.999, LOW), (460.001, HIGH)],
)
def test_the_limits_themselves_are_permitted(value: float, decision: Decision) -> None:
    assert decide(Measured(value, 0), 380, 460) == decision


@given(
    st.floats(100, 800), st.floats(0.001, 300), st.floats(1, 100), st.floats(100, 800), st.floats(0.1, 400)
)
def test_verdict_and_conformance_probability_agree(
    value: float, standard_uncertainty: float, degrees_of_freedom: float, lower: float, width: float
) -> None:
    measured = Measured(value, standard_uncertainty, degrees_of_freedom)
    decision = decide(measured, lower, lower + width)
    probability = conformance_probability(measured, lower, lower + width)
    if decision.verdict is Verdict.IN_BAND:
        assert probability >= 0.95 - 1e-9
    if decision.verdict is Verdict.OUT_OF_BAND:
        assert probability <= 0.025 + 1e-9


def test_a_belt_just_out_of_band_is_called_in_band_as_rarely_as_promised() -> None:
    rng = np.random.default_rng(7)
    n_plucks, n_trials, limit = 5, 4000, 380.0
    drawn = rng.normal(limit, 4, (n_trials, n_plucks))
    accepted = sum(
        decide(
            Measured(float(each.mean()), float(each.std(ddof=1)) / math.sqrt(n_plucks), n_plucks - 1),
            limit,
            460,
        ).verdict
        is Verdict.IN_BAND
        for each in drawn
    )
    # 2.5 % promised; the tolerance is four standard deviations of this count.
    assert accepted / n_trials == pytest.approx(0.025, abs=0.01)


def test_conformance_probability_of_the_worked_example() -> None:
    # JCGM 106:2012, 7.4: estimate 13.6, standard uncertainty 1.8, limits 12.5 and 16.3. Its result, 0.66, is
    # from memory; by hand it is Phi(1.5) - Phi(-0.611) = 0.9332 - 0.2706.
    probability = conformance_probability(Measured(13.6, 1.8), 12.5, 16.3)
    assert probability == pytest.approx(0.66, abs=0.005)
    assert probability == pytest.approx(0.9332 - 0.2706, abs=0.0005)


@pytest.mark.parametrize(("value", "probability"), [(380, 1), (400, 1), (379, 0), (461, 0)])
def test_conformance_of_a_value_known_exactly_is_certain(value: float, probability: float) -> None:
    assert conformance_probability(Measured(value, 0), 380, 460) == probability


@pytest.mark.parametrize(("lower", "upper"), [(460, 380), (380, 380), (math.nan, 460), (380, math.nan)])
def test_limits_out_of_order_decide_nothing(lower: float, upper: float) -> None:
    with pytest.raises(ValueError, match="is not below upper limit"):
        decide(Measured(400, 1), lower, upper)
    with pytest.raises(ValueError, match="is not below upper limit"):
        conformance_probability(Measured(400, 1), lower, upper)


@pytest.mark.parametrize(
    ("tension_n", "verdict", "side"),
    [
        (370, Verdict.OUT_OF_BAND, Side.LOW),
        (381, Verdict.UNDECIDED, Side.LOW),
        (395, Verdict.IN_BAND, None),
        (4000, Verdict.IN_BAND, None),
    ],
)
def test_a_band_may_have_a_lower_limit_only(tension_n: float, verdict: Verdict, side: Side | None) -> None:
    decision = decide(Measured(tension_n, 5), 380, math.inf)
    assert (decision.verdict, decision.side) == (verdict, side)
    mirrored = decide(Measured(-tension_n, 5), -math.inf, -380)
    assert mirrored.verdict is verdict


def test_conformance_with_one_limit_is_the_worked_example_of_a_breakdown_voltage() -> None:
    # JCGM 106:2012, 7.3, example 1 (from memory): V = -5.47 V with u = 0.05 V, upper limit -5.40 V: 92 %.
    assert conformance_probability(Measured(-5.47, 0.05), -math.inf, -5.40) == pytest.approx(0.92, abs=0.005)


def test_a_band_without_limits_decides_nothing() -> None:
    with pytest.raises(ValueError, match="at least one limit"):
        decide(Measured(400, 1), -math.inf, math.inf)


SIMPLE = DecisionRule(Rule.SIMPLE)


@pytest.mark.parametrize(
    ("tension_n", "verdict", "side"),
    [
        (379, Verdict.OUT_OF_BAND, Side.LOW),
        (380, Verdict.IN_BAND, None),
        (460, Verdict.IN_BAND, None),
        (461, Verdict.OUT_OF_BAND, Side.HIGH),
    ],
)
def test_simple_acceptance_looks_at_the_value_alone(
    tension_n: float, verdict: Verdict, side: Side | None
) -> None:
    assert decide(Measured(tension_n, 50), 380, 460, SIMPLE) == Decision(verdict, side, SIMPLE)


@pytest.mark.parametrize("asked", [0.8, 0.95, 0.99])
@pytest.mark.parametrize("degrees_of_freedom", [4, math.inf])
@pytest.mark.parametrize("tension_n", [350, 370, 378, 384, 390, 420, 452, 459, 466, 480])
def test_a_stated_probability_is_what_the_verdict_has(
    tension_n: float, degrees_of_freedom: float, asked: float
) -> None:
    measured = Measured(tension_n, 6, degrees_of_freedom)
    decision = decide(measured, 380, 460, DecisionRule(Rule.STATED_PROBABILITY, asked))
    conforms = conformance_probability(measured, 380, 460)
    expected = {
        Verdict.IN_BAND: conforms >= asked,
        Verdict.OUT_OF_BAND: conforms <= 1 - asked,
        Verdict.UNDECIDED: 1 - asked < conforms < asked,
    }
    assert expected[decision.verdict]
    if decision.verdict is not Verdict.IN_BAND:
        assert decision.side is (Side.LOW if tension_n < 420 else Side.HIGH)


def test_a_value_known_exactly_has_one_verdict_by_every_rule() -> None:
    for rule in Rule:
        for tension_n, verdict in ((380, Verdict.IN_BAND), (379.9, Verdict.OUT_OF_BAND)):
            assert decide(Measured(tension_n, 0), 380, 460, DecisionRule(rule)).verdict is verdict


def test_the_rule_is_recorded_and_guarded_unless_said() -> None:
    assert decide(Measured(420, 1), 380, 460).decision_rule.rule is Rule.GUARDED
    assert decide(Measured(420, 1), 380, 460, SIMPLE).decision_rule is SIMPLE


@pytest.mark.parametrize("asked", [0.5, 1, math.nan])
def test_a_probability_that_asks_nothing_or_too_much_is_refused(asked: float) -> None:
    with pytest.raises(ValueError, match=r"is not above 0\.5 and below 1"):
        DecisionRule(Rule.STATED_PROBABILITY, asked)

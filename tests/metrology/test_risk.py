"""Risks against JCGM 106 and against simulated belts."""

import math

import numpy as np
import pytest
from scipy import stats

from tensionear.metrology.decision import Verdict, conformance_probability, decide, specific_risk
from tensionear.metrology.risk import global_risks
from tensionear.metrology.uncertainty import Measured


def test_global_consumers_risk_of_the_worked_example() -> None:
    # JCGM 106:2012, 9.5.4: prior gamma(4, 1/4), upper limit 2, standard uncertainty 0.25: 4.24 % do not conform,
    # and the global consumer's risk of simple acceptance is 0.0080.
    prior = stats.gamma(4, scale=0.25)
    assert prior.sf(2) == pytest.approx(0.0424, abs=0.00005)
    risks = global_risks(prior, 0.25, (-math.inf, 2), (-math.inf, 2))
    assert risks.consumers == pytest.approx(0.0080, abs=0.00005)


@pytest.mark.parametrize("guarded", [True, False])
def test_risks_are_those_of_simulated_belts(guarded: bool) -> None:
    # Invented: belts set to 420 ± 25 N (one standard deviation), a band of 380 to 460 N, measured to 12 N.
    u, lower, upper = 12.0, 380.0, 460.0
    guard = 1.959964 * u if guarded else 0.0
    risks = global_risks(stats.norm(420, 25), u, (lower, upper), (lower + guard, upper - guard))
    rng = np.random.default_rng(106)
    true_n = rng.normal(420, 25, 400_000)
    measured_n = rng.normal(true_n, u)
    conforms = (lower <= true_n) & (true_n <= upper)
    accepted = (lower + guard <= measured_n) & (measured_n <= upper - guard)
    n = len(true_n)
    for share, risk in ((~conforms & accepted, risks.consumers), (conforms & ~accepted, risks.producers)):
        # Four standard deviations of the count.
        assert float(share.mean()) == pytest.approx(risk, abs=4 * math.sqrt(risk / n))


def test_a_band_with_one_limit_has_its_risk_at_that_limit() -> None:
    prior = stats.norm(420, 25)
    both = global_risks(prior, 12, (380, 1000), (380, 1000))
    one = global_risks(prior, 12, (380, math.inf), (380, math.inf))
    assert one.consumers == pytest.approx(both.consumers, rel=1e-6)
    assert one.producers == pytest.approx(both.producers, rel=1e-6)


def test_specific_risks_are_the_shares_of_wrong_verdicts() -> None:
    # True tensions anywhere between 300 and 540 N, all alike: those that may lie behind a value of 384 N are then
    # normal around it, and the verdict on the value is wrong for a share of them.
    rng = np.random.default_rng(7)
    true_n = rng.uniform(300, 540, 400_000)
    measured_n = rng.normal(true_n, 5)
    for value, verdict in ((391.0, Verdict.IN_BAND), (369.0, Verdict.OUT_OF_BAND)):
        decision = decide(Measured(value, 5), 380, 460)
        assert decision.verdict is verdict
        alike = true_n[abs(measured_n - value) < 0.5]
        conforms = (alike >= 380) & (alike <= 460)
        wrong = ~conforms if verdict is Verdict.IN_BAND else conforms
        risk = specific_risk(decision, Measured(value, 5), 380, 460)
        assert risk is not None
        assert wrong.mean() == pytest.approx(risk, abs=4 * math.sqrt(risk / len(alike)) + 0.002)


def test_specific_risks_add_up_with_the_conformance_probability() -> None:
    accepted, rejected, open_value = Measured(395, 5), Measured(365, 5), Measured(383, 5)
    assert specific_risk(decide(accepted, 380, 460), accepted, 380, 460) == pytest.approx(
        1 - conformance_probability(accepted, 380, 460)
    )
    assert specific_risk(decide(rejected, 380, 460), rejected, 380, 460) == pytest.approx(
        conformance_probability(rejected, 380, 460)
    )
    assert specific_risk(decide(open_value, 380, 460), open_value, 380, 460) is None

import math
from dataclasses import replace

import numpy as np
import pytest

from tensionear.metrology.decision import Decision, DecisionRule, Rule, Side, Verdict
from tensionear.metrology.levelling import LevelState, NotToldReason
from tensionear.metrology.run_in import CountedPlucks, judge_run_in
from tensionear.metrology.run_in_sentences import run_in_sentence
from tensionear.metrology.settling_law import FurtherFall, NoForecast
from tensionear.metrology.tension_change import SettingPlucks, TensionLimits
from tensionear.metrology.uncertainty import Measured

# Invented: a belt that settles from 500 N to 395 N and is then set to 345 N.
COUNTS = (0, 2, 4, 6, 8, 10)
TENSIONS_N = (500.0, 440.0, 410.0, 396.0, 395.5, 395.6)
LIMITS = TensionLimits(330, 380, common_share=0.012)


def plucks(
    tension_n: float, n: int = 3, scatter_share: float = 0.002, own_share: float = 0.001
) -> tuple[Measured, ...]:
    """Plucks about a tension with exactly this scatter."""
    steps = np.linspace(-1, 1, n) if n > 1 else np.zeros(1)
    logs = steps * (scatter_share / steps.std(ddof=1) if n > 1 else 0)
    return tuple(Measured(float(each), own_share * tension_n) for each in tension_n * np.exp(logs))


def counted(n: int = 3, scatter_share: float = 0.002) -> list[CountedPlucks]:
    pairs = zip(COUNTS, TENSIONS_N, strict=True)
    return [CountedPlucks(count, plucks(tension, n, scatter_share)) for count, tension in pairs]


def setting(tension_n: float, n: int = 5, decision: Decision | None = None) -> SettingPlucks:
    return SettingPlucks(plucks(tension_n, n), decision)


def test_fall_of_the_run_in_is_that_by_hand() -> None:
    found = judge_run_in(counted(), common_share=0.012)
    assert found.fall is not None
    # 100·(1 - 395.6/500) = 20.88 %; u = 0.7912·0.2 %·√(2/3) = 0.129 %, 12 degrees of freedom.
    assert found.fall.fall_percent.value == pytest.approx(20.88)
    assert found.fall.fall_percent.standard_uncertainty == pytest.approx(0.1292, abs=0.0001)
    assert found.fall.fall_percent.degrees_of_freedom == 12
    # 104.4 N; the plucks' own √(500² + 395.6²)·0.2 %/√3 = 0.736 N, and 1.2 % of 104.4 N = 1.253 N in common.
    assert found.fall.fall_n.value == pytest.approx(104.4)
    assert found.fall.fall_n.standard_uncertainty == pytest.approx(math.hypot(0.736, 1.253), abs=0.001)
    assert found.fall.is_significant
    assert list(found.revolutions) == list(COUNTS)
    assert [mean.value for mean in found.mean_tensions_n] == pytest.approx(TENSIONS_N)
    assert found.levelling.level_since_revolutions == 6


def test_moving_the_tensioner_is_no_settling() -> None:
    before = judge_run_in(counted(), common_share=0.012)
    after = judge_run_in(counted(), setting(345), common_share=0.012)
    assert after.fall is not None
    assert before.fall is not None
    assert after.fall.fall_percent.value == before.fall.fall_percent.value
    assert after.levelling.level_since_revolutions == before.levelling.level_since_revolutions
    assert before.by_setting is None
    assert after.by_setting is not None
    assert after.by_setting.fall_n.value == pytest.approx(395.6 - 345)
    assert after.final_tension_n is not None
    assert after.final_tension_n.value == pytest.approx(345)


def test_settlement_a_revolution_is_that_of_the_level_stretch() -> None:
    found = judge_run_in(counted(), common_share=0.012)
    assert found.stretch_start_revolutions == 6
    assert found.per_revolution_percent is not None
    assert found.per_revolution_n is not None
    # Ends 0.101 % apart over 4 revolutions; with three equally weighted points the middle one does not count.
    assert found.per_revolution_percent.value == pytest.approx(100 * math.log(396 / 395.6) / 4)
    # u = 0.2 %/√3 / √(2² + 2²) = 0.0408 % a revolution.
    assert found.per_revolution_percent.standard_uncertainty == pytest.approx(0.0408, abs=0.0001)
    assert found.per_revolution_n.value == pytest.approx(395.6 * math.log(396 / 395.6) / 4)


def test_settlement_a_revolution_of_a_falling_belt_is_that_of_its_last_step() -> None:
    found = judge_run_in(counted()[:3], common_share=0.012)
    assert found.levelling.state is LevelState.FALLING
    assert found.stretch_start_revolutions == 2
    assert found.per_revolution_percent is not None
    assert found.per_revolution_percent.value == pytest.approx(100 * math.log(440 / 410) / 2)


def test_order_and_split_of_the_plucks_do_not_matter() -> None:
    given = counted()
    split = [CountedPlucks(each.revolutions, (pluck,)) for each in reversed(given) for pluck in each.tensions]
    assert judge_run_in(split, common_share=0.012).fall == judge_run_in(given, common_share=0.012).fall


def test_plucks_of_the_final_setting_tell_how_single_ones_scatter() -> None:
    single = counted(n=1)
    alone = judge_run_in(single, common_share=0.012)
    assert alone.repeatability is None
    assert alone.levelling.reason is NotToldReason.NO_REPEATS
    with_final = judge_run_in(single, setting(345), common_share=0.012)
    assert with_final.repeatability is not None
    assert with_final.repeatability.degrees_of_freedom == 4
    assert with_final.levelling.state is LevelState.LEVEL


def test_final_setting_is_compared_with_its_limits() -> None:
    margin = judge_run_in(counted(), setting(345), common_share=0.012, limits=LIMITS).final_margin
    assert margin is not None
    assert margin.above_lower_percent is not None
    assert margin.below_upper_percent is not None
    assert margin.above_lower_percent.value == pytest.approx(100 * (345 / 330 - 1))
    # u = 104.5 % · √(1.2 %² + (0.2 %/√5)²).
    assert margin.above_lower_percent.standard_uncertainty == pytest.approx(1.258, abs=0.001)
    assert margin.below_upper_percent.value == pytest.approx(100 * (1 - 345 / 380))
    assert margin.decision.verdict is Verdict.IN_BAND


def test_limits_in_hertz_leave_out_what_is_in_common() -> None:
    near = setting(333)
    force, frequency = (
        judge_run_in(
            counted(), near, common_share=0.012, limits=replace(LIMITS, common_share=share)
        ).final_margin
        for share in (0.012, 0.0)
    )
    assert force is not None
    assert frequency is not None
    assert force.decision == Decision(Verdict.UNDECIDED, Side.LOW)
    assert frequency.decision.verdict is Verdict.IN_BAND


def test_a_verdict_that_was_told_stands() -> None:
    told = Decision(Verdict.UNDECIDED, Side.LOW, DecisionRule(Rule.SIMPLE))
    found = judge_run_in(
        counted(),
        setting(345, decision=told),
        [setting(345, decision=told)],
        common_share=0.012,
        limits=LIMITS,
    )
    assert found.final_margin is not None
    assert found.final_margin.decision is told
    assert found.rechecks[0].margin is not None
    assert found.rechecks[0].margin.decision is told


@pytest.mark.parametrize(
    ("lower_n", "upper_n", "has_lower", "has_upper"),
    [(330, math.inf, True, False), (-math.inf, 380, False, True)],
)
def test_a_band_with_one_limit_has_one_margin(
    lower_n: float, upper_n: float, has_lower: bool, has_upper: bool
) -> None:
    limits = TensionLimits(lower_n, upper_n, 0.012)
    found = judge_run_in(counted(), setting(345), [setting(338)], common_share=0.012, limits=limits)
    assert found.final_margin is not None
    assert (found.final_margin.above_lower_percent is not None) is has_lower
    assert (found.final_margin.below_upper_percent is not None) is has_upper
    assert found.rechecks[0].approaches_lower is has_lower


def test_rechecks_are_set_against_the_final_setting() -> None:
    same, lower, higher = judge_run_in(
        counted(),
        setting(345),
        [setting(344.8), setting(338), setting(350)],
        common_share=0.012,
        limits=LIMITS,
    ).rechecks
    assert not same.fall.is_significant
    assert not same.approaches_lower
    assert lower.fall.fall_percent.value == pytest.approx(100 * 7 / 345)
    assert lower.fall.fall_n.value == pytest.approx(7)
    assert lower.fall.is_significant
    assert lower.approaches_lower
    assert higher.fall.fall_percent.value < 0
    assert higher.fall.is_significant
    assert not higher.approaches_lower


def test_an_unchanged_belt_is_called_changed_in_five_cases_of_a_hundred() -> None:
    rng = np.random.default_rng(12)
    n_trials, n_changed = 1500, 0
    for _ in range(n_trials):
        final, later = (
            SettingPlucks(tuple(Measured(float(t), 0.1) for t in 345 * np.exp(rng.normal(0, 0.004, 4))))
            for _ in range(2)
        )
        n_changed += judge_run_in([], final, [later], common_share=0.01).rechecks[0].fall.is_significant
    assert n_changed / n_trials == pytest.approx(0.05, abs=4 * math.sqrt(0.05 * 0.95 / n_trials))


def test_intervals_of_the_fall_hold_the_truth_in_95_cases_of_a_hundred() -> None:
    rng = np.random.default_rng(13)
    n_trials, held_percent, held_n = 1500, 0, 0
    true_n = np.array([500.0, 395.0])
    for _ in range(n_trials):
        common = math.exp(rng.normal(0, 0.012))
        drawn = common * true_n[:, None] * np.exp(rng.normal(0, 0.006, (2, 3)))
        given = [
            CountedPlucks(i, tuple(Measured(float(t), 0.1) for t in each)) for i, each in enumerate(drawn)
        ]
        fall = judge_run_in(given, common_share=0.012).fall
        assert fall is not None
        held_percent += abs(fall.fall_percent.value - 21) <= fall.fall_percent.expanded_uncertainty
        held_n += abs(fall.fall_n.value - 105) <= fall.fall_n.expanded_uncertainty
    four_deviations = 4 * math.sqrt(0.05 * 0.95 / n_trials)
    assert held_percent / n_trials == pytest.approx(0.95, abs=four_deviations)
    assert held_n / n_trials == pytest.approx(0.95, abs=four_deviations)


def test_a_further_fall_is_set_against_the_limits() -> None:
    falling = [CountedPlucks(x, plucks(400 + 100 * math.exp(-x / 5))) for x in COUNTS]
    found = judge_run_in(falling, setting(345), common_share=0.012, limits=LIMITS)
    assert isinstance(found.further, FurtherFall)
    assert found.final_margin is not None
    assert found.final_margin_after_further is not None
    now, then = found.final_margin.above_lower_percent, found.final_margin_after_further.above_lower_percent
    assert now is not None
    assert then is not None
    left = 1 - found.further.fall_share.value
    assert 1 + then.value / 100 == pytest.approx(left * (1 + now.value / 100))
    # A lower tension known to the same share is known better in newtons; what is foretold adds to it.
    added = found.further.log_fall.standard_uncertainty * left * (1 + now.value / 100)
    expected = math.hypot(left * now.standard_uncertainty / 100, added)
    assert then.standard_uncertainty / 100 == pytest.approx(expected)


@pytest.mark.parametrize("given", [[], counted()[:1]])
def test_without_turning_nothing_is_said_of_a_run_in(given: list[CountedPlucks]) -> None:
    found = judge_run_in(given, setting(345), common_share=0.012, limits=LIMITS)
    assert found.fall is None
    assert found.per_revolution_n is None
    assert found.per_revolution_percent is None
    assert found.stretch_start_revolutions is None
    assert found.further is NoForecast.FEW_COUNTS
    assert found.levelling.reason is NotToldReason.ONE_COUNT
    assert (found.by_setting is None) is (not given)
    assert found.final_margin is not None


def test_recheck_without_a_final_setting_is_refused() -> None:
    with pytest.raises(ValueError, match="needs a final setting"):
        judge_run_in(counted(), None, [setting(340)], common_share=0.0)


def test_a_common_share_below_zero_is_refused() -> None:
    with pytest.raises(ValueError, match=r"common share -0\.1"):
        judge_run_in(counted(), common_share=-0.1)


def test_revolutions_below_zero_are_refused() -> None:
    with pytest.raises(ValueError, match="revolutions -2"):
        judge_run_in([CountedPlucks(-2, plucks(400))], common_share=0.0)


def test_a_belt_that_was_set_anew_at_one_count_has_no_run_in_to_tell() -> None:
    """Plucks of the final setting that were put into the run-in by mistake, at its last count."""
    counted = [
        CountedPlucks(0.0, (Measured(676.0, 2.0), Measured(675.0, 2.0))),
        CountedPlucks(8.0, (Measured(593.0, 2.0),)),
        CountedPlucks(10.0, (Measured(586.0, 2.0), Measured(422.0, 2.0), Measured(422.5, 2.0))),
    ]
    found = judge_run_in(counted, common_share=0.01)
    assert found.levelling.state is LevelState.NOT_TOLD
    assert found.levelling.reason is NotToldReason.DISAGREE
    assert found.further is NoForecast.DISAGREE
    assert (found.fall, found.per_revolution_percent, found.by_setting) == (None, None, None)
    assert run_in_sentence(found).startswith(
        "run-in not judged: plucks at one count of revolutions do not agree"
    )


def test_plucks_at_one_count_that_differ_as_a_set_may_are_told_of() -> None:
    counted = [
        CountedPlucks(0.0, (Measured(676.0, 2.0), Measured(675.0, 2.0))),
        CountedPlucks(8.0, (Measured(593.0, 2.0), Measured(593.0 * 1.055, 2.0))),
    ]
    assert judge_run_in(counted, common_share=0.01).fall is not None

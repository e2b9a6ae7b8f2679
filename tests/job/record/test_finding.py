"""What a record states to be found: against figures worked out by hand, the guide, and the command line."""

import json
import math
import subprocess
import sys
from collections.abc import Sequence
from typing import Any

import pytest

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.belt.comparison import Baseline, ComparedQuantity, SingleValue
from tensionear.belt.estimate import Estimate
from tensionear.belt.specification import Specification
from tensionear.belt.stated_value import BeltState, Method, ReferenceSpan, Stated
from tensionear.job.log import Fact, PluckStruckOut
from tensionear.job.passes import PassKind
from tensionear.job.pluck_document import PluckDocument
from tensionear.job.record.finding import found_of
from tensionear.job.record.found_document import Found, FoundPass
from tensionear.job.setup import Setup
from tensionear.job.specification_document import BaselineDocument, SpecificationDocument
from tensionear.known_span import SpanModel
from tensionear.metrology.decision import Side, Verdict
from tensionear.metrology.levelling import LevelState
from tensionear.metrology.pluck_set import Disagreement
from tests.job.invented import (
    FINAL_HZ,
    a_pass,
    invented_pluck,
    invented_setup,
    invented_state,
    refused_pluck,
    whole_job,
)
from tests.job.recorded_job import RECORDINGS, recorded

PER_SQUARE_HZ = 4 * 0.165 * 0.213**2
"""T/f² = 4·m·L² of the invented span, 0.02994354 N/Hz²."""


def found(facts: Sequence[Fact], setup: Setup | None = None) -> Found:
    """What a job of these facts is found to say."""
    setup = setup or invented_setup()
    return found_of(invented_state(facts, setup=setup), setup)


def found_final(plucks: Sequence[PluckDocument], setup: Setup | None = None) -> FoundPass:
    """What is found of a job that is one final setting."""
    (only,) = found(a_pass(PassKind.FINAL_SETTING, plucks), setup).passes
    return only


def read(fundamentals_hz: Sequence[float] = FINAL_HZ) -> list[PluckDocument]:
    """Plucks that were read."""
    return [invented_pluck(each) for each in fundamentals_hz]


@pytest.fixture(scope="module")
def whole() -> Found:
    return found(whole_job())


@pytest.mark.parametrize(
    ("pass_number", "mean_hz", "tension_n"), [(1, 150.0, 673.730), (3, 118.0, 416.934), (4, 117.0, 409.897)]
)
def test_the_tension_of_a_pass_is_the_hand_worked_one(
    whole: Found, pass_number: int, mean_hz: float, tension_n: float
) -> None:
    # T = 4·0.165·0.213²·f²: 150² = 22500, 118² = 13924, 117² = 13689, each times 0.02994354.
    each = whole.passes[pass_number - 1]
    assert each.fundamental is not None
    assert each.tension is not None
    assert each.fundamental.value == pytest.approx(mean_hz, abs=1e-9)
    assert each.tension.value == pytest.approx(tension_n, abs=1e-3)
    assert each.tension.value == pytest.approx(PER_SQUARE_HZ * mean_hz**2)
    assert each.flexible_tension is not None
    assert each.flexible_tension.value == pytest.approx(tension_n, abs=1e-3)
    assert each.span_model is SpanModel.FLEXIBLE


def test_the_uncertainty_of_a_tension_is_the_root_of_the_sum_of_squares_by_hand(whole: Found) -> None:
    # JCGM 100:2008, 5.1.2 and 5.1.6: u(T)/T is the root of (2 u(f)/f)² + (2 u(L)/L)² + (u(m)/m)² + (2 u(c))².
    each = whole.passes[2]
    assert each.fundamental is not None
    assert each.tension is not None
    clock = 273e-6 / math.sqrt(3)
    share = math.hypot(
        2 * each.fundamental.standard_uncertainty / 118.0, 2 * 0.0005 / 0.213, 0.001 / 0.165, 2 * clock
    )
    assert each.tension.standard_uncertainty == pytest.approx(share * 416.934, rel=1e-4)
    assert each.tension.expanded_uncertainty == pytest.approx(
        each.tension.coverage_factor * each.tension.standard_uncertainty
    )


def test_the_mean_of_a_pass_has_the_scatter_of_its_plucks_by_hand(whole: Found) -> None:
    # 118.2, 117.8, 118.1, 117.9, 118.0: squares of the differences 0.04 + 0.04 + 0.01 + 0.01 = 0.10, s² = 0.025.
    each = whole.passes[2]
    assert each.fundamental is not None
    assert each.scatter_hz == pytest.approx(math.sqrt(0.025))
    assert each.fundamental.standard_uncertainty == pytest.approx(math.sqrt(0.025 / 5))  # JCGM 100, 4.2.3


def test_the_budget_of_a_result_makes_up_its_uncertainty(whole: Found) -> None:
    for each in whole.passes:
        compared = each.compared
        budgets = [(each.budget, each.tension)]
        if compared is not None:
            budgets.append((compared.budget, compared.result))
        for lines, result in budgets:
            if result is None:
                assert lines == ()
                continue
            variance = sum(line.contribution**2 for line in lines)
            assert variance == pytest.approx(result.standard_uncertainty**2)
            assert sum(line.share for line in lines) == pytest.approx(1.0)


def test_all_plucks_are_accounted_for(whole: Found) -> None:
    assert [pluck.pluck_number for each in whole.passes for pluck in each.plucks] == list(range(1, 22))
    assert [(each.n_readings, each.n_refused, each.n_in_mean) for each in whole.passes] == [
        (5, 0, 5),
        (5, 0, 0),
        (5, 1, 5),
        (5, 0, 5),
    ]


def test_each_pluck_has_its_hand_worked_tension_and_a_refused_one_none(whole: Found) -> None:
    final = whole.passes[2]
    assert final.plucks[0].tension is None
    assert not final.plucks[0].is_reading
    for pluck, fundamental_hz in zip(final.plucks[1:], FINAL_HZ, strict=True):
        assert pluck.tension is not None
        assert pluck.tension.value == pytest.approx(PER_SQUARE_HZ * fundamental_hz**2)


def test_the_conclusion_is_that_of_the_deciding_pass_with_its_figure(whole: Found) -> None:
    assert whole.deciding_pass_number == 4
    assert whole.conclusion.startswith("At the re-check the tension of a flexible span is 409.9 ± ")
    assert whole.conclusion.endswith("in band: the specified band reaches from 380 to 460 N.")


@pytest.mark.parametrize(
    ("mean_hz", "verdict", "side", "said"),
    [
        (118.0, Verdict.IN_BAND, None, "which is in band: the specified band"),
        (100.0, Verdict.OUT_OF_BAND, Side.LOW, "which is out of band, too low: the specified band"),
        (130.0, Verdict.OUT_OF_BAND, Side.HIGH, "which is out of band, too high: the specified band"),
        (113.0, Verdict.UNDECIDED, Side.LOW, "undecided, too near the lower limit to be told from it"),
    ],
)
def test_the_verdict_and_its_words_go_together(
    mean_hz: float, verdict: Verdict, side: Side | None, said: str
) -> None:
    facts = a_pass(PassKind.FINAL_SETTING, read([mean_hz - 0.1, mean_hz, mean_hz + 0.1]))
    all_found = found(facts)
    compared = all_found.passes[0].compared
    assert compared is not None
    assert (compared.verdict, compared.side) == (verdict, side)
    assert said in all_found.conclusion
    assert ("in band" in all_found.conclusion) == (verdict is Verdict.IN_BAND)
    assert (all_found.passes[0].way_out is not None) == (verdict is Verdict.UNDECIDED)
    assert (all_found.passes[0].move is None) == (verdict is Verdict.IN_BAND)


def test_a_move_goes_to_the_middle_of_the_band_by_hand() -> None:
    move = found_final(read([100.0, 100.1, 99.9])).move
    assert move is not None
    # The middle of 380 to 460 N is 420 N: f = √(420/0.02994354) = 118.433 Hz; from 100 Hz, 299.435 N.
    assert move.target_hz == pytest.approx(118.433, abs=1e-3)
    assert move.change_hz == pytest.approx(18.433, abs=1e-3)
    assert move.target_n == pytest.approx(420.0)
    assert move.change_n == pytest.approx(120.565, abs=1e-3)
    assert move.is_enough


def test_a_single_value_has_no_verdict() -> None:
    given = Specification(
        Method.VIBRATION_TENSION,
        (Stated(BeltState.ANY, SingleValue(417.0, BandUnit.NEWTON)),),
        "Invented sheet 2",
        ReferenceSpan(),
    )
    all_found = found(
        a_pass(PassKind.FINAL_SETTING, read()),
        invented_setup(specification=SpecificationDocument.of(given)),
    )
    compared = all_found.passes[0].compared
    assert compared is not None
    assert compared.result is not None
    assert (compared.verdict, compared.side, compared.conformance_probability) == (None, None, None)
    assert all_found.conclusion == (
        "No verdict at the final setting: a single value without a tolerance is stated."
    )


def test_a_baseline_is_stated_to_be_no_specification() -> None:
    baseline = BaselineDocument.of(Baseline(Estimate(118.0, 0.1), 5.0, "invented job 17"))
    all_found = found(
        a_pass(PassKind.FINAL_SETTING, read()), invented_setup(specification=None, baseline=baseline)
    )
    compared = all_found.passes[0].compared
    assert compared is not None
    assert not compared.is_specification
    assert compared.quantity is ComparedQuantity.FREQUENCY
    assert "specif" not in all_found.conclusion
    assert "the band about an earlier job reaches from 112.1 to 123.9 Hz" in all_found.conclusion


def test_a_frequency_is_found_without_a_span_and_no_tension() -> None:
    given = Specification(
        Method.FREQUENCY,
        (Stated(BeltState.ANY, ToleranceBand(110.0, 122.0, BandUnit.HERTZ)),),
        "Invented sheet",
    )
    setup = invented_setup(span=None, specification=SpecificationDocument.of(given))
    each = found_final(read(), setup)
    assert (each.span_model, each.tension, each.flexible_tension, each.budget) == (None, None, None, ())
    assert each.compared is not None
    assert each.compared.verdict is Verdict.IN_BAND
    assert each.plucks[0].tension is None


def test_a_marked_pluck_is_named_by_its_number_in_the_job() -> None:
    facts = [
        *a_pass(PassKind.OVER_TENSION, read([150.0, 150.1])),
        *a_pass(
            PassKind.FINAL_SETTING, [refused_pluck(), *read([*FINAL_HZ, 236.4])], number=2, first_pluck=3
        ),
    ]
    (marked,) = found(facts).passes[1].marked
    assert marked.pluck_number == 9


def test_a_marked_pluck_is_named_rightly_behind_one_that_was_struck_out() -> None:
    facts = [
        *a_pass(PassKind.FINAL_SETTING, read([118.05, *FINAL_HZ, 236.4])),
        PluckStruckOut(pluck_number=1, reason="invented"),
    ]
    each = found(facts).passes[0]
    assert [marked.pluck_number for marked in each.marked] == [7]
    assert (each.n_struck_out, each.n_in_mean) == (1, 5)


def test_plucks_that_do_not_agree_have_no_mean_and_the_conclusion_says_why() -> None:
    all_found = found(a_pass(PassKind.FINAL_SETTING, read([110.0, 118.0, 126.0, 134.0])))
    each = all_found.passes[0]
    assert (each.fundamental, each.tension, each.budget) == (None, None, ())
    assert each.disagreement is Disagreement.DIFFERENT
    assert each.compared is not None
    assert (each.compared.result, each.compared.verdict, each.compared.budget) == (None, None, ())
    assert all_found.conclusion.startswith("No verdict: the plucks of the final setting do not agree")


def test_a_final_setting_that_still_goes_on_has_no_verdict_yet() -> None:
    all_found = found(a_pass(PassKind.FINAL_SETTING, read([118.0, 118.1]))[:-1])
    assert all_found.passes[0].ended_at is None
    assert all_found.conclusion == "No verdict yet: the final setting still goes on."


def test_a_job_that_was_not_set_has_no_verdict() -> None:
    all_found = found(a_pass(PassKind.OVER_TENSION, read([150.0, 150.1])))
    assert all_found.deciding_pass_number is None
    assert all_found.conclusion == "No verdict: the belt was not read after its final setting."
    # An over-tension that is in its band is no verdict on the job.
    assert all_found.passes[0].compared is not None
    assert all_found.passes[0].compared.verdict is Verdict.IN_BAND


def test_the_fall_in_run_in_is_the_hand_worked_one(whole: Found) -> None:
    # A tension goes with the square: from 150 to 125 Hz it falls by 1 - (125/150)² = 30.56 %.
    run_in = whole.run_in
    assert run_in is not None
    assert [count.revolutions for count in run_in.counts] == [0, 2, 4, 6, 8, 10]
    assert run_in.counts[-1].tension.value == pytest.approx(PER_SQUARE_HZ * 125.0**2)
    assert run_in.fall is not None
    assert run_in.fall.percent.value == pytest.approx(100 * (1 - (125 / 150) ** 2), abs=0.01)
    assert run_in.fall.newtons.value == pytest.approx(PER_SQUARE_HZ * (150.0**2 - 125.0**2), rel=1e-3)
    assert run_in.fall.is_significant
    assert run_in.level_state is not LevelState.LEVEL
    # From 118 to 117 Hz: 1 - (117/118)² = 1.688 %.
    assert run_in.rechecks[0].pass_number == 4
    assert run_in.rechecks[0].fall.percent.value == pytest.approx(1.688, abs=0.001)


def test_the_same_job_is_found_to_say_the_same() -> None:
    assert found(whole_job()).canonical() == found(whole_job()).canonical()


@pytest.fixture(scope="module")
def by_command() -> list[dict[str, Any]]:
    """What ``tensionear read --json`` tells of a recording, with the span of the invented setup."""
    arguments = [
        "read", str(RECORDINGS / "final-setting.flac"), "--json", "--flexible", "--method", "vibration",
        "--stated-for-this-span", "--band-n", "380", "460", "--source", "Invented specification 'Example Sheet 1'",
        "--span-length-mm", "213", "--span-length-within-mm", str(0.5 * math.sqrt(3)),
        "--linear-density-g-per-m", "165", "--linear-density-within-percent", str(100 * math.sqrt(3) / 165),
    ]  # fmt: skip
    ran = subprocess.run([sys.executable, "-m", "tensionear", *arguments], capture_output=True, text=True)
    assert ran.returncode == 0, ran.stderr
    return [json.loads(line) for line in ran.stdout.splitlines()]


def test_a_job_finds_in_a_recording_what_the_command_line_finds(by_command: list[dict[str, Any]]) -> None:
    each = found_final([pluck for pluck, _ in recorded("final-setting", 5)])
    plucks = [line for line in by_command if line["kind"] == "pluck"]
    (together,) = [line for line in by_command if line["kind"] == "set"]
    assert len(plucks) == len(each.plucks) == 5
    for line, pluck in zip(plucks, each.plucks, strict=True):
        assert pluck.tension is not None
        assert pluck.tension.value == pytest.approx(line["tension_n"])
        assert pluck.tension.standard_uncertainty == pytest.approx(line["tension_standard_uncertainty_n"])
        assert pluck.tension.expanded_uncertainty == pytest.approx(line["tension_expanded_uncertainty_n"])
    assert each.fundamental is not None
    assert each.tension is not None
    assert each.compared is not None
    assert each.compared.result is not None
    assert [
        each.n_readings,
        each.n_refused,
        each.n_in_mean,
        each.scatter_hz,
        each.fundamental.value,
        each.fundamental.standard_uncertainty,
        each.fundamental.expanded_uncertainty,
        each.tension.value,
        each.tension.standard_uncertainty,
        each.tension.expanded_uncertainty,
        each.tension.coverage_factor,
        each.compared.result.value,
        each.compared.result.standard_uncertainty,
        each.compared.result.expanded_uncertainty,
        each.compared.conformance_probability,
    ] == pytest.approx(
        [
            together[name]
            for name in (
                "n_readings",
                "n_refused",
                "n_in_mean",
                "scatter_hz",
                "fundamental_hz",
                "fundamental_standard_uncertainty_hz",
                "fundamental_expanded_uncertainty_hz",
                "tension_n",
                "tension_standard_uncertainty_n",
                "tension_expanded_uncertainty_n",
                "coverage_factor",
                "compared_value",
                "compared_standard_uncertainty",
                "compared_expanded_uncertainty",
                "conformance_probability",
            )
        ]
    )
    assert str(each.compared.verdict) == together["verdict"]

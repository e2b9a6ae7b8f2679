"""What a pass says: by hand from T = 4·m·L²·f², by the GUM's formulas, and the same as any front end's set."""

import math
from statistics import fmean, stdev

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import t as student

from tensionear.job.log import Fact, PassBegun, PluckKept, PluckReinstated, PluckStruckOut
from tensionear.job.passes import PassKind
from tensionear.job.pluck_document import PluckDocument
from tensionear.job.results import PassResult, amiss, deciding_pass, pass_result, pass_results
from tensionear.job.setup import Setup
from tensionear.metrology.decision import Side, Verdict
from tensionear.metrology.marks import Mark
from tensionear.metrology.pluck_set import Disagreement
from tensionear.pluck.listener import HeardPluck
from tensionear.pluck.outcome import PluckClip
from tensionear.reading import SetReading, read_pluck, summarise
from tensionear.task import BeltTask
from tests.job.invented import (
    FINAL_HZ,
    OVER_TENSION_HZ,
    RUN_IN_HZ,
    a_pass,
    invented_pluck,
    invented_setup,
    invented_state,
    refused_pluck,
    whole_job,
)

SETUP = invented_setup()
NEWTON_PER_SQUARE_HERTZ = 4 * 0.165 * 0.213**2
"""4·m·L² of the invented span, 0.02994354: 110 Hz make 362.32 N."""


def result_of(
    plucks: list[PluckDocument], kind: PassKind = PassKind.FINAL_SETTING, *more: Fact, setup: Setup = SETUP
) -> PassResult:
    """What a pass of these plucks says."""
    return pass_result(invented_state([*a_pass(kind, plucks), *more]).passes[0], setup)


def read_at(*fundamentals_hz: float) -> list[PluckDocument]:
    """Plucks that were read, each another sound."""
    return [invented_pluck(each, name=f"pluck {number}") for number, each in enumerate(fundamentals_hz, 1)]


@pytest.mark.parametrize(
    ("fundamental_hz", "tension_n"),
    # 4·0.165·0.213² = 0.029943540; times f², by hand.
    [(110.0, 362.316834), (118.0, 416.933851), (150.0, 673.729650), (100.0, 299.435400)],
)
def test_the_tension_of_a_pass_is_the_hand_worked_one(fundamental_hz: float, tension_n: float) -> None:
    tension = result_of(read_at(fundamental_hz)).tension
    assert tension is not None
    assert tension.value == pytest.approx(tension_n, abs=1e-6)


def test_the_mean_is_of_the_frequencies_and_the_tension_is_at_the_mean() -> None:
    tension = result_of(read_at(*FINAL_HZ)).tension
    assert tension is not None
    assert tension.value == pytest.approx(NEWTON_PER_SQUARE_HERTZ * fmean(FINAL_HZ) ** 2, rel=1e-9)
    assert tension.value != pytest.approx(
        NEWTON_PER_SQUARE_HERTZ * fmean(each**2 for each in FINAL_HZ), rel=1e-9
    )


def test_the_uncertainty_of_a_pass_is_that_of_the_guide() -> None:
    # JCGM 100:2008: 4.2.3 (mean of n observations), 5.1.6 equation (12) (product of powers: relative variances times
    # the squared exponents), 4.3.7 (rectangular), G.4.1 equation (G.2b) (effective degrees of freedom), G.3.2 (t).
    tension = result_of(read_at(*FINAL_HZ)).tension
    assert tension is not None
    n, mean_hz = len(FINAL_HZ), fmean(FINAL_HZ)
    of_fundamental = 2 * stdev(FINAL_HZ) / math.sqrt(n) / mean_hz
    others = (2 * 0.0005 / 0.213, 0.001 / 0.165, 2 * 273e-6 / math.sqrt(3))
    combined = math.hypot(of_fundamental, *others)
    degrees = combined**4 / (of_fundamental**4 / (n - 1))
    assert tension.standard_uncertainty / tension.value == pytest.approx(combined, rel=1e-6)
    assert tension.degrees_of_freedom == pytest.approx(degrees, rel=1e-4)
    assert tension.expanded_uncertainty == pytest.approx(
        student.ppf(0.975, degrees) * combined * tension.value, rel=1e-6
    )


def test_the_uncertainty_of_a_pass_is_that_of_drawing_from_its_inputs() -> None:
    # JCGM 101:2008, 7.2 to 7.6: propagation of distributions, drawn here without any code of the project. Its
    # budget takes the span's length and density as rectangular, which leaves their standard uncertainties as given.
    tension = result_of(read_at(*FINAL_HZ)).tension
    assert tension is not None
    generator, n_drawn = np.random.default_rng(20260302), 400_000
    n = len(FINAL_HZ)
    scatter = stdev(FINAL_HZ) / math.sqrt(n) * generator.standard_t(n - 1, n_drawn)
    half = math.sqrt(3)
    length = generator.uniform(0.213 - half * 0.0005, 0.213 + half * 0.0005, n_drawn)
    density = generator.uniform(0.165 - half * 0.001, 0.165 + half * 0.001, n_drawn)
    clock = generator.uniform(-273e-6, 273e-6, n_drawn)
    drawn = 4 * density * length**2 * ((fmean(FINAL_HZ) + scatter) * (1 + clock)) ** 2
    assert tension.value == pytest.approx(drawn.mean(), rel=2e-4)
    # Student's t of 4 degrees has twice the variance that the guide's first order takes; the scatter makes up 2.4 %
    # of the whole variance here, so that the drawn standard uncertainty is 1.2 % larger.
    assert tension.standard_uncertainty == pytest.approx(drawn.std(), rel=0.02)


def test_the_verdict_is_that_of_the_band_that_holds_for_the_pass() -> None:
    over = result_of(read_at(*OVER_TENSION_HZ), PassKind.OVER_TENSION).together.decision
    as_final = result_of(read_at(*OVER_TENSION_HZ), PassKind.FINAL_SETTING).together.decision
    assert over is not None
    assert as_final is not None
    assert over.verdict is Verdict.IN_BAND  # 674 N, 600 to 760 N
    assert (as_final.verdict, as_final.side) == (Verdict.OUT_OF_BAND, Side.HIGH)  # 380 to 460 N


def test_near_a_limit_a_pass_is_undecided_and_tells_the_way_out_and_the_move() -> None:
    # 113 Hz make 382.35 N, 2.3 N above the lower limit of 380 N; the expanded uncertainty is 2·0.77 % = 5.9 N.
    result = result_of(read_at(113.0, 113.02, 112.98, 113.01, 112.99))
    decision = result.together.decision
    assert decision is not None
    assert (decision.verdict, decision.side) == (Verdict.UNDECIDED, Side.LOW)
    assert result.way_out is not None
    assert result.move is not None
    # The middle of 380 to 460 N is 420 N: f = √(420/0.02994354) = 118.433 Hz.
    assert result.move.target_hz == pytest.approx(118.433, abs=0.001)
    assert result.move.change_hz == pytest.approx(5.433, abs=0.001)
    assert result.move.target_n == pytest.approx(420.0, abs=1e-3)


def test_a_pass_in_band_has_nothing_to_decide() -> None:
    assert result_of(read_at(*FINAL_HZ)).way_out is None


def summarised(plucks: list[PluckDocument], task: BeltTask) -> SetReading:
    """The same plucks on the way of every front end."""
    clip = PluckClip(np.zeros(10, dtype=np.float32), 48_000, 0)
    heard = [HeardPluck(clip, each.outcome.pluck_outcome()) for each in plucks]
    return summarise([read_pluck("invented", 1, each, task) for each in heard], task)


@given(
    st.lists(st.floats(110.0, 126.0) | st.none(), min_size=1, max_size=8),
    st.floats(0.001, 0.5),
    st.sampled_from([kind for kind in PassKind if kind is not PassKind.RUN_IN]),
)
@settings(max_examples=20, deadline=None)
def test_a_pass_says_what_a_set_of_the_same_plucks_says(
    fundamentals_hz: list[float | None], standard_uncertainty_hz: float, kind: PassKind
) -> None:
    plucks = [
        refused_pluck(name=f"pluck {number}")
        if each is None
        else invented_pluck(each, standard_uncertainty_hz=standard_uncertainty_hz, name=f"pluck {number}")
        for number, each in enumerate(fundamentals_hz, 1)
    ]
    result = result_of(plucks, kind)
    expected = summarised(plucks, SETUP.task_for(kind))
    together = result.together
    assert (together.n_readings, together.n_refused) == (expected.n_readings, expected.n_refused)
    assert together.fundamental == expected.fundamental
    assert together.marked == expected.marked
    assert together.tension == expected.tension  # to the last bit
    assert together.decision == expected.decision
    assert (together.found is None) == (expected.found is None)
    if together.found is not None and expected.found is not None:
        assert together.found.conformance_probability == expected.found.conformance_probability


def test_each_pluck_that_was_read_says_something_by_itself() -> None:
    result = result_of([*read_at(118.0, 110.0), refused_pluck()])
    assert set(result.each_pluck) == {1, 2}
    assert result.each_pluck[2].tension is not None
    assert result.each_pluck[2].tension.value == pytest.approx(362.316834, abs=1e-6)


def test_a_struck_out_pluck_is_shown_by_itself_and_does_not_count() -> None:
    plucks = read_at(118.0, 118.2, 117.8, 59.0)
    struck = PluckStruckOut(pluck_number=4, reason="another span answered")
    result = result_of(plucks, PassKind.FINAL_SETTING, struck)
    without = result_of(plucks[:3])
    assert result.tension == without.tension
    assert result.together.fundamental == without.together.fundamental
    assert [pluck.number for pluck in result.considered] == [1, 2, 3]
    assert set(result.each_pluck) == {1, 2, 3, 4}
    again = result_of(
        plucks, PassKind.FINAL_SETTING, struck, PluckReinstated(pluck_number=4, reason="it was not")
    )
    assert again.tension == result_of(plucks).tension


def test_a_pass_of_which_all_is_struck_out_or_refused_says_nothing() -> None:
    struck = PluckStruckOut(pluck_number=1, reason="another span answered")
    for result in (
        result_of([]),
        result_of([refused_pluck()]),
        result_of([*read_at(118.0), refused_pluck()], PassKind.FINAL_SETTING, struck),
    ):
        assert result.together.n_readings == 0
        assert (result.tension, result.together.decision, result.way_out, result.move) == (
            None,
            None,
            None,
            None,
        )


def test_readings_that_do_not_agree_have_no_mean_no_tension_and_no_verdict() -> None:
    result = result_of(read_at(112.0, 113.5, 115.0, 116.5, 118.0))
    assert result.together.fundamental is not None
    assert result.together.fundamental.disagreement is Disagreement.DIFFERENT  # 5.2 % from end to end
    assert (result.tension, result.together.decision, result.move) == (None, None, None)


def test_a_reading_that_stands_apart_is_told_by_its_place_among_those_considered() -> None:
    plucks = [refused_pluck(), *read_at(236.0, 118.0, 118.1, 117.9, 118.05, 117.95)]
    result = result_of(plucks, PassKind.FINAL_SETTING)
    assert [(each.number, each.mark) for each in result.together.marked] == [(2, Mark.PARTIAL_2)]
    assert result.considered[result.together.marked[0].number - 1].number == 2
    struck = result_of(
        plucks, PassKind.FINAL_SETTING, PluckStruckOut(pluck_number=3, reason="a door slammed")
    )
    marked = struck.together.marked[0]
    assert struck.considered[marked.number - 1].number == 2


def test_a_run_in_has_no_mean_and_each_of_its_plucks_a_tension() -> None:
    plucks = [*read_at(*RUN_IN_HZ), refused_pluck()]
    result = result_of(plucks, PassKind.RUN_IN)
    assert (result.together.n_readings, result.together.n_refused) == (5, 1)
    assert (result.together.fundamental, result.tension, result.together.decision) == (None, None, None)
    assert (result.way_out, result.move) == (None, None)
    tensions = [each.tension.value for each in result.each_pluck.values() if each.tension is not None]
    assert tensions == pytest.approx([NEWTON_PER_SQUARE_HERTZ * each**2 for each in RUN_IN_HZ], rel=1e-9)
    assert all(each.decision is None for each in result.each_pluck.values())


def test_a_run_in_that_does_not_settle_has_no_mean_either() -> None:
    assert result_of(read_at(118.0, 118.0, 118.0), PassKind.RUN_IN).together.fundamental is None


def test_without_a_span_a_pass_says_its_frequency_and_no_tension() -> None:
    result = result_of(read_at(*FINAL_HZ), setup=Setup(name="Example Four"))
    assert result.together.fundamental is not None
    mean = result.together.fundamental.mean
    assert mean is not None
    assert mean.value == pytest.approx(118.0)
    assert mean.standard_uncertainty == pytest.approx(stdev(FINAL_HZ) / math.sqrt(5))
    assert mean.degrees_of_freedom == 4
    assert (result.tension, result.together.decision) == (None, None)


def test_the_results_of_a_job_are_those_of_its_passes_in_their_order() -> None:
    state = invented_state(whole_job())
    results = pass_results(state, SETUP)
    assert tuple(each.job_pass for each in results) == state.passes
    assert results[2].tension == pass_result(state.passes[2], SETUP).tension
    verdicts = [
        None if each.together.decision is None else each.together.decision.verdict for each in results
    ]
    assert verdicts == [Verdict.IN_BAND, None, Verdict.IN_BAND, Verdict.IN_BAND]


def test_a_pass_is_judged_by_the_setup_that_it_is_given() -> None:
    each_pass = invented_state(a_pass(PassKind.FINAL_SETTING, read_at(*FINAL_HZ))).passes[0]
    corrected = SETUP.model_dump(mode="json")
    corrected["specification"]["values"][1]["stated"].update(lower=300.0, upper=380.0)
    before = pass_result(each_pass, SETUP).together.decision
    after = pass_result(each_pass, Setup.model_validate(corrected)).together.decision
    assert before is not None
    assert after is not None
    assert (before.verdict, after.verdict) == (Verdict.IN_BAND, Verdict.OUT_OF_BAND)


def decided_by(*passes: tuple[PassKind, list[PluckDocument]]) -> int | None:
    """Number of the deciding pass of a job with these passes."""
    facts: list[Fact] = []
    n_plucks = 0
    for number, (kind, plucks) in enumerate(passes, 1):
        facts += a_pass(kind, plucks, number=number, first_pluck=n_plucks + 1)
        n_plucks += len(plucks)
    deciding = deciding_pass(invented_state(facts))
    return None if deciding is None else deciding.number


def test_the_last_final_setting_or_re_check_decides() -> None:
    one = read_at(118.0)
    over, run_in, final, check = ((kind, one) for kind in PassKind)
    assert decided_by() is None
    assert decided_by(over, run_in) is None
    assert decided_by(over, run_in, final) == 3
    assert decided_by(over, run_in, final, final) == 4
    assert decided_by(over, run_in, final, check, check) == 5
    assert decided_by(over, final, run_in) == 2


def test_a_belt_that_was_over_tensioned_anew_is_undecided_until_it_is_set_again() -> None:
    one = read_at(118.0)
    over, run_in, final, _ = ((kind, one) for kind in PassKind)
    assert decided_by(over, run_in, final, over) is None
    assert decided_by(over, run_in, final, over, run_in) is None
    assert decided_by(over, run_in, final, over, final) == 5


def test_a_re_check_without_a_reading_leaves_the_final_setting_to_decide() -> None:
    final = (PassKind.FINAL_SETTING, read_at(118.0))
    assert decided_by(final, (PassKind.RE_CHECK, [])) == 1
    assert decided_by(final, (PassKind.RE_CHECK, [refused_pluck()])) == 1


def test_a_final_setting_without_a_reading_does_not_leave_an_older_one_to_decide() -> None:
    """The tensioner was moved: what was found before holds no longer."""
    assert (
        decided_by((PassKind.FINAL_SETTING, read_at(118.0)), (PassKind.FINAL_SETTING, [refused_pluck()])) == 2
    )


def test_a_pass_that_goes_on_decides_with_what_it_has() -> None:
    facts = [
        *a_pass(PassKind.FINAL_SETTING, read_at(118.0)),
        PassBegun(pass_number=2, pass_kind=PassKind.RE_CHECK),
        PluckKept(pass_number=2, pluck_number=2, pluck=invented_pluck(117.0)),
    ]
    deciding = deciding_pass(invented_state(facts))
    assert deciding is not None
    assert deciding.number == 2


@pytest.mark.parametrize(
    ("fundamentals_hz", "kind", "said"),
    # 4·m·L²·f² by hand: 118 Hz make 417 N, 130 Hz 506 N, 113 Hz 382 N; 380 to 460 N. 600 to 760 N as over-tension.
    [
        ((118.0, 118.1, 117.9), PassKind.FINAL_SETTING, None),
        ((130.0, 130.1, 129.9), PassKind.FINAL_SETTING, "pass 1, final setting, is out of band: too high"),
        ((113, 113.02, 112.98), PassKind.FINAL_SETTING, "pass 1, final setting, is undecided: near the lower limit"),
        ((118.0, 125.0, 132.0), PassKind.FINAL_SETTING, "pass 1, final setting, has plucks that do not agree"),
        ((118.0, 118.1, 117.9), PassKind.OVER_TENSION, "pass 1, over-tension, is out of band: too low"),
        ((118.0, 118.1, 117.9), PassKind.RUN_IN, None),
    ],
)  # fmt: skip
def test_what_is_amiss_is_what_the_last_judged_pass_found(
    fundamentals_hz: tuple[float, ...], kind: PassKind, said: str | None
) -> None:
    assert amiss(invented_state(a_pass(kind, read_at(*fundamentals_hz))), SETUP) == said


def test_a_pass_that_was_done_again_well_leaves_nothing_amiss() -> None:
    facts = a_pass(PassKind.FINAL_SETTING, read_at(130.0, 130.1, 129.9))
    assert amiss(invented_state(facts), SETUP) is not None
    better = [invented_pluck(each, name=f"better {each}") for each in FINAL_HZ]
    facts += a_pass(PassKind.FINAL_SETTING, better, number=2, first_pluck=4)
    assert amiss(invented_state(facts), SETUP) is None

"""The course of a job: what is to be done now, and what a pass may not jump over."""

from itertools import pairwise

import pytest

from tensionear.cautions import CAUTIONS
from tensionear.job.course import (
    COURSE,
    NextStep,
    cautions_for,
    is_complete,
    next_step,
    steps_before,
    steps_left,
)
from tensionear.job.log import (
    CautionsAcknowledged,
    Fact,
    JobClosed,
    PassBegun,
    PassEnded,
    PluckKept,
    PluckStruckOut,
    StepDone,
    StepSkipped,
    Turned,
)
from tensionear.job.passes import PassKind, Step
from tensionear.job.setup import Direction, RunInPlan, Setup
from tests.job.any_deeds import log_of
from tests.job.invented import (
    a_pass,
    invented_pluck,
    invented_setup,
    invented_state,
    refused_pluck,
    setup_taken,
    whole_job,
)

SETUP = invented_setup()
ACKNOWLEDGED = CautionsAcknowledged(cautions=cautions_for(SETUP))
TOOLS_OUT = StepDone(step=Step.TOOLS_OUT)
TOP_DEAD_CENTRE = StepDone(step=Step.TOP_DEAD_CENTRE)


def plucks(n: int, fundamental_hz: float = 118.0) -> list[PluckKept]:
    """So many plucks of pass 1."""
    return [
        PluckKept(pass_number=1, pluck_number=number, pluck=invented_pluck(fundamental_hz + number / 100))
        for number in range(1, n + 1)
    ]


def turned(revolutions: float) -> Turned:
    """Turned by hand as the setup says."""
    return Turned(revolutions=revolutions, direction=Direction.CLOCKWISE)


def coming(facts: list[Fact], setup: Setup = SETUP) -> NextStep:
    """What is to be done after `facts`."""
    return next_step(invented_state(facts, setup=setup), setup)


def skipped(*steps: Step) -> list[Fact]:
    """That steps were left out."""
    return [StepSkipped(step=step, reason="invented reason") for step in steps]


def test_the_next_step_leads_through_the_whole_job() -> None:
    facts = whole_job()
    told = [coming(facts[:n]) for n in range(len(facts) + 1)]
    steps = [each.step for each in told]
    assert [step for step, after in pairwise([*steps, "end"]) if step != after] == [
        Step.CAUTIONS, Step.OVER_TENSION, Step.TOOLS_OUT, Step.RUN_IN, Step.TOP_DEAD_CENTRE, Step.FINAL_SETTING, None,
        Step.RE_CHECK, None,
    ]  # fmt: skip


def test_each_step_of_a_job_is_told_in_its_words() -> None:
    facts = whole_job()
    said = [coming(facts[:n]).instruction for n in range(len(facts) + 1)]
    once = [each for each, after in pairwise([*said, ""]) if each != after]
    assert once == [
        "Read the cautions and acknowledge them.",
        "Over-tension the new belt as the manufacturer says, then read the span.",
        "Pluck the span and let it ring out: 5 more readings.",
        "Pluck the span and let it ring out: 4 more readings.",
        "Pluck the span and let it ring out: 3 more readings.",
        "Pluck the span and let it ring out: 2 more readings.",
        "Pluck the span and let it ring out: 1 more reading.",
        "The over-tension pass has its readings: end it, or pluck once more.",
        "Take the locking tools out, all of them, before the engine is turned.",
        "Turn the engine over by hand, clockwise seen from the belt's side: 10 revolutions."
        " Stop at once if it binds.",
        *(
            "Turn the engine over by hand, clockwise seen from the belt's side: "
            f"{n} more revolutions. Stop at once if it binds."
            for n in (8, 6, 4, 2)
        ),
        "The run-in has its revolutions: pluck once more, or end the run-in pass.",
        "Turn on to top dead centre and see that all marks are aligned.",
        "Set the tensioner to its final mark as the manufacturer says, then read the span.",
        "Pluck the span and let it ring out: 5 more readings.",
        "Pluck the span and let it ring out: 4 more readings.",
        "Pluck the span and let it ring out: 3 more readings.",
        "Pluck the span and let it ring out: 2 more readings.",
        "Pluck the span and let it ring out: 1 more reading.",
        "The final setting pass has its readings: end it, or pluck once more.",
        "All steps are done: close the job. A re-check may follow at any time.",
        "The job is closed. A re-check may follow at any time.",
        "Pluck the span and let it ring out: 5 more readings.",
        "Pluck the span and let it ring out: 4 more readings.",
        "Pluck the span and let it ring out: 3 more readings.",
        "Pluck the span and let it ring out: 2 more readings.",
        "Pluck the span and let it ring out: 1 more reading.",
        "The re-check pass has its readings: end it, or pluck once more.",
        "All steps are done: close the job. A re-check may follow at any time.",
    ]


def test_who_does_what_is_said_next_comes_to_the_end() -> None:
    for setup in (
        SETUP,
        invented_setup(run_in=None),
        Setup(name="Example Four"),
        invented_setup(plucks_per_pass=1),
    ):
        told = [None] * 40
        assert (
            next_step(invented_state([e.fact for e in log_of(told, setup)[2:]], setup=setup), setup).step
            is None
        )


def test_the_cautions_are_those_that_always_hold_and_then_the_setups_own() -> None:
    assert cautions_for(SETUP) == (*CAUTIONS, "Invented caution: let the engine cool to room temperature.")
    assert cautions_for(Setup(name="Example Four")) == CAUTIONS


def test_cautions_that_a_new_version_of_the_setup_brings_are_to_be_read_too() -> None:
    newer = invented_setup(cautions=(*SETUP.cautions, "Invented caution: the tensioner is left-handed."))
    facts: list[Fact] = [ACKNOWLEDGED, setup_taken(newer, 2, "a caution was missing")]
    assert coming(facts, SETUP).step is Step.OVER_TENSION
    assert coming(facts, newer).step is Step.CAUTIONS
    assert (
        coming([*facts, CautionsAcknowledged(cautions=cautions_for(newer))], newer).step is Step.OVER_TENSION
    )


def test_readings_left_are_those_that_count() -> None:
    begun: list[Fact] = [ACKNOWLEDGED, PassBegun(pass_number=1, pass_kind=PassKind.OVER_TENSION)]
    assert coming([ACKNOWLEDGED]).readings_left == 5
    assert coming(begun).readings_left == 5
    kept = [*begun, *plucks(3)]
    assert coming(kept).readings_left == 2
    refused = PluckKept(pass_number=1, pluck_number=4, pluck=refused_pluck())
    assert coming([*kept, refused]).readings_left == 2
    assert (
        coming([*kept, refused, PluckStruckOut(pluck_number=2, reason="a door slammed")]).readings_left == 3
    )
    assert coming([*begun, *plucks(6)]).readings_left == 0


def test_a_pass_is_complete_with_as_many_readings_as_the_setup_asks_for() -> None:
    for n in (4, 5, 6):
        state = invented_state(
            [ACKNOWLEDGED, PassBegun(pass_number=1, pass_kind=PassKind.RE_CHECK), *plucks(n)]
        )
        assert is_complete(state.passes[0], SETUP) is (n >= 5)


def test_a_run_in_is_never_complete_by_its_number_of_readings() -> None:
    state = invented_state([PassBegun(pass_number=1, pass_kind=PassKind.RUN_IN), *plucks(6)])
    assert not is_complete(state.passes[0], SETUP)


@pytest.mark.parametrize(
    ("kind", "before"),
    [
        (PassKind.OVER_TENSION, COURSE[:1]),
        (PassKind.RUN_IN, COURSE[:3]),
        (PassKind.FINAL_SETTING, COURSE[:5]),
        (PassKind.RE_CHECK, COURSE),
    ],
)
def test_each_pass_has_its_steps_before(kind: PassKind, before: tuple[Step, ...]) -> None:
    assert steps_before(kind, invented_state(), SETUP) == [*before]
    done = invented_state([ACKNOWLEDGED, *skipped(*COURSE[1:])])
    assert steps_before(kind, done, SETUP) == []


def test_a_pass_that_ended_without_a_reading_that_counts_is_not_done() -> None:
    over: list[Fact] = [ACKNOWLEDGED, *a_pass(PassKind.OVER_TENSION, [refused_pluck()])]
    assert coming(over).step is Step.OVER_TENSION
    one = [ACKNOWLEDGED, *a_pass(PassKind.OVER_TENSION, [invented_pluck(150.0)])]
    assert coming(one).step is Step.TOOLS_OUT  # left as it is, with fewer than five
    assert coming([*one, PluckStruckOut(pluck_number=1, reason="another span")]).step is Step.OVER_TENSION


def test_a_skipped_step_is_not_asked_for_again() -> None:
    assert coming([ACKNOWLEDGED, *skipped(Step.OVER_TENSION, Step.TOOLS_OUT)]).step is Step.RUN_IN


def test_over_tension_done_anew_starts_the_run_in_anew() -> None:
    facts = whole_job()
    assert steps_left(invented_state(facts), SETUP) == []
    anew = [
        *facts,
        *a_pass(
            PassKind.OVER_TENSION, [invented_pluck(151.0)], number=5, first_pluck=22, reason="it slipped"
        ),
    ]
    assert steps_left(invented_state(anew), SETUP) == [
        Step.TOOLS_OUT, Step.RUN_IN, Step.TOP_DEAD_CENTRE, Step.FINAL_SETTING,
    ]  # fmt: skip
    assert "10 revolutions" in coming([*anew, TOOLS_OUT]).instruction


def test_what_was_skipped_before_the_over_tension_was_done_anew_is_asked_for_again() -> None:
    facts = [
        ACKNOWLEDGED,
        *skipped(Step.OVER_TENSION, Step.TOOLS_OUT, Step.RUN_IN, Step.TOP_DEAD_CENTRE, Step.FINAL_SETTING),
        *a_pass(PassKind.OVER_TENSION, [invented_pluck(150.0)]),
    ]
    assert coming(facts).step is Step.TOOLS_OUT


def test_a_re_check_after_closing_asks_for_readings_and_then_for_closing() -> None:
    facts = [*whole_job()[:-7], PassBegun(pass_number=4, pass_kind=PassKind.RE_CHECK)]
    assert isinstance(facts[-2], JobClosed)
    assert coming(facts[:-1]) == NextStep(None, "The job is closed. A re-check may follow at any time.")
    assert (coming(facts).step, coming(facts).readings_left) == (Step.RE_CHECK, 5)
    assert "close the job" in coming([*facts, PassEnded(pass_number=4)]).instruction


def test_without_a_run_in_plan_one_revolution_is_a_run_in_and_the_manufacturer_says_how_many() -> None:
    setup = invented_setup(run_in=None)
    facts = [ACKNOWLEDGED, *a_pass(PassKind.OVER_TENSION, [invented_pluck(150.0)]), TOOLS_OUT]
    before = coming(facts, setup)
    assert before.step is Step.RUN_IN
    assert "as often as the manufacturer says" in before.instruction
    assert coming([*facts, Turned(revolutions=0.5, direction=None)], setup).step is Step.RUN_IN
    assert coming([*facts, Turned(revolutions=2, direction=None)], setup).step is Step.TOP_DEAD_CENTRE


def test_revolutions_are_counted_off_and_the_last_one_is_one() -> None:
    facts: list[Fact] = [ACKNOWLEDGED, *a_pass(PassKind.OVER_TENSION, [invented_pluck(150.0)]), TOOLS_OUT]
    setup = invented_setup(
        run_in=RunInPlan(revolutions=3, direction=Direction.ANTICLOCKWISE, seen_from="the flywheel")
    )
    assert "anticlockwise seen from the flywheel: 3 revolutions" in coming(facts, setup).instruction
    assert ": 1 revolution." in coming([*facts, turned(2)], setup).instruction
    assert ": 0.5 more revolutions." in coming([*facts, turned(2.5)], setup).instruction
    assert coming([*facts, turned(3)], setup).step is Step.TOP_DEAD_CENTRE


def test_a_run_in_pass_that_goes_on_is_to_be_ended_before_the_next_step() -> None:
    facts: list[Fact] = [
        ACKNOWLEDGED, *a_pass(PassKind.OVER_TENSION, [invented_pluck(150.0)]), TOOLS_OUT,
        PassBegun(pass_number=2, pass_kind=PassKind.RUN_IN), turned(10),
    ]  # fmt: skip
    for more in ([], [TOP_DEAD_CENTRE], [TOP_DEAD_CENTRE, *skipped(Step.FINAL_SETTING)]):
        assert coming([*facts, *more]).step is Step.RUN_IN
        assert "end the run-in pass" in coming([*facts, *more]).instruction
    assert coming([*facts, PassEnded(pass_number=2)]).step is Step.TOP_DEAD_CENTRE


def test_turning_after_top_dead_centre_asks_for_it_again() -> None:
    facts: list[Fact] = [
        ACKNOWLEDGED, *a_pass(PassKind.OVER_TENSION, [invented_pluck(150.0)]), TOOLS_OUT, turned(10), TOP_DEAD_CENTRE,
    ]  # fmt: skip
    assert coming(facts).step is Step.FINAL_SETTING
    assert coming([*facts, turned(2)]).step is Step.TOP_DEAD_CENTRE


def test_who_skips_the_locking_tools_is_reminded_of_them_before_turning() -> None:
    setup = invented_setup()
    facts = [
        CautionsAcknowledged(cautions=cautions_for(setup)),
        *a_pass(PassKind.OVER_TENSION, [invented_pluck(150.0)]),
        StepSkipped(step=Step.TOOLS_OUT, reason="forgot"),
    ]
    instruction = next_step(invented_state(facts, setup=setup), setup).instruction
    assert instruction.startswith(
        "Be sure that no locking tool is in, for none is noted as out (forgot). Turn the"
    )

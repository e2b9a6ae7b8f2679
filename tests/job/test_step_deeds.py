"""Steps between the passes: noted, skipped with a reason, ticked, turned by hand, or refused."""

import math

import pytest

from tensionear.errors import InputError
from tensionear.job.course import COURSE, cautions_for
from tensionear.job.deeds import (
    acknowledge_cautions,
    do_step,
    skip_step,
    tick,
    turn,
)
from tensionear.job.log import (
    CautionsAcknowledged,
    Fact,
    LineTicked,
    PassBegun,
    PassEnded,
    StepDone,
    StepSkipped,
    Turned,
)
from tensionear.job.passes import PassKind, Step
from tensionear.job.setup import Direction
from tests.job.invented import (
    a_pass,
    invented_pluck,
    invented_setup,
    invented_state,
    whole_job,
)

SETUP = invented_setup()
ACKNOWLEDGED = acknowledge_cautions(invented_state(), SETUP)
TOOLS_OUT = StepDone(step=Step.TOOLS_OUT)
OVER_TENSION = a_pass(PassKind.OVER_TENSION, [invented_pluck(150.0)])


def skipped(*steps: Step) -> list[Fact]:
    """That steps were left out."""
    return [StepSkipped(step=step, reason="invented reason") for step in steps]


def test_all_cautions_are_acknowledged_at_once() -> None:
    assert acknowledge_cautions(invented_state(), SETUP) == CautionsAcknowledged(cautions=cautions_for(SETUP))


def test_steps_without_readings_are_noted_and_no_others() -> None:
    state = invented_state()
    for step in Step:
        if step in (Step.TOOLS_OUT, Step.TOP_DEAD_CENTRE):
            assert do_step(state, step) == StepDone(step=step)
        else:
            with pytest.raises(InputError, match=f"the step {step} is not noted by itself"):
                do_step(state, step)


@pytest.mark.parametrize("reason", ["", " ", "\t\n"])
def test_skipping_without_a_reason_is_refused(reason: str) -> None:
    for step in COURSE[1:]:
        with pytest.raises(
            InputError, match=f"why is the step {step} skipped\\? A reason is needed, and kept"
        ):
            skip_step(invented_state(), step, reason)


def test_skipping_keeps_the_reason() -> None:
    told = skip_step(invented_state(), Step.OVER_TENSION, " the manufacturer asks for none ")
    assert told == StepSkipped(step=Step.OVER_TENSION, reason="the manufacturer asks for none")


def test_the_cautions_cannot_be_skipped() -> None:
    with pytest.raises(InputError, match="the cautions cannot be skipped: read and acknowledge them"):
        skip_step(invented_state(), Step.CAUTIONS, "I know them")


def test_a_line_is_ticked_with_its_own_value_or_the_one_that_was_used() -> None:
    state = invented_state()
    assert tick(state, SETUP, 1) == LineTicked(step=Step.TOOLS_OUT, text="crankshaft pin out")
    as_said = LineTicked(step=Step.FINAL_SETTING, text="tensioner bolt", value=25.0, unit="N m")
    assert tick(state, SETUP, 2) == as_said
    assert tick(state, SETUP, 2, 24.0) == as_said.model_copy(update={"value": 24.0})


@pytest.mark.parametrize(
    ("number", "value", "match"),
    [
        (0, None, "the checklist has 2 lines, and no line 0"),
        (3, None, "the checklist has 2 lines, and no line 3"),
        (1, 24.0, "line 1, 'crankshaft pin out', has no value that could be 24"),
        (2, math.nan, "nan N m is not finite"),
        (2, math.inf, "inf N m is not finite"),
    ],
)
def test_a_tick_that_cannot_be_meant_is_refused(number: int, value: float | None, match: str) -> None:
    with pytest.raises(InputError, match=match):
        tick(invented_state(), SETUP, number, value)


# turning


def test_turning_with_the_locking_tools_in_is_refused() -> None:
    for facts in ([], [ACKNOWLEDGED, *OVER_TENSION]):
        with pytest.raises(
            InputError, match="the locking tools are not noted as out: take all of them out before"
        ):
            turn(invented_state(facts), SETUP, 2)


def test_tools_that_were_out_before_the_over_tension_was_done_anew_may_be_in_again() -> None:
    again = PassBegun(pass_number=5, pass_kind=PassKind.OVER_TENSION, reason="it slipped")
    state = invented_state([*whole_job(), again, PassEnded(pass_number=5)])
    with pytest.raises(InputError, match="the locking tools are not noted as out"):
        turn(state, SETUP, 2)


def test_turning_is_noted_in_the_setups_direction() -> None:
    told = Turned(revolutions=2, direction=Direction.CLOCKWISE)
    assert turn(invented_state([TOOLS_OUT]), SETUP, 2) == told
    assert turn(invented_state([TOOLS_OUT]), SETUP, 2, Direction.CLOCKWISE) == told
    assert turn(invented_state(skipped(Step.TOOLS_OUT)), SETUP, 2) == told


def test_turning_against_the_setups_direction_is_refused() -> None:
    with pytest.raises(
        InputError, match=r"says to turn clockwise, and anticlockwise is given: .* look at the marks"
    ):
        turn(invented_state([TOOLS_OUT]), SETUP, 2, Direction.ANTICLOCKWISE)


@pytest.mark.parametrize("direction", [None, *Direction])
def test_where_the_setup_does_not_say_any_direction_is_noted_as_told(direction: Direction | None) -> None:
    told = turn(invented_state([TOOLS_OUT]), invented_setup(run_in=None), 2, direction)
    assert told == Turned(revolutions=2, direction=direction)


@pytest.mark.parametrize("revolutions", [0.0, -2.0, 101.0, math.nan, math.inf])
def test_a_number_of_revolutions_that_cannot_be_meant_is_refused(revolutions: float) -> None:
    with pytest.raises(
        InputError, match="revolutions are not above 0 and at most 100: how often was it turned"
    ):
        turn(invented_state([TOOLS_OUT]), SETUP, revolutions)


def test_turning_in_a_pass_is_refused_but_in_the_run_in() -> None:
    for kind in PassKind:
        state = invented_state([PassBegun(pass_number=1, pass_kind=kind), TOOLS_OUT])
        if kind is PassKind.RUN_IN:
            assert turn(state, SETUP, 2).revolutions == 2
        else:
            with pytest.raises(InputError, match=f"pass 1, {kind}, goes on, and turning changes the belt"):
                turn(state, SETUP, 2)

"""What a person may do in a job, and what is refused with a reason; no deed writes anything."""

import math
from typing import Any

import pytest

from tensionear.errors import InputError
from tensionear.job.course import COURSE
from tensionear.job.deeds import (
    acknowledge_cautions,
    begin_pass,
    close_job,
    correct_detail,
    delete_job,
    do_step,
    end_pass,
    keep_pluck,
    reinstate,
    restore_job,
    skip_step,
    strike_out,
    tick,
    turn,
)
from tensionear.job.log import (
    DetailCorrected,
    Fact,
    JobClosed,
    JobDeleted,
    JobRestored,
    PassBegun,
    PassEnded,
    PluckKept,
    PluckReinstated,
    PluckStruckOut,
    StepDone,
    StepSkipped,
)
from tensionear.job.passes import PassKind, Step
from tensionear.job.state import JobState
from tests.job.invented import (
    a_pass,
    invented_details,
    invented_pluck,
    invented_setup,
    invented_state,
    refused_pluck,
    whole_job,
)

SETUP = invented_setup()
ACKNOWLEDGED = acknowledge_cautions(invented_state(), SETUP)
TOOLS_OUT = StepDone(step=Step.TOOLS_OUT)
OVER_TENSION = a_pass(PassKind.OVER_TENSION, [invented_pluck(150.0)])
READ_AND_REFUSED: list[Fact] = [
    PassBegun(pass_number=1, pass_kind=PassKind.RE_CHECK),
    PluckKept(pass_number=1, pluck_number=1, pluck=invented_pluck(118.0)),
    PluckKept(pass_number=1, pluck_number=2, pluck=refused_pluck()),
]
TOO_LONG = "x" * 201


def skipped(*steps: Step) -> list[Fact]:
    """That steps were left out."""
    return [StepSkipped(step=step, reason="invented reason") for step in steps]


# passes


def test_a_pass_in_its_turn_begins() -> None:
    begun = begin_pass(invented_state([ACKNOWLEDGED]), SETUP, PassKind.OVER_TENSION)
    assert begun == PassBegun(pass_number=1, pass_kind=PassKind.OVER_TENSION)


@pytest.mark.parametrize(
    ("facts", "kind", "match"),
    [
        ([], PassKind.OVER_TENSION, "before the over-tension comes cautions: do it, or skip it and say why"),
        ([ACKNOWLEDGED], PassKind.RUN_IN, "before the run-in comes over-tension and locking tools out"),
        (
            [ACKNOWLEDGED, *OVER_TENSION, TOOLS_OUT],
            PassKind.FINAL_SETTING,
            "before the final setting comes run-in and top dead centre",
        ),
        (
            [ACKNOWLEDGED],
            PassKind.RE_CHECK,
            "comes over-tension, locking tools out, run-in, top dead centre and final setting: do it",
        ),
    ],
)
def test_a_pass_out_of_turn_is_refused_and_what_comes_before_is_named(
    facts: list[Fact], kind: PassKind, match: str
) -> None:
    with pytest.raises(InputError, match=match):
        begin_pass(invented_state(facts), SETUP, kind, "invented reason")


def test_a_pass_out_of_turn_begins_when_what_comes_before_is_skipped() -> None:
    state = invented_state([ACKNOWLEDGED, *skipped(*COURSE[1:])])
    for kind in PassKind:
        assert begin_pass(state, SETUP, kind).pass_number == 1


def test_a_pass_in_a_pass_is_refused() -> None:
    state = invented_state([ACKNOWLEDGED, PassBegun(pass_number=1, pass_kind=PassKind.OVER_TENSION)])
    with pytest.raises(InputError, match="pass 1, over-tension, goes on: end it first"):
        begin_pass(state, SETUP, PassKind.OVER_TENSION, "again")


@pytest.mark.parametrize("reason", ["", "  "])
def test_a_pass_again_without_a_reason_is_refused(reason: str) -> None:
    state = invented_state(whole_job())
    for kind in (PassKind.OVER_TENSION, PassKind.RUN_IN, PassKind.FINAL_SETTING):
        with pytest.raises(InputError, match=f"there is a pass {kind} already, and it stays"):
            begin_pass(state, SETUP, kind, reason)
        assert begin_pass(state, SETUP, kind, " it slipped ").reason == "it slipped"


def test_after_the_over_tension_was_done_anew_what_follows_is_no_repeat() -> None:
    over = a_pass(PassKind.OVER_TENSION, [invented_pluck(151.0)], number=5, first_pluck=22)
    state = invented_state([*whole_job(), *over, TOOLS_OUT, *skipped(Step.RUN_IN, Step.TOP_DEAD_CENTRE)])
    for kind in (PassKind.RUN_IN, PassKind.FINAL_SETTING):
        assert begin_pass(state, SETUP, kind).reason == ""
    with pytest.raises(InputError, match="there is a pass over-tension already"):
        begin_pass(state, SETUP, PassKind.OVER_TENSION)


def test_a_re_check_needs_no_reason_however_often() -> None:
    begun = begin_pass(invented_state(whole_job()), SETUP, PassKind.RE_CHECK)
    assert begun == PassBegun(pass_number=5, pass_kind=PassKind.RE_CHECK)


def test_ending_no_pass_is_refused() -> None:
    for facts in ([], whole_job()):
        with pytest.raises(InputError, match="no pass goes on that could be ended"):
            end_pass(invented_state(facts))


def test_a_pass_ends_whatever_it_holds() -> None:
    assert end_pass(invented_state(READ_AND_REFUSED)) == PassEnded(pass_number=1)
    assert end_pass(invented_state(READ_AND_REFUSED[:1])) == PassEnded(pass_number=1)


# plucks


def test_a_pluck_is_kept_in_the_pass_that_goes_on_whatever_became_of_it() -> None:
    state = invented_state(READ_AND_REFUSED)
    for pluck in (invented_pluck(119.0), refused_pluck(name="another")):
        assert keep_pluck(state, pluck) == PluckKept(pass_number=1, pluck_number=3, pluck=pluck)


def test_plucks_are_numbered_through_the_job() -> None:
    state = invented_state([*whole_job(), PassBegun(pass_number=5, pass_kind=PassKind.RE_CHECK)])
    kept = keep_pluck(state, invented_pluck(119.0))
    assert kept is not None
    assert (kept.pass_number, kept.pluck_number) == (5, 22)


def test_a_pluck_without_a_pass_is_refused() -> None:
    for facts in ([], whole_job()):
        with pytest.raises(
            InputError, match="no pass goes on that the pluck could belong to: begin one first"
        ):
            keep_pluck(invented_state(facts), invented_pluck(119.0))


def test_the_same_sound_is_not_kept_twice_in_a_pass_even_when_it_is_struck_out_or_read_otherwise() -> None:
    facts: list[Fact] = [*READ_AND_REFUSED]
    sound = invented_pluck(118.0).sound.flac_sha256
    for pluck in (invented_pluck(118.0), refused_pluck(), invented_pluck(59.0, flac_sha256=sound)):
        assert keep_pluck(invented_state(facts), pluck) is None
    facts.append(PluckStruckOut(pluck_number=1, reason="a door slammed"))
    assert keep_pluck(invented_state(facts), invented_pluck(118.0)) is None


def test_two_plucks_at_one_fundamental_are_two_if_their_sounds_differ() -> None:
    assert keep_pluck(invented_state(READ_AND_REFUSED), invented_pluck(118.0, name="another")) is not None


def test_a_recording_that_was_read_into_a_wrong_pass_can_be_read_into_the_right_one() -> None:
    facts: list[Fact] = [
        *READ_AND_REFUSED, PassEnded(pass_number=1), PassBegun(pass_number=2, pass_kind=PassKind.RE_CHECK)
    ]  # fmt: skip
    with pytest.raises(
        InputError, match="this very sound is pluck 1, in pass 1, re-check, already: was a rec"
    ):
        keep_pluck(invented_state(facts), invented_pluck(118.0))
    facts.append(PluckStruckOut(pluck_number=1, reason="of another pass"))
    kept = keep_pluck(invented_state(facts), invented_pluck(118.0))
    assert kept == PluckKept(pass_number=2, pluck_number=3, pluck=invented_pluck(118.0))
    with pytest.raises(InputError, match="this very sound is pluck 3, in pass 2, re-check, already"):
        reinstate(invented_state([*facts, kept]), 1, "it was right after all")
    assert keep_pluck(invented_state(facts), refused_pluck()) is not None  # it counts nowhere


def test_striking_out_and_reinstating_ask_for_a_reason() -> None:
    state = invented_state(READ_AND_REFUSED)
    assert strike_out(state, 1, " a door slammed ") == PluckStruckOut(pluck_number=1, reason="a door slammed")
    with pytest.raises(InputError, match="why is pluck 1 struck out"):
        strike_out(state, 1, " ")
    struck = invented_state([*READ_AND_REFUSED, strike_out(state, 1, "a door slammed")])
    assert reinstate(struck, 1, "no door") == PluckReinstated(pluck_number=1, reason="no door")
    with pytest.raises(InputError, match="why does pluck 1 count again"):
        reinstate(struck, 1, "")
    with pytest.raises(InputError, match="pluck 1 is struck out already: a door slammed"):
        strike_out(struck, 1, "again")


def test_what_does_not_count_cannot_be_struck_out_and_what_counts_not_reinstated() -> None:
    state = invented_state(READ_AND_REFUSED)
    with pytest.raises(InputError, match="pluck 2 was refused and does not count anyway"):
        strike_out(state, 2, "a door slammed")
    for number in (1, 2):
        with pytest.raises(InputError, match=f"pluck {number} is not struck out"):
            reinstate(state, number, "invented reason")


@pytest.mark.parametrize("number", [-1, 0, 3])
def test_a_pluck_that_is_not_there_is_neither_struck_out_nor_reinstated(number: int) -> None:
    state = invented_state(READ_AND_REFUSED)
    for deed in (strike_out, reinstate):
        with pytest.raises(InputError, match=f"the job has 2 plucks, and no pluck {number}"):
            deed(state, number, "invented reason")


# details


def test_a_correction_says_before_after_and_why() -> None:
    assert correct_detail(invented_state(), "odometer_km", "122500", " misread ") == DetailCorrected(
        name="odometer_km", before=121_500.0, after=122_500.0, reason="misread"
    )
    assert correct_detail(invented_state(), "belt_c", None, "never measured").after is None


@pytest.mark.parametrize(
    ("name", "after", "reason", "match"),
    [
        ("colour", "red", "r", "a job has no detail 'colour', but vehicle, registration"),
        ("vehicle", "another", " ", "why is the vehicle corrected"),
        ("odometer_km", 1.0, "", "why is the odometer corrected"),
        ("ambient_c", 1.0, "", "why is the ambient temperature corrected"),
        ("chassis_number", "1", "", "why is the chassis number corrected"),
        ("odometer_km", 121_500.0, "r", "the odometer is 121500.0 already"),
        ("vehicle", f" {invented_details().vehicle} ", "r", "the vehicle is .* already"),
        ("odometer_km", -1.0, "r", "odometer_km -1.0 should be greater than or equal to 0"),
        ("odometer_km", "many", "r", "odometer_km 'many' should be a valid number"),
        ("odometer_km", math.nan, "r", "should be a finite number"),
        ("belt_c", 200.0, "r", "belt_c 200.0 should be less than or equal to 150"),
        ("vehicle", None, "r", "should be a valid string"),
        ("vehicle", TOO_LONG, "r", "at most 200 characters"),
        ("vehicle", "\x1b[2J", "r", "control character"),
    ],
)
def test_a_correction_that_cannot_be_meant_is_refused(
    name: str, after: str | float | None, reason: str, match: str
) -> None:
    with pytest.raises(InputError, match=match):
        correct_detail(invented_state(), name, after, reason)


# the job


def test_a_job_with_all_steps_done_or_skipped_is_closed() -> None:
    facts = [each for each in whole_job() if not isinstance(each, JobClosed)]
    assert close_job(invented_state(facts), SETUP) == JobClosed()
    state = invented_state([ACKNOWLEDGED, *skipped(*COURSE[1:])])
    assert close_job(state, SETUP) == JobClosed()


def test_closing_over_steps_that_are_left_is_refused() -> None:
    with pytest.raises(
        InputError, match="before the job is closed comes top dead centre and final setting: do it"
    ):
        close_job(invented_state([ACKNOWLEDGED, *skipped(*COURSE[1:4])]), SETUP)


def test_closing_in_a_pass_or_twice_is_refused() -> None:
    with pytest.raises(InputError, match="pass 1, re-check, goes on: end it first"):
        close_job(invented_state(READ_AND_REFUSED), SETUP)
    facts = [*whole_job(), JobClosed()]
    with pytest.raises(InputError, match="the job is closed already"):
        close_job(invented_state(facts), SETUP)


def test_deleting_asks_for_a_reason_and_restoring_for_a_deleted_job() -> None:
    with pytest.raises(InputError, match="why is the job deleted"):
        delete_job(invented_state(), " ")
    with pytest.raises(InputError, match="the job is not deleted"):
        restore_job(invented_state())
    deleted = delete_job(invented_state(), "a trial")
    assert deleted == JobDeleted(reason="a trial")
    assert restore_job(invented_state([deleted]), "it was none") == JobRestored(reason="it was none")


def test_nothing_is_done_in_a_deleted_job_but_restoring_it() -> None:
    state = invented_state([*READ_AND_REFUSED, JobDeleted(reason="a trial")])
    refused: list[tuple[Any, ...]] = [
        (acknowledge_cautions, SETUP),
        (begin_pass, SETUP, PassKind.RE_CHECK), (keep_pluck, invented_pluck(119.0)), (end_pass,),
        (do_step, Step.TOOLS_OUT), (skip_step, Step.RUN_IN, "r"), (turn, SETUP, 2), (tick, SETUP, 1),
        (strike_out, 1, "r"), (reinstate, 1, "r"), (correct_detail, "vehicle", "x", "r"), (close_job, SETUP),
        (delete_job, "r"),
    ]  # fmt: skip
    for deed, *told in refused:
        with pytest.raises(InputError, match="the job is deleted: restore it first"):
            deed(state, *told)


@pytest.mark.parametrize("reason", [TOO_LONG, "two\nlines", "\x1b[2J", "\udcff"], ids=ascii)
def test_a_reason_that_cannot_be_kept_is_refused_in_words(reason: str) -> None:
    state = invented_state([ACKNOWLEDGED, *READ_AND_REFUSED, PluckStruckOut(pluck_number=1, reason="r")])
    plain, deleted = invented_state(READ_AND_REFUSED), invented_state([JobDeleted(reason="a trial")])
    over = invented_state([ACKNOWLEDGED, *OVER_TENSION])
    told: list[tuple[Any, ...]] = [
        (begin_pass, over, SETUP, PassKind.OVER_TENSION), (skip_step, state, Step.RUN_IN), (strike_out, plain, 1),
        (reinstate, state, 1), (correct_detail, state, "vehicle", "x"), (delete_job, state), (restore_job, deleted),
    ]  # fmt: skip
    for deed, *given in told:
        with pytest.raises(
            InputError, match=r"reason '.*at most 200|reason '.*control character|reason '.*valid"
        ):
            deed(*given, reason)


def test_no_deed_changes_the_job_that_it_is_given() -> None:
    state = invented_state(whole_job())
    before: JobState = invented_state(whole_job())
    begin_pass(state, SETUP, PassKind.RE_CHECK)
    skip_step(state, Step.RUN_IN, "r")
    do_step(state, Step.TOOLS_OUT)
    turn(state, SETUP, 2)
    strike_out(state, 1, "r")
    correct_detail(state, "vehicle", "x", "r")
    delete_job(state, "r")
    assert state == before

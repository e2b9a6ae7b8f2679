"""The state of a job is that of its log, however often it was broken off, and nothing in it is overwritten."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tensionear.job.course import next_step
from tensionear.job.log import (
    CautionsAcknowledged,
    DetailCorrected,
    Fact,
    JobClosed,
    JobDeleted,
    JobOpened,
    JobRestored,
    LineTicked,
    LogEntry,
    NoteAdded,
    PassBegun,
    PassEnded,
    PhotoAdded,
    PluckKept,
    PluckReinstated,
    PluckStruckOut,
    RecordMade,
    StepDone,
    StepSkipped,
    Turned,
)
from tensionear.job.passes import PassKind, Step
from tensionear.job.results import deciding_pass, pass_results
from tensionear.job.setup import Direction
from tensionear.job.state import JobState, state_of
from tests.job.any_deeds import MANY_DEEDS, log_of
from tests.job.invented import (
    FIRST_MOMENT,
    a_pass,
    entries,
    invented_details,
    invented_log,
    invented_pluck,
    invented_setup,
    invented_state,
    refused_pluck,
    setup_taken,
    whole_job,
)

SETUP = invented_setup()
SHA256 = "ab" * 32
PLUCKS = [invented_pluck(118.0), refused_pluck(), invented_pluck(118.2)]


@given(MANY_DEEDS)
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_whatever_a_person_does_folds_and_can_be_judged_and_gone_on_with(
    told: list[tuple[object, ...] | None],
) -> None:
    log = log_of(told, SETUP)
    state = state_of(log)
    assert state.n_entries == len(log)
    assert next_step(state, SETUP).instruction
    assert len(pass_results(state, SETUP)) == len(state.passes)
    deciding = deciding_pass(state)
    assert deciding is None or deciding in state.passes
    kept = [entry.fact for entry in log if isinstance(entry.fact, PluckKept)]
    assert [pluck.pluck for pluck in state.plucks] == [fact.pluck for fact in kept]
    assert [pluck.number for pluck in state.plucks] == [*range(1, len(kept) + 1)]
    assert [each.number for each in state.passes] == [*range(1, len(state.passes) + 1)]
    assert all(each.ended_at is not None for each in state.passes[:-1])


@given(MANY_DEEDS, st.data())
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_a_job_that_was_broken_off_anywhere_and_read_back_goes_on_as_if_it_had_not_been(
    told: list[tuple[object, ...] | None], chosen: st.DataObject
) -> None:
    log = log_of(told, SETUP)
    cut = chosen.draw(st.integers(2, len(log)))
    written = [entry.model_dump_json() for entry in log[:cut]]
    read = tuple(LogEntry.model_validate_json(each) for each in written)
    assert state_of(read) == state_of(log[:cut])
    for entry in log[cut:]:  # what the rest adds, it adds to what was read back
        assert entry.number == state_of(read).n_entries + 1
        read = (*read, entry)
    assert state_of(read) == state_of(log)


@given(MANY_DEEDS)
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_no_deed_changes_an_earlier_pluck_or_an_ended_pass(told: list[tuple[object, ...] | None]) -> None:
    log = log_of(told, SETUP)
    before = state_of(log[:2])
    for n_entries in range(3, len(log) + 1):
        after = state_of(log[:n_entries])
        assert _bare(after)[: len(before.plucks)] == _bare(before)
        for earlier, later in zip(before.passes, after.passes, strict=False):
            assert replace(later, plucks=(), ended_at=None) == replace(earlier, plucks=(), ended_at=None)
            if earlier.ended_at is not None:
                assert later.ended_at == earlier.ended_at
                assert len(later.plucks) == len(earlier.plucks)
        for kept in ("corrections", "notes", "photos", "records", "ticked"):
            assert getattr(after, kept)[: len(getattr(before, kept))] == getattr(before, kept)
        before = after


def _bare(state: JobState) -> list[object]:
    return [replace(each, struck_out="") for each in state.plucks]


def test_who_follows_the_course_closes_the_job() -> None:
    state = state_of(log_of([None] * 40, SETUP))
    assert state.closed_at is not None
    assert [(each.kind, len(each.counting)) for each in state.passes] == [
        (PassKind.OVER_TENSION, 5),
        (PassKind.FINAL_SETTING, 5),
    ]


def test_the_same_log_gives_the_same_job_twice() -> None:
    log = invented_log(whole_job())
    assert state_of(log) == state_of(iter(log))


def test_a_whole_job_is_told_as_it_was() -> None:
    state = invented_state(whole_job())
    assert [(each.kind, len(each.plucks), len(each.counting)) for each in state.passes] == [
        (PassKind.OVER_TENSION, 5, 5),
        (PassKind.RUN_IN, 5, 5),
        (PassKind.FINAL_SETTING, 6, 5),
        (PassKind.RE_CHECK, 5, 5),
    ]
    assert [pluck.revolutions for pluck in state.passes[1].plucks] == [2, 4, 6, 8, 10]
    assert [pluck.revolutions for pluck in state.passes[0].plucks] == [0] * 5
    assert state.revolutions == 10
    assert [*state.done] == [Step.TOOLS_OUT, Step.TOP_DEAD_CENTRE]
    assert state.skipped == {}
    assert [line.text for line in state.ticked] == ["crankshaft pin out", "tensioner bolt"]
    assert state.notes == ("Invented note: the marks are aligned.",)
    assert state.open_pass is None
    assert state.opened_at == FIRST_MOMENT
    assert state.passes[0].begun_at == FIRST_MOMENT + timedelta(minutes=3)
    assert state.passes[0].ended_at == FIRST_MOMENT + timedelta(minutes=9)


def test_a_repeated_pass_leaves_the_earlier_one_as_it_was() -> None:
    first = a_pass(PassKind.FINAL_SETTING, PLUCKS)
    once = invented_state(first)
    again = a_pass(PassKind.FINAL_SETTING, PLUCKS, number=2, first_pluck=4, reason="the bolt slipped")
    twice = invented_state([*first, *again])
    assert twice.passes[0] == once.passes[0]
    assert twice.passes[1].reason == "the bolt slipped"
    assert twice.last_pass(PassKind.FINAL_SETTING) == twice.passes[1]
    assert twice.last_pass(PassKind.RE_CHECK) is None


def test_striking_out_and_reinstating_stay_in_the_log_and_leave_the_pluck_as_it_was() -> None:
    facts: list[Fact] = a_pass(PassKind.FINAL_SETTING, PLUCKS)
    before = invented_state(facts)
    facts.append(PluckStruckOut(pluck_number=3, reason="a door slammed"))
    struck = invented_state(facts)
    assert struck.plucks[2] == replace(before.plucks[2], struck_out="a door slammed")
    assert not struck.plucks[2].counts
    assert [each.number for each in struck.passes[0].counting] == [1]
    facts.append(PluckReinstated(pluck_number=3, reason="it was another pluck"))
    log = invented_log(facts)
    assert replace(state_of(log), n_entries=0) == replace(before, n_entries=0)
    said = [entry.fact.reason for entry in log if isinstance(entry.fact, PluckStruckOut | PluckReinstated)]
    assert said == ["a door slammed", "it was another pluck"]


def test_a_refused_pluck_is_kept_and_does_not_count() -> None:
    state = invented_state(a_pass(PassKind.FINAL_SETTING, PLUCKS))
    assert [pluck.counts for pluck in state.plucks] == [True, False, True]


def test_a_correction_changes_the_detail_and_keeps_what_it_was() -> None:
    first = DetailCorrected(name="odometer_km", before=121_500.0, after=122_500.0, reason="misread")
    second = DetailCorrected(name="odometer_km", before=122_500.0, after=None, reason="another car's")
    state = invented_state([first, second])
    assert state.details == invented_details(odometer_km=None)
    assert state.corrections == (first, second)


def test_over_tension_done_anew_starts_the_run_in_anew_and_forgets_no_pass() -> None:
    facts = whole_job()
    before = invented_state(facts)
    again = invented_state(
        [*facts, PassBegun(pass_number=5, pass_kind=PassKind.OVER_TENSION, reason="the bolt slipped")]
    )
    assert (again.revolutions, again.done, again.skipped) == (0.0, {}, {})
    assert again.passes[:4] == before.passes
    assert again.plucks == before.plucks


@pytest.mark.parametrize("kind", PassKind)
def test_a_pass_after_closing_opens_the_job_again(kind: PassKind) -> None:
    state = invented_state([JobClosed(), PassBegun(pass_number=1, pass_kind=kind)])
    assert state.closed_at is None


def test_turning_on_leaves_top_dead_centre_and_not_the_tools() -> None:
    done: list[Fact] = [StepDone(step=Step.TOOLS_OUT), StepDone(step=Step.TOP_DEAD_CENTRE)]
    assert [*invented_state(done).done] == [Step.TOOLS_OUT, Step.TOP_DEAD_CENTRE]
    turned = invented_state([*done, Turned(revolutions=0.25, direction=None)])
    assert [*turned.done] == [Step.TOOLS_OUT]


def test_a_step_that_is_done_after_all_is_skipped_no_longer() -> None:
    skipped: list[Fact] = [
        StepSkipped(step=step, reason="invented reason")
        for step in (Step.TOOLS_OUT, Step.RUN_IN, Step.FINAL_SETTING)
    ]
    assert len(invented_state(skipped).skipped) == 3
    after = invented_state(
        [*skipped, StepDone(step=Step.TOOLS_OUT), PassBegun(pass_number=1, pass_kind=PassKind.FINAL_SETTING)]
    )
    assert [*after.skipped] == [Step.RUN_IN]


def test_deleting_and_restoring_lose_nothing() -> None:
    facts = whole_job()
    before = invented_state(facts)
    deleted = invented_state([*facts, JobDeleted(reason="a trial")])
    assert deleted.deleted_at is not None
    restored = invented_state([*facts, JobDeleted(reason="a trial"), JobRestored()])
    assert replace(restored, n_entries=0) == replace(before, n_entries=0)


def test_what_is_added_is_kept_in_its_order() -> None:
    photos = [PhotoAdded(sha256=SHA256, media_type="image/png", caption=each) for each in ("first", "second")]
    records = [RecordMade(record_number=each, record_sha256=SHA256) for each in (1, 2)]
    notes = [NoteAdded(text=each) for each in ("first", "second")]
    ticks = [LineTicked(step=Step.RUN_IN, text="looked"), LineTicked(step=Step.RUN_IN, text="looked again")]
    taken = setup_taken(SETUP, 2, "the band was mistyped")
    state = invented_state(
        [*photos, *records, *notes, *ticks, taken, CautionsAcknowledged(cautions=("hot",))]
    )
    assert state.photos == tuple(photos)
    assert state.records == tuple(records)
    assert state.notes == ("first", "second")
    assert state.ticked == tuple(ticks)
    assert state.setup == taken
    assert state.acknowledged == ("hot",)


def test_a_demonstration_is_one_for_ever() -> None:
    assert state_of(invented_log(whole_job(), is_demonstration=True)).is_demonstration
    assert not state_of(invented_log(whole_job(), is_demonstration=False)).is_demonstration


OPENED = JobOpened(details=invented_details())
TAKEN = setup_taken(SETUP)


@pytest.mark.parametrize(
    "facts", [(), (OPENED,), (TAKEN, OPENED), (OPENED, NoteAdded(text="early")), (OPENED, OPENED)], ids=len
)
def test_a_log_that_does_not_begin_with_its_opening_and_setup_is_no_job(facts: Sequence[Fact]) -> None:
    with pytest.raises(ValueError, match="the log does not begin with"):
        state_of(entries(facts))


@pytest.mark.parametrize("lost", range(8))
def test_a_log_with_an_entry_lost_is_no_job(lost: int) -> None:
    log = invented_log(whole_job())
    with pytest.raises(ValueError, match=r"first two entries|entry \d+ of the log is missing"):
        state_of((*log[:lost], *log[lost + 1 :]))


def test_a_log_with_an_entry_twice_or_two_exchanged_is_no_job() -> None:
    log = invented_log(whole_job())
    for wrong in ((*log[:5], log[4], *log[5:]), (*log[:4], log[5], log[4], *log[6:])):
        with pytest.raises(ValueError, match=r"entry [56] of the log is missing"):
            state_of(wrong)


BEGUN = PassBegun(pass_number=1, pass_kind=PassKind.FINAL_SETTING)
KEPT = PluckKept(pass_number=1, pluck_number=1, pluck=PLUCKS[0])


@pytest.mark.parametrize(
    ("facts", "match"),
    [
        ([OPENED], "opens the job again"),
        ([BEGUN, PassBegun(pass_number=2, pass_kind=PassKind.RE_CHECK)], "pass 2 cannot begin"),
        ([PassBegun(pass_number=2, pass_kind=PassKind.RE_CHECK)], "pass 2 cannot begin"),
        ([BEGUN, PassEnded(pass_number=1), BEGUN], "pass 1 cannot begin"),
        ([PassEnded(pass_number=1)], "pass 1 of the log ends and does not go on"),
        ([BEGUN, PassEnded(pass_number=2)], "pass 2 of the log ends and does not go on"),
        (
            [BEGUN, PassEnded(pass_number=1), PassEnded(pass_number=1)],
            "pass 1 of the log ends and does not go on",
        ),
        ([KEPT], "belongs to no pass that goes on"),
        ([BEGUN, PassEnded(pass_number=1), KEPT], "belongs to no pass that goes on"),
        ([BEGUN, KEPT, KEPT], "belongs to no pass that goes on"),
        (
            [BEGUN, PluckKept(pass_number=1, pluck_number=2, pluck=PLUCKS[0])],
            "belongs to no pass that goes on",
        ),
        ([PluckStruckOut(pluck_number=1, reason="none")], "there is no pluck 1"),
        ([BEGUN, KEPT, PluckReinstated(pluck_number=2, reason="none")], "there is no pluck 2"),
        ([DetailCorrected(name="colour", before=None, after="red", reason="none")], "'colour' was not None"),
        (
            [DetailCorrected(name="odometer_km", before=1.0, after=2.0, reason="none")],
            "'odometer_km' was not 1.0 where the log says so",
        ),
        (
            [DetailCorrected(name="odometer_km", before=121_500.0, after="many", reason="none")],
            "should be a valid number",
        ),
    ],
)
def test_a_log_that_no_program_wrote_so_is_no_job(facts: list[Fact], match: str) -> None:
    with pytest.raises(ValueError, match=match):
        invented_state(facts)


def test_directions_are_kept_in_the_log_as_they_were_told() -> None:
    turned = Turned(revolutions=2, direction=Direction.ANTICLOCKWISE)
    assert invented_log([turned])[-1].fact == turned

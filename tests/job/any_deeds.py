"""Whatever a person may do in a job, in any order: some deeds are refused, and those that are not make a log."""

from collections.abc import Sequence
from contextlib import suppress

from hypothesis import strategies as st

from tensionear.errors import InputError
from tensionear.job import deeds
from tensionear.job.course import next_step
from tensionear.job.log import Fact, LogEntry, NoteAdded, PhotoAdded, RecordMade, SetupTaken
from tensionear.job.passes import PassKind, Step
from tensionear.job.setup import Direction, Setup
from tensionear.job.state import JobState, state_of
from tests.job.invented import entries, invented_log, invented_pluck, refused_pluck, setup_taken

REASONS = st.sampled_from(["", " ", "invented reason", "another invented reason"])

DEEDS = st.one_of(
    st.tuples(st.just("acknowledge")),
    st.tuples(st.just("begin"), st.sampled_from(PassKind), REASONS),
    st.tuples(st.just("keep"), st.integers(1, 6)),
    st.tuples(st.just("keep refused"), st.integers(1, 3)),
    st.tuples(st.just("end")),
    st.tuples(st.just("do"), st.sampled_from(Step)),
    st.tuples(st.just("skip"), st.sampled_from(Step), REASONS),
    st.tuples(st.just("turn"), st.floats(-1, 12), st.none() | st.sampled_from(Direction)),
    st.tuples(st.just("tick"), st.integers(0, 3), st.none() | st.floats(1, 100)),
    st.tuples(st.just("strike out"), st.integers(0, 8), REASONS),
    st.tuples(st.just("reinstate"), st.integers(0, 8), REASONS),
    st.tuples(
        st.just("correct"),
        st.sampled_from(["vehicle", "belt_c", "colour"]),
        st.text("ab1", max_size=3),
        REASONS,
    ),
    st.tuples(st.just("close")),
    st.tuples(st.just("delete"), REASONS),
    st.tuples(st.just("restore"), REASONS),
    st.tuples(st.just("note")),
    st.tuples(st.just("photo")),
    st.tuples(st.just("record")),
    st.tuples(st.just("take setup")),
)
"""One deed of a person, with what it is told."""


def the_right_next(setup: Setup, state: JobState) -> tuple[object, ...]:
    """What a person does who follows the course, so that chance does not stop at the cautions."""
    goes_on = state.open_pass
    coming = next_step(state, setup)
    if goes_on is not None and goes_on.kind is not PassKind.RUN_IN:
        return ("keep", len(state.plucks) + 100) if coming.readings_left else ("end",)
    match coming.step:
        case Step.CAUTIONS:
            return ("acknowledge",)
        case Step.OVER_TENSION | Step.FINAL_SETTING if goes_on is None:
            return ("begin", PassKind(coming.step), "done anew")
        case Step.RUN_IN if goes_on is None or state.revolutions < 10:
            return ("turn", 5.0, None)
        case Step.TOOLS_OUT | Step.TOP_DEAD_CENTRE:
            return ("do", coming.step)
        case None:
            return ("close",)
        case _:
            return ("end",)


def log_of(told: Sequence[tuple[object, ...] | None], setup: Setup) -> tuple[LogEntry, ...]:
    """The log that a person's deeds make, the refused ones left out; None is the right one next."""
    log = invented_log(setup=setup)
    for each in told:
        state = state_of(log)
        with suppress(InputError):
            fact = fact_of(each or the_right_next(setup, state), state, setup)
            if fact is not None:
                log = entries((*(entry.fact for entry in log), fact))
    return log


def fact_of(told: tuple[object, ...], state: JobState, setup: Setup) -> Fact | None:
    """The fact that a deed makes.

    Raises
    ------
    InputError
        If the deed is refused.
    """
    match told:
        case ("acknowledge",):
            return deeds.acknowledge_cautions(state, setup)
        case ("begin", PassKind() as kind, str() as reason):
            return deeds.begin_pass(state, setup, kind, reason)
        case ("keep", int() as number):
            return deeds.keep_pluck(state, invented_pluck(118.0 + number / 1000))
        case ("keep refused", int() as number):
            return deeds.keep_pluck(state, refused_pluck(name=f"refused {number}"))
        case ("end",):
            return deeds.end_pass(state)
        case ("do", Step() as step):
            return deeds.do_step(state, step)
        case ("skip", Step() as step, str() as reason):
            return deeds.skip_step(state, step, reason)
        case ("turn", float() as revolutions, direction) if direction is None or isinstance(
            direction, Direction
        ):
            return deeds.turn(state, setup, revolutions, direction)
        case ("tick", int() as number, value) if value is None or isinstance(value, float):
            return deeds.tick(state, setup, number, value)
        case ("strike out", int() as number, str() as reason):
            return deeds.strike_out(state, number, reason)
        case ("reinstate", int() as number, str() as reason):
            return deeds.reinstate(state, number, reason)
        case ("correct", str() as name, str() as after, str() as reason):
            return deeds.correct_detail(state, name, after, reason)
        case ("close",):
            return deeds.close_job(state, setup)
        case ("delete", str() as reason):
            return deeds.delete_job(state, reason)
        case ("restore", str() as reason):
            return deeds.restore_job(state, reason)
        case ("note",):
            return NoteAdded(text="an invented note")
        case ("photo",):
            return PhotoAdded(sha256="ab" * 32, media_type="image/png")
        case ("record",):
            return RecordMade(record_number=1, record_sha256="cd" * 32)
        case ("take setup",):
            taken: SetupTaken = setup_taken(setup, 2, "invented reason")
            return taken
        case _:
            raise AssertionError(told)


MANY_DEEDS = st.lists(
    st.tuples(st.booleans(), DEEDS).map(lambda drawn: None if drawn[0] else drawn[1]),
    min_size=10,
    max_size=60,
)
"""None, every other time, is the right deed next, see `log_of`: mere chance gets through no job."""

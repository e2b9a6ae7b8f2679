"""The course that the trade expects of a job, and where in it a job is.

Over-tension, locking tools out, turning over by hand, top dead centre, final setting; later a re-check. The course
advises. The vehicle manufacturer's procedure wins: any step may be left out, with a reason that is kept.
"""

from dataclasses import dataclass

from tensionear.cautions import CAUTIONS
from tensionear.job.passes import PassKind, Step
from tensionear.job.setup import Setup
from tensionear.job.state import JobPass, JobState

COURSE = (
    Step.CAUTIONS,
    Step.OVER_TENSION,
    Step.TOOLS_OUT,
    Step.RUN_IN,
    Step.TOP_DEAD_CENTRE,
    Step.FINAL_SETTING,
)
"""Steps up to the end of a job; a re-check comes after it, if it comes."""


@dataclass(frozen=True)
class NextStep:
    """What is to be done now.

    Attributes
    ----------
    step : Step or None
        None: all is done, and the job may be closed or is closed.
    instruction : str
        In one line.
    readings_left : int
        In the pass that goes on or would begin; 0 for a step without readings and for a complete pass.
    """

    step: Step | None
    instruction: str
    readings_left: int = 0


def cautions_for(setup: Setup) -> tuple[str, ...]:
    """Cautions that are to be acknowledged: those that always hold, then the setup's own."""
    return (*CAUTIONS, *setup.cautions)


def steps_left(state: JobState, setup: Setup) -> list[Step]:
    """Steps of the course that are neither done nor skipped, in order."""
    return [step for step in COURSE if step not in state.skipped and not _is_done(step, state, setup)]


def steps_before(kind: PassKind, state: JobState, setup: Setup) -> list[Step]:
    """Steps of the course that a pass of a kind would jump over: to be done or skipped with a reason first.

    Parameters
    ----------
    kind : PassKind
        Of the pass that is to begin.
    state, setup
        The job, and what it goes by.
    """
    if kind is PassKind.RE_CHECK:
        own = len(COURSE)
    elif kind is PassKind.RUN_IN:  # readings while it is turned
        own = COURSE.index(Step.RUN_IN)
    else:
        own = COURSE.index(Step(kind))
    return [step for step in steps_left(state, setup) if COURSE.index(step) < own]


def next_step(state: JobState, setup: Setup) -> NextStep:
    """What is to be done now.

    Parameters
    ----------
    state : JobState
        The job.
    setup : Setup
        What it goes by.
    """
    goes_on = state.open_pass
    if goes_on is not None and goes_on.kind is not PassKind.RUN_IN:
        return _in_pass(goes_on, setup)
    left = steps_left(state, setup)
    if goes_on is not None and (not left or COURSE.index(left[0]) > COURSE.index(Step.RUN_IN)):
        return NextStep(
            Step.RUN_IN, "The run-in has its revolutions: pluck once more, or end the run-in pass."
        )
    if not left:
        said = "The job is closed." if state.closed_at else "All steps are done: close the job."
        return NextStep(None, f"{said} A re-check may follow at any time.")
    step = left[0]
    readings = setup.plucks_per_pass if step in (Step.OVER_TENSION, Step.FINAL_SETTING) else 0
    return NextStep(step, _instruction(step, state, setup), readings)


def is_complete(each: JobPass, setup: Setup) -> bool:
    """Whether a pass has as many readings that count as the setup asks for; the run-in has no such number."""
    return each.kind is not PassKind.RUN_IN and len(each.counting) >= setup.plucks_per_pass


def _in_pass(goes_on: JobPass, setup: Setup) -> NextStep:
    n_left = max(0, setup.plucks_per_pass - len(goes_on.counting))
    step = Step(goes_on.kind)
    if not n_left:
        return NextStep(step, f"The {goes_on.kind} pass has its readings: end it, or pluck once more.")
    many = "1 more reading" if n_left == 1 else f"{n_left} more readings"
    return NextStep(step, f"Pluck the span and let it ring out: {many}.", n_left)


def _is_done(step: Step, state: JobState, setup: Setup) -> bool:
    match step:
        case Step.CAUTIONS:
            return set(cautions_for(setup)) <= set(state.acknowledged)
        case Step.OVER_TENSION:
            return _is_ended(state, PassKind.OVER_TENSION)
        case Step.RUN_IN:
            wanted = 1 if setup.run_in is None else setup.run_in.revolutions
            return state.revolutions >= wanted
        case Step.FINAL_SETTING:
            return _is_ended(state, PassKind.FINAL_SETTING)
        case _:
            return step in state.done


def _is_ended(state: JobState, kind: PassKind) -> bool:
    """Whether the last pass of a kind is ended with a reading, and the belt was not over-tensioned anew since."""
    last, over = state.last_pass(kind), state.last_pass(PassKind.OVER_TENSION)
    if last is None or last.ended_at is None or not last.counting:
        return False
    return over is None or over.number <= last.number


def _instruction(step: Step, state: JobState, setup: Setup) -> str:
    match step:
        case Step.CAUTIONS:
            return "Read the cautions and acknowledge them."
        case Step.OVER_TENSION:
            return "Over-tension the new belt as the manufacturer says, then read the span."
        case Step.TOOLS_OUT:
            return "Take the locking tools out, all of them, before the engine is turned."
        case Step.RUN_IN:
            return _turning(state, setup)
        case Step.TOP_DEAD_CENTRE:
            return "Turn on to top dead centre and see that all marks are aligned."
        case _:
            return "Set the tensioner to its final mark as the manufacturer says, then read the span."


def _turning(state: JobState, setup: Setup) -> str:
    reason = state.skipped.get(Step.TOOLS_OUT)
    mind = (
        "" if reason is None else f"Be sure that no locking tool is in, for none is noted as out ({reason}). "
    )
    if setup.run_in is None:
        return (
            f"{mind}Turn the engine over by hand in its direction of rotation, as often as the manufacturer says,"
            " and count the revolutions."
        )
    left = setup.run_in.revolutions - state.revolutions
    many = "1 revolution" if left == 1 else f"{left:g} {'more ' if state.revolutions else ''}revolutions"
    return (
        f"{mind}Turn the engine over by hand, {setup.run_in.direction} seen from {setup.run_in.seen_from}: {many}."
        " Stop at once if it binds."
    )

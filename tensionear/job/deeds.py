"""What a person does in a job, as facts for its log: a deed that cannot be meant is refused with a reason.

Every function takes the job as it is and gives the fact that is to be written down. None writes anything.
"""

import math

from pydantic import TypeAdapter, ValidationError

from tensionear.errors import InputError
from tensionear.job.course import cautions_for, steps_before, steps_left
from tensionear.job.details import JobDetails
from tensionear.job.document import Line
from tensionear.job.log import (
    CautionsAcknowledged,
    DetailCorrected,
    JobClosed,
    JobDeleted,
    JobRestored,
    LineTicked,
    PassBegun,
    PassEnded,
    PluckKept,
    PluckReinstated,
    PluckStruckOut,
    StepDone,
    StepSkipped,
    Turned,
)
from tensionear.job.passes import PassKind, Step
from tensionear.job.pluck_document import PluckDocument
from tensionear.job.setup import MOST_REVOLUTIONS, Direction, Setup
from tensionear.job.state import JobPluck, JobState
from tensionear.job.validation import faults_of

_LINE: TypeAdapter[str] = TypeAdapter(Line)


def acknowledge_cautions(state: JobState, setup: Setup) -> CautionsAcknowledged:
    """The technician has read all cautions that hold for a job of this setup.

    Raises
    ------
    InputError
        If the job is deleted, as with every deed but its restoring.
    """
    _require_there(state)
    return CautionsAcknowledged(cautions=cautions_for(setup))


def begin_pass(state: JobState, setup: Setup, kind: PassKind, reason: str = "") -> PassBegun:
    """Begin a pass.

    Parameters
    ----------
    state, setup
        The job, and what it goes by.
    kind : PassKind
        Of the pass.
    reason : str
        Why; needed if there is a pass of the kind already, since the last over-tension, and it is no re-check.

    Raises
    ------
    InputError
        If a pass goes on, a step before it is neither done nor skipped, or it is done again without a reason.
    """
    _require_there(state)
    goes_on = state.open_pass
    if goes_on is not None:
        raise InputError(f"pass {goes_on.number}, {goes_on.kind}, goes on: end it first")
    before = steps_before(kind, state, setup)
    if before:
        raise InputError(
            f"before the {kind} comes {_listed(before)}: do it, or skip it and say why, which is kept in the record"
        )
    reason = _line("reason", reason)
    if _is_repeat(kind, state) and not reason:
        raise InputError(
            f"there is a pass {kind} already, and it stays: to do it again, say why, which is kept in the record"
        )
    return PassBegun(pass_number=len(state.passes) + 1, pass_kind=kind, reason=reason)


def keep_pluck(state: JobState, pluck: PluckDocument) -> PluckKept | None:
    """Keep a pluck in the pass that goes on; None if that pass has this very sound already.

    A recording that is read again after an interruption gives the plucks that were kept before once more: they must
    not count twice. Two plucks are never alike to the last bit.

    Raises
    ------
    InputError
        If no pass goes on, or this very sound counts in another pass: a recording was mistaken.
    """
    _require_there(state)
    goes_on = state.open_pass
    if goes_on is None:
        raise InputError("no pass goes on that the pluck could belong to: begin one first")
    if any(each.pluck.sound.flac_sha256 == pluck.sound.flac_sha256 for each in goes_on.plucks):
        return None
    _require_counts_nowhere(state, pluck)
    return PluckKept(pass_number=goes_on.number, pluck_number=len(state.plucks) + 1, pluck=pluck)


def end_pass(state: JobState) -> PassEnded:
    """End the pass that goes on, complete or not.

    Raises
    ------
    InputError
        If none goes on.
    """
    _require_there(state)
    if state.open_pass is None:
        raise InputError("no pass goes on that could be ended")
    return PassEnded(pass_number=state.open_pass.number)


def do_step(state: JobState, step: Step) -> StepDone:
    """Note that a step without readings was done.

    Raises
    ------
    InputError
        If it is a step with readings, or has a deed of its own.
    """
    _require_there(state)
    if step is Step.TOOLS_OUT or step is Step.TOP_DEAD_CENTRE:
        return StepDone(step=step)
    raise InputError(
        f"the step {step} is not noted by itself: it is done with its readings or its revolutions"
    )


def skip_step(state: JobState, step: Step, reason: str) -> StepSkipped:
    """Leave a step out.

    Raises
    ------
    InputError
        If no reason is given, or it cannot be skipped.
    """
    _require_there(state)
    if step is Step.CAUTIONS:
        raise InputError("the cautions cannot be skipped: read and acknowledge them")
    return StepSkipped(step=step, reason=_reason(reason, f"why is the step {step} skipped?"))


def turn(state: JobState, setup: Setup, revolutions: float, direction: Direction | None = None) -> Turned:
    """Note that the engine was turned over by hand.

    Parameters
    ----------
    state, setup
        The job, and what it goes by.
    revolutions : float
        More than 0.
    direction : Direction or None
        None: as the setup says.

    Raises
    ------
    InputError
        If the locking tools may still be in, a pass other than a run-in goes on, the number cannot be meant, or the
        direction is not the setup's.
    """
    _require_there(state)
    if Step.TOOLS_OUT not in state.done and Step.TOOLS_OUT not in state.skipped:
        raise InputError(
            "the locking tools are not noted as out: take all of them out before the engine is turned"
        )
    goes_on = state.open_pass
    if goes_on is not None and goes_on.kind is not PassKind.RUN_IN:
        raise InputError(
            f"pass {goes_on.number}, {goes_on.kind}, goes on, and turning changes the belt under its readings:"
            " end it first"
        )
    if not 0 < revolutions <= MOST_REVOLUTIONS:
        raise InputError(
            f"{revolutions:g} revolutions are not above 0 and at most {MOST_REVOLUTIONS}: how often was it turned?"
        )
    if setup.run_in is not None:
        if direction is not None and direction is not setup.run_in.direction:
            raise InputError(
                f"the setup says to turn {setup.run_in.direction}, and {direction} is given: an engine that was"
                " turned against its direction of rotation may have jumped a tooth; look at the marks, and note what"
                " happened"
            )
        direction = setup.run_in.direction
    return Turned(revolutions=revolutions, direction=direction)


def tick(state: JobState, setup: Setup, number: int, value: float | None = None) -> LineTicked:
    """Tick a line of the setup's checklist.

    Parameters
    ----------
    state, setup
        The job, and what it goes by.
    number : int
        Of the line, from 1.
    value : float or None
        What was really used, in the line's unit; None: as the line says.

    Raises
    ------
    InputError
        If there is no such line, it has no value, or the value is not finite.
    """
    _require_there(state)
    if not 1 <= number <= len(setup.checklist):
        raise InputError(f"the checklist has {len(setup.checklist)} lines, and no line {number}")
    line = setup.checklist[number - 1]
    if value is not None and not line.unit:
        raise InputError(f"line {number}, {line.text!r}, has no value that could be {value:g}")
    if value is not None and not math.isfinite(value):
        raise InputError(f"{value:g} {line.unit} is not finite: was something else than digits entered?")
    return LineTicked(
        step=line.step, text=line.text, value=line.value if value is None else value, unit=line.unit
    )


def strike_out(state: JobState, number: int, reason: str) -> PluckStruckOut:
    """Let a pluck not count; it is kept and shown with the reason.

    Raises
    ------
    InputError
        If there is no such pluck that counts, or no reason is given.
    """
    pluck = _pluck(state, number)
    if pluck.struck_out:
        raise InputError(f"pluck {number} is struck out already: {pluck.struck_out}")
    if pluck.pluck.fundamental is None:
        raise InputError(f"pluck {number} was refused and does not count anyway")
    return PluckStruckOut(pluck_number=number, reason=_reason(reason, f"why is pluck {number} struck out?"))


def reinstate(state: JobState, number: int, reason: str) -> PluckReinstated:
    """Let a pluck that was struck out count again.

    Raises
    ------
    InputError
        If there is no such pluck, it is not struck out, its sound counts in another pass now, or no reason is given.
    """
    pluck = _pluck(state, number)
    if not pluck.struck_out:
        raise InputError(f"pluck {number} is not struck out")
    _require_counts_nowhere(state, pluck.pluck)
    return PluckReinstated(
        pluck_number=number, reason=_reason(reason, f"why does pluck {number} count again?")
    )


def correct_detail(state: JobState, name: str, after: str | float | None, reason: str) -> DetailCorrected:
    """Correct a detail of the job; what it was stays in the log.

    Parameters
    ----------
    state : JobState
        The job.
    name : str
        A field of `JobDetails`.
    after : str, float or None
        What it should be.
    reason : str
        Why.

    Raises
    ------
    InputError
        If there is no such detail, the value cannot be meant, nothing changes, or no reason is given.
    """
    _require_there(state)
    if name not in JobDetails.model_fields:
        raise InputError(f"a job has no detail {name!r}, but {', '.join(JobDetails.model_fields)}")
    reason = _reason(reason, f"why is the {_words(name)} corrected?")
    before = getattr(state.details, name)
    try:
        corrected = JobDetails.model_validate({**state.details.model_dump(), name: after})
    except ValidationError as error:
        raise InputError(faults_of(error)) from error
    after = getattr(corrected, name)
    if after == before:
        raise InputError(f"the {_words(name)} is {before!r} already")
    return DetailCorrected(name=name, before=before, after=after, reason=reason)


def close_job(state: JobState, setup: Setup) -> JobClosed:
    """Close the job.

    Parameters
    ----------
    state, setup
        The job, and what it goes by.

    Raises
    ------
    InputError
        If a pass goes on, a step is neither done nor skipped, or it is closed already.
    """
    _require_there(state)
    if state.open_pass is not None:
        raise InputError(f"pass {state.open_pass.number}, {state.open_pass.kind}, goes on: end it first")
    if state.closed_at is not None:
        raise InputError("the job is closed already")
    left = steps_left(state, setup)
    if left:
        raise InputError(
            f"before the job is closed comes {_listed(left)}: do it, or skip it and say why, which is kept in the"
            " record"
        )
    return JobClosed()


def delete_job(state: JobState, reason: str) -> JobDeleted:
    """Put the job away.

    Raises
    ------
    InputError
        If it is deleted already, or no reason is given.
    """
    _require_there(state)
    return JobDeleted(reason=_reason(reason, "why is the job deleted?"))


def restore_job(state: JobState, reason: str = "") -> JobRestored:
    """Bring a deleted job back.

    Raises
    ------
    InputError
        If it is not deleted.
    """
    if state.deleted_at is None:
        raise InputError("the job is not deleted")
    return JobRestored(reason=_line("reason", reason))


def _is_repeat(kind: PassKind, state: JobState) -> bool:
    """Whether a pass of the kind would be done again; after another over-tension all that follows is due anew."""
    last, over = state.last_pass(kind), state.last_pass(PassKind.OVER_TENSION)
    if last is None or kind is PassKind.RE_CHECK:
        return False
    return over is None or over.number <= last.number


def _reason(given: str, question: str) -> str:
    reason = _line("reason", given)
    if not reason:
        raise InputError(f"{question} A reason is needed, and kept in the record")
    return reason


def _line(name: str, given: str) -> str:
    try:
        return _LINE.validate_python(given)
    except ValidationError as error:
        raise InputError(f"{name} {given[:40]!r}: {faults_of(error)}") from error


def _pluck(state: JobState, number: int) -> JobPluck:
    _require_there(state)
    plucks = state.plucks
    if not 1 <= number <= len(plucks):
        raise InputError(f"the job has {len(plucks)} plucks, and no pluck {number}")
    return plucks[number - 1]


def _require_counts_nowhere(state: JobState, pluck: PluckDocument) -> None:
    """Let no sound count twice: no belt sounds twice the same, so a recording was mistaken."""
    for each in state.passes:
        for other in each.counting:
            if other.pluck.sound.flac_sha256 == pluck.sound.flac_sha256:
                raise InputError(
                    f"this very sound is pluck {other.number}, in pass {each.number}, {each.kind}, already: was a"
                    " recording of another pass given? If it went into that one by mistake, strike out its plucks"
                    " there first"
                )


def _require_there(state: JobState) -> None:
    if state.deleted_at is not None:
        raise InputError("the job is deleted: restore it first")


def _listed(steps: list[Step]) -> str:
    return " and ".join((", ".join(steps[:-1]), steps[-1])) if len(steps) > 1 else str(steps[0])


def _words(name: str) -> str:
    return name.replace("_km", "").replace("_c", " temperature").replace("_", " ")

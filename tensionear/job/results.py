"""What the passes of a job say of the belt: computed from what was kept, every time it is asked for.

A pass is judged by the setup that the job goes by now, so that a setup that was corrected corrects the passes too;
the log keeps what it went by before.
"""

from dataclasses import dataclass

from tensionear.job.passes import PassKind
from tensionear.job.setup import Setup
from tensionear.job.state import JobPass, JobPluck, JobState
from tensionear.metrology.advice import WayOut
from tensionear.metrology.decision import Verdict
from tensionear.metrology.uncertainty import Measured
from tensionear.next_step import BeltMove, move_of, way_out_of
from tensionear.reading import SetReading, set_of
from tensionear.task import Assessment, BeltTask
from tensionear.words import verdict_words


@dataclass(frozen=True)
class PassResult:
    """What one pass says.

    Attributes
    ----------
    job_pass : JobPass
        With all its plucks.
    task : BeltTask
        What was to be found out.
    together : SetReading
        Of all plucks but those that are struck out; `marked` counts among `considered`, from 1. Of a run-in, where
        the belt settles from pluck to pluck, there is no set: it is empty, and `each_pluck` says what there is.
    considered : tuple of JobPluck
        What the set was taken of, the refused included.
    each_pluck : dict of int to Assessment
        What each pluck that was read says by itself, by its number in the job.
    way_out : WayOut or None
        What would decide it, if it is undecided.
    move : BeltMove or None
        By how much to change the belt, if that is called for.
    """

    job_pass: JobPass
    task: BeltTask
    together: SetReading
    considered: tuple[JobPluck, ...]
    each_pluck: dict[int, Assessment]
    way_out: WayOut | None = None
    move: BeltMove | None = None

    @property
    def tension(self) -> Measured | None:
        """Tension at the mean fundamental [N]; None without such a mean or a span."""
        return self.together.tension


def pass_result(job_pass: JobPass, setup: Setup) -> PassResult:
    """Find out what a pass says.

    Parameters
    ----------
    job_pass : JobPass
        It may still go on.
    setup : Setup
        By which it is judged.

    Raises
    ------
    InputError
        If the setup's parts do not go together.
    """
    task = setup.task_for(job_pass.kind)
    each_pluck = {
        pluck.number: task.assessment(fundamental)
        for pluck in job_pass.plucks
        if (fundamental := pluck.pluck.fundamental) is not None
    }
    considered = _considered(job_pass)
    together = set_of_pass(job_pass, task)
    found, statistics = together.found, together.fundamental
    if found is None or statistics is None:
        return PassResult(job_pass, task, together, considered, each_pluck)
    return PassResult(
        job_pass,
        task,
        together,
        considered,
        each_pluck,
        way_out_of(task, found, statistics.n_in_mean),
        move_of(task, found),
    )


def set_of_pass(job_pass: JobPass, task: BeltTask) -> SetReading:
    """What the plucks of a pass say together, which is all that is needed to find and judge it: quick.

    Parameters
    ----------
    job_pass : JobPass
        It may still go on.
    task : BeltTask
        What the setup makes of passes of its kind.
    """
    considered = _considered(job_pass)
    if job_pass.kind is PassKind.RUN_IN:
        n_read = sum(pluck.counts for pluck in considered)
        return SetReading(n_read, len(considered) - n_read)
    return set_of([pluck.pluck.fundamental for pluck in considered], task)


def _considered(job_pass: JobPass) -> tuple[JobPluck, ...]:
    return tuple(pluck for pluck in job_pass.plucks if not pluck.struck_out)


def pass_results(state: JobState, setup: Setup) -> tuple[PassResult, ...]:
    """What every pass of a job says, in their order.

    Parameters
    ----------
    state, setup
        The job, and what it goes by.

    Raises
    ------
    InputError
        As `pass_result` does.
    """
    return tuple(pass_result(each, setup) for each in state.passes)


def deciding_pass(state: JobState) -> JobPass | None:
    """The pass whose verdict is the job's: the last final setting or re-check since the belt was over-tensioned.

    A re-check without a reading that counts says nothing and leaves the belt as it was; a final setting without one
    moved the tensioner, so that what was found before it holds no longer, and has no verdict itself.
    """
    for each in reversed(state.passes):
        if each.kind is PassKind.FINAL_SETTING or (each.kind is PassKind.RE_CHECK and each.counting):
            return each
        if each.kind is PassKind.OVER_TENSION:
            return None
    return None


def amiss(state: JobState, setup: Setup) -> str | None:
    """What the last judged pass leaves to be put right; None if nothing is, or nothing was judged.

    That is the pass that decides the job, or before there is one the over-tension. The course of a job goes by what
    was done; this goes by what was found.

    Parameters
    ----------
    state, setup
        The job, and what it goes by.

    Raises
    ------
    InputError
        As `pass_result` does.
    """
    judged = deciding_pass(state) or state.last_pass(PassKind.OVER_TENSION)
    if judged is None or judged.ended_at is None or not judged.counting:
        return None
    together = pass_result(judged, setup).together
    if together.decision is not None:
        if together.decision.verdict is Verdict.IN_BAND:
            return None
        return f"pass {judged.number}, {judged.kind}, is {verdict_words(together.decision)}"
    if together.fundamental is not None and together.fundamental.mean is None:
        return f"pass {judged.number}, {judged.kind}, has plucks that do not agree"
    return None

"""Which pass is read now: the one that goes on, the one that is named, or the one that is due."""

from tensionear.cli.job.steps import end_run_in
from tensionear.errors import InputError
from tensionear.job import deeds
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.archived_job import ArchivedJob
from tensionear.job.course import next_step, steps_before, steps_left
from tensionear.job.log import Fact, PluckKept, Turned
from tensionear.job.passes import PassKind, Step

_KINDS = {
    Step.OVER_TENSION: PassKind.OVER_TENSION,
    Step.RUN_IN: PassKind.RUN_IN,
    Step.FINAL_SETTING: PassKind.FINAL_SETTING,
}


def begin_or_go_on(
    archive: Archive, number: str, named: PassKind | None, reason: str, by: str, *, is_turned: bool = False
) -> ArchivedJob:
    """Let a pass go on, so that plucks can be kept in it.

    A run-in pass that goes on ends where another pass is due or named, for it has no number of readings.

    Parameters
    ----------
    archive : Archive
        Where the job is.
    number : str
        Of the job.
    named : PassKind or None
        None: the one that goes on, or is due.
    reason : str
        Why it is done again, or empty.
    by : str
        Who does it.
    is_turned : bool
        Whether the engine is turned before each pluck, which only a run-in can be.

    Returns
    -------
    ArchivedJob
        With a pass that goes on.

    Raises
    ------
    ArchiveError, InputError
        If it cannot be begun; the message says what comes first. If it is turned, and the pass is no run-in; nothing
        is begun then.
    """
    now = archive.job(number)
    if is_turned:
        _require_run_in(now, named)
    if _is_run_in_over(now, named):
        archive.write_down(number, end_run_in, by)
    return archive.write_down(number, lambda job: _begun(job, named, reason), by)


def turned_before(job: ArchivedJob, revolutions: float) -> Fact | None:
    """Turning that was done before a pluck of the run-in; None if it is noted already, or nothing was read since."""
    for entry in reversed(job.log):
        fact = entry.fact
        if isinstance(fact, Turned):
            return None
        if isinstance(fact, PluckKept) and fact.pluck.fundamental is not None:
            break
    return deeds.turn(job.state, job.setup, revolutions)


def _is_run_in_over(job: ArchivedJob, named: PassKind | None) -> bool:
    goes_on = job.state.open_pass
    if goes_on is None or goes_on.kind is not PassKind.RUN_IN or named is PassKind.RUN_IN:
        return False
    if named is None:
        return steps_left(job.state, job.setup)[:1] == [Step.FINAL_SETTING]
    return not steps_before(named, job.state, job.setup)


def _require_run_in(job: ArchivedJob, named: PassKind | None) -> None:
    goes_on = job.state.open_pass
    if named is not None:
        kind = named
    elif goes_on is None:
        kind = _due(job)
    else:
        kind = PassKind.FINAL_SETTING if _is_run_in_over(job, named) else goes_on.kind
    if kind is not PassKind.RUN_IN:
        raise InputError(f"--turned belongs to the run-in, and the pass is the {kind}: leave it out")


def _begun(job: ArchivedJob, named: PassKind | None, reason: str) -> Fact | None:
    goes_on = job.state.open_pass
    if goes_on is not None and named in (None, goes_on.kind):
        return None
    return deeds.begin_pass(job.state, job.setup, named or _due(job), reason)


def _due(job: ArchivedJob) -> PassKind:
    now = next_step(job.state, job.setup)
    if now.step is None:
        raise InputError("no pass is due: to read the belt again, name the pass re-check")
    if now.step not in _KINDS:
        raise InputError(f"what is due now is the step {now.step}: {now.instruction}")
    return _KINDS[now.step]

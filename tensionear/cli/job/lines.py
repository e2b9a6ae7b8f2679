"""Jobs for programs: the lines of kinds "job", "step", "pass", "pluck" and "log_entry"."""

from dataclasses import replace
from datetime import datetime
from pathlib import Path

from tensionear.cli.json_lines import readable, write_line
from tensionear.cli.reading_names import (
    assessment_names,
    next_step_names,
    outcome_names,
    rests_on_names,
    set_names,
)
from tensionear.job.archive.archived_job import ArchivedJob
from tensionear.job.course import next_step, steps_left
from tensionear.job.log import LogEntry
from tensionear.job.record.finding_run_in import found_run_in
from tensionear.job.results import PassResult, amiss, deciding_pass, pass_result, pass_results
from tensionear.job.setup import Setup
from tensionear.job.state import JobPass, JobPluck, JobState
from tensionear.metrology.decision import Verdict
from tensionear.reading import SetReading


def write_job_line(job: ArchivedJob) -> None:
    """Write what a job is about and where it is."""
    state = job.state
    write_line(
        "job",
        job=readable(job.number),
        uid=job.uid,
        is_demonstration=state.is_demonstration,
        opened_at=moment(state.opened_at),
        closed_at=moment(state.closed_at),
        deleted_at=moment(state.deleted_at),
        setup_name=readable(job.kept_setup.name),
        setup_version=job.kept_setup.version,
        setup_sha256=job.kept_setup.sha256,
        **state.details.model_dump(mode="json"),
        revolutions=state.revolutions,
        n_passes=len(state.passes),
        n_plucks=len(state.plucks),
        n_entries=state.n_entries,
        verdict=verdict_of(state, job.setup),
        notes=list(state.notes),
        checklist=checklist_of(state, job.setup),
        photos=[
            {"sha256": each.sha256, "media_type": each.media_type, "caption": each.caption}
            for each in state.photos
        ],
        n_records=len(state.records),
    )


def write_step_line(job: ArchivedJob) -> None:
    """Write what is to be done now, and what is left."""
    now = next_step(job.state, job.setup)
    write_line(
        "step",
        job=readable(job.number),
        step=now.step,
        instruction=now.instruction,
        amiss=amiss(job.state, job.setup),
        readings_left=now.readings_left,
        steps_left=[] if job.state.closed_at else list(steps_left(job.state, job.setup)),
    )


def write_pass_line(job: ArchivedJob, result: PassResult) -> None:
    """Write what a pass says."""
    each = result.job_pass
    write_line(
        "pass",
        job=readable(job.number),
        pass_number=each.number,
        pass_kind=each.kind,
        begun_at=moment(each.begun_at),
        ended_at=moment(each.ended_at),
        reason=readable(each.reason),
        n_struck_out=sum(bool(pluck.struck_out) for pluck in each.plucks),
        **set_names(by_job_numbers(result)),
        **next_step_names(result.task, result.together),
        **rests_on_names(result.task),
    )


def write_pluck_line(
    job: ArchivedJob, each: JobPass, pluck: JobPluck, result: PassResult, path: Path | None = None
) -> None:
    """Write what became of a pluck.

    Parameters
    ----------
    job : ArchivedJob
        Where it is kept.
    each : JobPass
        In which pass.
    pluck : JobPluck
        The pluck.
    result : PassResult
        Of the pass.
    path : Path or None
        The recording, if it was read just now.
    """
    sound, fundamental = pluck.pluck.sound, pluck.pluck.fundamental
    span = result.task.span
    write_line(
        "pluck",
        job=readable(job.number),
        pass_number=each.number,
        pass_kind=each.kind,
        number=pluck.number,
        kept_at=moment(pluck.at),
        revolutions=pluck.revolutions,
        counts=pluck.counts,
        struck_out=readable(pluck.struck_out),
        source=readable(sound.source),
        path=None if path is None else readable(str(path)),
        channel=sound.channel,
        is_recording=sound.is_recording,
        sample_rate_hz=sound.sample_rate_hz,
        flac_sha256=sound.flac_sha256,
        estimator_version=pluck.pluck.estimator_version,
        **outcome_names(pluck.pluck.outcome.pluck_outcome()),
        **assessment_names(fundamental, result.each_pluck.get(pluck.number)),
        span_model=None if span is None else span.model,
    )


def write_run_in_line(job: ArchivedJob) -> None:
    """Write how the belt settled, if that can be told."""
    found = found_run_in(pass_results(job.state, job.setup))
    if found is not None:
        write_line("run_in", job=readable(job.number), run_in=found.model_dump(mode="json"))


def write_log_line(job: ArchivedJob, entry: LogEntry) -> None:
    """Write an entry of a job's log."""
    write_line("log_entry", job=readable(job.number), entry=entry.model_dump(mode="json"))


def by_job_numbers(result: PassResult) -> SetReading:
    """The set of a pass, with its marked plucks by their numbers in the job."""
    together = result.together
    marked = tuple(
        replace(each, number=result.considered[each.number - 1].number) for each in together.marked
    )
    return replace(together, marked=marked)


def verdict_of(state: JobState, setup: Setup) -> Verdict | None:
    """The verdict of the pass that decides the job; None if there is none, or it still goes on."""
    deciding = deciding_pass(state)
    if deciding is None or deciding.ended_at is None:
        return None
    decision = pass_result(deciding, setup).together.decision
    return None if decision is None else decision.verdict


def checklist_of(state: JobState, setup: Setup) -> list[dict[str, object]]:
    """The setup's checklist, and with which value each line was last ticked."""
    listed: list[dict[str, object]] = []
    for line in setup.checklist:
        ticks = [each for each in state.ticked if (each.step, each.text) == (line.step, line.text)]
        listed.append(
            {
                "step": line.step,
                "text": line.text,
                "value": line.value,
                "unit": line.unit,
                "is_ticked": bool(ticks),
                "ticked_value": ticks[-1].value if ticks else None,
            }
        )
    return listed


def moment(at: datetime | None) -> str | None:
    """A moment as it is told to programs."""
    return None if at is None else at.astimezone().isoformat(timespec="seconds")

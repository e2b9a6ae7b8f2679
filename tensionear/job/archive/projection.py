"""What is computed from a job's log to be found fast: columns of `JOBS`, and a row a pass that ended."""

from typing import Any

from sqlalchemy import Connection, delete, insert, select, update

from tensionear.belt.band import ToleranceBand
from tensionear.belt.comparison import SingleValue
from tensionear.job.archive.archived_job import ArchivedJob
from tensionear.job.archive.setups import setup_id as setup_id_of
from tensionear.job.archive.tables import JOBS, PASS_RESULTS
from tensionear.job.archive.words import indexed, joined, name_key
from tensionear.job.log import PassEnded, PluckReinstated, PluckStruckOut, SetupTaken
from tensionear.job.results import deciding_pass, set_of_pass
from tensionear.job.setup import Setup
from tensionear.job.state import JobPass, JobPluck


def first_columns(job: ArchivedJob, setup_id: int) -> dict[str, Any]:
    """Columns of a job that was just opened."""
    return {
        "number": job.number,
        "number_key": name_key(job.number),
        "uid": job.uid,
        "opened_at": job.state.opened_at,
        "is_demonstration": job.state.is_demonstration,
        "setup_id": setup_id,
        "setup_version": job.kept_setup.version,
        **_columns(job),
    }


def project(connection: Connection, job_id: int, job: ArchivedJob) -> None:
    """Bring up to date what is computed from a job, of which the last entry is new."""
    fact = job.log[-1].fact
    columns = _columns(job)
    match fact:
        case SetupTaken():
            columns |= {
                "setup_id": setup_id_of(connection, fact.setup_name),
                "setup_version": fact.setup_version,
            }
            changed = list(job.state.passes)
        case PassEnded():
            changed = [job.state.passes[fact.pass_number - 1]]
        case PluckStruckOut() | PluckReinstated():
            changed = [each for each in job.state.passes if _holds(each, fact.pluck_number)]
        case _:
            changed = []
    for each in changed:
        if each.ended_at is not None:
            _put_result(connection, job_id, each, job.setup)
    deciding = deciding_pass(job.state)
    columns["verdict"] = None if deciding is None else _verdict(connection, job_id, deciding)
    connection.execute(update(JOBS).where(JOBS.c.id == job_id).values(columns))


def _columns(job: ArchivedJob) -> dict[str, Any]:
    state, details = job.state, job.state.details
    return {
        "changed_at": job.log[-1].at,
        "closed_at": state.closed_at,
        "deleted_at": state.deleted_at,
        "vehicle": details.vehicle,
        "registration": details.registration,
        "chassis_number": details.chassis_number,
        "technician": details.technician,
        "workshop": details.workshop,
        "vehicle_key": joined(details.vehicle),
        "registration_key": joined(details.registration),
        "chassis_key": joined(details.chassis_number),
        "n_entries": len(job.log),
        "n_plucks": len(state.plucks),
        "words": _words(job),
    }


def _words(job: ArchivedJob) -> str:
    details, setup = job.state.details, job.setup
    return indexed(
        [
            ("number", job.number),
            ("vehicle", details.vehicle),
            ("registration", details.registration),
            ("chassis", details.chassis_number),
            ("technician", details.technician),
            ("workshop", details.workshop),
            ("setup", setup.name),
            ("", setup.engine),
            ("", setup.belt),
            *(("", note) for note in job.state.notes),
        ]
    )


def _holds(each: JobPass, pluck_number: int) -> bool:
    plucks: tuple[JobPluck, ...] = each.plucks
    return any(pluck.number == pluck_number for pluck in plucks)


def _verdict(connection: Connection, job_id: int, deciding: JobPass) -> str | None:
    found: str | None = connection.scalar(
        select(PASS_RESULTS.c.verdict).where(
            PASS_RESULTS.c.job_id == job_id, PASS_RESULTS.c.pass_number == deciding.number
        )
    )
    return found


def _put_result(connection: Connection, job_id: int, job_pass: JobPass, setup: Setup) -> None:
    here = (PASS_RESULTS.c.job_id == job_id) & (PASS_RESULTS.c.pass_number == job_pass.number)
    connection.execute(delete(PASS_RESULTS).where(here))
    row = {"job_id": job_id, "pass_number": job_pass.number, **result_columns(job_pass, setup)}
    connection.execute(insert(PASS_RESULTS).values(row))


def result_columns(job_pass: JobPass, setup: Setup) -> dict[str, Any]:
    """Columns of `PASS_RESULTS` for a pass that ended, but for its key."""
    task = setup.task_for(job_pass.kind)
    together = set_of_pass(job_pass, task)
    found, comparison = together.found, task.comparison
    columns: dict[str, Any] = {
        "kind": str(job_pass.kind),
        "begun_at": job_pass.begun_at,
        "ended_at": job_pass.ended_at,
        "n_readings": together.n_readings,
        "n_refused": together.n_refused,
    }
    if comparison is not None:
        limits = comparison.limits
        columns |= {"compared_quantity": str(comparison.quantity), "unit": str(limits.unit)}
        if isinstance(limits, ToleranceBand):
            columns |= {"lower": limits.lower, "upper": limits.upper}
        elif isinstance(limits, SingleValue):
            columns |= {"single_value": limits.value}
    if found is not None:
        columns |= {
            "fundamental_hz": found.fundamental.value,
            "fundamental_expanded_uncertainty_hz": found.fundamental.expanded_uncertainty,
        }
        if found.tension is not None:
            columns |= {
                "tension_n": found.tension.value,
                "tension_expanded_uncertainty_n": found.tension.expanded_uncertainty,
            }
        if found.compared is not None:
            compared = found.compared.result
            columns |= {
                "compared": compared.value,
                "compared_expanded_uncertainty": compared.expanded_uncertainty,
            }
        if found.decision is not None:
            columns["verdict"] = str(found.decision.verdict)
    return columns

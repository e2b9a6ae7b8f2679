"""All that an archive computes from a job's log, computed anew from the whole log."""

from typing import Any

from tensionear.job.archive.archived_job import ArchivedJob
from tensionear.job.archive.projection import first_columns, result_columns
from tensionear.job.archive.tables import PASS_RESULTS
from tensionear.job.log import PhotoAdded, PluckKept
from tensionear.job.results import deciding_pass


def rebuilt_columns(job: ArchivedJob, setup_id: int, results: list[dict[str, Any]]) -> dict[str, Any]:
    """Columns of a job, but for its row's number.

    Parameters
    ----------
    job : ArchivedJob
        As its log says.
    setup_id : int
        Row of the setup that it goes by.
    results : list of dict
        From `rebuilt_results`.
    """
    deciding = deciding_pass(job.state)
    verdicts = {each["pass_number"]: each["verdict"] for each in results}
    verdict = None if deciding is None else verdicts.get(deciding.number)
    return {**first_columns(job, setup_id), "verdict": verdict}


def rebuilt_results(job: ArchivedJob, job_id: int) -> list[dict[str, Any]]:
    """Rows of `PASS_RESULTS` for all passes that ended.

    Raises
    ------
    InputError
        If the setup's parts do not go together.
    """
    nothing = dict.fromkeys(PASS_RESULTS.c.keys())
    return [
        {
            **nothing,
            "job_id": job_id,
            "pass_number": each.number,
            **result_columns(each, job.setup),
        }
        for each in job.state.passes
        if each.ended_at is not None
    ]


def contents_named(job: ArchivedJob) -> dict[str, str]:
    """What a log says of sounds and photos: their SHA-256, and what each is, in words."""
    named: dict[str, str] = {}
    for entry in job.log:
        match entry.fact:
            case PluckKept():
                named[entry.fact.pluck.sound.flac_sha256] = f"the sound of pluck {entry.fact.pluck_number}"
            case PhotoAdded():
                named[entry.fact.sha256] = f"the photo of entry {entry.number}"
            case _:
                pass
    return named

"""A job as it comes out of an archive: its log, and what follows from it."""

from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Any

from sqlalchemy import Connection, select

from tensionear.errors import InputError
from tensionear.job.archive.setups import KeptSetup, kept_setup
from tensionear.job.archive.stored import damaged, entry_sha256, fact_of
from tensionear.job.archive.tables import JOBS, LOG_ENTRIES
from tensionear.job.archive.words import name_key
from tensionear.job.log import LogEntry, SetupTaken
from tensionear.job.setup import Setup
from tensionear.job.state import JobState, state_of

_LAST_LOOKED_THROUGH = 1_000


@dataclass(frozen=True)
class ArchivedJob:
    """A job as it was when it was read.

    Attributes
    ----------
    number : str
        As the workshop counts.
    uid : str
        Unmistakable, in every archive (a UUID).
    log : tuple of LogEntry
        Whole, in order.
    state : JobState
        What follows from the log.
    setup : Setup
        What the job goes by.
    kept_setup : KeptSetup
        The same with its name and version.
    """

    number: str
    uid: str
    log: tuple[LogEntry, ...]
    state: JobState
    setup: Setup
    kept_setup: KeptSetup

    def with_entry(self, connection: Connection, entry: LogEntry) -> "ArchivedJob":
        """The job with one more entry."""
        log = (*self.log, entry)
        kept = self.kept_setup
        if isinstance(entry.fact, SetupTaken):
            kept = kept_setup(connection, entry.fact.setup_name, entry.fact.setup_version)
        return replace(self, log=log, state=state_of(log), setup=kept.setup, kept_setup=kept)


def load_job(connection: Connection, number: str, *, lock: bool = False) -> tuple[int, ArchivedJob]:
    """Find a job within a transaction.

    Parameters
    ----------
    connection : Connection
        In the transaction.
    number : str
        Of the job.
    lock : bool
        Whether nobody else may write to the job until the transaction ends. On SQLite nobody can anyway.

    Returns
    -------
    int
        Number of its row.
    ArchivedJob
        The job.

    Raises
    ------
    InputError
        If there is none.
    ArchiveError
        If its log is damaged.
    """
    chosen = select(JOBS.c.id, JOBS.c.number, JOBS.c.uid).where(JOBS.c.number_key == name_key(number))
    row = connection.execute(chosen.with_for_update(key_share=True) if lock else chosen).one_or_none()
    if row is None:
        raise InputError(_none_such(connection, number))
    log = _log(connection, row.id, row.number)
    try:
        state = state_of(log)
    except ValueError as error:
        raise damaged(f"the log of job {row.number}", error) from error
    taken = state.setup
    kept = kept_setup(connection, taken.setup_name, taken.setup_version)
    if kept.sha256 != taken.setup_sha256:
        raise damaged(f"version {kept.version} of the setup {kept.name!r}", f"job {row.number} took another")
    return row.id, ArchivedJob(row.number, row.uid, log, state, kept.setup, kept)


def require_job_there(job: ArchivedJob) -> None:
    """Let only jobs pass that are not deleted.

    Raises
    ------
    InputError
        If it is.
    """
    if job.state.deleted_at is not None:
        raise InputError(f"job {job.number} is deleted: restore it first")


def _log(connection: Connection, job_id: int, number: str) -> tuple[LogEntry, ...]:
    rows = connection.execute(
        select(LOG_ENTRIES).where(LOG_ENTRIES.c.job_id == job_id).order_by(LOG_ENTRIES.c.number)
    )
    return tuple(read_entry(row, number) for row in rows)


def read_entry(row: Any, job_number: str) -> LogEntry:
    """Read an entry of a log.

    Parameters
    ----------
    row : Row
        Of `LOG_ENTRIES`.
    job_number : str
        For the message.

    Raises
    ------
    ArchiveError
        If it is not what was written.
    """
    what = f"entry {row.number} of the log of job {job_number}"
    fact = fact_of(row.fact, what)
    if entry_sha256(row.job_id, row.number, row.at, row.by, row.software_version, row.fact) != row.sha256:
        raise damaged(what, "its SHA-256 is another")
    return LogEntry(number=row.number, at=row.at, by=row.by, software_version=row.software_version, fact=fact)


def _none_such(connection: Connection, number: str) -> str:
    last = select(JOBS.c.number).order_by(JOBS.c.id.desc()).limit(_LAST_LOOKED_THROUGH)
    near = get_close_matches(number, connection.scalars(last).all(), n=3, cutoff=0.7)
    return f"there is no job {number!r}" + (f": did you mean {' or '.join(near)}?" if near else "")

"""Destroying for good what was deleted long ago; never by itself, always at somebody's word.

Whatever is deleted can be brought back for 30 days. After that it may be purged: log, results, sounds and photos that
nothing else names, and the documents of its records. What stays is each record's place in the chain (its number, its
hash and that of the one before), so that the others can still be proved, and a line in the archive's own log.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Select, delete, exists, func, select, text, update

from tensionear.job.archive.archive import Archive
from tensionear.job.archive.connection import log_deed, now
from tensionear.job.archive.stored import fact_of
from tensionear.job.archive.tables import (
    CONTENTS,
    JOB_CONTENTS,
    JOBS,
    LOG_ENTRIES,
    PASS_RESULTS,
    RECORDS,
    SETUP_VERSIONS,
    SETUPS,
)
from tensionear.job.archive.words import name_key
from tensionear.job.log import SetupTaken

KEPT_FOR = timedelta(days=30)
"""So long what is deleted can be brought back, at the least."""


@dataclass(frozen=True)
class Purged:
    """What was destroyed, or would be.

    Attributes
    ----------
    job_numbers, setup_names : tuple of str
        Deleted more than 30 days ago.
    n_records : int
        Of the jobs; they keep their places in the chain.
    n_contents : int
        Sounds and photos that nothing else names.
    """

    job_numbers: tuple[str, ...]
    setup_names: tuple[str, ...]
    n_records: int
    n_contents: int

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing."""
        return not self.job_numbers and not self.setup_names


def to_be_purged(archive: Archive, at: datetime | None = None) -> Purged:
    """Tell what `purge` would destroy.

    Parameters
    ----------
    archive : Archive
        Where.
    at : datetime, optional
        As if it were that moment; by default now.

    Raises
    ------
    ArchiveError
        If the database complains.
    """
    before = (at or now()) - KEPT_FOR
    with archive.reading() as connection:
        jobs = _jobs(connection, before)
        setups = _setups(connection, before, leaving=[job.id for job in jobs])
        return _told(connection, jobs, setups, before)


def purge(archive: Archive, by: str = "", at: datetime | None = None) -> Purged:
    """Destroy for good what was deleted more than 30 days ago.

    A setup stays as long as a job that is not destroyed names it. On SQLite the room is wiped and used again; a
    PostgreSQL server does that in its own time, and its backups, like all backups, keep what they have.

    Parameters
    ----------
    archive : Archive
        Where.
    by : str
        Who wants it; kept in the archive's log.
    at : datetime, optional
        As if it were that moment; by default now.

    Returns
    -------
    Purged
        What was destroyed.

    Raises
    ------
    ArchiveError
        If the database complains; nothing was destroyed then.
    """
    before = (at or now()) - KEPT_FOR
    with archive.writing() as connection:
        if archive.dialect == "postgresql":
            # Nobody may name a sound between the look whether somebody does and its end.
            connection.execute(text("LOCK TABLE contents, job_contents IN SHARE ROW EXCLUSIVE MODE"))
        else:
            connection.execute(text("PRAGMA secure_delete = ON"))
        jobs = _jobs(connection, before, lock=True)
        setups = _setups(connection, before, leaving=[job.id for job in jobs], lock=True)
        found = _told(connection, jobs, setups, before)
        for job in jobs:
            _destroy_job(connection, job, by)
        for setup in setups:
            _destroy_setup(connection, setup, by)
        if archive.dialect == "sqlite" and jobs:
            # Else the words of what was deleted stay in the index until it happens to be merged.
            connection.execute(text("INSERT INTO job_words(job_words) VALUES ('optimize')"))
    if archive.dialect == "sqlite" and not found.is_empty:
        with archive.reading() as connection:
            connection.rollback()  # a log cannot be emptied within a transaction
            connection.connection.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return found


def _jobs(connection: Connection, before: datetime, *, lock: bool = False) -> Sequence[Any]:
    chosen = select(JOBS.c.id, JOBS.c.number, JOBS.c.deleted_at).where(JOBS.c.deleted_at < before)
    return connection.execute(_locked(chosen.order_by(JOBS.c.id), lock)).all()


def _setups(
    connection: Connection, before: datetime, *, leaving: Sequence[int], lock: bool = False
) -> Sequence[Any]:
    """Setups to be destroyed, if the jobs in `leaving` are."""
    chosen = select(SETUPS.c.id, SETUPS.c.name, SETUPS.c.name_key, SETUPS.c.deleted_at)
    rows = connection.execute(_locked(chosen.where(SETUPS.c.deleted_at < before), lock)).all()
    users: dict[int, set[int]] = {}
    if rows:
        of_these = JOBS.c.setup_id.in_([row.id for row in rows])
        for job_id, setup_id in connection.execute(select(JOBS.c.id, JOBS.c.setup_id).where(of_these)):
            users.setdefault(setup_id, set()).add(job_id)
    gone = set(leaving)
    free = [row for row in rows if users.get(row.id, set()) <= gone]
    if not free:
        return []
    still_named = _named_in_logs(connection, gone)
    return [row for row in free if row.name_key not in still_named]


def _named_in_logs(connection: Connection, but_of: set[int]) -> set[str]:
    """Setups that a log names, though its job may go by another one now; the second entry always names one."""
    taken = select(LOG_ENTRIES.c.job_id, LOG_ENTRIES.c.fact).where(
        LOG_ENTRIES.c.fact.like('%"kind":"setup taken"%')
    )
    named = set()
    for job_id, fact in connection.execute(taken, execution_options={"yield_per": 1_000}):
        if job_id not in but_of:
            read = fact_of(fact, "an entry of a log")
            if isinstance(read, SetupTaken):
                named.add(name_key(read.setup_name))
    return named


def _told(connection: Connection, jobs: Sequence[Any], setups: Sequence[Any], before: datetime) -> Purged:
    gone = select(JOBS.c.id).where(JOBS.c.deleted_at < before)
    n_records = select(func.count()).select_from(RECORDS).where(RECORDS.c.job_id.in_(gone))
    named = select(JOB_CONTENTS.c.sha256).where(JOB_CONTENTS.c.job_id.in_(gone)).distinct().subquery()
    others = JOB_CONTENTS.alias()
    elsewhere = exists().where(others.c.sha256 == named.c.sha256, others.c.job_id.not_in(gone))
    n_contents = select(func.count()).select_from(named).where(~elsewhere)
    return Purged(
        tuple(job.number for job in jobs),
        tuple(setup.name for setup in setups),
        connection.execute(n_records).scalar_one(),
        connection.execute(n_contents).scalar_one(),
    )


def _destroy_job(connection: Connection, job: Any, by: str) -> None:
    named = connection.scalars(select(JOB_CONTENTS.c.sha256).where(JOB_CONTENTS.c.job_id == job.id)).all()
    for table in (PASS_RESULTS, LOG_ENTRIES, JOB_CONTENTS):
        connection.execute(delete(table).where(table.c.job_id == job.id))
    n_contents = 0
    for sha256 in named:
        n_contents += connection.execute(
            delete(CONTENTS).where(
                CONTENTS.c.sha256 == sha256, ~exists().where(JOB_CONTENTS.c.sha256 == sha256)
            )
        ).rowcount
    n_records = connection.execute(
        update(RECORDS).where(RECORDS.c.job_id == job.id).values(job_id=None, document=None)
    ).rowcount
    connection.execute(delete(JOBS).where(JOBS.c.id == job.id))
    destroyed = f"; records: {n_records}, sounds and photos: {n_contents}"
    _log(connection, "job purged", job.number, job.deleted_at, by, destroyed)


def _destroy_setup(connection: Connection, setup: Any, by: str) -> None:
    connection.execute(delete(SETUP_VERSIONS).where(SETUP_VERSIONS.c.setup_id == setup.id))
    connection.execute(delete(SETUPS).where(SETUPS.c.id == setup.id))
    _log(connection, "setup purged", setup.name, setup.deleted_at, by, "")


def _log(
    connection: Connection, deed: str, subject: str, deleted_at: datetime, by: str, destroyed: str
) -> None:
    log_deed(connection, deed, subject, f"deleted {deleted_at:%Y-%m-%d}{destroyed}", by)


def _locked(chosen: Select[Any], lock: bool) -> Select[Any]:
    return chosen.with_for_update() if lock else chosen

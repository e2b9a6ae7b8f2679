"""How much is in an archive, and what was done to it."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select

from tensionear.job.archive.archive import Archive
from tensionear.job.archive.schema import version_of
from tensionear.job.archive.tables import ARCHIVE, ARCHIVE_LOG, CONTENTS, JOBS, RECORDS, SETUPS


@dataclass(frozen=True)
class ArchiveHoldings:
    """What an archive holds.

    Attributes
    ----------
    archive_id : str
        Which it is, in every copy.
    made_at : datetime
    form : str
        Version of its tables.
    n_jobs, n_open_jobs, n_deleted_jobs : int
        Jobs that are not deleted, those of them that are not closed, and those that are deleted.
    n_setups, n_deleted_setups : int
    n_plucks : int
        Of all jobs, the refused and the deleted included.
    n_contents, n_content_bytes : int
        Sounds and photos.
    n_records : int
        In the chain.
    newest_record_sha256 : str or None
        Write it down elsewhere: with it, it shows if the newest records are taken away.
    """

    archive_id: str
    made_at: datetime
    form: str
    n_jobs: int
    n_open_jobs: int
    n_deleted_jobs: int
    n_setups: int
    n_deleted_setups: int
    n_plucks: int
    n_contents: int
    n_content_bytes: int
    n_records: int
    newest_record_sha256: str | None


@dataclass(frozen=True)
class ArchiveDeed:
    """What was done to an archive and belongs to no job.

    Attributes
    ----------
    number : int
    at : datetime
    by, deed, subject, reason : str
        Who, what, to what, and why or how much.
    """

    number: int
    at: datetime
    by: str
    deed: str
    subject: str
    reason: str


def holdings(archive: Archive) -> ArchiveHoldings:
    """Count what is in an archive.

    Raises
    ------
    ArchiveError
        If the database complains.
    """
    with archive.reading() as connection:
        made_at = connection.execute(select(ARCHIVE.c.made_at)).scalar_one()
        there = JOBS.c.deleted_at.is_(None)
        jobs = connection.execute(
            select(
                func.count().filter(there),
                func.count().filter(there, JOBS.c.closed_at.is_(None)),
                func.count().filter(~there),
                func.coalesce(func.sum(JOBS.c.n_plucks), 0),
            ).select_from(JOBS)
        ).one()
        setups = connection.execute(
            select(
                func.count().filter(SETUPS.c.deleted_at.is_(None)),
                func.count().filter(SETUPS.c.deleted_at.is_not(None)),
            ).select_from(SETUPS)
        ).one()
        length = func.length(CONTENTS.c.content)
        contents = connection.execute(
            select(func.count(), func.coalesce(func.sum(length), 0)).select_from(CONTENTS)
        ).one()
        newest = connection.execute(
            select(RECORDS.c.number, RECORDS.c.sha256).order_by(RECORDS.c.number.desc()).limit(1)
        ).one_or_none()
        form = version_of(connection)
    return ArchiveHoldings(
        archive_id=archive.archive_id,
        made_at=made_at,
        form=form or "",
        n_jobs=jobs[0],
        n_open_jobs=jobs[1],
        n_deleted_jobs=jobs[2],
        n_setups=setups[0],
        n_deleted_setups=setups[1],
        n_plucks=int(jobs[3]),
        n_contents=contents[0],
        n_content_bytes=int(contents[1]),
        n_records=0 if newest is None else newest.number,
        newest_record_sha256=None if newest is None else newest.sha256,
    )


def archive_deeds(archive: Archive) -> list[ArchiveDeed]:
    """What was done to an archive, in order: setups deleted and restored, jobs and setups purged, salvaging.

    Raises
    ------
    ArchiveError
        If the database complains.
    """
    columns = (ARCHIVE_LOG.c[name] for name in ArchiveDeed.__dataclass_fields__)
    with archive.reading() as connection:
        rows = connection.execute(select(*columns).order_by(ARCHIVE_LOG.c.number))
        return [ArchiveDeed(**row._asdict()) for row in rows]

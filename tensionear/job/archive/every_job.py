"""All jobs of an archive, however many, in a few words each."""

from dataclasses import dataclass

from sqlalchemy import select

from tensionear.job.archive.connection import OpenArchive
from tensionear.job.archive.tables import JOBS


@dataclass(frozen=True)
class JobInBrief:
    """A job by its name.

    Attributes
    ----------
    number, uid : str
    n_plucks : int
        The plucks that were refused included.
    """

    number: str
    uid: str
    n_plucks: int


def every_job(archive: OpenArchive) -> list[JobInBrief]:
    """All jobs that are not deleted, in the order in which they were opened.

    Parameters
    ----------
    archive : OpenArchive
        It is only read.

    Raises
    ------
    ArchiveError
        If the database complains.
    """
    chosen = select(JOBS.c.number, JOBS.c.uid, JOBS.c.n_plucks).where(JOBS.c.deleted_at.is_(None))
    with archive.reading() as connection:
        return [JobInBrief(*row) for row in connection.execute(chosen.order_by(JOBS.c.id))]

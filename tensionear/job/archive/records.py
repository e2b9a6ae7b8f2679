"""The chain of records: each names the hash of the one before, so that one that is taken away leaves a gap."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import insert, select

from tensionear.errors import InputError
from tensionear.job.archive.archived_job import ArchivedJob, load_job, require_job_there
from tensionear.job.archive.connection import OpenArchive, next_number, now
from tensionear.job.archive.jobs import append
from tensionear.job.archive.stored import damaged
from tensionear.job.archive.tables import RECORDS
from tensionear.job.archive.typed import typed_line
from tensionear.job.log import RecordMade
from tensionear.job.sha256 import sha256_of


@dataclass(frozen=True)
class ChainPlace:
    """Where a record is to stand.

    Attributes
    ----------
    archive_id : str
        Of the archive.
    number : int
        In the archive, from 1, without gaps.
    previous_sha256 : str or None
        Of the record before it; None for the first.
    at : datetime
        When it is made.
    """

    archive_id: str
    number: int
    previous_sha256: str | None
    at: datetime


@dataclass(frozen=True)
class KeptRecord:
    """A record in its chain.

    Attributes
    ----------
    place : ChainPlace
        Where it stands.
    sha256 : str
        Of the document.
    job_number, job_uid : str
        Of the job.
    by : str
        Who made it.
    document : bytes or None
        ``record.json``; None: it was taken away for good, with its job.
    """

    place: ChainPlace
    sha256: str
    job_number: str
    job_uid: str
    by: str
    document: bytes | None


class ArchiveRecords(OpenArchive):
    """The records of an archive."""

    def add_record(
        self, number: str, make: Callable[[ArchivedJob, ChainPlace], bytes], by: str = ""
    ) -> KeptRecord:
        """Make a record of a job as it is now, and put it at the end of the chain.

        One record is made after the other, in the whole archive; on SQLite nobody else writes meanwhile either. So
        `make` should do only what needs the job and its place.

        Parameters
        ----------
        number : str
            Of the job.
        make : callable
            Takes the job and the place and gives ``record.json``. What it raises leaves everything as it was.
        by : str
            Who makes it; empty: the technician.

        Raises
        ------
        InputError
            If there is no such job, it is deleted, or `make` refuses.
        ArchiveError
            If the database complains, or something in it is damaged.
        """
        with self.writing() as connection:
            job_id, job = load_job(connection, number, lock=True)
            require_job_there(job)
            in_chain = next_number(connection, "records")
            previous = connection.scalar(select(RECORDS.c.sha256).where(RECORDS.c.number == in_chain - 1))
            if previous is None and in_chain > 1:
                raise damaged(f"record {in_chain - 1}", "it is missing")
            place = ChainPlace(self.archive_id, in_chain, previous, now())
            document = make(job, place)
            kept = KeptRecord(
                place,
                sha256_of(document),
                job.number,
                job.uid,
                typed_line("who made it", by) or job.state.details.technician,
                document,
            )
            connection.execute(
                insert(RECORDS).values(
                    number=in_chain,
                    job_id=job_id,
                    job_number=job.number,
                    job_uid=job.uid,
                    made_at=place.at,
                    by=kept.by,
                    previous_sha256=previous,
                    sha256=kept.sha256,
                    document=document,
                )
            )
            append(connection, job_id, job, RecordMade(record_number=in_chain, record_sha256=kept.sha256), by)
            return kept

    def record(self, number_in_chain: int) -> KeptRecord:
        """Find a record by its place.

        Raises
        ------
        InputError
            If there is none.
        ArchiveError
            If it is not what was kept, or the database complains.
        """
        with self.reading() as connection:
            row = connection.execute(select(RECORDS).where(RECORDS.c.number == number_in_chain)).one_or_none()
        if row is None:
            raise InputError(f"the archive has no record {number_in_chain}")
        return self._kept(row, row.document)

    def records(self) -> list[KeptRecord]:
        """All records in the order of the chain, without their documents.

        Raises
        ------
        ArchiveError
            If the database complains.
        """
        chosen = select(*(each for each in RECORDS.c if each is not RECORDS.c.document))
        with self.reading() as connection:
            return [self._kept(row, None) for row in connection.execute(chosen.order_by(RECORDS.c.number))]

    def _kept(self, row: Any, document: bytes | None) -> KeptRecord:
        place = ChainPlace(self.archive_id, row.number, row.previous_sha256, row.made_at)
        if document is not None and sha256_of(document) != row.sha256:
            raise damaged(f"record {row.number}", "its SHA-256 is another")
        return KeptRecord(place, row.sha256, row.job_number, row.job_uid, row.by, document)

"""Jobs in an archive: their logs are appended to, one entry a transaction, and never anything else."""

import uuid
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from pydantic import ValidationError
from sqlalchemy import Connection, insert

from tensionear import __version__
from tensionear.errors import InputError
from tensionear.job import deeds
from tensionear.job.archive.archived_job import ArchivedJob, load_job, require_job_there
from tensionear.job.archive.connection import OpenArchive, next_number, now, upsert
from tensionear.job.archive.contents import keep_content
from tensionear.job.archive.projection import first_columns, project
from tensionear.job.archive.setups import KeptSetup, setup_to_use
from tensionear.job.archive.stored import entry_sha256
from tensionear.job.archive.tables import JOBS, LOG_ENTRIES
from tensionear.job.archive.typed import typed_line, typed_reason
from tensionear.job.details import JobDetails
from tensionear.job.document import LONGEST_LINE
from tensionear.job.log import Fact, JobOpened, LogEntry, PhotoAdded, PluckKept, SetupTaken
from tensionear.job.pluck_document import PluckDocument
from tensionear.job.sha256 import sha256_of
from tensionear.job.state import state_of

LARGEST_PHOTO_BYTES = 50_000_000
FLAC = "audio/flac"


class ArchiveJobs(OpenArchive):
    """The jobs of an archive."""

    def open_job(
        self,
        setup_name: str,
        details: JobDetails,
        *,
        number: str = "",
        is_demonstration: bool = False,
        by: str = "",
    ) -> ArchivedJob:
        """Open a job by the last version of a setup.

        Parameters
        ----------
        setup_name : str
            Of the setup.
        details : JobDetails
            What is known of the job.
        number : str
            As the workshop counts; empty: the next of the year, such as 2026-0001.
        is_demonstration : bool
            Whether it is one, for ever.
        by : str
            Who opens it; empty: the technician.

        Raises
        ------
        InputError
            If there is no such setup, or the number is taken or cannot be one.
        ArchiveError
            If the database complains.
        """
        number = _number(number)
        with self.writing() as connection:
            setup_id, kept = setup_to_use(connection, setup_name)
            opened = JobOpened(details=details, is_demonstration=is_demonstration)
            facts: tuple[Fact, ...] = (opened, _taken(kept, ""))
            at = now()
            log = tuple(
                LogEntry(
                    number=place,
                    at=at,
                    by=typed_line("who opened it", by) or details.technician,
                    software_version=__version__,
                    fact=fact,
                )
                for place, fact in enumerate(facts, 1)
            )
            job = ArchivedJob(number, str(uuid.uuid4()), log, state_of(log), kept.setup, kept)
            job, job_id = _with_number(connection, job, setup_id)
            for entry in log:
                _keep_entry(connection, job_id, entry)
            return job

    def job(self, number: str) -> ArchivedJob:
        """Find a job by its number; a deleted one too, whose state says so.

        Raises
        ------
        InputError
            If there is none; the message names numbers that are spelt alike.
        ArchiveError
            If the database complains, or the log is damaged.
        """
        with self.reading() as connection:
            return load_job(connection, number)[1]

    def write_down(
        self, number: str, deed: Callable[[ArchivedJob], Fact | None], by: str = ""
    ) -> ArchivedJob:
        """Let a deed be done to a job as it is now, and write down what it gives.

        Nobody else writes to the job in between, and if this returns, the entry is on the disk.

        Parameters
        ----------
        number : str
            Of the job.
        deed : callable
            Takes the job and gives the fact; None: nothing is written. What it raises leaves the job as it was.
        by : str
            Who does it; empty: the technician.

        Returns
        -------
        ArchivedJob
            As it is then.

        Raises
        ------
        InputError
            If there is no such job, or the deed refuses.
        ArchiveError
            If the database complains, or the log is damaged.
        """
        with self.writing() as connection:
            job_id, job = load_job(connection, number, lock=True)
            fact = deed(job)
            return job if fact is None else append(connection, job_id, job, fact, by)

    def keep_pluck(self, number: str, pluck: PluckDocument, flac: bytes, by: str = "") -> PluckKept | None:
        """Keep a pluck with its sound in the pass that goes on.

        Parameters
        ----------
        number : str
            Of the job.
        pluck : PluckDocument
            What became of it; names the sound by its SHA-256.
        flac : bytes
            The sound.
        by : str
            Who plucked; empty: the technician.

        Returns
        -------
        PluckKept or None
            None: that very sound is in the pass already.

        Raises
        ------
        InputError
            If there is no such job or no pass of it goes on.
        ArchiveError
            If the database complains, or the log is damaged.
        ValueError
            If the sound is not the one that the pluck names.
        """
        if sha256_of(flac) != pluck.sound.flac_sha256:
            raise ValueError("the sound is not the one that the pluck names")
        with self.writing() as connection:
            job_id, job = load_job(connection, number, lock=True)
            fact = deeds.keep_pluck(job.state, pluck)
            if fact is not None:
                keep_content(connection, job_id, flac, FLAC)
                append(connection, job_id, job, fact, by)
            return fact

    def add_photo(
        self, number: str, photo: bytes, media_type: str, caption: str = "", by: str = ""
    ) -> ArchivedJob:
        """Add a photo to a job.

        Parameters
        ----------
        number : str
            Of the job.
        photo : bytes
            JPEG, PNG or WebP.
        media_type : str
            "image/jpeg", "image/png" or "image/webp".
        caption : str
            What it shows.
        by : str
            Who adds it; empty: the technician.

        Raises
        ------
        InputError
            If there is no such job, it is deleted, or the bytes are no such photo or too many.
        ArchiveError
            If the database complains, or the log is damaged.
        """
        fact = _photo(photo, media_type, caption)
        with self.writing() as connection:
            job_id, job = load_job(connection, number, lock=True)
            require_job_there(job)
            keep_content(connection, job_id, photo, media_type)
            return append(connection, job_id, job, fact, by)

    def take_setup(
        self, number: str, setup_name: str, version: int | None, reason: str, by: str = ""
    ) -> ArchivedJob:
        """Let a job go by another version of a setup, or by another setup, from here on.

        Parameters
        ----------
        number : str
            Of the job.
        setup_name : str
            Of the setup.
        version : int or None
            None: the last.
        reason : str
            Why.
        by : str
            Who decides it; empty: the technician.

        Raises
        ------
        InputError
            If there is no such job or setup, one is deleted, the job goes by it already, or no reason is given.
        ArchiveError
            If the database complains, or the log is damaged.
        """
        reason = typed_reason("why does the job go by another setup?", reason)
        with self.writing() as connection:
            job_id, job = load_job(connection, number, lock=True)
            require_job_there(job)
            kept = setup_to_use(connection, setup_name, version)[1]
            if (kept.name, kept.version) == (job.kept_setup.name, job.kept_setup.version):
                raise InputError(f"job {job.number} goes by {kept.name!r}, version {kept.version}, already")
            return append(connection, job_id, job, _taken(kept, reason), by)


def append(connection: Connection, job_id: int, job: ArchivedJob, fact: Fact, by: str) -> ArchivedJob:
    """Append a fact to the log of a job that is locked, and bring up to date what is computed from it."""
    entry = LogEntry(
        number=len(job.log) + 1,
        at=now(),
        by=typed_line("who did it", by) or job.state.details.technician,
        software_version=__version__,
        fact=fact,
    )
    _keep_entry(connection, job_id, entry)
    after = job.with_entry(connection, entry)
    project(connection, job_id, after)
    return after


def _keep_entry(connection: Connection, job_id: int, entry: LogEntry) -> None:
    connection.execute(insert(LOG_ENTRIES).values(entry_columns(job_id, entry)))


def entry_columns(job_id: int, entry: LogEntry) -> dict[str, Any]:
    """Columns of an entry."""
    fact = entry.fact.canonical().decode("utf-8")
    return {
        "job_id": job_id,
        "number": entry.number,
        "at": entry.at,
        "by": entry.by,
        "software_version": entry.software_version,
        "fact": fact,
        "sha256": entry_sha256(job_id, entry.number, entry.at, entry.by, entry.software_version, fact),
    }


def _taken(kept: KeptSetup, reason: str) -> SetupTaken:
    return SetupTaken(
        setup_name=kept.name, setup_version=kept.version, setup_sha256=kept.sha256, reason=reason
    )


def _number(number: str) -> str:
    number = " ".join(number.split())
    if len(number) > LONGEST_LINE:
        raise InputError(f"a job number of {len(number)} characters is longer than {LONGEST_LINE}")
    if not number.isprintable():
        raise InputError(f"the job number {number!r} has characters that cannot be printed")
    return number


def _with_number(connection: Connection, job: ArchivedJob, setup_id: int) -> tuple[ArchivedJob, int]:
    """Keep the row of a job, under its own number or else the next of the year."""
    year = job.state.opened_at.year
    while True:
        number = job.number or f"{year}-{next_number(connection, f'jobs of {year}'):04}"
        numbered = replace(job, number=number)
        row = upsert(connection, JOBS).values(first_columns(numbered, setup_id)).on_conflict_do_nothing()
        job_id = connection.execute(row.returning(JOBS.c.id)).scalar_one_or_none()
        if job_id is not None:
            return numbered, job_id
        if job.number:
            raise InputError(f"there is a job {number!r} already: give another number, or none")


def _photo(photo: bytes, media_type: str, caption: str) -> PhotoAdded:
    if len(photo) > LARGEST_PHOTO_BYTES:
        raise InputError(
            f"a photo of {len(photo)} bytes is larger than {LARGEST_PHOTO_BYTES}: save it smaller, as JPEG"
        )
    is_so = {
        "image/jpeg": photo.startswith(b"\xff\xd8\xff"),
        "image/png": photo.startswith(b"\x89PNG\r\n\x1a\n"),
        "image/webp": photo.startswith(b"RIFF") and photo[8:12] == b"WEBP",
    }
    if media_type not in is_so:
        raise InputError(f"a photo can be {', '.join(is_so)}, and not {media_type}: save it as JPEG")
    if not is_so[media_type]:
        raise InputError(
            f"the photo does not begin as {media_type} does: is it another kind of file, or damaged?"
        )
    try:
        return PhotoAdded.model_validate(
            {"sha256": sha256_of(photo), "media_type": media_type, "caption": caption}
        )
    except ValidationError as error:
        raise InputError(f"the photo's caption: {error.errors()[0]['msg']}") from error

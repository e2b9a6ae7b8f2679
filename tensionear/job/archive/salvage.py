"""Bringing what is readable of a damaged SQLite archive into a new one, and telling what is not.

The damaged file is only read (`tensionear.job.archive.sqlite_pages`), and never written. Nothing is believed that its
hash does not confirm: a sound, a setup, an entry of a log, a record whose bytes have another hash is left out and
told. A job is kept up to the first hole in its log; what is computed from logs is computed anew.
"""

import uuid
from collections.abc import Mapping
from pathlib import Path

from sqlalchemy import Connection, delete, func, insert, select, text, update
from sqlalchemy.dialects import sqlite

from tensionear import __version__
from tensionear.errors import ArchiveError
from tensionear.job.archive.archived_job import ArchivedJob
from tensionear.job.archive.connection import log_deed, now
from tensionear.job.archive.copying import Progress, whole_archive_file
from tensionear.job.archive.salvage_report import Loss, Salvaged
from tensionear.job.archive.salvaged_jobs import job_ids, rebuild_jobs
from tensionear.job.archive.salvaged_rows import SmallTables, gather
from tensionear.job.archive.salvaged_setups import SalvagedSetups
from tensionear.job.archive.sqlite_pages import SqlitePages
from tensionear.job.archive.tables import (
    ARCHIVE,
    ARCHIVE_LOG,
    COUNTERS,
    JOBS,
    RECORDS,
    TABLES,
)
from tensionear.job.archive.trouble import told
from tensionear.job.log import LogEntry, RecordMade


def salvage(damaged: Path, to: Path, by: str = "", progress: Progress | None = None) -> Salvaged:
    """Bring what is readable of a damaged archive into a new one.

    Parameters
    ----------
    damaged : Path
        SQLite file; with it what is committed in the write-ahead log beside it, if that is there. Nobody should be at
        work with it.
    to : Path
        Where the new archive is to be; it is put there when it is whole.
    by : str
        Who does it; kept in the log of the new archive.
    progress : callable, optional
        Told how far it is; whatever it raises stops the work and leaves nothing half.

    Raises
    ------
    ArchiveError
        If the damaged file cannot be opened, there is nothing of an archive in it, or the new one cannot be written.
    InputError
        If there is a file already where the new archive is to be.
    """
    try:
        pages = SqlitePages(damaged)
    except OSError as error:
        raise ArchiveError(f"archive {damaged}: it cannot be read ({error.strerror or error})") from error
    with pages, whole_archive_file(to) as engine, told(str(to)), engine.begin() as into:
        into.execute(text("PRAGMA defer_foreign_keys = ON"))
        into.execute(delete(ARCHIVE))
        losses: list[Loss] = []
        n_pages = pages.n_pages

        def pages_done(page: int) -> None:
            if progress is not None:
                progress(page, 2 * n_pages)

        def jobs_done(done: int, n_jobs: int) -> None:
            if progress is not None:
                progress(n_pages + n_pages * done // n_jobs, 2 * n_pages)

        small = gather(pages, into, losses, pages_done)
        _tell_gaps(job_ids(small, into), small, losses)
        setups = SalvagedSetups(small, into, losses)
        made: dict[int, tuple[ArchivedJob, LogEntry]] = {}
        for job in rebuild_jobs(small, setups, into, losses, jobs_done):
            made |= {
                each.fact.record_number: (job, each) for each in job.log if isinstance(each.fact, RecordMade)
            }
        if (
            not made
            and not small.jobs
            and not small.setups
            and not small.setup_versions
            and not small.archive
        ):
            raise ArchiveError(
                f"archive {damaged}: nothing of an archive is readable in it: is it the right file?"
            )
        _put_records(made, into, losses)
        _put_counters(small, into, losses)
        archive_id = _put_archive(small, into, losses)
        for row in small.archive_log.values():
            into.execute(insert(ARCHIVE_LOG).values(row))
        log_deed(into, "salvaged", damaged.name, f"losses told: {len(losses)}", by)
        n_rows = {
            table.name: into.execute(select(func.count()).select_from(table)).scalar_one() for table in TABLES
        }
    return Salvaged(archive_id, n_rows, tuple(losses))


def _put_records(
    made: Mapping[int, tuple[ArchivedJob, LogEntry]], into: Connection, losses: list[Loss]
) -> None:
    """Complete the chain by the places of lost records that the logs name, and tell what is missing."""
    into.execute(update(RECORDS).where(RECORDS.c.job_id.not_in(select(JOBS.c.id))).values(job_id=None))
    hashes = {row.number: row.sha256 for row in into.execute(select(RECORDS.c.number, RECORDS.c.sha256))}
    ids = {row.number: row.id for row in into.execute(select(JOBS.c.number, JOBS.c.id))}
    for number, (job, entry) in sorted(made.items()):
        if number in hashes or not isinstance(entry.fact, RecordMade):
            continue
        hashes[number] = entry.fact.record_sha256
        into.execute(
            sqlite.insert(RECORDS)
            .on_conflict_do_nothing()  # a flipped bit may have given another record's hash to this number
            .values(
                number=number,
                job_id=ids[job.number],
                job_number=job.number,
                job_uid=job.uid,
                made_at=entry.at,
                by=entry.by,
                previous_sha256=hashes.get(number - 1),
                sha256=entry.fact.record_sha256,
                document=None,
            )
        )
        what = (
            f"record {number} of job {job.number} is lost: only its place in the chain is known, from the log"
        )
        losses.append(Loss("records", job.number, what))
    missing = sorted(set(range(1, max(hashes, default=0))) - set(hashes))
    losses.extend(Loss("records", None, f"record {number} is lost") for number in missing)


def _put_counters(small: SmallTables, into: Connection, losses: list[Loss]) -> None:
    last = into.scalar(select(func.max(RECORDS.c.number))) or 0
    for row in small.counters.values():
        if row["name"] != "records":
            into.execute(insert(COUNTERS).values(row))
        elif row["last_number"] > last:
            lost = f"{last + 1} to {row['last_number']}" if row["last_number"] > last + 1 else f"{last + 1}"
            what = f"record {lost} is lost, the last of the chain: that number will be given again"
            losses.append(Loss("records", None, what))
    if last:
        into.execute(insert(COUNTERS).values(name="records", last_number=last))


def _tell_gaps(ids: list[int], small: SmallTables, losses: list[Loss]) -> None:
    """Jobs are numbered without gaps in their rows: what is missing was purged, or is lost without a trace."""
    purged = sum(row["deed"] == "job purged" for row in small.archive_log.values())
    n_gone = max(ids, default=0) - len(ids) - purged
    if n_gone > 0:
        losses.append(Loss("jobs", None, f"{n_gone} more jobs were there, of which nothing is readable"))


def _put_archive(small: SmallTables, into: Connection, losses: list[Loss]) -> str:
    row = next(iter(small.archive.values()), None)
    if row is None:
        documents = "SELECT CAST(document AS TEXT) AS document FROM records WHERE document IS NOT NULL"
        named = text(
            f"SELECT json_extract(document, '$.chain.archive_id') FROM ({documents})"  # noqa: S608 - no input
            " WHERE json_valid(document) LIMIT 1"
        )
        archive_id = into.scalar(named)
        if archive_id is None:
            archive_id = str(uuid.uuid4())
            losses.append(
                Loss("archive", None, f"which archive it was is lost: it is {archive_id} from now on")
            )
        row = {"archive_id": archive_id, "made_at": now(), "software_version": __version__}
    into.execute(insert(ARCHIVE).values(row))
    return str(row["archive_id"])

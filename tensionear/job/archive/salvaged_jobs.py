"""Jobs of a damaged archive: each up to the first hole in its log, and all that is computed from it anew."""

import uuid
from collections.abc import Callable, Iterator

from sqlalchemy import Connection, delete, insert, select

from tensionear.errors import ArchiveError, InputError
from tensionear.job.archive.archived_job import ArchivedJob, read_entry
from tensionear.job.archive.rebuilding import contents_named, rebuilt_columns, rebuilt_results
from tensionear.job.archive.salvage_report import Loss
from tensionear.job.archive.salvaged_rows import Row, SmallTables
from tensionear.job.archive.salvaged_setups import SalvagedSetups
from tensionear.job.archive.setups import kept_setup
from tensionear.job.archive.tables import CONTENTS, JOB_CONTENTS, JOBS, LOG_ENTRIES, PASS_RESULTS, RECORDS
from tensionear.job.archive.words import name_key
from tensionear.job.log import LogEntry
from tensionear.job.state import JobState, state_of


def rebuild_jobs(
    small: SmallTables,
    setups: SalvagedSetups,
    into: Connection,
    losses: list[Loss],
    go_on: Callable[[int, int], None],
) -> Iterator[ArchivedJob]:
    """Make jobs of the logs in the new archive.

    Parameters
    ----------
    small : SmallTables
        What was found of the jobs' own rows.
    setups : SalvagedSetups
        In the new archive.
    into : Connection
        To it.
    losses : list of Loss
        Taken to, what is missing.
    go_on : callable
        Told how many of how many are done.

    Yields
    ------
    ArchivedJob
        Each that is there now.
    """
    ids = job_ids(small, into)
    rebuilding = _Rebuilding(small, setups, into, losses)
    for done, job_id in enumerate(ids, 1):
        job = rebuilding.job(job_id)
        if job is None:
            into.execute(delete(LOG_ENTRIES).where(LOG_ENTRIES.c.job_id == job_id))
        else:
            yield job
        go_on(done, len(ids))


def job_ids(small: SmallTables, into: Connection) -> list[int]:
    """Rows of all jobs of which anything was found, in order."""
    with_log = set(into.scalars(select(LOG_ENTRIES.c.job_id).distinct()))
    return sorted(with_log | {row["id"] for row in small.jobs.values()})


class _Rebuilding:
    def __init__(
        self, small: SmallTables, setups: SalvagedSetups, into: Connection, losses: list[Loss]
    ) -> None:
        self._small, self._setups, self._into, self._losses = small, setups, into, losses
        self._taken: set[str] = set()

    def job(self, job_id: int) -> ArchivedJob | None:
        row = self._small.jobs.get((job_id,))
        number, uid = self._identity(job_id, row)
        log, state, n_entries = self._log(job_id, number)
        expected = max(n_entries, 0 if row is None else row["n_entries"])
        if state is None:
            self._tell("jobs", number, f"job {number} is lost: the beginning of its log is missing")
            return None
        setup_id = self._setups.id_of(state.setup)
        if setup_id is None:
            what = f"version {state.setup.setup_version} of the setup {state.setup.setup_name!r}"
            self._tell("jobs", number, f"job {number} is lost: {what}, by which it goes, is lost")
            return None
        if len(log) < expected:
            self._tell(
                "log_entries",
                number,
                f"the log of job {number} has a hole: it was kept up to entry {len(log)} of {expected}",
            )
            behind = LOG_ENTRIES.c.number > len(log)
            self._into.execute(delete(LOG_ENTRIES).where(LOG_ENTRIES.c.job_id == job_id, behind))
        elif row is None:
            what = (
                f"of job {number} cannot be told whether its log is whole: it was kept up to entry {len(log)}"
            )
            self._tell("log_entries", number, what)
        kept = kept_setup(self._into, state.setup.setup_name, state.setup.setup_version)
        job = ArchivedJob(number, uid, log, state, kept.setup, kept)
        self._put(job_id, job, setup_id)
        return job

    def _identity(self, job_id: int, row: Row | None) -> tuple[str, str]:
        """Number and UUID of a job: of its row, else of a record of it, else new ones."""
        if row is None:
            chosen = select(RECORDS.c.job_number, RECORDS.c.job_uid).where(RECORDS.c.job_id == job_id)
            recorded = self._into.execute(chosen.limit(1)).one_or_none()
            number, uid = (f"salvaged {job_id}", str(uuid.uuid4())) if recorded is None else recorded
            if recorded is None:
                self._tell(
                    "jobs", number, f"the number of a job is lost: it is called {number} in the new archive"
                )
        else:
            number, uid = row["number"], row["uid"]
        if name_key(number) in self._taken or uid in self._taken:
            doubtful, number, uid = number, f"{number} salvaged {job_id}", str(uuid.uuid4())
            self._tell("jobs", number, f"two jobs claim the number {doubtful}: one is called {number} now")
        self._taken |= {name_key(number), uid}
        return number, uid

    def _log(self, job_id: int, number: str) -> tuple[tuple[LogEntry, ...], JobState | None, int]:
        """The entries up to the first hole, what follows from them, and how many there were at least."""
        chosen = select(LOG_ENTRIES).where(LOG_ENTRIES.c.job_id == job_id).order_by(LOG_ENTRIES.c.number)
        log: list[LogEntry] = []
        highest, whole = 0, True
        for row in self._into.execute(chosen).all():
            highest = row.number
            whole = whole and row.number == len(log) + 1
            if whole:
                try:
                    log.append(read_entry(row, number))
                except ArchiveError:
                    whole = False
        while len(log) >= 2:
            try:
                return tuple(log), state_of(log), highest
            except ValueError:
                log.pop()
        return (), None, highest

    def _put(self, job_id: int, job: ArchivedJob, setup_id: int) -> None:
        try:
            results = rebuilt_results(job, job_id)
        except InputError as error:
            results = []
            self._tell(
                "pass_results", job.number, f"the passes of job {job.number} cannot be judged: {error}"
            )
        self._into.execute(insert(JOBS).values(id=job_id, **rebuilt_columns(job, setup_id, results)))
        if results:
            self._into.execute(insert(PASS_RESULTS), results)
        named = contents_named(job)
        there = set(self._into.scalars(select(CONTENTS.c.sha256).where(CONTENTS.c.sha256.in_(list(named)))))
        if there:
            rows = [{"job_id": job_id, "sha256": sha256} for sha256 in sorted(there)]
            self._into.execute(insert(JOB_CONTENTS), rows)
        for sha256, what in named.items():
            if sha256 not in there:
                self._tell("contents", job.number, f"{what} of job {job.number} is lost")

    def _tell(self, table: str, job_number: str | None, sentence: str) -> None:
        self._losses.append(Loss(table, job_number, sentence))

"""Whether an archive is still what was written into it: every hash, every log, every link; nothing is changed."""

import math
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from sqlalchemy import Connection, func, select, text

from tensionear.errors import ArchiveError, InputError
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.archived_job import ArchivedJob, load_job
from tensionear.job.archive.copying import Progress
from tensionear.job.archive.opening_to_read import open_to_read, snapshot
from tensionear.job.archive.rebuilding import contents_named, rebuilt_columns, rebuilt_results
from tensionear.job.archive.record_chain import ChainFault, chain_findings
from tensionear.job.archive.stored import setup_of
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
from tensionear.job.archive.trouble import told
from tensionear.job.sha256 import sha256_of

_KEYS_AT_ONCE = 1_000
_MOST_OF_THE_DATABASE = 100
_SAME_FIGURE = 1e-6
"""Relative; libraries of another version may round the last digits otherwise."""


class ArchiveFault(StrEnum):
    """What is not as it was."""

    DATABASE_DAMAGED = "database damaged"
    REFERENCE_BROKEN = "reference broken"
    CONTENT_CHANGED = "content changed"
    CONTENT_MISSING = "content missing"
    SETUP_CHANGED = "setup changed"
    LOG_DAMAGED = "log damaged"
    SUMMARY_WRONG = "summary wrong"
    RECORD_CHANGED = "record changed"
    RECORD_MISSING = "record missing"
    PREDECESSOR_WRONG = "predecessor wrong"


@dataclass(frozen=True)
class ArchiveFinding:
    """Something in an archive that is not as it was.

    Attributes
    ----------
    fault : ArchiveFault
    job_number : str or None
        The job that it is about; None if it is about none or several.
    sentence : str
        What was found, to be shown as it is.
    """

    fault: ArchiveFault
    job_number: str | None
    sentence: str


_OF_THE_CHAIN = {
    ChainFault.MISSING: ArchiveFault.RECORD_MISSING,
    ChainFault.CHANGED: ArchiveFault.RECORD_CHANGED,
    ChainFault.PREDECESSOR: ArchiveFault.PREDECESSOR_WRONG,
}


def check(
    where: str | None, progress: Progress | None = None, *, quick: bool = False
) -> list[ArchiveFinding]:
    """Look through a whole archive, which may be in use; nothing is written.

    What the database itself can find, that what is referred to is there, the hash of every sound, photo, setup, log
    entry and record, that every log makes a job and everything computed from it follows from it, and the chain of
    records.

    Parameters
    ----------
    where : str or None
        As for `tensionear.job.archive.opening.open_archive`.
    progress : callable, optional
        Told how far it is; whatever it raises stops the check.
    quick : bool
        Whether to take the figures of passes, by which jobs are found and drawn, as they are: computing them anew
        takes most of the time.

    Returns
    -------
    list of ArchiveFinding
        Empty if all is as it was.

    Raises
    ------
    ArchiveError
        If the archive cannot even be opened.
    """
    with open_to_read(where) as archive, snapshot(archive) as connection:
        checked = _Check(archive, connection, progress, quick)
        checked.run()
        return checked.found


@dataclass
class _Check:
    archive: Archive
    connection: Connection
    progress: Progress | None
    quick: bool
    found: list[ArchiveFinding] = field(default_factory=list)
    done: int = 0
    total: int = 0
    made_of: dict[int, tuple[str, str]] = field(default_factory=dict)
    """Which records the logs name: job and SHA-256 by number."""

    def run(self) -> None:
        with self.trouble_told("the tables cannot be counted"):
            for table in (CONTENTS, SETUP_VERSIONS, JOBS, RECORDS):
                self.total += self.connection.execute(select(func.count()).select_from(table)).scalar_one()
        steps: tuple[tuple[str, Callable[[], None]], ...] = (
            ("the database cannot be looked through", self.check_database),
            ("the setups cannot be read to the end", self.check_setups),
            ("the jobs cannot be read to the end", self.check_jobs),
            ("the sounds and photos cannot be read to the end", self.check_contents),
            ("the records cannot be read to the end", self.check_records),
        )
        for what, step in steps:
            with self.trouble_told(what):
                step()

    def tell(self, fault: ArchiveFault, sentence: str, job_number: str | None = None) -> None:
        self.found.append(ArchiveFinding(fault, job_number, sentence))

    def go_on(self) -> None:
        self.done += 1
        if self.progress is not None:
            self.progress(self.done, max(self.total, self.done))

    @contextmanager
    def trouble_told(
        self, what: str, fault: ArchiveFault = ArchiveFault.DATABASE_DAMAGED, job: str | None = None
    ) -> Iterator[None]:
        """Go on behind trouble with the database."""
        try:
            with told(self.archive.shown), self.connection.begin_nested():
                yield
        except (
            ArchiveError,
            ValueError,
            TypeError,
            AttributeError,
        ) as error:  # no text, no date, or a number
            self.tell(fault, f"{what}: {error}", job)

    def check_database(self) -> None:
        if self.archive.dialect != "sqlite":
            return  # a server looks after its own files, and its foreign keys always hold
        complaints = self.connection.execute(text(f"PRAGMA integrity_check({_MOST_OF_THE_DATABASE})"))
        for complaint in complaints.scalars():
            if complaint != "ok":
                self.tell(ArchiveFault.DATABASE_DAMAGED, f"SQLite finds: {' '.join(complaint.split())}")
        for row in self.connection.execute(text("PRAGMA foreign_key_check")):
            self.tell(
                ArchiveFault.REFERENCE_BROKEN,
                f"row {row[1]} of {row[0]} refers to a row of {row[2]} that is missing",
            )
        missing = self.connection.execute(
            text("SELECT number FROM jobs WHERE id NOT IN (SELECT id FROM job_words_docsize)")
        )
        for number in missing.scalars():
            self.tell(ArchiveFault.SUMMARY_WRONG, f"job {number} is not in the index of words", number)

    def check_setups(self) -> None:
        chosen = select(
            SETUPS.c.name, SETUP_VERSIONS.c.version, SETUP_VERSIONS.c.sha256, SETUP_VERSIONS.c.document
        )
        joined = chosen.join(SETUPS, SETUPS.c.id == SETUP_VERSIONS.c.setup_id)
        ordered = joined.order_by(SETUP_VERSIONS.c.setup_id, SETUP_VERSIONS.c.version)
        for row in self.connection.execute(ordered, execution_options={"yield_per": _KEYS_AT_ONCE}):
            what = f"version {row.version} of the setup {row.name!r}"
            if sha256_of(row.document.encode()) != row.sha256:
                self.tell(ArchiveFault.SETUP_CHANGED, f"{what} is not what was kept: its SHA-256 is another")
            else:
                try:
                    setup_of(row.document, what)
                except ArchiveError as error:
                    self.tell(ArchiveFault.SETUP_CHANGED, str(error))
            self.go_on()

    def check_jobs(self) -> None:
        for row in self.paged(select(JOBS.c.id, JOBS.c.number), JOBS.c.id):
            with self.trouble_told(f"job {row.number} cannot be read", ArchiveFault.LOG_DAMAGED, row.number):
                try:
                    job_id, job = load_job(self.connection, row.number)
                    self.check_job(job_id, job)
                except InputError as error:  # such as a setup of it that is missing
                    self.tell(ArchiveFault.LOG_DAMAGED, f"job {row.number}: {error}", row.number)
            self.go_on()

    def check_job(self, job_id: int, job: ArchivedJob) -> None:
        row = self.connection.execute(select(JOBS).where(JOBS.c.id == job_id)).one()._asdict()
        n_in_log = self.connection.scalar(
            select(func.count()).select_from(LOG_ENTRIES).where(LOG_ENTRIES.c.job_id == job_id)
        )
        if row["n_entries"] != n_in_log:
            self.tell(
                ArchiveFault.LOG_DAMAGED,
                f"the log of job {job.number} has {n_in_log} entries, and had {row['n_entries']}",
                job.number,
            )
            return
        kept = self.connection.execute(
            select(PASS_RESULTS).where(PASS_RESULTS.c.job_id == job_id).order_by(PASS_RESULTS.c.pass_number)
        )
        as_kept = [dict(each._mapping) for each in kept]
        results = as_kept if self.quick else rebuilt_results(job, job_id)
        columns = rebuilt_columns(job, row["setup_id"], results)
        wrong = [name for name, value in columns.items() if row[name] != value]
        if not _same_results(as_kept, results):
            wrong.append("the results of its passes")
        if wrong:
            self.tell(
                ArchiveFault.SUMMARY_WRONG,
                f"what is kept of job {job.number} to find it fast does not follow from its log: {', '.join(wrong)}",
                job.number,
            )
        listed = select(CONTENTS.c.sha256).join(JOB_CONTENTS).where(JOB_CONTENTS.c.job_id == job_id)
        there = set(self.connection.scalars(listed))
        for sha256, what in contents_named(job).items():
            if sha256 not in there:
                self.tell(ArchiveFault.CONTENT_MISSING, f"{what} of job {job.number} is missing", job.number)
        self.made_of.update(
            {each.record_number: (job.number, each.record_sha256) for each in job.state.records}
        )

    def check_contents(self) -> None:
        for row in self.paged(select(CONTENTS.c.sha256), CONTENTS.c.sha256):
            what = f"the sound or photo {row.sha256[:12]}…"
            with self.trouble_told(f"{what} cannot be read", ArchiveFault.CONTENT_CHANGED):
                content = self.connection.scalar(
                    select(CONTENTS.c.content).where(CONTENTS.c.sha256 == row.sha256)
                )
                if content is None or sha256_of(content) != row.sha256:
                    numbers = self.jobs_naming(row.sha256)
                    self.tell(
                        ArchiveFault.CONTENT_CHANGED,
                        f"{what} of job {' and '.join(numbers) or 'no number'} is not what was kept",
                        numbers[0] if len(numbers) == 1 else None,
                    )
            self.go_on()

    def jobs_naming(self, sha256: str) -> list[str]:
        chosen = select(JOBS.c.number).join(JOB_CONTENTS).where(JOB_CONTENTS.c.sha256 == sha256)
        return list(self.connection.scalars(chosen.order_by(JOBS.c.id)))

    def check_records(self) -> None:
        unreadable = {each.job_number for each in self.found if each.fault is ArchiveFault.LOG_DAMAGED}
        findings = chain_findings(self.connection, self.made_of, unreadable, self.go_on)
        for fault, job_number, sentence in findings:
            self.tell(_OF_THE_CHAIN[fault], sentence, job_number)

    def paged(self, chosen: Any, key: Any) -> Iterator[Any]:
        """Rows by their key, some at a time, so that one that cannot be read does not hide those behind it."""
        last: Any = None
        while True:
            page = chosen.order_by(key).limit(_KEYS_AT_ONCE)
            rows = self.connection.execute(page if last is None else page.where(key > last)).all()
            yield from rows
            if len(rows) < _KEYS_AT_ONCE:
                return
            last = getattr(rows[-1], key.name)


def _same_results(kept: list[dict[str, Any]], computed: list[dict[str, Any]]) -> bool:
    if len(kept) != len(computed):
        return False
    return all(
        _same(before[name], after[name])
        for before, after in zip(kept, computed, strict=True)
        for name in after
    )


def _same(kept: object, computed: object) -> bool:
    if isinstance(kept, float) and isinstance(computed, float):
        return math.isclose(kept, computed, rel_tol=_SAME_FIGURE)
    return kept == computed

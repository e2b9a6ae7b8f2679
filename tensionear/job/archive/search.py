"""Finding jobs by what is known of them."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Select, select

from tensionear.errors import InputError
from tensionear.job.archive.connection import OpenArchive
from tensionear.job.archive.tables import JOBS, SETUPS
from tensionear.job.archive.text_index import Alternatives, with_words
from tensionear.job.archive.words import sought
from tensionear.metrology.decision import Verdict

MOST_JOBS = 10_000
"""In one answer."""


@dataclass(frozen=True)
class JobQuery:
    """What is looked for; whatever is empty or None is not asked for, all else has to hold.

    In texts, case, accents and separators do not count, and beginnings of words are enough: "mull ex47" finds
    the EX-4711 of Müller.

    Attributes
    ----------
    words : str
        Words that occur anywhere: in number, vehicle, registration, chassis number, technician, workshop, setup,
        engine, belt or notes.
    number, vehicle, registration, chassis_number, technician, workshop, setup : str
        Words that occur just there.
    verdict : Verdict or None
        Of the last final setting or re-check.
    opened_from, opened_to : datetime or None
        With their offset from UTC; the first moment that counts, and the first that does not any more.
    is_open : bool or None
        True: jobs that are not closed; False: those that are.
    deleted : bool
        Whether to find deleted jobs instead of the others.
    limit : int
        So many at most, 1 to 10 000.
    """

    words: str = ""
    number: str = ""
    vehicle: str = ""
    registration: str = ""
    chassis_number: str = ""
    technician: str = ""
    workshop: str = ""
    setup: str = ""
    verdict: Verdict | None = None
    opened_from: datetime | None = None
    opened_to: datetime | None = None
    is_open: bool | None = None
    deleted: bool = False
    limit: int = 50


@dataclass(frozen=True)
class JobSummary:
    """A job in a list.

    Attributes
    ----------
    number, uid : str
        Of the job.
    opened_at, changed_at : datetime
        When it was opened, and when the last entry of its log was written.
    closed_at, deleted_at : datetime or None
    is_demonstration : bool
    vehicle, registration, chassis_number, technician, workshop : str
        As in its details.
    setup_name : str
    setup_version : int
        What it goes by.
    verdict : Verdict or None
        Of the last final setting or re-check, if that ended and something is specified.
    n_entries, n_plucks : int
        In its log; the plucks that were refused included.
    """

    number: str
    uid: str
    opened_at: datetime
    changed_at: datetime
    closed_at: datetime | None
    deleted_at: datetime | None
    is_demonstration: bool
    vehicle: str
    registration: str
    chassis_number: str
    technician: str
    workshop: str
    setup_name: str
    setup_version: int
    verdict: Verdict | None
    n_entries: int
    n_plucks: int


class ArchiveSearch(OpenArchive):
    """Finding jobs in an archive."""

    def find_jobs(self, query: JobQuery) -> list[JobSummary]:
        """Find jobs, the newest first.

        Raises
        ------
        InputError
            If the limit is outside its range.
        ArchiveError
            If the database complains.
        """
        if not 1 <= query.limit <= MOST_JOBS:
            raise InputError(f"{query.limit} jobs cannot be asked for at once, but 1 to {MOST_JOBS}")
        chosen = jobs_chosen(query, self.dialect)
        if chosen is None:
            return []
        with self.reading() as connection:
            return [_summary(row) for row in connection.execute(chosen)]


def jobs_chosen(query: JobQuery, dialect: str) -> Select[Any] | None:
    """Write a query in SQL; None if nothing can be found.

    Parameters
    ----------
    query : JobQuery
        What is looked for.
    dialect : str
        "sqlite" or "postgresql".
    """
    asked = {
        "": query.words,
        "number": query.number,
        "vehicle": query.vehicle,
        "registration": query.registration,
        "chassis": query.chassis_number,
        "technician": query.technician,
        "workshop": query.workshop,
        "setup": query.setup,
    }
    wanted: list[Alternatives] = [sought(text, name) for name, text in asked.items() if text.strip()]
    if not all(wanted):  # nothing but punctuation
        return None
    chosen = (
        select(*(JOBS.c[name] for name in _COLUMNS), SETUPS.c.name.label("setup_name"))
        .join(SETUPS, SETUPS.c.id == JOBS.c.setup_id)
        .where(JOBS.c.deleted_at.is_not(None) if query.deleted else JOBS.c.deleted_at.is_(None))
    )
    if query.verdict is not None:
        chosen = chosen.where(JOBS.c.verdict == str(query.verdict))
    if query.opened_from is not None:
        chosen = chosen.where(JOBS.c.opened_at >= query.opened_from)
    if query.opened_to is not None:
        chosen = chosen.where(JOBS.c.opened_at < query.opened_to)
    if query.is_open is not None:
        chosen = chosen.where(JOBS.c.closed_at.is_(None) if query.is_open else JOBS.c.closed_at.is_not(None))
    return with_words(chosen, wanted, dialect).limit(query.limit)


_COLUMNS = tuple(name for name in JobSummary.__dataclass_fields__ if name != "setup_name")


def _summary(row: Any) -> JobSummary:
    found = row._asdict()
    verdict = found["verdict"]
    return JobSummary(**{**found, "verdict": None if verdict is None else Verdict(verdict)})

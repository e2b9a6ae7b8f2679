"""First step of salvaging: every row that is readable and has the hash that it should have."""

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, Table
from sqlalchemy.dialects import sqlite

from tensionear.job.archive.copying import CONTENTS_AT_ONCE, ROWS_AT_ONCE
from tensionear.job.archive.row_shapes import recognised
from tensionear.job.archive.salvage_report import Loss
from tensionear.job.archive.sqlite_pages import SqlitePages
from tensionear.job.archive.stored import entry_sha256
from tensionear.job.archive.tables import (
    ARCHIVE,
    ARCHIVE_LOG,
    CONTENTS,
    COUNTERS,
    JOB_CONTENTS,
    JOBS,
    LOG_ENTRIES,
    PASS_RESULTS,
    RECORDS,
    SETUP_VERSIONS,
    SETUPS,
)
from tensionear.job.sha256 import sha256_of

Row = dict[str, Any]

_NEWEST_BY = {"jobs": "n_entries", "setups": "last_version", "counters": "last_number"}
"""What only ever grows, so that it tells the newest of several versions of a row."""

_AT_ONCE = {CONTENTS.name: CONTENTS_AT_ONCE, RECORDS.name: CONTENTS_AT_ONCE}


@dataclass
class SmallTables:
    """Rows that are few or small, by their key."""

    archive: dict[object, Row] = field(default_factory=dict)
    archive_log: dict[object, Row] = field(default_factory=dict)
    counters: dict[object, Row] = field(default_factory=dict)
    setups: dict[object, Row] = field(default_factory=dict)
    setup_versions: dict[object, Row] = field(default_factory=dict)
    jobs: dict[object, Row] = field(default_factory=dict)

    def take(self, table: Table, row: Row) -> None:
        """Keep a row, unless a newer version of it is there."""
        rows: dict[object, Row] = getattr(self, table.name)
        key = tuple(row[column.name] for column in table.primary_key)
        before, newest_by = rows.get(key), _NEWEST_BY.get(table.name)
        if before is None or (newest_by is not None and row[newest_by] > before[newest_by]):
            rows[key] = row


_SMALL = (ARCHIVE, ARCHIVE_LOG, COUNTERS, SETUPS, SETUP_VERSIONS, JOBS)
_COMPUTED = (PASS_RESULTS, JOB_CONTENTS)


def gather(
    pages: SqlitePages, into: Connection, losses: list[Loss], go_on: Callable[[int], None]
) -> SmallTables:
    """Bring contents, entries of logs and records into the new archive, and keep the rest at hand.

    Parameters
    ----------
    pages : SqlitePages
        Of the damaged archive.
    into : Connection
        To the new one, in a transaction whose foreign keys are looked at in the end.
    losses : list of Loss
        Taken to, what is left out.
    go_on : callable
        Told the number of each page.
    """
    gathered = _Gathered(into, losses)
    for page in range(1, pages.n_pages + 1):
        on_page: Counter[str] = Counter()
        n_unreadable = 0
        for found in pages.rows(page):
            known = recognised(found)
            if known is None:
                n_unreadable += found.values is None
            else:
                on_page[known[0].name] += 1
                gathered.take(*known)
        if n_unreadable:
            gathered.n_unreadable[on_page.most_common(1)[0][0] if on_page else ""] += n_unreadable
        go_on(page)
    gathered.finish()
    return gathered.small


class _Gathered:
    def __init__(self, into: Connection, losses: list[Loss]) -> None:
        self.small = SmallTables()
        self.n_unreadable: Counter[str] = Counter()
        self._into = into
        self._losses = losses
        self._waiting: dict[str, list[Row]] = {}
        self._wrong: Counter[str] = Counter()

    def take(self, table: Table, row: Row) -> None:
        if table in _COMPUTED:
            return
        if not _is_confirmed(table, row):
            self._leave_out(table, row)
        elif table in _SMALL:
            self.small.take(table, row)
        else:
            self._put(table, row)

    def _put(self, table: Table, row: Row) -> None:
        waiting = self._waiting.setdefault(table.name, [])
        waiting.append(row)
        if len(waiting) >= _AT_ONCE.get(table.name, ROWS_AT_ONCE):
            self._into.execute(sqlite.insert(table).on_conflict_do_nothing(), waiting)
            waiting.clear()

    def _leave_out(self, table: Table, row: Row) -> None:
        self._wrong[table.name] += 1
        if table is RECORDS:  # its place in the chain is worth keeping
            self._losses.append(
                Loss(
                    table.name,
                    row["job_number"],
                    f"record {row['number']} of job {row['job_number']} is not what was kept: only its place in the"
                    " chain was brought over",
                )
            )
            self._put(table, {**row, "document": None})

    def finish(self) -> None:
        for table in (CONTENTS, LOG_ENTRIES, RECORDS):
            waiting = self._waiting.get(table.name)
            if waiting:
                self._into.execute(sqlite.insert(table).on_conflict_do_nothing(), waiting)
        for name, n_rows in sorted(self.n_unreadable.items()):
            of = f"of {name} " if name else "of tables that cannot be told "
            self._losses.append(
                Loss(name, None, f"{n_rows} rows {of}lie on damaged pages and cannot be read")
            )
        for name, n_rows in sorted(self._wrong.items()):
            if name != RECORDS.name:
                self._losses.append(
                    Loss(
                        name,
                        None,
                        f"{n_rows} rows of {name} have another hash than they should, and were left out",
                    )
                )


def _is_confirmed(table: Table, row: Mapping[str, Any]) -> bool:
    """Whether a row is what was written, as far as it has a hash."""
    if table is CONTENTS:
        found = sha256_of(row["content"])
    elif table is SETUP_VERSIONS:
        found = sha256_of(row["document"].encode())
    elif table is RECORDS and row["document"] is not None:
        found = sha256_of(row["document"])
    elif table is LOG_ENTRIES:
        of_entry = ("job_id", "number", "at", "by", "software_version", "fact")
        found = entry_sha256(*(row[name] for name in of_entry))
    else:
        return True
    return bool(found == row["sha256"])

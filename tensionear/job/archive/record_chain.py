"""Whether the chain of an archive's records holds."""

from collections.abc import Callable, Collection, Iterator, Mapping
from enum import Enum, auto

from sqlalchemy import Connection, select

from tensionear.job.archive.tables import COUNTERS, JOBS, RECORDS
from tensionear.job.sha256 import sha256_of


class ChainFault(Enum):
    """What is wrong with a link."""

    MISSING = auto()
    CHANGED = auto()
    PREDECESSOR = auto()


def chain_findings(
    connection: Connection,
    made_of: Mapping[int, tuple[str, str]],
    unreadable: Collection[str | None],
    go_on: Callable[[], None],
) -> Iterator[tuple[ChainFault, str | None, str]]:
    """Compare the records with one another, with their hashes, and with what the logs say of them.

    Parameters
    ----------
    connection : Connection
        In a transaction.
    made_of : mapping of int to (str, str)
        By number the job whose log names the record, and the SHA-256 that it names.
    unreadable : collection of str or None
        Jobs whose logs cannot be asked.
    go_on : callable
        Called after each record.

    Yields
    ------
    ChainFault
    str or None
        Number of the job, if it is known.
    str
        What was found.
    """
    expected, previous = 1, None
    chosen = select(RECORDS, JOBS.c.id.label("job_there")).join(JOBS, isouter=True).order_by(RECORDS.c.number)
    for row in connection.execute(chosen, execution_options={"yield_per": 1}):
        if row.number != expected:
            yield ChainFault.MISSING, None, f"{_records(expected, row.number - 1)} missing"
            previous = row.previous_sha256  # of a record that is not there, so that nothing can be said of it
        if row.previous_sha256 != previous:
            yield (
                ChainFault.PREDECESSOR,
                row.job_number,
                f"record {row.number} names another record {row.number - 1} than the one that is there",
            )
        if row.document is None:
            if row.job_there is not None:
                yield (
                    ChainFault.CHANGED,
                    row.job_number,
                    f"record {row.number} of job {row.job_number} has no content",
                )
        elif sha256_of(row.document) != row.sha256:
            yield (
                ChainFault.CHANGED,
                row.job_number,
                f"record {row.number} of job {row.job_number} is not what was kept",
            )
        is_named = made_of.get(row.number) == (row.job_number, row.sha256)
        if row.job_there is not None and not is_named and row.job_number not in unreadable:
            yield (
                ChainFault.CHANGED,
                row.job_number,
                f"record {row.number} is not the one that the log of job {row.job_number} names",
            )
        expected, previous = row.number + 1, row.sha256
        go_on()
    given = connection.scalar(select(COUNTERS.c.last_number).where(COUNTERS.c.name == "records")) or 0
    last = max(given, max(made_of, default=0))
    if last >= expected:
        yield ChainFault.MISSING, None, f"{_records(expected, last)} missing"


def _records(first: int, last: int) -> str:
    return f"record {first} is" if first == last else f"records {first} to {last} are"

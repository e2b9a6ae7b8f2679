"""Reading back what an archive keeps: documents in canonical JSON, of which the hash is always the same."""

from datetime import UTC, datetime
from functools import lru_cache

from pydantic import ValidationError

from tensionear.errors import ArchiveError
from tensionear.job.log import FACT, Fact
from tensionear.job.setup import Setup
from tensionear.job.sha256 import sha256_of


def fact_of(text: str, what: str) -> Fact:
    """Read a fact of a log.

    Parameters
    ----------
    text : str
        As it was stored.
    what : str
        Which it is, for the message.

    Raises
    ------
    ArchiveError
        If it is not what this program or an older one wrote.
    """
    try:
        return FACT.validate_json(text)
    except ValidationError as error:
        raise damaged(what, error) from error


def entry_sha256(job_id: int, number: int, at: datetime, by: str, software_version: str, fact: str) -> str:
    """Hash of an entry of a log with its place; a flipped bit in a number would leave it a number.

    Parameters
    ----------
    job_id : int
        Number of the job's row.
    number : int
        Of the entry.
    at : datetime
        With its offset.
    by, software_version, fact : str
        As they are stored.
    """
    moment = at.astimezone(UTC).isoformat(timespec="microseconds")
    parts = (job_id, number, moment, by, software_version, fact)
    return sha256_of("\0".join(map(str, parts)).encode())  # str: a damaged file gives bytes back, too


@lru_cache(maxsize=256)
def setup_of(text: str, what: str) -> Setup:
    """Read a setup; the same is asked for with every entry of a job.

    Parameters
    ----------
    text, what : str
        As for `fact_of`.

    Raises
    ------
    ArchiveError
        As `fact_of` does.
    """
    try:
        return Setup.model_validate_json(text)
    except ValidationError as error:
        raise damaged(what, error) from error


def damaged(what: str, reason: object) -> ArchiveError:
    """What to raise where the archive gives back something else than was put in."""
    first = (str(reason).splitlines() or [""])[0]
    return ArchiveError(
        f"{what} is not what was written into the archive ({first}): the archive is damaged or was changed by another"
        " program; nothing was written; `tensionear archive salvage` brings over what is readable"
    )

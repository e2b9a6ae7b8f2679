"""What came out of a damaged archive, and what did not."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Loss:
    """Something that could not be brought over.

    Attributes
    ----------
    table : str
        Of the archive; empty if it is not known.
    job_number : str or None
        The job that it is about, where that is known.
    sentence : str
        What is lost, to be shown as it is.
    """

    table: str
    job_number: str | None
    sentence: str


@dataclass(frozen=True)
class Salvaged:
    """What came out of a damaged archive.

    Attributes
    ----------
    archive_id : str
        Of the new archive; that of the damaged one, if it could be read.
    n_rows : mapping of str to int
        In each table of the new archive.
    losses : tuple of Loss
        Empty if nothing is known to be lost.
    """

    archive_id: str
    n_rows: Mapping[str, int]
    losses: tuple[Loss, ...]

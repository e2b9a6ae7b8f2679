"""The record of a job: what was given, what was found, and where the sound and the photos are.

``record.json`` of a bundle is this document in canonical JSON; its JSON Schema is published in docs/schemas. A
program that only wants the outcome reads ``found``; one that doubts it computes ``found`` anew from ``setups`` and
``log``, and the plucks of the log anew from the sound.
"""

from typing import Annotated, Literal

from pydantic import AwareDatetime, Field

from tensionear.job.bundle.chain import ChainDocument
from tensionear.job.document import Document, FilledLine, Line, Sha256
from tensionear.job.log import LogEntry
from tensionear.job.record.found_document import Found
from tensionear.job.setup import Setup


class TakenSetup(Document):
    """One version of a setup that the job went by."""

    name: FilledLine
    version: Annotated[int, Field(ge=1)]
    made_at: AwareDatetime
    by: Line
    reason: Line
    sha256: Sha256
    setup: Setup


class RecordDocument(Document):
    """A job as it was when the record was made.

    Attributes
    ----------
    kind, format_version
        What this is, and in which version of the format.
    made_at : datetime
    software_version : str
        Of the program that made the record.
    estimator_version : int
        Of that program; each pluck states with which it was read.
    chain : ChainDocument
    job_number, job_uid : str
        As the workshop counts, and unmistakable.
    is_demonstration : bool
        Whether nothing of it is a real job.
    setups : tuple of TakenSetup
        All that the job went by, the last being in force.
    log : tuple of LogEntry
        Every fact, in order.
    sound_files : dict of str to str
        Where in the bundle the sound of a SHA-256 is.
    photo_files : dict of str to str
        The same for photos.
    found : Found
        What follows from it.
    """

    kind: Literal["tensionear job record"] = "tensionear job record"
    format_version: Literal[1] = 1
    made_at: AwareDatetime
    software_version: str
    estimator_version: int
    chain: ChainDocument
    job_number: FilledLine
    job_uid: str
    is_demonstration: bool
    setups: Annotated[tuple[TakenSetup, ...], Field(min_length=1)]
    log: Annotated[tuple[LogEntry, ...], Field(min_length=2)]
    sound_files: dict[Sha256, str]
    photo_files: dict[Sha256, str]
    found: Found

"""The lines of a re-analysis: what was read, one line an item, so that a run that was stopped can go on."""

from typing import Annotated, Literal

from pydantic import Field, TypeAdapter

from tensionear.job.document import Document
from tensionear.job.passes import PassKind
from tensionear.job.pluck_document import OutcomeDocument

FORMAT_VERSION = 1


class Begin(Document):
    """The first line: what is read, and with what.

    Attributes
    ----------
    kind, format_version
        What this is, and in which version of the format.
    of : str
        ``archive`` or ``folder``.
    source : str
        Which: the archive's id, or the folder's path.
    software_version, estimator_version
        Of the program that reads.
    """

    kind: Literal["results of a re-analysis"] = "results of a re-analysis"
    format_version: Literal[1] = 1
    of: Literal["archive", "folder"]
    source: str
    software_version: str
    estimator_version: int


class PluckRead(Document):
    """A kept pluck that was read anew.

    Attributes
    ----------
    item : str
        Unmistakable: the job's uid and the pluck's number in it.
    job, setup : str
        The job's number, and the name of the setup that it goes by.
    pass_number, pass_kind
        The pass that it is in.
    pluck_number : int
        In the job.
    estimator_version : int
        Of the program that read it before.
    before, after : ReadingDocument or RefusalDocument
        What was kept, and what is read now.
    """

    kind: Literal["pluck"] = "pluck"
    item: str
    job: str
    setup: str
    pass_number: int
    pass_kind: PassKind
    pluck_number: int
    estimator_version: int
    before: OutcomeDocument
    after: OutcomeDocument


class RecordingRead(Document):
    """A recording that was read.

    Attributes
    ----------
    item : str
        Its path from the folder on, with slashes.
    sha256 : str
        Of the file.
    plucks : tuple of ReadingDocument or RefusalDocument
        In their order.
    """

    kind: Literal["recording"] = "recording"
    item: str
    sha256: str
    plucks: tuple[OutcomeDocument, ...]


class NotRead(Document):
    """An item that could not be read, and why; a later run tries again.

    Attributes
    ----------
    item : str
        As of what would have been read.
    name : str
        For people.
    message : str
    """

    kind: Literal["not read"] = "not read"
    item: str
    name: str
    message: str


ReadLine = PluckRead | RecordingRead | NotRead

READ_LINE: TypeAdapter[ReadLine] = TypeAdapter(Annotated[ReadLine, Field(discriminator="kind")])
"""Reads any line but the first."""

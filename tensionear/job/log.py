"""The log of a job: every fact of it, in the order in which it became one.

Nothing in a log is ever changed or taken away. A pluck that should not count is struck out by a later entry, a wrong
detail corrected by one, and both say why. What the job is now follows from its log (`tensionear.job.state`).
"""

from typing import Annotated, Literal

from pydantic import AwareDatetime, Field, TypeAdapter

from tensionear.job.details import JobDetails
from tensionear.job.document import Document, FilledLine, Line, Sha256, Text, Words
from tensionear.job.passes import PassKind, Step
from tensionear.job.pluck_document import PluckDocument
from tensionear.job.setup import MOST_REVOLUTIONS, Direction

Number = Annotated[int, Field(ge=1)]


class JobOpened(Document):
    """A job was begun with a version of a setup; a demonstration is marked as one for ever."""

    kind: Literal["job opened"] = "job opened"
    details: JobDetails
    is_demonstration: bool = False


class SetupTaken(Document):
    """From here on the job goes by this version of a setup; the first is taken with the opening."""

    kind: Literal["setup taken"] = "setup taken"
    setup_name: FilledLine
    setup_version: Number
    setup_sha256: Sha256
    reason: Line = ""


class CautionsAcknowledged(Document):
    """The technician has read these cautions."""

    kind: Literal["cautions acknowledged"] = "cautions acknowledged"
    cautions: tuple[Words, ...]


class PassBegun(Document):
    """A pass begins; an earlier one of its kind stays as it is."""

    kind: Literal["pass begun"] = "pass begun"
    pass_number: Number
    pass_kind: PassKind
    reason: Line = ""
    """Why it is done again, or out of turn."""


class PluckKept(Document):
    """A pluck was heard, and is kept whatever became of it."""

    kind: Literal["pluck"] = "pluck"
    pass_number: Number
    pluck_number: Number
    """In the job, from 1."""
    pluck: PluckDocument


class PassEnded(Document):
    """A pass is complete, or left as it is."""

    kind: Literal["pass ended"] = "pass ended"
    pass_number: Number


class StepDone(Document):
    """A step without readings was done: the locking tools are out, the engine is at top dead centre."""

    kind: Literal["step done"] = "step done"
    step: Literal[Step.TOOLS_OUT, Step.TOP_DEAD_CENTRE]


class StepSkipped(Document):
    """A step was left out, and why."""

    kind: Literal["step skipped"] = "step skipped"
    step: Step
    reason: FilledLine


class Turned(Document):
    """The engine was turned over by hand."""

    kind: Literal["turned"] = "turned"
    revolutions: Annotated[float, Field(gt=0, le=MOST_REVOLUTIONS)]
    direction: Direction | None


class LineTicked(Document):
    """A line of the setup's checklist was done, at will with the value that was used."""

    kind: Literal["line ticked"] = "line ticked"
    step: Step
    text: FilledLine
    value: float | None = None
    unit: Line = ""


class NoteAdded(Document):
    """A note."""

    kind: Literal["note"] = "note"
    text: Text


class PhotoAdded(Document):
    """A photo; its bytes are kept by their hash."""

    kind: Literal["photo"] = "photo"
    sha256: Sha256
    media_type: Literal["image/jpeg", "image/png", "image/webp"]
    caption: Line = ""


class PluckStruckOut(Document):
    """A pluck does not count, and why."""

    kind: Literal["pluck struck out"] = "pluck struck out"
    pluck_number: Number
    reason: FilledLine


class PluckReinstated(Document):
    """A pluck that was struck out counts again, and why."""

    kind: Literal["pluck reinstated"] = "pluck reinstated"
    pluck_number: Number
    reason: FilledLine


class DetailCorrected(Document):
    """A detail of the job was wrong or missing, and why it is another now."""

    kind: Literal["detail corrected"] = "detail corrected"
    name: Line
    before: str | float | None
    after: str | float | None
    reason: FilledLine


class JobClosed(Document):
    """All is done; a re-check may follow at any time."""

    kind: Literal["job closed"] = "job closed"


class JobDeleted(Document):
    """The job is put away, and can be brought back for some time."""

    kind: Literal["job deleted"] = "job deleted"
    reason: FilledLine


class JobRestored(Document):
    """A deleted job is brought back."""

    kind: Literal["job restored"] = "job restored"
    reason: Line = ""


class RecordMade(Document):
    """A record was made of the job as it was then."""

    kind: Literal["record made"] = "record made"
    record_number: Number
    record_sha256: Sha256


Fact = Annotated[
    JobOpened
    | SetupTaken
    | CautionsAcknowledged
    | PassBegun
    | PluckKept
    | PassEnded
    | StepDone
    | StepSkipped
    | Turned
    | LineTicked
    | NoteAdded
    | PhotoAdded
    | PluckStruckOut
    | PluckReinstated
    | DetailCorrected
    | JobClosed
    | JobDeleted
    | JobRestored
    | RecordMade,
    Field(discriminator="kind"),
]

FACT: TypeAdapter[Fact] = TypeAdapter(Fact)
"""Reads and writes any fact."""


class LogEntry(Document):
    """One line of a log.

    Attributes
    ----------
    number : int
        From 1, without gaps.
    at : datetime
        When, with its offset from UTC.
    by : str
        Who; may be empty.
    software_version : str
        Of the program that wrote it.
    fact : Fact
        What.
    """

    number: Number
    at: AwareDatetime
    by: Line
    software_version: Line
    fact: Fact

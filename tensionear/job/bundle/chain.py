"""Where a record stands among those of its archive; record and seal both say it."""

from typing import Annotated

from pydantic import Field

from tensionear.job.document import Document, Sha256


class ChainDocument(Document):
    """The record's place among all records of its archive."""

    archive_id: str
    number: Annotated[int, Field(ge=1)]
    previous_record_sha256: Sha256 | None
    """Of the record before it; null for the first."""

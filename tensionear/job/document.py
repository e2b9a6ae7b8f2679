"""What the job's documents have in common: they are immutable, closed, and the same after being written and read.

A document is what is kept in an archive and in a record: SI units, names as in docs/vocabulary.md, nothing that is
not stated. What is infinite or not known is null, so that any JSON reader understands it.
"""

import math
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from tensionear.metrology.uncertainty import Measured

LONGEST_LINE = 200
LONGEST_TEXT = 10_000

Line = Annotated[str, StringConstraints(strip_whitespace=True, max_length=LONGEST_LINE)]
"""A line of text that a person typed; may be empty."""

FilledLine = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=LONGEST_LINE)]
Text = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=LONGEST_TEXT)]
"""A text of any number of lines that says something."""

Sha256 = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]


class Document(BaseModel):
    """Base of all that is kept: frozen, without fields that are not known, without NaN or infinity."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class MeasuredDocument(Document):
    """A value and how well it is known; without degrees of freedom its uncertainty is taken as known."""

    value: float
    standard_uncertainty: Annotated[float, Field(ge=0)]
    degrees_of_freedom: Annotated[float, Field(gt=0)] | None = None

    @classmethod
    def of(cls, measured: Measured) -> "MeasuredDocument":
        """Take a measured value."""
        degrees = measured.degrees_of_freedom
        return cls(
            value=measured.value,
            standard_uncertainty=measured.standard_uncertainty,
            degrees_of_freedom=None if math.isinf(degrees) else degrees,
        )

    def measured(self) -> Measured:
        """The value that was taken."""
        degrees = math.inf if self.degrees_of_freedom is None else self.degrees_of_freedom
        return Measured(self.value, self.standard_uncertainty, degrees)

"""What the job's documents have in common: they are immutable, closed, and the same after being written and read.

A document is what is kept in an archive and in a record: SI units, names as in docs/vocabulary.md, nothing that is
not stated. What is infinite or not known is null, so that any JSON reader understands it.
"""

import math
import unicodedata
from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints

from tensionear.job.canonical_json import write_canonical
from tensionear.metrology.uncertainty import Measured

LONGEST_LINE = 200
LONGEST_TEXT = 10_000


def _on_one_line(text: str) -> str:
    return _without_control_characters(text, "")


def _on_lines(text: str) -> str:
    return _without_control_characters(text, "\n\r\t")


def _without_control_characters(text: str, allowed: str) -> str:
    # In a document that came from elsewhere they could command the terminal that shows it; PostgreSQL keeps no NUL.
    for character in text:
        if unicodedata.category(character) == "Cc" and character not in allowed:
            raise ValueError(
                f"the control character {character!r} is in it, which no one can see: leave it out"
            )
    return text


Line = Annotated[
    str,
    StringConstraints(strip_whitespace=True, max_length=LONGEST_LINE),
    AfterValidator(_on_one_line),
]
"""A line of text that a person typed; may be empty."""

FilledLine = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=LONGEST_LINE),
    AfterValidator(_on_one_line),
]

Words = Annotated[str, StringConstraints(max_length=LONGEST_TEXT), AfterValidator(_on_lines)]
"""Words on any number of lines, kept to the last space; may be empty."""

Text = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=LONGEST_TEXT),
    AfterValidator(_on_lines),
]
"""A text of any number of lines that says something."""


def as_line(name: str) -> str:
    """Make a line of a name that no person typed, such as a file's: what cannot be kept of it becomes U+FFFD.

    Parameters
    ----------
    name : str
        Any text; a file's name may hold line breaks and bytes that are no text.
    """
    kept = "".join("\ufffd" if unicodedata.category(each) in ("Cc", "Cs") else each for each in name)
    return kept[:LONGEST_LINE].strip()


Sha256 = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]


class Document(BaseModel):
    """Base of all that is kept: frozen, without fields that are not known, without NaN or infinity."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        allow_inf_nan=False,
        json_schema_serialization_defaults_required=True,  # what is written has every name
    )

    def canonical(self) -> bytes:
        """The document in its one form, of which its hash is taken.

        Raises
        ------
        InputError
            If a text in it is no Unicode.
        """
        return write_canonical(self.model_dump(mode="json"))


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

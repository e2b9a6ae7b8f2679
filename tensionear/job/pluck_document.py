"""A pluck as it is kept: its sound by its hash, how it was heard, and what became of it."""

from typing import Annotated, Literal

from pydantic import Field

from tensionear.job.document import Document, Line, Sha256, Words
from tensionear.metrology.uncertainty import Measured
from tensionear.pluck.outcome import Partial, PluckOutcome, PluckReading, PluckRefusal, RefusalReason, Rival


class PartialDocument(Document):
    """One partial that the ring-down fit found."""

    number: Annotated[int, Field(ge=1)]
    frequency_hz: float
    amplitude: float
    ring_time_s: float


class RivalDocument(Document):
    """Another fundamental that the sound might have had."""

    fundamental_hz: float
    support: float


class ReadingDocument(Document):
    """A pluck that was read."""

    outcome: Literal["reading"] = "reading"
    at_s: float
    fundamental_hz: Annotated[float, Field(gt=0)]
    fundamental_standard_uncertainty_hz: Annotated[float, Field(ge=0)]
    ring_time_s: float
    snr_db: float
    support: float
    stretch: float
    glide_hz: float
    partials: tuple[PartialDocument, ...]
    rivals: tuple[RivalDocument, ...]

    def pluck_outcome(self) -> PluckReading:
        """The reading that was kept."""
        return PluckReading(
            at_s=self.at_s,
            fundamental_hz=self.fundamental_hz,
            fundamental_standard_uncertainty_hz=self.fundamental_standard_uncertainty_hz,
            ring_time_s=self.ring_time_s,
            snr_db=self.snr_db,
            support=self.support,
            stretch=self.stretch,
            glide_hz=self.glide_hz,
            partials=tuple(Partial(**each.model_dump()) for each in self.partials),
            rivals=_rivals(self.rivals),
        )


class RefusalDocument(Document):
    """A pluck that was refused, with its reason."""

    outcome: Literal["refused"] = "refused"
    at_s: float
    reason: RefusalReason
    explanation: Words
    snr_db: float | None
    rivals: tuple[RivalDocument, ...]

    def pluck_outcome(self) -> PluckRefusal:
        """The refusal that was kept."""
        return PluckRefusal(self.at_s, self.reason, self.explanation, self.snr_db, _rivals(self.rivals))


OutcomeDocument = Annotated[ReadingDocument | RefusalDocument, Field(discriminator="outcome")]


class SoundDocument(Document):
    """How a pluck's sound was heard, and which bytes it is.

    Attributes
    ----------
    flac_sha256 : str
        Of the FLAC file that holds the clip, lossless.
    sample_rate_hz : int
        [Hz]
    onset : int
        Index into the clip where the trigger saw the pluck begin.
    first_sample : int
        Number of the clip's first sample on the source's clock.
    source : str
        Name of the microphone, or of the recording's file.
    channel : int
        From 1.
    is_recording : bool
        Whether it came from a recording rather than a microphone.
    """

    flac_sha256: Sha256
    sample_rate_hz: Annotated[int, Field(gt=0)]
    onset: Annotated[int, Field(ge=0)]
    first_sample: int
    source: Line
    channel: Annotated[int, Field(ge=1)]
    is_recording: bool


class PluckDocument(Document):
    """A pluck, with its sound and what the estimator made of it."""

    sound: SoundDocument
    estimator_version: int
    outcome: OutcomeDocument

    @property
    def fundamental(self) -> Measured | None:
        """Fundamental frequency [Hz]; None if the pluck was refused."""
        if isinstance(self.outcome, RefusalDocument):
            return None
        return Measured(self.outcome.fundamental_hz, self.outcome.fundamental_standard_uncertainty_hz)


def outcome_document(outcome: PluckOutcome) -> ReadingDocument | RefusalDocument:
    """Take what became of a pluck."""
    rivals = tuple(
        RivalDocument(fundamental_hz=each.fundamental_hz, support=each.support) for each in outcome.rivals
    )
    if isinstance(outcome, PluckRefusal):
        return RefusalDocument(
            at_s=outcome.at_s,
            reason=outcome.reason,
            explanation=outcome.explanation,
            snr_db=outcome.snr_db,
            rivals=rivals,
        )
    return ReadingDocument(
        at_s=outcome.at_s,
        fundamental_hz=outcome.fundamental_hz,
        fundamental_standard_uncertainty_hz=outcome.fundamental_standard_uncertainty_hz,
        ring_time_s=outcome.ring_time_s,
        snr_db=outcome.snr_db,
        support=outcome.support,
        stretch=outcome.stretch,
        glide_hz=outcome.glide_hz,
        partials=tuple(
            PartialDocument(
                number=each.number,
                frequency_hz=each.frequency_hz,
                amplitude=each.amplitude,
                ring_time_s=each.ring_time_s,
            )
            for each in outcome.partials
        ),
        rivals=rivals,
    )


def _rivals(documents: tuple[RivalDocument, ...]) -> tuple[Rival, ...]:
    return tuple(Rival(each.fundamental_hz, each.support) for each in documents)

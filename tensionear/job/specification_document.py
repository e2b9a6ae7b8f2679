"""What a manufacturer specifies, or an earlier job of one's own, as it is kept: as it was stated, not converted."""

from typing import Annotated, Literal

from pydantic import Field

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.belt.comparison import Baseline, SingleValue
from tensionear.belt.estimate import Estimate
from tensionear.belt.specification import Specification
from tensionear.belt.stated_value import BeltState, Method, Push, ReferenceSpan, Stated
from tensionear.job.document import Document, FilledLine


class BandDocument(Document):
    """Permitted values, from one to another."""

    form: Literal["band"] = "band"
    lower: float
    upper: float
    unit: BandUnit

    def value(self) -> ToleranceBand:
        """The band."""
        return ToleranceBand(self.lower, self.upper, self.unit)


class SingleValueDocument(Document):
    """A value without a tolerance."""

    form: Literal["single value"] = "single value"
    single_value: float
    unit: BandUnit

    def value(self) -> SingleValue:
        """The value."""
        return SingleValue(self.single_value, self.unit)


class PushDocument(Document):
    """A deflection under a force at mid-span."""

    form: Literal["push"] = "push"
    lower_force_n: float
    upper_force_n: float
    lower_deflection_m: float
    upper_deflection_m: float

    def value(self) -> Push:
        """The push."""
        return Push(self.lower_force_n, self.upper_force_n, self.lower_deflection_m, self.upper_deflection_m)


ValueDocument = Annotated[BandDocument | SingleValueDocument | PushDocument, Field(discriminator="form")]


class StatedDocument(Document):
    """One value, and for which belt it is stated."""

    state: BeltState
    stated: ValueDocument


class ReferenceSpanDocument(Document):
    """For which span a value is stated; null: for the one that is measured."""

    span_length_m: float | None = None
    linear_density_kg_per_m: float | None = None


class SpecificationDocument(Document):
    """What is specified, by which method it is meant, and where it is written."""

    method: Method
    values: tuple[StatedDocument, ...]
    source: FilledLine
    reference: ReferenceSpanDocument | None = None

    @classmethod
    def of(cls, given: Specification) -> "SpecificationDocument":
        """Take a specification."""
        reference = given.reference
        return cls(
            method=given.method,
            values=tuple(
                StatedDocument(state=stated.state, stated=_value_document(stated.value))
                for stated in given.values
            ),
            source=given.source,
            reference=None
            if reference is None
            else ReferenceSpanDocument(
                span_length_m=reference.span_length_m,
                linear_density_kg_per_m=reference.linear_density_kg_per_m,
            ),
        )

    def specification(self) -> Specification:
        """The specification that was taken.

        Raises
        ------
        InputError
            If a document that was written by hand states what cannot be meant.
        """
        reference = self.reference
        return Specification(
            self.method,
            tuple(Stated(each.state, each.stated.value()) for each in self.values),
            self.source,
            None
            if reference is None
            else ReferenceSpan(reference.span_length_m, reference.linear_density_kg_per_m),
        )

    def states(self, state: BeltState) -> bool:
        """Whether a value is stated for exactly this state of the belt."""
        return any(each.state is state for each in self.values)


class BaselineDocument(Document):
    """An earlier good job of one's own; no specification."""

    fundamental_hz: float
    fundamental_standard_uncertainty_hz: float
    percent: float
    job: FilledLine

    @classmethod
    def of(cls, given: Baseline) -> "BaselineDocument":
        """Take a baseline."""
        return cls(
            fundamental_hz=given.fundamental.value,
            fundamental_standard_uncertainty_hz=given.fundamental.standard_uncertainty,
            percent=given.percent,
            job=given.job,
        )

    def baseline(self) -> Baseline:
        """The baseline that was taken.

        Raises
        ------
        InputError
            If a document that was written by hand states what cannot be meant.
        """
        estimate = Estimate(self.fundamental_hz, self.fundamental_standard_uncertainty_hz)
        return Baseline(estimate, self.percent, self.job)


def _value_document(
    value: ToleranceBand | SingleValue | Push,
) -> BandDocument | SingleValueDocument | PushDocument:
    if isinstance(value, ToleranceBand):
        return BandDocument(lower=value.lower, upper=value.upper, unit=value.unit)
    if isinstance(value, SingleValue):
        return SingleValueDocument(single_value=value.value, unit=value.unit)
    return PushDocument(
        lower_force_n=value.lower_force_n,
        upper_force_n=value.upper_force_n,
        lower_deflection_m=value.lower_deflection_m,
        upper_deflection_m=value.upper_deflection_m,
    )

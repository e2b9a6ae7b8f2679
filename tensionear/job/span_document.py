"""What is known of a span, as it is kept: every input of its tension's uncertainty budget, as it was found."""

import math
from typing import Self

from pydantic import model_validator

from tensionear.job.document import Document, Line, MeasuredDocument, Words
from tensionear.known_span import KnownSpan
from tensionear.metrology.budget import (
    BudgetInput,
    Correlation,
    Distribution,
    EvaluationType,
    correlation_matrix,
)
from tensionear.tension_budget import (
    BENDING_STIFFNESS,
    END_FIXITY,
    FUNDAMENTAL,
    LINEAR_DENSITY,
    SPAN_LENGTH,
    TENSION,
    UNITS,
    UNKNOWN_STIFFNESS,
    unknown_stiffness_input,
)

_NEEDED = {SPAN_LENGTH, LINEAR_DENSITY, BENDING_STIFFNESS, END_FIXITY}
_KNOWN = UNITS.keys() - {FUNDAMENTAL, TENSION}


class InputDocument(Document):
    """One input of the uncertainty budget; the unit stands beside the value."""

    name: Line
    measured: MeasuredDocument
    unit: Line
    evaluation: EvaluationType
    origin: Line
    distribution: Distribution
    improved_by: Line = ""

    @classmethod
    def of(cls, given: BudgetInput) -> "InputDocument":
        """Take an input."""
        return cls(
            name=given.name,
            measured=MeasuredDocument.of(given.measured),
            unit=given.unit,
            evaluation=given.evaluation,
            origin=given.origin,
            distribution=given.distribution,
            improved_by=given.improved_by,
        )

    def budget_input(self) -> BudgetInput:
        """The input that was taken."""
        return BudgetInput(
            self.name,
            self.measured.measured(),
            self.unit,
            self.evaluation,
            self.origin,
            self.distribution,
            self.improved_by,
        )


_WHOLLY_UNKNOWN = InputDocument.of(unknown_stiffness_input())


class CorrelationDocument(Document):
    """That two inputs err together."""

    first: Line
    second: Line
    coefficient: float


class SpanDocument(Document):
    """A span, its belt and its stiffness."""

    inputs: tuple[InputDocument, ...]
    correlations: tuple[CorrelationDocument, ...] = ()
    warnings: tuple[Words, ...] = ()

    @model_validator(mode="after")
    def _gives_a_tension(self) -> Self:
        """A document that was written by hand must not be found out when the belt is read, or misread its units."""
        names = [given.name for given in self.inputs]
        for given in self.inputs:
            if given.name not in _KNOWN:
                raise ValueError(f"a span has no {given.name!r}, but {', '.join(sorted(_KNOWN))}")
            if given.unit != UNITS[given.name]:
                raise ValueError(
                    f"the {given.name} is in {given.unit!r}, and is kept in {UNITS[given.name]!r} only"
                )
        missing = sorted(_NEEDED - set(names))
        if missing:
            raise ValueError(f"of the span is missing: {', '.join(missing)}")
        known = self.known_span()
        correlation_matrix(names, known.correlations)
        _ = known.span  # raises what is outside its limits
        for given in self.inputs:
            # A calibration may know a stiffness worse than `SpanStiffness` lets anyone type it.
            value, highest = given.measured.value, 1.0 if given.name == END_FIXITY else math.inf
            if given.name in (BENDING_STIFFNESS, END_FIXITY) and not 0 <= value <= highest:
                raise ValueError(f"{given.name} {value:g} {given.unit} does not lie from 0 to {highest:g}")
            if given.name == UNKNOWN_STIFFNESS and given != _WHOLLY_UNKNOWN:
                raise ValueError(
                    "what a stiffness of which nothing is known may do is not for a file to say: leave its line as it"
                    " was, or give the bending stiffness"
                )
        return self

    @classmethod
    def of(cls, known: KnownSpan) -> "SpanDocument":
        """Take what is known of a span."""
        return cls(
            inputs=tuple(InputDocument.of(given) for given in known.inputs),
            correlations=tuple(
                CorrelationDocument(first=each.first, second=each.second, coefficient=each.coefficient)
                for each in known.correlations
            ),
            warnings=known.warnings,
        )

    def known_span(self) -> KnownSpan:
        """What was taken."""
        return KnownSpan(
            tuple(given.budget_input() for given in self.inputs),
            tuple(Correlation(each.first, each.second, each.coefficient) for each in self.correlations),
            self.warnings,
        )

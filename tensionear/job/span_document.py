"""What is known of a span, as it is kept: every input of its tension's uncertainty budget, as it was found."""

from tensionear.job.document import Document, Line, MeasuredDocument
from tensionear.known_span import KnownSpan
from tensionear.metrology.budget import BudgetInput, Correlation, Distribution, EvaluationType


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


class CorrelationDocument(Document):
    """That two inputs err together."""

    first: Line
    second: Line
    coefficient: float


class SpanDocument(Document):
    """A span, its belt and its stiffness."""

    inputs: tuple[InputDocument, ...]
    correlations: tuple[CorrelationDocument, ...] = ()
    warnings: tuple[str, ...] = ()

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

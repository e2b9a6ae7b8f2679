"""What follows from a job's log and setup, as a record states it; all of it can be computed anew from them.

Quantities are in SI units and named as in docs/vocabulary.md. ``null`` says that there is no such thing: no reading,
no span, nothing compared.
"""

from typing import Self

from pydantic import AwareDatetime

from tensionear.belt.band import BandUnit
from tensionear.belt.comparison import ComparedQuantity
from tensionear.job.details import JobDetails
from tensionear.job.document import Document
from tensionear.job.passes import PassKind
from tensionear.job.specification_document import BandDocument, SingleValueDocument
from tensionear.known_span import SpanModel
from tensionear.metrology.budget import Distribution, EvaluationType
from tensionear.metrology.decision import Rule, Side, Verdict
from tensionear.metrology.levelling import LevelState
from tensionear.metrology.marks import Mark
from tensionear.metrology.pluck_set import Disagreement
from tensionear.metrology.uncertainty import Measured


class FoundValue(Document):
    """A result: value, standard uncertainty, and what is told behind ± (95 %)."""

    value: float
    standard_uncertainty: float
    expanded_uncertainty: float
    coverage_factor: float

    @classmethod
    def of(cls, measured: Measured) -> Self:
        """Take a measured value."""
        return cls(
            value=measured.value,
            standard_uncertainty=measured.standard_uncertainty,
            expanded_uncertainty=measured.expanded_uncertainty,
            coverage_factor=measured.coverage_factor,
        )


class FoundMark(Document):
    """A reading that stands apart and is left out of the mean."""

    pluck_number: int
    mark: Mark


class FoundBudgetLine(Document):
    """One input of an uncertainty budget; it contributes in the unit of the result."""

    name: str
    value: float
    unit: str
    standard_uncertainty: float
    evaluation: EvaluationType
    distribution: Distribution
    origin: str
    sensitivity: float
    contribution: float
    share: float


class FoundCompared(Document):
    """What was compared with which limits, by which rule, and what came out; the budget is that of `result`."""

    quantity: ComparedQuantity
    unit: BandUnit
    limits: BandDocument | SingleValueDocument
    limits_relative_standard_uncertainty: float
    is_specification: bool
    sentence: str
    decision_rule: Rule
    asked_probability: float
    result: FoundValue | None
    budget: tuple[FoundBudgetLine, ...]
    verdict: Verdict | None
    side: Side | None
    conformance_probability: float | None


class FoundMove(Document):
    """By how much to change the belt."""

    target_hz: float
    change_hz: float
    target_n: float | None
    change_n: float | None
    is_enough: bool | None


class FoundPluck(Document):
    """What one pluck says by itself."""

    pluck_number: int
    revolutions: float
    is_reading: bool
    counts: bool
    struck_out: str
    tension: FoundValue | None


class FoundPass(Document):
    """What one pass says."""

    pass_number: int
    kind: PassKind
    begun_at: AwareDatetime
    ended_at: AwareDatetime | None
    reason: str
    n_readings: int
    n_refused: int
    n_struck_out: int
    n_in_mean: int
    plucks: tuple[FoundPluck, ...]
    marked: tuple[FoundMark, ...]
    disagreement: Disagreement | None
    scatter_hz: float | None
    fundamental: FoundValue | None
    span_model: SpanModel | None
    tension: FoundValue | None
    flexible_tension: FoundValue | None
    no_tension: str
    budget: tuple[FoundBudgetLine, ...]
    compared: FoundCompared | None
    way_out: str | None
    move: FoundMove | None


class FoundFall(Document):
    """A fall of the tension, above 0, or a rise, below; in newtons with what is not known of the span."""

    percent: FoundValue
    newtons: FoundValue
    is_significant: bool


class FoundCount(Document):
    """Where the tension stood after so many revolutions, without what is not known of the span."""

    revolutions: float
    tension: FoundValue


class FoundReCheck(Document):
    """A re-check against the final setting."""

    pass_number: int
    fall: FoundFall
    sentence: str


class FoundRunIn(Document):
    """How the tension went from the over-tension pass to the last re-check, as docs/uncertainty.md says.

    Attributes
    ----------
    counts : tuple of FoundCount
    fall : FoundFall or None
        From the first count to the last.
    per_revolution_percent : FoundValue or None
        Over the last stretch, which begins at `stretch_start_revolutions`. [%]
    level_state : LevelState
        Whether it has levelled off.
    level_since_revolutions : float or None
    further_revolutions : float or None
        As many again as were turned; null: no forecast.
    further_fall_percent : FoundValue or None
        What they would bring. [%]
    by_setting : FoundFall or None
        What moving the tensioner to its final setting changed; no settlement.
    rechecks : tuple of FoundReCheck
    sentence : str
        All of it in one.
    level_sentence, further_sentence, setting_sentence : str
        What stands behind it; the last is empty before the final setting.
    """

    counts: tuple[FoundCount, ...]
    fall: FoundFall | None
    per_revolution_percent: FoundValue | None
    stretch_start_revolutions: float | None
    level_state: LevelState
    level_since_revolutions: float | None
    further_revolutions: float | None
    further_fall_percent: FoundValue | None
    by_setting: FoundFall | None
    rechecks: tuple[FoundReCheck, ...]
    sentence: str
    level_sentence: str
    further_sentence: str
    setting_sentence: str


class Found(Document):
    """What follows from a job's log.

    Attributes
    ----------
    details : JobDetails
        With all corrections.
    passes : tuple of FoundPass
        In their order.
    run_in : FoundRunIn or None
        null without a span, or if the belt was read at no count of revolutions since it was last over-tensioned.
    deciding_pass_number : int or None
        Of the pass whose verdict is the job's: the last final setting or re-check.
    conclusion : str
        The outcome in a sentence or two, for people.
    """

    details: JobDetails
    passes: tuple[FoundPass, ...]
    run_in: FoundRunIn | None
    deciding_pass_number: int | None
    conclusion: str

"""What a reading is compared with, in which quantity, and the sentence that has to stand beside the verdict."""

from dataclasses import dataclass
from enum import StrEnum

from tensionear.belt.band import BandUnit, ToleranceBand, require_limit
from tensionear.belt.estimate import Estimate
from tensionear.belt.span import BeltSpan
from tensionear.errors import InputError

LARGEST_BASELINE_PERCENT = 30.0
"""A baseline that permits more would tell nothing: common practice, no source."""


class ComparedQuantity(StrEnum):
    """What of a reading is compared; the value is the word for it."""

    FREQUENCY = "fundamental frequency"
    FLEXIBLE_TENSION = "tension of a flexible span"
    CORRECTED_TENSION = "stiffness-corrected tension"


@dataclass(frozen=True)
class SingleValue:
    """A value that is stated without a tolerance: something to aim at, and no ground for a verdict.

    Attributes
    ----------
    value : float
        [`unit`]
    unit : BandUnit
        Newtons or hertz.

    Raises
    ------
    InputError
        If the value could not be a limit of a band; the message guesses the slip.
    """

    value: float
    unit: BandUnit

    def __post_init__(self) -> None:
        require_limit(self.value, self.unit)


@dataclass(frozen=True)
class Comparison:
    """How one span is to be judged.

    Attributes
    ----------
    quantity : ComparedQuantity
        What of the reading is compared.
    limits : ToleranceBand or SingleValue
        In the quantity's unit, for this span; a single value gives no verdict.
    limits_relative_standard_uncertainty : float
        What is not known of the limits, because they had to be converted: to be added to the relative
        standard uncertainty of what is compared, as the root of the sum of squares. 0 if they are as stated. [1]
    constants : BeltSpan or None
        For the tension of a flexible span: the span length and linear density to find it with, which need
        not be those of this span. None for the other quantities.
    is_specification : bool
        False says that there is no specification and the comparison is with an earlier job.
    sentence : str
        What is compared with what, and where that comes from; to be shown beside every verdict.
    """

    quantity: ComparedQuantity
    limits: ToleranceBand | SingleValue
    limits_relative_standard_uncertainty: float
    constants: BeltSpan | None
    is_specification: bool
    sentence: str


@dataclass(frozen=True)
class Baseline:
    """An earlier good job of the technician's own on the same span of the same kind of engine: no specification.

    Attributes
    ----------
    fundamental : Estimate
        How the span rang then. [Hz]
    percent : float, above 0, 30 at most
        How far the frequency may be from that; the technician's own choice. [%]
    job : str
        Which job that was.

    Raises
    ------
    InputError
        If a value is outside its range or the job is not named; the message guesses the slip.
    """

    fundamental: Estimate
    percent: float
    job: str

    def __post_init__(self) -> None:
        if not self.job.strip():
            raise InputError("which earlier job the baseline is from is missing: give its date or number")
        if not 0 < self.percent <= LARGEST_BASELINE_PERCENT:
            raise InputError(
                f"{self.percent:g} % about a baseline is not above 0 and not more than"
                f" {LARGEST_BASELINE_PERCENT:g}: were hertz entered for per cent?"
            )
        self._band()

    def comparison(self) -> Comparison:
        """Compare frequency with frequency, which needs neither span length nor density."""
        band = self._band()
        return Comparison(
            quantity=ComparedQuantity.FREQUENCY,
            limits=band,
            limits_relative_standard_uncertainty=self.fundamental.relative_standard_uncertainty,
            constants=None,
            is_specification=False,
            sentence=(
                "There is no specification. The fundamental frequency is compared with that of an earlier job of"
                f" your own, {shown(band)} ({self.fundamental.value:.4g} Hz ± {self.percent:g} %, your own choice),"
                " which says that this belt is like that one, not that either is right."
                f" Earlier job: {self.job.strip()}."
            ),
        )

    def _band(self) -> ToleranceBand:
        return ToleranceBand.about_percent(self.fundamental.value, self.percent, BandUnit.HERTZ)


def shown(limits: ToleranceBand | SingleValue) -> str:
    """Limits as they stand in a sentence, to four figures."""
    if isinstance(limits, SingleValue):
        return f"{limits.value:.4g} {limits.unit} (stated without tolerance: no verdict)"
    return f"{limits.lower:.4g} to {limits.upper:.4g} {limits.unit}"

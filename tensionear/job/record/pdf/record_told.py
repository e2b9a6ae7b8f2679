"""A record as its PDF tells it: which quantity the passes are told in, what they are called, and what time it was."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from tensionear.belt.comparison import ComparedQuantity
from tensionear.job.log import LogEntry, PluckKept
from tensionear.job.passes import PassKind
from tensionear.job.pluck_document import PluckDocument, ReadingDocument
from tensionear.job.record.found_document import FoundPass, FoundPluck, FoundValue
from tensionear.job.record.record_document import RecordDocument
from tensionear.job.setup import Setup
from tensionear.job.state import JobState, state_of
from tensionear.metrology.uncertainty import Measured

_STATIC = "static tension"
_BAND, _BASELINE = "tolerance band", "band about an earlier job"


@dataclass(frozen=True)
class ToldRecord:
    """A record, and how it is told.

    Attributes
    ----------
    record : RecordDocument
        All figures are its own; none is computed anew.
    """

    record: RecordDocument

    @cached_property
    def state(self) -> JobState:
        """The job as it was."""
        return state_of(self.record.log)

    @property
    def setup(self) -> Setup:
        """What the job went by when the record was made."""
        return self.record.setups[-1].setup

    @property
    def passes(self) -> tuple[FoundPass, ...]:
        """The passes in their order."""
        return self.record.found.passes

    @property
    def deciding(self) -> FoundPass | None:
        """The pass whose verdict is the job's."""
        number = self.record.found.deciding_pass_number
        return None if number is None else self.passes[number - 1]

    @cached_property
    def plucks(self) -> Mapping[int, tuple[LogEntry, PluckDocument]]:
        """Every pluck and the entry that kept it, by its number in the job."""
        return {
            entry.fact.pluck_number: (entry, entry.fact.pluck)
            for entry in self.record.log
            if isinstance(entry.fact, PluckKept)
        }

    @cached_property
    def quantity(self) -> ComparedQuantity:
        """What passes are told in: what the job's verdict compares, so that value and limits go together."""
        compared = [each.compared.quantity for each in self.passes if each.compared is not None]
        if self.deciding is not None and self.deciding.compared is not None:
            return self.deciding.compared.quantity
        if compared:
            return compared[-1]
        return ComparedQuantity.FREQUENCY if self.setup.span is None else ComparedQuantity.CORRECTED_TENSION

    @property
    def quantity_name(self) -> str:
        """Name of that quantity."""
        return _STATIC if self.quantity is ComparedQuantity.CORRECTED_TENSION else str(self.quantity)

    @property
    def unit(self) -> str:
        """Its unit."""
        return "Hz" if self.quantity is ComparedQuantity.FREQUENCY else "N"

    @property
    def band_name(self) -> str:
        """What limits are: an earlier job's are never called a specification's."""
        kinds = {
            each.compared.is_specification
            for each in self.passes
            if each.compared is not None and self.is_compared_as_told(each)
        }
        return _BAND if True in kinds or not kinds else _BASELINE

    def is_compared_as_told(self, each: FoundPass) -> bool:
        """Whether a pass is compared in the quantity that passes are told in."""
        return each.compared is not None and each.compared.quantity is self.quantity

    def mean(self, each: FoundPass) -> FoundValue | None:
        """What a pass found, in the quantity that passes are told in; None without a mean."""
        if each.compared is not None and self.is_compared_as_told(each):
            return each.compared.result
        match self.quantity:
            case ComparedQuantity.FREQUENCY:
                return each.fundamental
            case ComparedQuantity.CORRECTED_TENSION:
                return each.tension
            case ComparedQuantity.FLEXIBLE_TENSION:
                return each.flexible_tension

    def of_pluck(self, pluck: FoundPluck) -> FoundValue | None:
        """What one pluck gives in that quantity; None if it was refused or cannot be told."""
        outcome = self.plucks[pluck.pluck_number][1].outcome
        if not isinstance(outcome, ReadingDocument):
            return None
        fundamental = Measured(outcome.fundamental_hz, outcome.fundamental_standard_uncertainty_hz)
        match self.quantity:
            case ComparedQuantity.FREQUENCY:
                return FoundValue.of(fundamental)
            case ComparedQuantity.CORRECTED_TENSION:
                return pluck.tension
            case ComparedQuantity.FLEXIBLE_TENSION:
                factor = self._flexible_factor
                if factor is None:
                    return None
                value = factor * fundamental.value**2
                share = 2 * fundamental.standard_uncertainty / fundamental.value
                return FoundValue.of(Measured(value, share * value))

    def pass_name(self, each: FoundPass) -> str:
        """Name of a pass; the second of its kind and those after it are counted."""
        which = sum(other.kind is each.kind for other in self.passes[: each.pass_number])
        return str(each.kind) if which == 1 else f"{each.kind} {which}"

    def pass_of_pluck(self, pluck_number: int) -> FoundPass:
        """The pass of a pluck."""
        return next(
            each for each in self.passes if any(pluck.pluck_number == pluck_number for pluck in each.plucks)
        )

    def when(self, at: datetime | None) -> str:
        """Date and time of day."""
        return "" if at is None else f"{self._local(at):%Y-%m-%d %H:%M}"

    def time(self, at: datetime) -> str:
        """Time of day."""
        return f"{self._local(at):%H:%M:%S}"

    @property
    def zone(self) -> str:
        """In which time zone times are told."""
        return str(self.record.made_at.tzname())

    @cached_property
    def _flexible_factor(self) -> float | None:
        """T/f² of the flexible formula, as the record's own figures have it. [N/Hz²]."""
        for each in reversed(self.passes):
            value = self.mean(each)
            if value is not None and each.fundamental is not None and each.kind is not PassKind.RUN_IN:
                return value.value / each.fundamental.value**2
        return None

    def _local(self, at: datetime) -> datetime:
        return at.astimezone(self.record.made_at.tzinfo)

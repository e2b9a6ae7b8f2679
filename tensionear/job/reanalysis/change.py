"""What another reading of the same sound means, beside the one before."""

import math
from dataclasses import dataclass
from enum import StrEnum

from tensionear.job.verification.difference import ROUNDING
from tensionear.metrology.uncertainty import Measured


class Change(StrEnum):
    """What became of a pluck; the value is the word for it."""

    SAME = "read the same"
    WITHIN = "differs within its uncertainty"
    BEYOND = "differs by more than its uncertainty"
    NEWLY_READ = "newly read"
    NEWLY_REFUSED = "newly refused"
    STILL_REFUSED = "refused as before"


@dataclass(frozen=True)
class ReadTwice:
    """A pluck that was read before and now.

    Attributes
    ----------
    group : str
        The setup of its job, or the folder of its recording.
    name : str
        For people.
    before, after : Measured or None
        Fundamental; None: refused, or not heard at all. [Hz]
    """

    group: str
    name: str
    before: Measured | None
    after: Measured | None

    @property
    def change(self) -> Change:
        """What became of it.

        Both readings are of the same sound, and what is random in it moves both alike. So a difference beyond the
        larger of their expanded uncertainties is more than they leave room for.
        """
        before, after = self.before, self.after
        if before is None:
            return Change.STILL_REFUSED if after is None else Change.NEWLY_READ
        if after is None:
            return Change.NEWLY_REFUSED
        if all(
            math.isclose(one, other, rel_tol=ROUNDING)
            for one, other in (
                (before.value, after.value),
                (before.standard_uncertainty, after.standard_uncertainty),
            )
        ):
            return Change.SAME
        room = max(before.expanded_uncertainty, after.expanded_uncertainty)
        return Change.WITHIN if abs(after.value - before.value) <= room else Change.BEYOND

    @property
    def share(self) -> float:
        """By what share of the reading before the one now differs; 0 unless both are readings. [1]"""
        if self.before is None or self.after is None:
            return 0.0
        return self.after.value / self.before.value - 1

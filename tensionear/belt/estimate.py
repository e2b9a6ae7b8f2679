"""A value with its standard uncertainty, as it enters or leaves the formulas of this room."""

import math
from dataclasses import dataclass
from typing import Self

from tensionear.errors import InputError


@dataclass(frozen=True)
class Estimate:
    """An estimate of a quantity.

    Attributes
    ----------
    value : float
        Best estimate. [the quantity's unit]
    standard_uncertainty : float, 0 or more
        0 says that it is known exactly. [the quantity's unit]

    Raises
    ------
    InputError
        If one of them is not finite or the standard uncertainty is negative.

    References
    ----------
    .. [1] JCGM 100:2008, 4.1.4 (estimate) and 4.3.7 (half-width).
    """

    value: float
    standard_uncertainty: float = 0.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.value) and math.isfinite(self.standard_uncertainty)):
            raise InputError(
                f"{self.value:g} with standard uncertainty {self.standard_uncertainty:g} is not finite:"
                " was something else than digits entered?"
            )
        if self.standard_uncertainty < 0:
            raise InputError(
                f"standard uncertainty {self.standard_uncertainty:g} is negative:"
                " was a minus sign entered by mistake?"
            )

    @classmethod
    def within(cls, value: float, half_width: float) -> Self:
        """Take a value that is off by at most `half_width`, anywhere equally likely. [1].

        Parameters
        ----------
        value, half_width : float
            `half_width` 0 or more. [the quantity's unit]

        Raises
        ------
        InputError
            As for the class.
        """
        return cls(value, half_width / math.sqrt(3.0))

    @property
    def relative_standard_uncertainty(self) -> float:
        """Share of the value's size; the value is not 0. [1]."""
        return self.standard_uncertainty / abs(self.value)


def root_sum_of_squares(*contributions: float) -> float:
    """Combined standard uncertainty of contributions that do not hang together. [their unit].

    References
    ----------
    .. [1] JCGM 100:2008, 5.1.2.
    """
    return math.hypot(*contributions)

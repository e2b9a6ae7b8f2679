"""What is known of the span that is plucked, as inputs of its tension's uncertainty budget.

Without a word on the stiffness the tension lies anywhere between that of a flexible span and that of a stiff, clamped
one: the budget says so (`SpanModel.NOT_KNOWN`). A span is taken as flexible only if a person asks for it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Self

from tensionear.belt.span import BeltSpan
from tensionear.belt.stiffness import SpanStiffness
from tensionear.metrology.budget import BudgetInput, Correlation
from tensionear.metrology.uncertainty import Measured
from tensionear.tension_budget import (
    AIR,
    BENDING_STIFFNESS,
    END_FIXITY,
    LINEAR_DENSITY,
    SPAN_LENGTH,
    UNKNOWN_STIFFNESS,
    budget_input,
    clock_input,
    unknown_stiffness_input,
)


class SpanModel(StrEnum):
    """How a span's stiffness is allowed for; the value is the word for it."""

    STIFF = "stiff"
    """Bending stiffness and ends are known, each with its uncertainty."""

    NOT_KNOWN = "stiffness not known"
    """Anywhere from a flexible span to a stiff, clamped one."""

    FLEXIBLE = "flexible"
    """As a string, because a person asked for it."""


@dataclass(frozen=True)
class KnownSpan:
    """A span, its belt and its stiffness.

    Attributes
    ----------
    inputs : tuple of BudgetInput
        By the names of `tensionear.tension_budget`: all but the fundamental. Made by the class methods.
    correlations : tuple of Correlation
        Which of them err together.
    warnings : tuple of str
        To be shown with every result.
    """

    inputs: tuple[BudgetInput, ...]
    correlations: tuple[Correlation, ...] = ()
    warnings: tuple[str, ...] = ()

    @classmethod
    def of(
        cls,
        inputs: Sequence[BudgetInput],
        correlations: Sequence[Correlation] = (),
        warnings: Sequence[str] = (),
    ) -> Self:
        """Take what is known, and add what no one has to be asked for: the clock.

        Parameters
        ----------
        inputs : sequence of BudgetInput
            Span length, linear density, bending stiffness (0 exactly if nothing is known of it), end fixity; then the
            unknown stiffness unless the span is to be taken as flexible, and at will the air.
        correlations, warnings
            As in the class.
        """
        return cls((*inputs, clock_input()), tuple(correlations), tuple(warnings))

    @classmethod
    def taken(
        cls, span: BeltSpan, stiffness: SpanStiffness | None = None, *, as_flexible: bool = False
    ) -> Self:
        """Take a span, and its stiffness if that is known.

        Parameters
        ----------
        span : BeltSpan
            Length and density.
        stiffness : SpanStiffness or None
            None: nothing is known of it.
        as_flexible : bool
            Whether a span without a stiffness is to be taken as flexible.
        """
        bending, fixity = Measured(0.0, 0.0), Measured(0.0, 0.0)
        if stiffness is not None:
            bending = Measured(
                stiffness.bending_stiffness_n_m2, stiffness.bending_stiffness_standard_uncertainty_n_m2
            )
            fixity = Measured(stiffness.end_fixity, stiffness.end_fixity_standard_uncertainty)
        length = Measured(span.span_length_m, span.span_length_standard_uncertainty_m)
        density = Measured(span.linear_density_kg_per_m, span.linear_density_standard_uncertainty_kg_per_m)
        named = (
            (SPAN_LENGTH, length), (LINEAR_DENSITY, density), (BENDING_STIFFNESS, bending), (END_FIXITY, fixity),
        )  # fmt: skip
        inputs = [budget_input(name, measured, "as given") for name, measured in named]
        if stiffness is None and not as_flexible:
            inputs.append(unknown_stiffness_input())
        return cls.of(inputs)

    def given(self, name: str) -> BudgetInput | None:
        """The input of a name; None if there is none."""
        return next((given for given in self.inputs if given.name == name), None)

    @property
    def model(self) -> SpanModel:
        """How its stiffness is allowed for."""
        if self.given(UNKNOWN_STIFFNESS) is not None:
            return SpanModel.NOT_KNOWN
        return SpanModel.FLEXIBLE if self._measured(BENDING_STIFFNESS).value == 0 else SpanModel.STIFF

    @property
    def span(self) -> BeltSpan:
        """Its length and density.

        Raises
        ------
        InputError
            If one of them is outside its limits.
        """
        length, density = self._measured(SPAN_LENGTH), self._measured(LINEAR_DENSITY)
        return BeltSpan(
            length.value, length.standard_uncertainty, density.value, density.standard_uncertainty
        )

    @property
    def stiffness(self) -> SpanStiffness | None:
        """Its stiffness; None if it is not known, or the span is taken as flexible."""
        if self.model is not SpanModel.STIFF:
            return None
        bending, ends = self._measured(BENDING_STIFFNESS), self._measured(END_FIXITY)
        return SpanStiffness(
            bending.value, bending.standard_uncertainty, ends.value, ends.standard_uncertainty
        )

    @property
    def swinging_density(self) -> Measured:
        """Linear density with the air that is carried along, as far as it is known. [kg/m]."""
        density, air = self._measured(LINEAR_DENSITY), self.given(AIR)
        return Measured(
            density.value + (0.0 if air is None else air.measured.value), density.standard_uncertainty
        )

    def _measured(self, name: str) -> Measured:
        return next(given.measured for given in self.inputs if given.name == name)

"""What the vehicle manufacturer permits, in whatever form it is stated, and what of a reading it is compared with.

A tension that is read off a vibration with the flexible formula, and the force in the belt, are not the same
number: a real belt's stiffness makes the first too high. Which of them a specification means is asked for and never
guessed, and the sentence beside the verdict says it.

Conventions: SI units; values are kept as stated, and converted for a span only in `Specification.comparison`.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.belt.comparison import ComparedQuantity, Comparison, SingleValue, shown
from tensionear.belt.deflection import tension_of_deflection
from tensionear.belt.estimate import Estimate, root_sum_of_squares
from tensionear.belt.span import BeltSpan
from tensionear.belt.stated_value import BeltState, Method, Push, ReferenceSpan, Stated
from tensionear.belt.stiff_span import partial_frequency
from tensionear.belt.stiffness import SpanStiffness
from tensionear.belt.tension import fundamental_frequency, static_tension
from tensionear.errors import InputError

_FLEXIBLE = SpanStiffness(0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Specification:
    """What the vehicle manufacturer states for one span.

    Attributes
    ----------
    method : Method
        By which way of measuring it is meant.
    values : tuple of Stated
        At most one for each state of the belt.
    source : str
        Where it is written: document, page, date. Kept, and shown beside every verdict.
    reference : ReferenceSpan or None
        For a frequency or a vibration's tension that is stated for a span length or density; with a
        vibration's tension it is needed.

    Raises
    ------
    InputError
        If the source is missing, there is no value, a state comes twice, a value's form does not fit the
        method, or the reference is missing or out of place.
    """

    method: Method
    values: tuple[Stated, ...]
    source: str
    reference: ReferenceSpan | None = None

    def __post_init__(self) -> None:
        if not self.source.strip():
            raise InputError("the source of the specification is missing: name document, page and date")
        if not self.values:
            raise InputError("the specification has no value: give at least one, or use a baseline")
        states = [stated.state for stated in self.values]
        twice = [state for state in BeltState if states.count(state) > 1]
        if twice:
            raise InputError(f"the specification has two values for {twice[0]}: which one holds?")
        for stated in self.values:
            self._require_form(stated)
        if self.method is Method.VIBRATION_TENSION and self.reference is None:
            raise InputError(
                "a tension that is meant for a vibration reading needs the span length and the linear density that"
                " it was stated with: look them up beside it, or say that those of this span are meant"
            )
        if self.reference is not None and self.method in (Method.FORCE, Method.DEFLECTION):
            raise InputError(
                f"a {self.method} has no reference span: is it meant as a {Method.VIBRATION_TENSION}?"
            )

    def comparison(
        self, state: BeltState, span: BeltSpan | None, stiffness: SpanStiffness | None = None
    ) -> Comparison:
        """Say what of a reading on `span` is compared, and with which limits.

        Parameters
        ----------
        state : BeltState
            Which belt is measured. A value for any belt holds for a new and for a run-in one.
        span : BeltSpan or None
            The span that is measured; None if it is not known.
        stiffness : SpanStiffness or None
            How it resists bending; used for a deflection only. None if it is not known.

        Raises
        ------
        InputError
            If nothing is stated for such a belt, the span is needed and not known, or what was stated comes
            out implausible on it.
        """
        value = self._stated_for(state)
        if isinstance(value, Push):
            compared = _deflection_compared(value, _needed(span, self.method), stiffness)
        elif self.method is Method.FREQUENCY:
            compared = self._frequency_compared(value, span)
        elif self.method is Method.VIBRATION_TENSION:
            compared = self._vibration_compared(value, span)
        else:
            compared = _Compared(
                ComparedQuantity.CORRECTED_TENSION,
                value,
                "The tension, corrected for the belt's stiffness, is compared with the tension that is specified as"
                f" a force, {shown(value)}",
            )
        return Comparison(
            quantity=compared.quantity,
            limits=compared.limits,
            limits_relative_standard_uncertainty=compared.relative_standard_uncertainty,
            constants=compared.constants,
            is_specification=True,
            sentence=f"{compared.sentence} ({state}). Source: {self.source.strip()}.",
        )

    def _require_form(self, stated: Stated) -> None:
        unit = BandUnit.HERTZ if self.method is Method.FREQUENCY else BandUnit.NEWTON
        is_push = isinstance(stated.value, Push)
        if is_push != (self.method is Method.DEFLECTION):
            wanted = "a force and a deflection" if self.method is Method.DEFLECTION else f"a value in {unit}"
            raise InputError(f"{stated.state}: a {self.method} needs {wanted}: is the method right?")
        if not isinstance(stated.value, Push) and stated.value.unit is not unit:
            raise InputError(
                f"{stated.state}: a {self.method} is given in {unit}, not in {stated.value.unit}:"
                " is the method right?"
            )

    def _stated_for(self, state: BeltState) -> ToleranceBand | SingleValue | Push:
        by_state = {stated.state: stated.value for stated in self.values}
        value = by_state.get(state)
        if value is None and state is not BeltState.OVER_TENSION:
            value = by_state.get(BeltState.ANY)
        if value is None:
            raise InputError(
                f"the specification states nothing for {state}, only for {', '.join(by_state)}: ask the manufacturer,"
                " and do not use the one for the other"
            )
        return value

    def _frequency_compared(self, value: ToleranceBand | SingleValue, span: BeltSpan | None) -> "_Compared":
        reference = self.reference or ReferenceSpan()
        if reference == ReferenceSpan():
            return _Compared(
                ComparedQuantity.FREQUENCY,
                value,
                f"The fundamental frequency is compared with the frequency that is specified for this span,"
                f" {shown(value)}",
            )
        here = _needed(span, self.method)
        there = _constants(reference, here)

        def on_this_span(frequency_hz: float) -> float:
            tension_n = static_tension(frequency_hz, there.span_length_m, there.linear_density_kg_per_m)
            return fundamental_frequency(tension_n, here.span_length_m, here.linear_density_kg_per_m)

        limits = _converted(value, BandUnit.HERTZ, on_this_span)
        return _Compared(
            ComparedQuantity.FREQUENCY,
            limits,
            f"The fundamental frequency is compared with {shown(limits)}: the specified {shown(value)} on"
            f" {_told(reference)}, converted to this span as if both were flexible",
            root_sum_of_squares(
                0.0
                if reference.span_length_m is None
                else here.span_length_standard_uncertainty_m / here.span_length_m,
                0.0
                if reference.linear_density_kg_per_m is None
                else 0.5 * here.linear_density_standard_uncertainty_kg_per_m / here.linear_density_kg_per_m,
            ),
        )

    def _vibration_compared(self, value: ToleranceBand | SingleValue, span: BeltSpan | None) -> "_Compared":
        reference = self.reference or ReferenceSpan()
        complete = reference.span_length_m is not None and reference.linear_density_kg_per_m is not None
        constants = _constants(reference, None if complete else _needed(span, self.method))
        return _Compared(
            ComparedQuantity.FLEXIBLE_TENSION,
            value,
            f"The tension by 4·m·L²·f² with {_told(reference)} is compared with the tension that is specified for"
            f" such a vibration reading, {shown(value)}; neither is the force in the belt, and the"
            " stiffness-corrected tension is not used",
            constants=constants,
        )


@dataclass(frozen=True)
class _Compared:
    """The part of a comparison that goes by the method."""

    quantity: ComparedQuantity
    limits: ToleranceBand | SingleValue
    sentence: str
    relative_standard_uncertainty: float = 0.0
    constants: BeltSpan | None = None


def _deflection_compared(push: Push, span: BeltSpan, stiffness: SpanStiffness | None) -> _Compared:
    # A deflection and a frequency both come from the same span, stiffness and ends: compared as frequencies, each of
    # these counts once, and most of what is not known of them cancels.
    bending = stiffness or _FLEXIBLE
    known = (
        Estimate(span.span_length_m, span.span_length_standard_uncertainty_m),
        Estimate(span.linear_density_kg_per_m, span.linear_density_standard_uncertainty_kg_per_m),
        Estimate(bending.bending_stiffness_n_m2, bending.bending_stiffness_standard_uncertainty_n_m2),
        Estimate(bending.end_fixity, bending.end_fixity_standard_uncertainty),
    )
    tensions_n = [
        tension_of_deflection(*end, span.span_length_m, bending.bending_stiffness_n_m2, bending.end_fixity)
        for end in push.ends
    ]
    fundamentals = [_pushed_fundamental(end, known) for end in push.ends]
    limits = _limits_of([fundamental.value for fundamental in fundamentals], BandUnit.HERTZ)
    how = "with the belt's stiffness taken into account"
    if stiffness is None:
        how = (
            "the belt's stiffness left out of both, which does little harm where the pulleys clamp the belt;"
            " where they only hinge it, these limits are too high"
        )
    return _Compared(
        ComparedQuantity.FREQUENCY,
        limits,
        f"The fundamental frequency is compared with {shown(limits)}: so this span rings when its middle gives as"
        f" specified under the specified force (at {' to '.join(f'{n:.4g}' for n in tensions_n)} N), {how}",
        max(fundamental.relative_standard_uncertainty for fundamental in fundamentals),
    )


def _pushed_fundamental(end: tuple[float, float], known: tuple[Estimate, ...]) -> Estimate:
    """How a span rings at the tension at which `end`, a force, deflects it so.

    `known` are span length, linear density, bending stiffness and end fixity; their contributions are differences
    over half a standard uncertainty to either side (JCGM 100, 5.1.3), as far as the range goes.
    """

    def ringing(values: list[float]) -> float:
        length_m, density, stiffness, fixity = values
        tension_n = tension_of_deflection(*end, length_m, stiffness, fixity)
        return partial_frequency(tension_n, length_m, density, stiffness, fixity)

    values = [estimate.value for estimate in known]
    highest_allowed = (math.inf, math.inf, math.inf, 1.0)
    contributions = []
    for i, (estimate, highest) in enumerate(zip(known, highest_allowed, strict=True)):
        half = estimate.standard_uncertainty / 2.0
        if half > 0:
            low, high = max(estimate.value - half, 0.0), min(estimate.value + half, highest)
            change = ringing([*values[:i], high, *values[i + 1 :]]) - ringing(
                [*values[:i], low, *values[i + 1 :]]
            )
            contributions.append(change / (high - low) * estimate.standard_uncertainty)
    return Estimate(ringing(values), root_sum_of_squares(*contributions))


def _needed(span: BeltSpan | None, method: Method) -> BeltSpan:
    if span is None:
        raise InputError(
            f"this {method} is stated for another span or needs this one's: add the span length and the linear"
            " density"
        )
    return span


def _constants(reference: ReferenceSpan, span: BeltSpan | None) -> BeltSpan:
    """Reference values, exact as stated, and the span's own where the reference leaves them open."""
    length_m, length_u_m = reference.span_length_m, 0.0
    density, density_u = reference.linear_density_kg_per_m, 0.0
    if span is not None and length_m is None:
        length_m, length_u_m = span.span_length_m, span.span_length_standard_uncertainty_m
    if span is not None and density is None:
        density = span.linear_density_kg_per_m
        density_u = span.linear_density_standard_uncertainty_kg_per_m
    if length_m is None or density is None:
        raise ValueError("neither the reference nor the span has the value")
    return BeltSpan(length_m, length_u_m, density, density_u)


def _converted(
    value: ToleranceBand | SingleValue, unit: BandUnit, convert: Callable[[float], float]
) -> ToleranceBand | SingleValue:
    stated = [value.value] if isinstance(value, SingleValue) else [value.lower, value.upper]
    return _limits_of([convert(limit) for limit in stated], unit)


def _limits_of(limits: list[float], unit: BandUnit) -> ToleranceBand | SingleValue:
    """Take one limit as a single value and two as a band; say that they come from a conversion."""
    try:
        if len(limits) == 1:
            return SingleValue(limits[0], unit)
        return ToleranceBand(limits[0], limits[1], unit)
    except InputError as error:
        raise InputError(f"converted to this span, {error}") from error


def _told(reference: ReferenceSpan) -> str:
    """Which span length and density."""
    length = "this span's length"
    if reference.span_length_m is not None:
        length = f"the stated span length {1000 * reference.span_length_m:.4g} mm"
    density = "this belt's linear density"
    if reference.linear_density_kg_per_m is not None:
        density = f"the stated linear density {1000 * reference.linear_density_kg_per_m:.4g} g/m"
    return f"{length} and {density}"

"""What a technician types about a span, its belt and its stiffness, as inputs of an uncertainty budget."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import click

from tensionear.belt.air_and_amplitude import air_mass_per_length
from tensionear.belt.estimate import Estimate
from tensionear.belt.limits import Unit
from tensionear.belt.linear_density import (
    BeltKind,
    LinearDensity,
    density_doubt,
    known_density,
)
from tensionear.belt.span import SPAN_LENGTH_LIMITS, BeltSpan
from tensionear.belt.stiffness import BENDING_STIFFNESS_LIMITS, SpanStiffness
from tensionear.calibration_file import BENDING, DENSITY, KeptCalibration, read_calibration
from tensionear.calibration_file import ENDS as FIXITY
from tensionear.cli.options import Number
from tensionear.cli.typed_density import (
    DENSITY_OPTIONS,
    share_from,
    typed_density,
    typed_kind,
    typed_width,
)
from tensionear.cli.units import (
    LENGTHS,
    Typed,
    half_width_from,
    quantity_from,
    quantity_options,
)
from tensionear.errors import InputError
from tensionear.metrology.budget import BudgetInput, Correlation, Distribution
from tensionear.metrology.uncertainty import Measured
from tensionear.tension_budget import (
    AIR,
    BENDING_STIFFNESS,
    END_FIXITY,
    LINEAR_DENSITY,
    SPAN_LENGTH,
    budget_input,
    unknown_stiffness_input,
)

SPAN_LENGTH_WITHIN_M = 0.001
ENDS = {"clamped": (1.0, 1.0), "pinned": (0.0, 0.0), "unknown": (0.0, 1.0)}

_NEWTON_METRE_SQUARED = Unit("N m²", "newtons times square metres", 1.0)
_AIR_WITHIN = (
    0.3  # a cover near the belt makes it more, the weather 10 % either way: common practice, no source
)
_LARGEST_SHARE = 0.2
_KEPT = "calibration"
_BUDGET_NAMES = {DENSITY: LINEAR_DENSITY, BENDING: BENDING_STIFFNESS, FIXITY: END_FIXITY}
FLEXIBLE_WARNING = (
    "the span is taken as flexible: a belt's stiffness makes a short span ring higher than that, and the tension read"
    " from it 4 to 27 % too high; find it with calibrate, and give --calibration or --bending-stiffness-n-m2"
)

NOT_KNOWN_WARNING = (
    "nothing is known of the belt's stiffness: the ± reaches from a flexible span to a stiff, clamped one; find it"
    " with calibrate, and give --calibration or --bending-stiffness-n-m2"
)

flexible_option = click.option(
    "--flexible", is_flag=True,
    help="Take the span as a string without stiffness. Without this, and without a bending stiffness, the ± of the"
    " tension reaches from a flexible span to a stiff, clamped one.",
)  # fmt: skip

_OPTIONS: tuple[Callable[[Callable[..., Any]], Callable[..., Any]], ...] = (
    click.option(
        "--bending-stiffness-n-m2", type=Number(), metavar="N·M²",
        help='EI of the belt, as "tensionear calibrate" finds it; without it the ± is wide.',
    ),
    click.option(
        "--bending-stiffness-within-percent", type=Number(), metavar="PERCENT", default=20.0, show_default=True,
        help="It is right within this, either way.",
    ),
    click.option(
        "--calibration", type=click.Path(path_type=Path, readable=False), metavar="FILE.json",
        help='Instead of both: what "tensionear calibrate --keep" kept of the belt.',
    ),
    click.option(
        "--ends", type=click.Choice(list(ENDS)), help="How the pulleys hold the belt's ends.  [default: unknown]"
    ),
)  # fmt: skip


@dataclass(frozen=True)
class TypedBelt:
    """What was typed about the belt, without the span.

    Attributes
    ----------
    inputs : tuple of BudgetInput
        Linear density, bending stiffness, end fixity, and the air if it is known.
    density : LinearDensity
        How it was found.
    stiffness : SpanStiffness or None
        None: taken as flexible.
    warnings : tuple of str
        To be shown with every result.
    correlations : tuple of Correlation
        Of inputs that come from one calibration.
    """

    inputs: tuple[BudgetInput, ...]
    density: LinearDensity
    stiffness: SpanStiffness | None
    warnings: tuple[str, ...]
    correlations: tuple[Correlation, ...] = ()

    def allowing_for_stiffness(self, flexible: bool) -> "TypedBelt":
        """The same belt, with what its stiffness may do where nothing is known of it.

        Parameters
        ----------
        flexible : bool
            Whether a person asked to take the span as flexible.

        Raises
        ------
        InputError
            If that was asked for though the stiffness is known.
        """
        if self.stiffness is not None:
            if flexible:
                raise InputError("--flexible and a bending stiffness are both given: which one holds?")
            return self
        if flexible:
            return self
        warnings = tuple(NOT_KNOWN_WARNING if each == FLEXIBLE_WARNING else each for each in self.warnings)
        named = [
            replace(given, origin="not known") if given.name in (BENDING_STIFFNESS, END_FIXITY) else given
            for given in self.inputs
        ]
        return replace(self, inputs=(*named, unknown_stiffness_input()), warnings=warnings)

    def span(self, length: BudgetInput) -> BeltSpan:
        """The belt's span of a length.

        Parameters
        ----------
        length : BudgetInput
            From `length_input`.

        Raises
        ------
        InputError
            If a value is outside its limits.
        """
        density = self.density.linear_density
        return BeltSpan(
            length.measured.value,
            length.measured.standard_uncertainty,
            density.value,
            density.standard_uncertainty,
        )


def length_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options of one span's length."""
    command = quantity_options(
        "span-length-within", LENGTHS, "Each span length is right within this, either way.  [default: 1 mm]"
    )(command)
    return quantity_options(
        "span-length",
        LENGTHS,
        "Length of the plucked span, between the points where the belt touches the pulleys.",
    )(command)


def belt_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options of density and stiffness."""
    for option in reversed((*DENSITY_OPTIONS, *_OPTIONS)):
        command = option(command)
    return command


def typed_length(typed: Mapping[str, Any]) -> BudgetInput | None:
    """The span length that was typed, if any.

    Raises
    ------
    InputError
        If it cannot be meant.
    """
    length = quantity_from(typed, "span-length", LENGTHS)
    return None if length is None else length_input(typed, length)


def length_input(typed: Mapping[str, Any], length: Typed) -> BudgetInput:
    """A span length with what was said of how right it is.

    Parameters
    ----------
    typed : mapping
        With the options of `length_options`.
    length : Typed
        The length.

    Raises
    ------
    InputError
        If it cannot be meant.
    """
    length_m = length.checked(SPAN_LENGTH_LIMITS)
    within_m = half_width_from(typed, "span-length-within", LENGTHS)
    within_m = SPAN_LENGTH_WITHIN_M if within_m is None else within_m
    symbol, per_si = length.unit.symbol, length.unit.per_si
    if within_m > _LARGEST_SHARE * length_m:
        raise InputError(
            f"a span length within {within_m * per_si:g} {symbol} is off by more than {_LARGEST_SHARE:.0%} of"
            f" {length.value:g} {symbol}: was it entered in another unit or in per cent?"
        )
    return budget_input(SPAN_LENGTH, Measured.within(length_m, within_m), "measured")


def typed_belt(typed: Mapping[str, Any]) -> TypedBelt | None:
    """What was typed about the belt; None if its density was not.

    Raises
    ------
    InputError
        If it cannot be meant, or does not go together.
    """
    kept = None if typed["calibration"] is None else read_calibration(typed["calibration"])
    density, origin, distribution = typed_density(typed)
    if density is None and kept is not None:
        density, origin, distribution = known_density(kept.linear_density), _KEPT, Distribution.NORMAL
    if density is None:
        if typed["bending_stiffness_n_m2"] is not None or typed["ends"] is not None:
            raise InputError(
                "the stiffness is given and the linear density is not: add --linear-density-g-per-m or weigh the belt"
            )
        return None
    found = density.linear_density
    measured = Measured(found.value, found.standard_uncertainty)
    stiffness_inputs, stiffness = _stiffness(typed) if kept is None else _kept_stiffness(typed, kept)
    inputs = [budget_input(LINEAR_DENSITY, measured, origin, distribution), *stiffness_inputs]
    warnings = [density.warning] if density.warning else []
    kind, width_m = typed_kind(typed), typed_width(typed)
    if kind is not None and not density.warning:
        n_ribs = typed["belt_ribs"]
        doubt = density_doubt(density, kind, None if kind is BeltKind.RIBBED else width_m, n_ribs)
        warnings += [doubt] if doubt else []
    if width_m is not None:
        air = float(air_mass_per_length(width_m))
        if origin == _KEPT and kept is not None and kept.on_rig:
            raise InputError(
                "the density of this calibration holds the air already: leave --belt-width-mm out, or give the"
                " density that was weighed"
            )
        inputs.append(budget_input(AIR, Measured.within(air, _AIR_WITHIN * air), "belt width"))
    if stiffness is None:
        warnings.append(FLEXIBLE_WARNING)
    return TypedBelt(tuple(inputs), density, stiffness, tuple(warnings), _correlations(inputs, kept))


def _correlations(inputs: list[BudgetInput], kept: KeptCalibration | None) -> tuple[Correlation, ...]:
    """Correlations of those inputs that were taken from the calibration."""
    if kept is None:
        return ()
    taken = {
        given.name for given in inputs if given.origin == _KEPT and given.measured.standard_uncertainty > 0
    }
    pairs = [
        (_BUDGET_NAMES[one], _BUDGET_NAMES[other], value) for (one, other), value in kept.correlations.items()
    ]
    return tuple(Correlation(one, other, value) for one, other, value in pairs if {one, other} <= taken)


def _stiffness(typed: Mapping[str, Any]) -> tuple[list[BudgetInput], SpanStiffness | None]:
    bending, ends = typed["bending_stiffness_n_m2"], typed["ends"]
    if bending is None:
        if ends is not None:
            raise InputError("--ends says nothing of a flexible span: add --bending-stiffness-n-m2")
        exact = Measured(0.0, 0.0)
        return [
            budget_input(BENDING_STIFFNESS, exact, "taken as flexible"),
            budget_input(END_FIXITY, exact, "of no effect"),
        ], None
    value = BENDING_STIFFNESS_LIMITS.checked(bending, _NEWTON_METRE_SQUARED)
    share = share_from("--bending-stiffness-within-percent", typed["bending_stiffness_within_percent"], 100.0)
    lowest, highest = ENDS[ends or "unknown"]
    measured_bending = Measured.within(value, share * value)
    measured_ends = Measured.within((lowest + highest) / 2, (highest - lowest) / 2)
    inputs = [
        budget_input(BENDING_STIFFNESS, measured_bending, "as given"),
        budget_input(END_FIXITY, measured_ends, "unknown" if lowest < highest else str(ends)),
    ]
    return inputs, SpanStiffness(
        value, measured_bending.standard_uncertainty, measured_ends.value, measured_ends.standard_uncertainty
    )


def _kept_stiffness(
    typed: Mapping[str, Any], kept: KeptCalibration
) -> tuple[list[BudgetInput], SpanStiffness]:
    if typed["bending_stiffness_n_m2"] is not None:
        raise InputError("--bending-stiffness-n-m2 and --calibration are both given: which one holds?")
    bending = Measured(kept.bending_stiffness.value, kept.bending_stiffness.standard_uncertainty)
    inputs = [budget_input(BENDING_STIFFNESS, bending, _KEPT, Distribution.NORMAL)]
    if typed["ends"] is None and not kept.on_rig:
        ends = kept.end_fixity
        inputs.append(
            budget_input(
                END_FIXITY, Measured(ends.value, ends.standard_uncertainty), _KEPT, Distribution.NORMAL
            )
        )
    else:
        lowest, highest = ENDS[typed["ends"] or "unknown"]
        ends = Estimate.within((lowest + highest) / 2, (highest - lowest) / 2)
        inputs.append(
            budget_input(
                END_FIXITY, Measured(ends.value, ends.standard_uncertainty), typed["ends"] or "unknown"
            )
        )
    return inputs, kept.stiffness(ends)

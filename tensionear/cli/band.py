"""``tensionear band``: what is specified, in newtons and in hertz on this span."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import click

from tensionear.belt.comparison import ComparedQuantity, Comparison, SingleValue
from tensionear.belt.limits import Unit
from tensionear.belt.span import BeltSpan
from tensionear.belt.tension import fundamental_frequency, static_tension
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.json_lines import readable, write_line
from tensionear.cli.layout import filled
from tensionear.cli.options import json_option
from tensionear.cli.typed_span import (
    FLEXIBLE_WARNING,
    TypedBelt,
    belt_options,
    flexible_option,
    length_options,
    typed_belt,
    typed_length,
)
from tensionear.cli.typed_specification import (
    specification_options,
    typed_baseline,
    typed_specification,
    typed_state,
)
from tensionear.cli.units import ToldUnits, tell_in_option, told
from tensionear.metrology.budget import BudgetInput
from tensionear.metrology.uncertainty import Measured, coverage_factor
from tensionear.tension_budget import FUNDAMENTAL, TENSION, budget_input, frequency_budget, tension_budget

EXAMPLE = """Values in N may be given in pounds-force (--band-lbf, --nominal-lbf ...), lengths in inches (-in).

\b
Examples:
  tensionear band --band-hz 110 122 --source "manual, page 12"
  tensionear band --nominal-n 420 --tolerance-percent 10 --method force --source "manual, page 12"
    --span-length-mm 213 --linear-density-g-per-m 165
"""

_HERTZ = Unit("Hz", "hertz", 1.0)


@dataclass(frozen=True)
class Converted:
    """Limits on this span, each in all quantities that can be told; one if there is a single value.

    Attributes
    ----------
    fundamentals : tuple of Measured
        [Hz]
    tensions : tuple of Measured
        Corrected for stiffness, if it is known. [N]
    flexible_tensions : tuple of Measured
        By the flexible formula with the constants that hold for it. [N]
    """

    fundamentals: tuple[Measured, ...] = ()
    tensions: tuple[Measured, ...] = ()
    flexible_tensions: tuple[Measured, ...] = ()


@click.command(epilog=EXAMPLE)
@specification_options
@length_options
@belt_options
@flexible_option
@tell_in_option
@json_option
def command(**typed: Any) -> ExitCode:
    """Bring what the manufacturer specifies to newtons and hertz.

    Takes any form in which a specification is stated, says by which quantity a reading is compared with it, and what
    it comes to on this span. What cannot be converted without the span length or the belt is left out.
    """
    belt, length = typed_belt(typed), typed_length(typed)
    belt = None if belt is None else belt.allowing_for_stiffness(typed["flexible"])
    specification, baseline = typed_specification(typed), typed_baseline(typed)
    if (specification is None) is (baseline is None):
        raise click.UsageError(
            "there is no value: give --band-hz, --band-n, --nominal-hz, --nominal-n, --push-force-n or --baseline-hz"
            if specification is None
            else "give a specification or a baseline of your own, not both"
        )
    span = None if belt is None or length is None else belt.span(length)
    if baseline is not None:
        comparison = baseline.comparison()
    else:
        assert specification is not None  # noqa: S101 - tells mypy
        comparison = specification.comparison(
            typed_state(typed), span, None if belt is None else belt.stiffness
        )
    converted = _converted(comparison, belt, length, span)
    if typed["as_json"]:
        _write(comparison, converted, belt)
    else:
        typed_in_pounds = any(typed[name] is not None for name in ("band_lbf", "nominal_lbf"))
        tell_in = typed["tell_in"]
        if typed_in_pounds and not {"N", "lbf"} & set(tell_in):
            tell_in = (*tell_in, "lbf")
        _tell(comparison, converted, belt, length, ToldUnits.of(tell_in))
    return ExitCode.DONE


def _limits(comparison: Comparison) -> tuple[float, ...]:
    limits = comparison.limits
    return (limits.value,) if isinstance(limits, SingleValue) else (limits.lower, limits.upper)


def _converted(
    comparison: Comparison, belt: TypedBelt | None, length: BudgetInput | None, span: BeltSpan | None
) -> Converted:
    share = comparison.limits_relative_standard_uncertainty
    stated = tuple(Measured(limit, share * limit) for limit in _limits(comparison))
    correlations = () if belt is None else belt.correlations
    known = None if belt is None or length is None else (length, *belt.inputs)

    def tension_at(fundamental: Measured) -> Measured:
        assert known is not None  # noqa: S101 - tells mypy
        return tension_budget(
            [budget_input(FUNDAMENTAL, Measured(fundamental.value, 0.0), "limit"), *known]
        ).result

    def fundamental_at(tension: Measured) -> Measured:
        assert known is not None  # noqa: S101 - tells mypy
        return frequency_budget([budget_input(TENSION, tension, "limit"), *known], correlations).result

    match comparison.quantity:
        case ComparedQuantity.CORRECTED_TENSION:
            if known is None:
                return Converted(tensions=stated)
            fundamentals = tuple(fundamental_at(limit) for limit in stated)
            return Converted(fundamentals, stated, _flexible(fundamentals, span))
        case ComparedQuantity.FLEXIBLE_TENSION:
            fundamentals = tuple(_fundamental_of_flexible(limit, comparison.constants) for limit in stated)
            tensions = tuple(tension_at(each) for each in fundamentals) if known else ()
            return Converted(fundamentals, tensions, stated)
        case ComparedQuantity.FREQUENCY:
            tensions = tuple(tension_at(each) for each in stated) if known else ()
            return Converted(stated, tensions, _flexible(stated, span))


def _fundamental_of_flexible(limit: Measured, constants: BeltSpan | None) -> Measured:
    if constants is None:
        raise ValueError("a tension by the flexible formula has no constants")
    value = fundamental_frequency(limit.value, constants.span_length_m, constants.linear_density_kg_per_m)
    return Measured(value, 0.0)


def _flexible(fundamentals: Sequence[Measured], span: BeltSpan | None) -> tuple[Measured, ...]:
    if span is None:
        return ()
    return tuple(
        Measured(static_tension(each.value, span.span_length_m, span.linear_density_kg_per_m), 0.0)
        for each in fundamentals
    )


def _tell(
    comparison: Comparison,
    converted: Converted,
    belt: TypedBelt | None,
    length: BudgetInput | None,
    units: ToldUnits,
) -> None:
    is_flexible = belt is not None and FLEXIBLE_WARNING in belt.warnings
    corrected = "tension, as if flexible" if is_flexible else "tension, corrected"
    rows = [
        ("frequency", converted.fundamentals, _HERTZ, ComparedQuantity.FREQUENCY),
        (corrected, converted.tensions, units.force, ComparedQuantity.CORRECTED_TENSION),
        ("tension, 4·m·L²·f²", converted.flexible_tensions, units.force, ComparedQuantity.FLEXIBLE_TENSION),
    ]
    if is_flexible and comparison.quantity is not ComparedQuantity.FLEXIBLE_TENSION:
        rows.pop()  # it would say the same twice
    heads = ("value",) if isinstance(comparison.limits, SingleValue) else ("lower limit", "upper limit")
    click.echo(f"{'':<23}  " + "  ".join(f"{head:>15}" for head in heads))
    for name, values, unit, quantity in rows:
        if values:
            cells = "  ".join(f"{_cell(value, unit):>15}" for value in values)
            click.echo(f"{name:<23}  {cells}{'  compared' if quantity is comparison.quantity else ''}")
    click.echo()
    click.echo(filled(comparison.sentence))
    share = comparison.limits_relative_standard_uncertainty
    if share:
        percent = 100 * coverage_factor(float("inf")) * share
        click.echo(
            filled(f"The limits had to be converted and are themselves known to ± {percent:.2g} % only.")
        )
    if any(value.standard_uncertainty for value in (*converted.fundamentals, *converted.tensions)):
        click.echo(filled("± is the expanded uncertainty (95 %): what is not known of span and belt."))
    if belt is None or length is None:
        click.echo(
            filled(
                "Only what needs no span is told: add --span-length-mm and --linear-density-g-per-m for the rest."
            )
        )
    for warning in () if belt is None else belt.warnings:
        click.echo(filled(f"Mind: {warning}."))


def _cell(measured: Measured, unit: Unit) -> str:
    if measured.standard_uncertainty == 0:
        return f"{measured.value * unit.per_si:.4g} {unit.symbol}"
    return told(measured, unit)


def _write(comparison: Comparison, converted: Converted, belt: TypedBelt | None) -> None:
    limits, constants = comparison.limits, comparison.constants
    is_single = isinstance(limits, SingleValue)
    write_line(
        "band",
        quantity=comparison.quantity,
        lower=None if isinstance(limits, SingleValue) else limits.lower,
        upper=None if isinstance(limits, SingleValue) else limits.upper,
        single_value=limits.value if isinstance(limits, SingleValue) else None,
        unit=limits.unit,
        limits_relative_standard_uncertainty=comparison.limits_relative_standard_uncertainty,
        constants_span_length_m=None if constants is None else constants.span_length_m,
        constants_linear_density_kg_per_m=None if constants is None else constants.linear_density_kg_per_m,
        is_specification=comparison.is_specification,
        sentence=readable(comparison.sentence),
        warnings=[] if belt is None else list(belt.warnings),
    )
    for place, limit in enumerate(("single value",) if is_single else ("lower", "upper")):
        write_line(
            "band_limit",
            limit=limit,
            **_named("fundamental", "_hz", converted.fundamentals, place),
            **_named("tension", "_n", converted.tensions, place),
            **_named("flexible_tension", "_n", converted.flexible_tensions, place),
        )


def _named(name: str, unit: str, values: Sequence[Measured], place: int) -> dict[str, float | None]:
    value = values[place] if values else None
    return {
        f"{name}{unit}": None if value is None else value.value,
        f"{name}_standard_uncertainty{unit}": None if value is None else value.standard_uncertainty,
    }

"""How a tension, its uncertainty budget and what follows from several of them are told."""

from collections.abc import Sequence

import click

from tensionear.belt.stiff_span import stiffness_ratio
from tensionear.belt.tension import fundamental_frequency, static_tension
from tensionear.cli.budget_table import WIDE, BudgetFigures, tell_inputs
from tensionear.cli.json_lines import now, write_line
from tensionear.cli.layout import filled
from tensionear.cli.typed_span import TypedBelt
from tensionear.cli.units import ToldUnits
from tensionear.figures import with_uncertainty
from tensionear.known_span import KnownSpan
from tensionear.metrology.budget import Budget
from tensionear.metrology.improvement import dominance_sentence
from tensionear.metrology.monte_carlo import PropagatedDistribution
from tensionear.metrology.span_comparison import SpanComparison
from tensionear.metrology.tensioner import TensionerMove, TensionerReading, TensionerRefusal
from tensionear.tension_budget import (
    AIR,
    BENDING_STIFFNESS,
    FUNDAMENTAL,
    LINEAR_DENSITY,
    SPAN_LENGTH,
    TENSION,
    own_part,
)
from tensionear.words import INTERVAL_NOTE, sentence

_MANY = 100.0  # degrees of freedom, from which k is that of infinitely many


def tell_budget(
    budget: Budget, belt: TypedBelt, trials: PropagatedDistribution | None, units: ToldUnits
) -> None:
    """Tell a tension or a frequency to people, with what is not known of it."""
    shown = BudgetFigures(units)
    result = budget.result
    click.echo(f"{budget.name:<{WIDE}}  {shown.result(budget)}")
    flexible = _flexible(budget)
    if flexible is not None:
        excess = 100 * (flexible / result.value - 1)
        side = "high" if excess > 0 else "low"
        click.echo(
            filled(
                f"{shown.value(budget, flexible)}, {abs(excess):.2g} % too {side}; not used",
                f"{'as if flexible':<{WIDE}}  ",
                " " * (WIDE + 2),
            )
        )
        click.echo(f"{'stiffness ratio':<{WIDE}}  {_stiffness_ratio(budget):.3g}")
    click.echo()
    tell_inputs(budget, units)
    click.echo()
    if result.standard_uncertainty == 0:
        click.echo(
            filled(f"No input was said to be uncertain: nothing says how right this {budget.name} is.")
        )
    else:
        degrees = f", ν = {result.degrees_of_freedom:.0f}" if result.degrees_of_freedom < _MANY else ""
        click.echo(filled(f"{INTERVAL_NOTE[:-1]}, k = {result.coverage_factor:.2f}{degrees}."))
        dominant = budget.dominant.given
        said = dominance_sentence(budget, lambda half_width: shown.half_width(dominant, half_width))
        click.echo(filled(sentence(said)))
    if budget.name == TENSION and budget.line(FUNDAMENTAL).contribution == 0:
        click.echo(
            filled(
                'The fundamental was taken as exact: add what "read" tells behind its ± with --hertz-plus-minus.'
            )
        )
    if trials is not None:
        low, high = trials.symmetric
        settled = "" if trials.settled else ", not settled"
        click.echo(
            filled(
                f"Drawn from the distributions instead ({trials.n_trials} trials{settled}), 95 % lie from"
                f" {shown.value(budget, low)} to {shown.value(budget, high)}, and the mean is"
                f" {shown.value(budget, trials.mean)}."
            )
        )
    _tell_warnings(belt)


def _tell_warnings(belt: TypedBelt) -> None:
    for warning in belt.warnings:
        click.echo(filled(f"Mind: {warning}."))


def _value(budget: Budget, name: str) -> float:
    return next((given.measured.value for given in budget.inputs if given.name == name), 0.0)


def _flexible(budget: Budget) -> float | None:
    """What the flexible formula gives; None if the span is taken as flexible anyway."""
    if _value(budget, BENDING_STIFFNESS) == 0:
        return None
    length, density = _value(budget, SPAN_LENGTH), _value(budget, LINEAR_DENSITY) + _value(budget, AIR)
    if budget.name == TENSION:
        return static_tension(_value(budget, FUNDAMENTAL), length, density)
    return fundamental_frequency(_value(budget, TENSION), length, density)


def _stiffness_ratio(budget: Budget) -> float:
    tension = budget.result.value if budget.name == TENSION else _value(budget, TENSION)
    return float(stiffness_ratio(tension, _value(budget, SPAN_LENGTH), _value(budget, BENDING_STIFFNESS)))


def write_budget(budget: Budget, belt: TypedBelt | KnownSpan, trials: PropagatedDistribution | None) -> None:
    """Tell a tension or a frequency to programs: a line for each input, then the result."""
    for line in budget.lines:
        measured = line.given.measured
        write_line(
            "budget_input",
            name=line.given.name,
            value=measured.value,
            unit=line.given.unit,
            standard_uncertainty=measured.standard_uncertainty,
            degrees_of_freedom=measured.degrees_of_freedom,
            evaluation=line.given.evaluation,
            distribution=line.given.distribution,
            origin=line.given.origin,
            sensitivity=line.sensitivity,
            contribution=line.contribution,
            share=line.share,
        )
    result, is_known = budget.result, budget.result.standard_uncertainty > 0
    write_line(
        "budget_result",
        analysed_at=now(),
        name=budget.name,
        value=result.value,
        unit=budget.unit,
        standard_uncertainty=result.standard_uncertainty,
        expanded_uncertainty=result.expanded_uncertainty,
        coverage_factor=result.coverage_factor,
        degrees_of_freedom=result.degrees_of_freedom,
        dominant=budget.dominant.given.name if is_known else None,
        sentence=dominance_sentence(budget) if is_known else None,
        as_if_flexible=_flexible(budget),
        warnings=list(belt.warnings),
    )
    if trials is not None:
        write_line(
            "budget_trials",
            mean=trials.mean,
            unit=budget.unit,
            standard_uncertainty=trials.standard_uncertainty,
            symmetric=list(trials.symmetric),
            shortest=list(trials.shortest),
            n_trials=trials.n_trials,
            settled=trials.settled,
        )


def tell_comparison(
    budgets: Sequence[Budget], comparison: SpanComparison, belt: TypedBelt, units: ToldUnits
) -> None:
    """Tell to people how the spans of a drive compare."""
    shown = BudgetFigures(units)
    for place, budget in enumerate(budgets):
        said = {comparison.tightest: "  tightest", comparison.slackest: "  slackest"}.get(place, "")
        length, fundamental = (shown.given(budget.line(name).given) for name in (SPAN_LENGTH, FUNDAMENTAL))
        click.echo(
            f"span {place + 1}  {length:<18}  {fundamental:<16}  {shown.result(budget):>14}{said}".rstrip()
        )
    click.echo()
    click.echo(filled(sentence(comparison.sentence())))
    click.echo(filled(f"{INTERVAL_NOTE} What all spans share is left out of the comparison."))
    _tell_warnings(belt)


def write_comparison(budgets: Sequence[Budget], comparison: SpanComparison, belt: TypedBelt) -> None:
    """Tell to programs how the spans of a drive compare."""
    for place, budget in enumerate(budgets):
        write_line(
            "span_reading",
            number=place + 1,
            span_length_m=_value(budget, SPAN_LENGTH),
            fundamental_hz=_value(budget, FUNDAMENTAL),
            tension_n=budget.result.value,
            tension_standard_uncertainty_n=budget.result.standard_uncertainty,
            tension_expanded_uncertainty_n=budget.result.expanded_uncertainty,
        )
    write_line(
        "span_comparison",
        analysed_at=now(),
        evened_out=comparison.evened_out,
        could_be_told=comparison.could_be_told,
        mean=comparison.mean,
        chi_square=comparison.chi_square,
        probability=comparison.probability,
        tightest=comparison.tightest + 1,
        slackest=comparison.slackest + 1,
        largest_difference=comparison.largest_difference,
        least_visible_difference=comparison.least_visible_difference,
        sentence=comparison.sentence(),
        warnings=list(belt.warnings),
    )


def tell_tensioner(
    readings: Sequence[TensionerReading],
    budgets: Sequence[Budget],
    aim_n: float,
    advice: TensionerMove | TensionerRefusal,
    belt: TypedBelt,
    units: ToldUnits,
) -> None:
    """Tell to people how far to move a tensioner."""
    shown = BudgetFigures(units)
    for reading, budget in zip(readings, budgets, strict=True):
        click.echo(f"position {reading.position:g}  {shown.result(budget)}")
    click.echo(f"aim  {shown.value(budgets[0], aim_n)}\n")
    if isinstance(advice, TensionerRefusal):
        click.echo(filled(f"No advice: {advice.explanation}."))
    else:
        position, change = advice.position, advice.change
        beyond = ", which lies beyond both and is only a guess" if advice.is_extrapolated else ""
        click.echo(
            filled(
                f"Go to position {_bare(position.value, position.expanded_uncertainty)}: {change.value:+.3g} from the"
                f" later one{beyond}. Then read again; that reading decides."
            )
        )
        click.echo(
            filled(
                "A tensioner has play: come to each position from the same side. The manufacturer's procedure and"
                " marks win over this."
            )
        )
    click.echo(
        filled(
            f"{INTERVAL_NOTE} What is not known of span and belt moves both tensions alike, and is left out"
            " of that of the position."
        )
    )
    _tell_warnings(belt)


def _bare(value: float, expanded_uncertainty: float) -> str:
    return with_uncertainty(value, expanded_uncertainty, "").rstrip()


def write_tensioner(
    readings: Sequence[TensionerReading],
    budgets: Sequence[Budget],
    aim_n: float,
    advice: TensionerMove | TensionerRefusal,
) -> None:
    """Tell to programs how far to move a tensioner."""
    for reading, budget in zip(readings, budgets, strict=True):
        write_line(
            "tensioner_reading",
            position=reading.position,
            tension_n=budget.result.value,
            tension_standard_uncertainty_n=budget.result.standard_uncertainty,
            own_standard_uncertainty_n=own_part(budget).standard_uncertainty,
        )
    move = advice if isinstance(advice, TensionerMove) else None
    refusal = advice if isinstance(advice, TensionerRefusal) else None
    write_line(
        "tensioner_move",
        analysed_at=now(),
        target_n=aim_n,
        position=None if move is None else move.position.value,
        position_standard_uncertainty=None if move is None else move.position.standard_uncertainty,
        change=None if move is None else move.change.value,
        is_extrapolated=None if move is None else move.is_extrapolated,
        reason=None if refusal is None else refusal.reason,
        explanation=None if refusal is None else refusal.explanation,
    )

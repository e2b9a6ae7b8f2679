"""What a set means for the belt, told to people: results, what is compared, what limits it, and what to do next."""

import click
import numpy as np

from tensionear.belt.comparison import ComparedQuantity
from tensionear.cli.budget_table import BudgetFigures, tell_inputs
from tensionear.cli.layout import filled, width
from tensionear.cli.reading_options import HowTold
from tensionear.cli.units import ToldUnits
from tensionear.errors import InputError
from tensionear.figures import significant
from tensionear.known_span import SpanModel
from tensionear.metrology.budget import Budget
from tensionear.metrology.improvement import dominance_sentence
from tensionear.next_step import BeltMove, move_of, way_out_of
from tensionear.task import Assessment, BeltTask
from tensionear.tension_budget import LARGEST_REDUCTION_PERCENT, drawn
from tensionear.words import INTERVAL_NOTE, NOT_CORRECTED_NOTE, probability_words, sentence, verdict_words

MANUFACTURER_NOTE = "The manufacturer's procedure and marks win over this."
_WIDE = 14
_ROOMY = 60  # columns, from which on sentences stand beside their names


def tell_line(name: str, what: str) -> None:
    """Write one line of what the set says."""
    later = _WIDE + 4 if width() >= _ROOMY else 4
    click.echo(filled(what, f"  {name:<{_WIDE}}  ", " " * later))


def tell_results(task: BeltTask, found: Assessment, units: ToldUnits) -> None:
    """Write tension, what is compared if that is another, and the verdict.

    Parameters
    ----------
    task : BeltTask
        By which it was found.
    found : Assessment
        Of the set's mean.
    units : ToldUnits
        For tensions.
    """
    shown = BudgetFigures(units)
    is_flexible_compared = _compares(task, ComparedQuantity.FLEXIBLE_TENSION)
    if found.no_tension:
        tell_line("tension", f"none: {found.no_tension}")
    if task.span is not None and found.budget is not None:
        said = ", taken as flexible" if task.span.model is SpanModel.FLEXIBLE else ""
        tell_line("tension", f"{shown.result(found.budget)}{said}")
        if not said and not is_flexible_compared:
            tell_line("as if flexible", _flexible_words(task.span.model, found.budget, found, shown))
    if found.compared is not None and is_flexible_compared:
        tell_line("by 4·m·L²·f²", f"{shown.result(found.compared)}; this is compared")
    if found.decision is not None and found.conformance_probability is not None:
        tell_line("verdict", verdict_words(found.decision).upper())
        tell_line("", f"in band with a probability of {probability_words(found.conformance_probability)}")


def _flexible_words(model: SpanModel, budget: Budget, found: Assessment, shown: BudgetFigures) -> str:
    assert found.flexible_tension is not None  # noqa: S101 - stands beside every budget
    flexible = found.flexible_tension.value
    if model is SpanModel.NOT_KNOWN:
        most = 100 / (1 - LARGEST_REDUCTION_PERCENT / 100) - 100
        return f"{shown.value(budget, flexible)}, too high by up to {most:.0f} %"
    excess = 100 * (flexible / budget.result.value - 1)
    side = "high" if excess > 0 else "low"
    return f"{shown.value(budget, flexible)}, {abs(excess):.2g} % too {side}; not used"


def tell_meaning(task: BeltTask, found: Assessment, n_plucks: int, how: HowTold) -> None:
    """Write what was compared, what to do next, what limits it, and how the figures are meant.

    Parameters
    ----------
    task, found
        As for `tell_results`.
    n_plucks : int
        In the set's mean.
    how : HowTold
        Units, and whether the budget is told.
    """
    shown = BudgetFigures(how.units)
    click.echo()
    if task.comparison is not None:
        tell_line("compared", task.comparison.sentence)
    way_out = way_out_of(task, found, n_plucks)
    if way_out is not None:
        tell_line("way out", sentence(way_out.sentence(shown.half_width, shown.contribution)))
    move = move_of(task, found)
    if move is not None:
        tell_line("next move", _move_words(move, how.units))
    limiting = limiting_budget(task, found)
    if limiting is not None:
        dominant = limiting.dominant.given
        said = dominance_sentence(limiting, lambda half: shown.half_width(dominant, half))
        tell_line("limited by", sentence(said))
    tell_line("figures", INTERVAL_NOTE)
    if task.span is not None and found.budget is not None:
        if task.span.model is SpanModel.FLEXIBLE and _compares(task, ComparedQuantity.CORRECTED_TENSION):
            tell_line("mind", NOT_CORRECTED_NOTE)
        for warning in task.span.warnings:
            tell_line("mind", sentence(warning))
    if how.with_budget:
        for budget in budgets_of(found):
            click.echo()
            click.echo(filled(f"Budget of the {budget.name}, k = {budget.result.coverage_factor:.2f}:"))
            tell_inputs(budget, how.units)
    if how.seed is not None and found.budget is not None:
        click.echo()
        tell_line("drawn", _drawn_words(found.budget, how.units, how.seed))


def budgets_of(found: Assessment) -> list[Budget]:
    """The static tension's budget, and that of what is compared if it is another."""
    budgets = [] if found.budget is None else [found.budget]
    if found.compared is not None and found.compared is not found.budget:
        budgets.append(found.compared)
    return budgets


def _compares(task: BeltTask, quantity: ComparedQuantity) -> bool:
    return task.comparison is not None and task.comparison.quantity is quantity


def limiting_budget(task: BeltTask, found: Assessment) -> Budget | None:
    """The budget of which it is told what limits it: of the tension that is compared, else of the static tension."""
    return found.compared if _compares(task, ComparedQuantity.FLEXIBLE_TENSION) else found.budget


def _drawn_words(budget: Budget, units: ToldUnits, seed: int) -> str:
    shown = BudgetFigures(units)
    try:
        trials = drawn(budget, np.random.default_rng(seed))
    except InputError as error:
        return f"Nothing, as {error} More plucks would narrow the distributions."
    low, high = trials.symmetric
    settled = "" if trials.settled else ", not settled"
    return (
        f"From the distributions instead ({trials.n_trials} trials{settled}), 95 % lie from"
        f" {shown.value(budget, low)} to {shown.value(budget, high)}, and the mean is"
        f" {shown.value(budget, trials.mean)}."
    )


def _move_words(move: BeltMove, units: ToldUnits) -> str:
    target = f"{move.target_hz:.4g} Hz"
    by = f"{significant(abs(move.change_hz), 2)} Hz {'more' if move.change_hz > 0 else 'less'}"
    if move.target_n is not None and move.change_n is not None:
        per_si, symbol = units.force.per_si, units.force.symbol
        target += f", {move.target_n * per_si:.4g} {symbol}"
        by += f", {significant(abs(move.change_n * per_si), 2)} {symbol} {'more' if move.change_n > 0 else 'less'}"
    where = "the stated value" if move.is_enough is None else "the middle of the band"
    doubt = " Even there it could not be told to be in band." if move.is_enough is False else ""
    return f"To {where}, {target}: {by}.{doubt} Then read again; that reading decides. {MANUFACTURER_NOTE}"

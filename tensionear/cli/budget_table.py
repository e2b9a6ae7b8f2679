"""How an uncertainty budget is told: its figures in the units of a workshop, and its table."""

import math

import click

from tensionear.cli.layout import row
from tensionear.cli.units import ToldUnits
from tensionear.figures import with_uncertainty
from tensionear.metrology.budget import Budget, BudgetInput

WIDE = 17
"""Columns for the name of an input or a result."""


class BudgetFigures:
    """Values of a budget in the units of a workshop.

    Parameters
    ----------
    units : ToldUnits
        Those for forces and lengths.
    """

    def __init__(self, units: ToldUnits) -> None:
        self._told = {
            "m": (units.length.per_si, units.length.symbol),
            "N": (units.force.per_si, units.force.symbol),
            "kg/m": (1e3, "g/m"),
        }

    def half_width(self, given: BudgetInput, half_width: float) -> str:
        """Half-width of an input, to two figures."""
        per_si, symbol = self._in(given.unit)
        return f"{half_width * per_si:.2g} {symbol}".rstrip()

    def given(self, given: BudgetInput) -> str:
        """An input with its half-width."""
        per_si, symbol = self._in(given.unit)
        value = given.measured.value * per_si
        if given.half_width == 0:
            return f"{value:.6g} {symbol}".rstrip()
        within = given.half_width * per_si
        n_decimals = min(max(1 - math.floor(math.log10(within)), 0), 5)
        return f"{value:.{n_decimals}f} ± {within:.{n_decimals}f} {symbol}".rstrip()

    def result(self, budget: Budget) -> str:
        """The result with its expanded uncertainty."""
        per_si, symbol = self._in(budget.unit)
        return with_uncertainty(
            budget.result.value * per_si, budget.result.expanded_uncertainty * per_si, symbol
        )

    def contribution(self, budget: Budget, contribution: float) -> str:
        """What one input brings in, to two figures."""
        per_si, symbol = self._in(budget.unit)
        return f"{contribution * per_si:.2g} {symbol}"

    def value(self, budget: Budget, value: float) -> str:
        """A value of the result's quantity, to four figures."""
        per_si, symbol = self._in(budget.unit)
        return f"{value * per_si:.4g} {symbol}"

    def _in(self, unit: str) -> tuple[float, str]:
        return self._told.get(unit, (1.0, unit))


def tell_inputs(budget: Budget, units: ToldUnits) -> None:
    """Write the table of a budget's inputs: value, contribution, share, and where each is from."""
    shown = BudgetFigures(units)
    click.echo(row([f"{'input':<{WIDE}}", f"{'value':<22}", f"{'brings in':>10}", f"{'share':>5}", "from"]))
    for line in budget.lines:
        contribution = shown.contribution(budget, line.contribution) if line.contribution else "–"
        share = f"{round(100 * line.share)} %" if line.contribution else "–"
        cells = [f"{line.given.name:<{WIDE}}", f"{shown.given(line.given):<22}", f"{contribution:>10}"]
        click.echo(row([*cells, f"{share:>5}", line.given.origin]))

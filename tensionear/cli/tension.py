"""``tensionear tension``: tension from frequency, frequency from tension, and how sure either is."""

from collections.abc import Mapping, Sequence
from typing import Any

import click
import numpy as np

from tensionear.belt.limits import require_positive
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.options import Number, json_option
from tensionear.cli.tension_report import (
    tell_budget,
    tell_comparison,
    tell_tensioner,
    write_budget,
    write_comparison,
    write_tensioner,
)
from tensionear.cli.typed_span import (
    TypedBelt,
    belt_options,
    flexible_option,
    length_input,
    length_options,
    typed_belt,
    typed_length,
)
from tensionear.cli.units import (
    FORCES,
    LENGTHS,
    NEWTON,
    POUND_FORCE,
    ToldUnits,
    Typed,
    tell_in_option,
)
from tensionear.errors import InputError
from tensionear.metrology.budget import Budget, BudgetInput, Distribution, EvaluationType
from tensionear.metrology.pluck_set import mean_of_set
from tensionear.metrology.span_comparison import compare_spans
from tensionear.metrology.tensioner import TensionerReading, tensioner_move
from tensionear.metrology.uncertainty import Measured, coverage_factor
from tensionear.tension_budget import (
    FUNDAMENTAL,
    TENSION,
    budget_input,
    common_part_left_out,
    drawn,
    frequency_budget,
    own_part,
    tension_budget,
)

LOWEST_HZ, HIGHEST_HZ = 10.0, 2000.0
LOWEST_N, HIGHEST_N = 1.0, 50_000.0

EXAMPLE = """Lengths in mm may be given in inches instead: --span-length-in, --belt-width-in and so on.

\b
Examples:
  tensionear tension --hertz 121.4 --span-length-mm 213 --linear-density-g-per-m 165
  tensionear tension --newtons 420 --span-length-mm 213 --linear-density-g-per-m 165
  tensionear tension --span-reading-mm 213 121.4 --span-reading-mm 146 180 --linear-density-g-per-m 165
"""


def _span_reading_options(command: Any) -> Any:
    for unit in reversed(LENGTHS):
        command = click.option(
            f"--span-reading-{unit.symbol}",
            type=(Number(), Number()),
            multiple=True,
            metavar=f"{unit.symbol.upper()} HERTZ",
            help="Two or more spans of one drive at rest: length and fundamental of each. They are compared.",
            hidden=unit is not LENGTHS[0],
        )(command)
    return command


@click.command(epilog=EXAMPLE)
@click.option(
    "--hertz",
    type=Number(),
    multiple=True,
    metavar="HERTZ",
    help="Fundamental of the span; repeated for each pluck, if there are more.",
)
@click.option(
    "--hertz-plus-minus",
    type=Number(),
    metavar="HERTZ",
    default=0.0,
    show_default=True,
    help='What "tensionear read" tells behind the ± of each fundamental.',
)
@click.option(
    "--newtons", type=Number(), metavar="N", help="Instead: tension, of which the frequency is wanted."
)
@click.option("--pounds-force", type=Number(), metavar="LBF", help="The same in pounds-force.")
@length_options
@belt_options
@flexible_option
@_span_reading_options
@click.option(
    "--tensioner",
    type=(Number(), Number()),
    multiple=True,
    metavar="POSITION HERTZ",
    help="Two positions of the tensioner, in any unit, with the fundamental at each; the later one second.",
)
@click.option("--aim-newtons", type=Number(), metavar="N", help="With --tensioner: tension that is aimed at.")
@click.option(
    "--aim-hertz", type=Number(), metavar="HERTZ", help="With --tensioner: fundamental that is aimed at."
)
@click.option(
    "--monte-carlo", is_flag=True, help="Draw all inputs from their distributions as well (JCGM 101)."
)
@click.option(
    "--seed", type=click.IntRange(min=0), default=1, show_default=True, help="For the same draws again."
)
@tell_in_option
@json_option
def command(**typed: Any) -> ExitCode:
    """Compute tension from frequency, or frequency from tension.

    With the uncertainty budget: what is not known of each input, what that does to the result, and what limits it
    most. Without a bending stiffness, the ± reaches from a flexible span to a stiff one.
    """
    belt = typed_belt(typed)
    if belt is None:
        raise InputError(
            "the belt's linear density is missing: add --linear-density-g-per-m, or --belt-mass-g to weigh it"
        )
    belt = belt.allowing_for_stiffness(typed["flexible"])
    tensions = [name for name in ("newtons", "pounds_force") if typed[name] is not None]
    readings = [*typed["span_reading_mm"], *typed["span_reading_in"]]
    asked = [bool(typed["hertz"]), bool(tensions), bool(readings), bool(typed["tensioner"])]
    if sum(asked) != 1 or len(tensions) > 1:
        raise click.UsageError(
            "give one of --hertz, --newtons (or --pounds-force), --span-reading-mm and --tensioner; not"
            f" {'none' if not any(asked) else 'two'} of them"
        )
    if readings:
        return _compare(typed, belt)
    length = typed_length(typed)
    if length is None:
        raise InputError("the span length is missing: add --span-length-mm")
    if typed["tensioner"]:
        return _advise(typed, belt, length)
    if typed["aim_newtons"] is not None or typed["aim_hertz"] is not None:
        raise click.UsageError("--aim-newtons and --aim-hertz go with --tensioner")
    belt.span(length)  # its limits
    if tensions:
        unit = NEWTON if tensions == ["newtons"] else POUND_FORCE
        tension_n = _tension(Typed(tensions[0], typed[tensions[0]], unit))
        exact = budget_input(TENSION, Measured(tension_n, 0.0), "taken as exact")
        budget = frequency_budget([exact, length, *belt.inputs], belt.correlations)
    else:
        unit = NEWTON
        budget = tension_budget(
            [_fundamental(typed, typed["hertz"]), length, *belt.inputs], belt.correlations
        )
    trials = drawn(budget, np.random.default_rng(typed["seed"])) if typed["monte_carlo"] else None
    if typed["as_json"]:
        write_budget(budget, belt, trials)
    else:
        tell_budget(budget, belt, trials, _units(typed, unit))
    return ExitCode.DONE


def _units(typed: Mapping[str, Any], force: Any = NEWTON) -> ToldUnits:
    in_inches = typed["span_length_in"] is not None or typed["span_reading_in"]
    units = ToldUnits.of(typed["tell_in"], LENGTHS[1] if in_inches else None)
    if force is POUND_FORCE and not {unit.symbol for unit in FORCES} & set(typed["tell_in"]):
        units = ToldUnits(POUND_FORCE, units.length)
    return units


def _fundamental(typed: Mapping[str, Any], hertz: Sequence[float]) -> BudgetInput:
    """The fundamental of one pluck, or of several together."""
    checked = [_hertz(each) for each in hertz]
    plus_minus = _plus_minus(typed, min(checked))
    readings = [Measured(each, plus_minus / coverage_factor(float("inf"))) for each in checked]
    if len(readings) == 1:
        origin = "as given" if plus_minus else "taken as exact"
        return budget_input(FUNDAMENTAL, readings[0], origin, Distribution.NORMAL)
    together = mean_of_set(readings)
    if together.mean is None:
        raise InputError(
            f"the {len(readings)} fundamentals do not agree, {together.disagreement}: was an octave, or another"
            " span, among them?"
        )
    left_out = len(readings) - together.n_in_mean
    origin = f"scatter of {together.n_in_mean} plucks" + (f", {left_out} left out" if left_out else "")
    return budget_input(FUNDAMENTAL, together.mean, origin, Distribution.NORMAL, EvaluationType.A)


def _plus_minus(typed: Mapping[str, Any], lowest_hz: float) -> float:
    plus_minus = float(typed["hertz_plus_minus"])
    if not 0 <= plus_minus <= 0.2 * abs(lowest_hz):
        raise InputError(
            f"--hertz-plus-minus {plus_minus:g} Hz does not lie from 0 to a fifth of {lowest_hz:g} Hz: was it"
            " entered in per cent?"
        )
    return plus_minus


def _hertz(value: float) -> float:
    require_positive("fundamental", value, "Hz")
    if not LOWEST_HZ <= value <= HIGHEST_HZ:
        raise InputError(
            f"fundamental {value:g} Hz does not lie from {LOWEST_HZ:g} to {HIGHEST_HZ:g} Hz: was it entered"
            " in another unit, or a decimal point lost?"
        )
    return value


def _tension(typed: Typed) -> float:
    tension_n = typed.positive("tension")
    if not LOWEST_N <= tension_n <= HIGHEST_N:
        symbol, per_si = typed.unit.symbol, typed.unit.per_si
        raise InputError(
            f"tension {typed.value:g} {symbol} does not lie from {LOWEST_N * per_si:.3g} to"
            f" {HIGHEST_N * per_si:.5g} {symbol}: was it entered in kilonewtons, or a decimal point lost?"
        )
    return tension_n


def _compare(typed: Mapping[str, Any], belt: TypedBelt) -> ExitCode:
    if typed["span_length_mm"] is not None or typed["span_length_in"] is not None:
        raise click.UsageError(
            "with --span-reading-mm each span has its own length: leave --span-length-mm out"
        )
    budgets = []
    for unit in LENGTHS:
        for length, hertz in typed[f"span_reading_{unit.symbol}"]:
            given = length_input(typed, Typed("", length, unit))
            belt.span(given)
            budgets.append(
                tension_budget([_fundamental(typed, [hertz]), given, *belt.inputs], belt.correlations)
            )
    if len(budgets) < 2:
        raise InputError("one span cannot be compared: give --span-reading-mm for each of two or more spans")
    comparison = compare_spans(common_part_left_out(budgets))
    if typed["as_json"]:
        write_comparison(budgets, comparison, belt)
    else:
        tell_comparison(budgets, comparison, belt, _units(typed))
    return ExitCode.DONE


def _advise(typed: Mapping[str, Any], belt: TypedBelt, length: BudgetInput) -> ExitCode:
    if len(typed["tensioner"]) != 2:
        raise InputError(
            f"--tensioner is given {len(typed['tensioner'])} time(s), not twice: it takes the last two positions"
        )
    if (typed["aim_newtons"] is None) is (typed["aim_hertz"] is None):
        raise InputError("what is aimed at is missing or given twice: add --aim-newtons or --aim-hertz")
    belt.span(length)
    budgets: list[Budget] = []
    readings = []
    for position, hertz in typed["tensioner"]:
        if not np.isfinite(position):
            raise InputError(
                f"tensioner position {position} is not a finite number: was something else entered?"
            )
        budget = tension_budget([_fundamental(typed, [hertz]), length, *belt.inputs], belt.correlations)
        budgets.append(budget)
        readings.append(TensionerReading(position, own_part(budget)))
    if typed["aim_newtons"] is not None:
        aim_n = _tension(Typed("--aim-newtons", typed["aim_newtons"], NEWTON))
    else:
        aim = _fundamental({**typed, "hertz_plus_minus": 0.0}, [typed["aim_hertz"]])
        aim_n = tension_budget([aim, length, *belt.inputs], belt.correlations).result.value
    advice = tensioner_move(readings[0], readings[1], aim_n)
    if typed["as_json"]:
        write_tensioner(readings, budgets, aim_n, advice)
    else:
        tell_tensioner(readings, budgets, aim_n, advice, belt, _units(typed))
    return ExitCode.DONE

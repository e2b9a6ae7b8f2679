"""``tensionear calibrate``: how stiff a belt is, from how it rings."""

import sys
from pathlib import Path
from typing import Any

import click

from tensionear.belt.calibration import STANDARD_GRAVITY_M_PER_S2
from tensionear.calibration_file import KeptCalibration, require_writable, write_calibration
from tensionear.cli.calibrate_options import (
    DENSITY_WITHIN_PERCENT,
    ENDS,
    FREQUENCY_WITHIN_PERCENT,
    MASS_WITHIN_PERCENT,
    MASSES,
    span_options,
    task_from,
)
from tensionear.cli.calibrate_questions import ask, ask_where_to_keep
from tensionear.cli.calibrate_report import tell_calibration, write_calibration_lines
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.options import Number, json_option
from tensionear.cli.trouble import tell_note
from tensionear.cli.units import LENGTHS, ToldUnits, quantity_options, tell_in_option

EXAMPLE = """Lengths in mm may be given in inches instead (--span-in, --partials-in, --recording-in), the mass in
pounds (--hung-mass-lb).

\b
Examples:
  tensionear calibrate --hung-mass-kg 25 --span-mm 140 195.3,195.1 --span-mm 220 115.8 --span-mm 600 39.9
  tensionear calibrate --linear-density-g-per-m 165 --partials-mm 213 121.4,246.9,380.2 --keep belt.json
"""


@click.command(epilog=EXAMPLE)
@span_options(
    "span", "HERTZ", "A span's length, and the fundamentals of one or more plucks of it: 110.2,110.4"
)
@span_options(
    "partials", "HERTZ", "A span's length, and its partials from the first on; - is not heard: 110.2,-,345"
)
@span_options("recording", "FILE", "A span's length, and a recording of plucks of it.")
@click.option("--with-partials", is_flag=True, help="Use the higher partials in the recordings as well.")
@quantity_options(
    "span-length-within", LENGTHS, "Each length is right within this, either way.  [default: 0.5 mm]"
)
@click.option(
    "--frequency-within-percent",
    type=Number(),
    metavar="PERCENT",
    default=FREQUENCY_WITHIN_PERCENT,
    show_default=True,
    help="Each typed frequency is right within this, either way.",
)
@quantity_options(
    "hung-mass", MASSES, "On a rig: all that hangs below the span, lower clamp and loose end included."
)
@click.option(
    "--hung-mass-within-percent",
    type=Number(),
    metavar="PERCENT",
    default=MASS_WITHIN_PERCENT,
    show_default=True,
    help="It is right within this, either way.",
)
@click.option(
    "--gravity-m-per-s2",
    type=Number(),
    metavar="M/S²",
    default=STANDARD_GRAVITY_M_PER_S2,
    show_default=True,
    help="Acceleration of free fall where the rig stands.",
)
@click.option(
    "--linear-density-g-per-m",
    type=Number(),
    metavar="G/M",
    help="Mass of one metre of the belt; on a rig it is found if it is not given.",
)
@click.option(
    "--linear-density-within-percent",
    type=Number(),
    metavar="PERCENT",
    default=DENSITY_WITHIN_PERCENT,
    show_default=True,
    help="It is right within this, either way.",
)
@click.option(
    "--ends",
    type=click.Choice(list(ENDS)),
    help="How the ends are held; find: by what was heard.  [default: clamped on a rig, else unknown]",
)
@click.option(
    "--keep",
    type=click.Path(path_type=Path, readable=False),
    metavar="FILE.json",
    help="Keep the result, for --calibration of read and listen.",
)
@tell_in_option
@json_option
def command(**typed: Any) -> ExitCode:
    """Find how stiff a belt is, by plucking it.

    A belt's stiffness makes it ring higher than its tension alone would, the more so the shorter the span. Three
    ways show how much: several partials of one span, plucks of spans of different length under one tension, or
    best, a piece of the belt that hangs with a known mass and is plucked at several lengths.

    Without any span, and at a terminal, it asks for what it needs.
    """
    as_json = typed["as_json"]
    if typed["keep"] is not None:
        require_writable(typed["keep"])  # before the work, and before it is told
    entries = [*typed["span_mm"], *typed["span_in"], *typed["partials_mm"], *typed["partials_in"]]
    if entries or typed["recording_mm"] or typed["recording_in"]:
        task, is_guided = task_from(typed), False
        found = task.calibration()
    elif as_json or not sys.stdin.isatty():
        raise click.UsageError(
            "nothing was plucked: give --span-mm, --partials-mm or --recording-mm, or start it at a terminal"
        )
    else:
        (task, found), is_guided = ask(typed), True
    if as_json:
        write_calibration_lines(task.spans, found, on_rig=task.rig is not None)
    else:
        units = ToldUnits.of(
            typed["tell_in"], LENGTHS[1] if typed["span_in"] or typed["partials_in"] else None
        )
        tell_calibration(task.spans, found, units, on_rig=task.rig is not None)
    keep = ask_where_to_keep() if is_guided and typed["keep"] is None else typed["keep"]
    if keep is not None:
        write_calibration(keep, KeptCalibration.of(found, on_rig=task.rig is not None))
        tell_note(f"Kept: {keep}")
    return ExitCode.DONE

"""``tensionear span``: how long a span is."""

import math
from pathlib import Path
from typing import Any

import click

from tensionear.belt.drive import BeltDrive, DriveSpan
from tensionear.belt.drive_check import BeltLengthCheck
from tensionear.belt.estimate import Estimate
from tensionear.belt.span import SPAN_LENGTH_LIMITS
from tensionear.belt.tangent import (
    CENTRE_DISTANCE_LIMITS,
    TOOTH_PITCH_LIMITS,
    Course,
    pitch_radius,
    span_length_between,
)
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.json_lines import readable, write_line
from tensionear.cli.layout import filled
from tensionear.cli.options import json_option
from tensionear.cli.pictures import require_drawable
from tensionear.cli.trouble import tell_note
from tensionear.cli.units import (
    LENGTHS,
    ToldUnits,
    Typed,
    half_width_from,
    half_width_of,
    quantity_from,
    quantity_options,
    tell_in_option,
)
from tensionear.drive_file import DIAMETER_LIMITS, read_drive
from tensionear.errors import InputError
from tensionear.metrology.uncertainty import RECTANGLE, Measured
from tensionear.words import INTERVAL_NOTE

EXAMPLE = """Every length in mm may be given in inches instead: --measured-in, --within-in and so on.

\b
Examples:
  tensionear span --measured-mm 213 --within-mm 1
  tensionear span --centre-distance-mm 251.3 --first-teeth 22 --second-teeth 44 --tooth-pitch-mm 8
  tensionear span --drive drive.toml --plucked pump "right cam" --picture drive.png
"""

_WITHIN_M = 0.001
_PULLEY_OPTIONS = (
    "first_teeth", "second_teeth", "first_diameter_mm", "first_diameter_in", "second_diameter_mm",
    "second_diameter_in", "tooth_pitch_mm", "tooth_pitch_in", "cord_depth_mm", "cord_depth_in",
    "diameter_within_mm", "diameter_within_in",
)  # fmt: skip


@click.command(epilog=EXAMPLE)
@quantity_options("measured", LENGTHS, "Length of the span, measured along the belt from contact to contact.")
@quantity_options("centre-distance", LENGTHS, "Instead: distance of the centres of the span's two pulleys.")
@quantity_options(
    "within", LENGTHS, "The true length or centre distance is within this of it, either way.  [default: 1 mm]"
)
@click.option("--first-teeth", type=int, metavar="N", help="Teeth of the one pulley.")
@click.option("--second-teeth", type=int, metavar="N", help="Teeth of the other pulley.")
@quantity_options("tooth-pitch", LENGTHS, "From one tooth of the belt to the next.")
@quantity_options("first-diameter", LENGTHS, "Diameter of the one pulley, if it is smooth, by calliper.")
@quantity_options("second-diameter", LENGTHS, "Diameter of the other pulley, if it is smooth, by calliper.")
@quantity_options("diameter-within", LENGTHS, "A true diameter is within this, either way.  [default: 0]")
@quantity_options(
    "cord-depth",
    LENGTHS,
    "From the belt's face on a smooth pulley to the middle of its cords; 0 if the diameter reaches there.",
)
@click.option(
    "--crossing",
    is_flag=True,
    help="The span crosses the line of centres, as to an idler on the belt's back.",
)
@click.option(
    "--drive",
    type=click.Path(path_type=Path, readable=False),
    metavar="FILE",
    help="Instead: a whole drive, described in a file (.toml or .json).",
)
@click.option("--plucked", nargs=2, metavar="PULLEY PULLEY", help="Of the drive: the span between these two.")
@click.option(
    "--picture",
    type=click.Path(path_type=Path, readable=False),
    metavar="OUT.png",
    help="Draw the drive, with the plucked span marked.",
)
@tell_in_option
@json_option
def command(
    drive: Path | None,
    plucked: tuple[str, str] | None,
    picture: Path | None,
    tell_in: tuple[str, ...],
    as_json: bool,
    **typed: Any,
) -> ExitCode:
    """Find the length of a span, or all spans of a drive.

    Best is to measure the span along the belt. From centre distance and pulleys it is computed, and from a whole
    drive as well: then all spans and wrap angles are told, and the belt's length is checked against its teeth. If
    they do not agree, the exit code is 2.
    """
    measured, distance = (
        quantity_from(typed, "measured", LENGTHS),
        quantity_from(typed, "centre-distance", LENGTHS),
    )
    ways = [way for way in (measured, distance, drive) if way is not None]
    if len(ways) != 1:
        raise click.UsageError(
            f"{'none' if not ways else len(ways)} of --measured-mm, --centre-distance-mm and --drive is given:"
            " give one of them"
        )
    if drive is None and (plucked is not None or picture is not None):
        raise click.UsageError("--plucked and --picture go with --drive")
    if distance is None:
        _require_absent(typed, _PULLEY_OPTIONS, "--centre-distance-mm")
        if typed["crossing"]:
            raise click.UsageError("--crossing goes with --centre-distance-mm")
    if drive is not None:
        _require_absent(typed, ("within_mm", "within_in"), "a measured length; a drive's file says it itself")
        return _tell_drive(drive, plucked, picture, ToldUnits.of(tell_in), as_json)
    within_m = half_width_from(typed, "within", LENGTHS)
    within_m = _WITHIN_M if within_m is None else within_m
    course = None
    if measured is not None:
        length = Estimate(measured.checked(SPAN_LENGTH_LIMITS), within_m / RECTANGLE)
    else:
        assert distance is not None  # noqa: S101 - tells mypy
        course, measured = Course.CROSSING if typed["crossing"] else Course.SAME_SIDE, distance
        distance_m = distance.checked(CENTRE_DISTANCE_LIMITS)
        length = span_length_between(
            Estimate(distance_m, within_m / RECTANGLE),
            _radius(typed, "first"),
            _radius(typed, "second"),
            course,
        )
    if within_m > 0.2 * measured.si:
        raise InputError(
            f"within {within_m * measured.unit.per_si:g} {measured.unit.symbol} is more than a fifth of"
            f" {measured.value:g} {measured.unit.symbol}: was it entered in another unit or in per cent?"
        )
    _tell_one(length, course, ToldUnits.of(tell_in, measured.unit), as_json)
    return ExitCode.DONE


def _require_absent(typed: dict[str, Any], names: tuple[str, ...], owner: str) -> None:
    for name in names:
        if typed[name] is not None:
            raise click.UsageError(f"--{name.replace('_', '-')} goes with {owner}")


def _radius(typed: dict[str, Any], which: str) -> Estimate:
    """Pitch radius of one of the two pulleys. [m]."""
    n_teeth = typed[f"{which}_teeth"]
    diameter = quantity_from(typed, f"{which}-diameter", LENGTHS)
    if (n_teeth is None) is (diameter is None):
        given = "both are" if diameter else "neither is"
        raise InputError(f"of --{which}-teeth and --{which}-diameter-mm {given} given: give one of them")
    if diameter is None:
        return pitch_radius(n_teeth, _needed(typed, "tooth-pitch", "teeth").checked(TOOTH_PITCH_LIMITS))
    depth = _needed(
        typed, "cord-depth", "a smooth pulley (0 if the diameter reaches to the middle of the cords)"
    )
    if depth.value != 0:
        depth.positive("cord depth")
    if not depth.si <= 0.02:
        raise InputError(
            f"cord depth {depth.value:g} {depth.unit.symbol} is more than {0.02 * depth.unit.per_si:g}"
            f" {depth.unit.symbol}: was a decimal point lost?"
        )
    radius_m = diameter.checked(DIAMETER_LIMITS) / 2
    within_m = half_width_from(typed, "diameter-within", LENGTHS) or 0.0
    return Estimate(radius_m + depth.si, within_m / 2 / RECTANGLE)


def _needed(typed: dict[str, Any], name: str, for_what: str) -> Typed:
    found = quantity_from(typed, name, LENGTHS)
    if found is None:
        raise InputError(f"--{name}-mm is missing: it is needed for {for_what}")
    return found


def _tell_one(length: Estimate, course: Course | None, units: ToldUnits, as_json: bool) -> None:
    if as_json:
        _write_span(length, course=course)
        return
    how = "" if course is None else f", {course}"
    click.echo(filled(f"Span length {units.span_length(_measured(length))}{how}. {INTERVAL_NOTE}"))
    click.echo(_to_type(length, units))


def _to_type(length: Estimate, units: ToldUnits) -> str:
    """What to type in the other commands to use this length."""
    symbol, per_si = units.length.symbol, units.length.per_si
    within = half_width_of(length.standard_uncertainty) * per_si
    return filled(
        f"For the other commands: --span-length-{symbol} {_digits(length.value * per_si, within)}"
        f" --span-length-within-{symbol} {within:.2g}"
    )


def _digits(value: float, within: float) -> str:
    n_decimals = 3 if within <= 0 else min(max(2 - math.floor(math.log10(within)), 0), 4)
    return f"{value:.{n_decimals}f}"


def _tell_drive(
    path: Path, plucked: tuple[str, str] | None, picture: Path | None, units: ToldUnits, as_json: bool
) -> ExitCode:
    if picture is not None:
        require_drawable(picture)
    described = read_drive(path)
    drive = described.drive
    marked = None if plucked is None else drive.span_between(*plucked)
    if marked is not None:
        _require_ringing(marked, units)
    check = described.check()
    if as_json:
        _write_drive(drive, marked, check)
    else:
        _echo_drive(described.name or path.name, drive, marked, check, units)
    if picture is not None:
        _draw(drive, marked, picture, described.name, check)
    return ExitCode.DONE if check is None or check.agrees else ExitCode.INPUT


def _require_ringing(span: DriveSpan, units: ToldUnits) -> None:
    try:
        Typed("", span.span_length.value * units.length.per_si, units.length).checked(SPAN_LENGTH_LIMITS)
    except InputError as error:
        raise InputError(
            f"{span.leaves}–{span.meets} cannot be plucked for its tension: {str(error).partition(':')[0]}"
            " and does not ring like a string; pluck another span"
        ) from error


def _echo_drive(
    name: str, drive: BeltDrive, marked: DriveSpan | None, check: BeltLengthCheck | None, units: ToldUnits
) -> None:
    click.echo(f"{readable(name)}: {len(drive.pulleys)} pulleys, listed {drive.sense}\n")
    named = [(f"{span.leaves} – {span.meets}", span) for span in drive.spans]
    wide = max(len(between) for between, _ in named)
    for between, span in named:
        mark = "*" if span is marked else " "
        length = units.span_length(_measured(span.span_length))
        click.echo(
            f"{mark} {between:<{wide}}  {length:>16}  {span.course}{'  plucked' if span is marked else ''}"
        )
    click.echo()
    for pulley, wrap_rad in zip(drive.pulleys, drive.wrap_angles_rad, strict=True):
        click.echo(f"  {pulley.name:<{wide}}  wrap {math.degrees(wrap_rad):4.0f}°  {pulley.face} face")
    click.echo()
    if check is None:
        length = units.span_length(_measured(drive.belt_length))
        click.echo(
            filled(f"Belt length {length}; not checked: give belt_teeth and tooth_pitch_mm in the file.")
        )
    else:
        explained = f"{check.explanation[0].upper()}{check.explanation[1:]}"
        click.echo(filled(explained + ("." if check.agrees else "")))
        said = (
            "That does not prove each span right: look at the picture, and measure the span that you pluck."
            if check.agrees
            else "DOES NOT AGREE: rely on none of these lengths until it does."
        )
        click.echo(filled(said))
    click.echo(filled(INTERVAL_NOTE))
    if marked is not None and (check is None or check.agrees):
        click.echo(_to_type(marked.span_length, units))


def _draw(
    drive: BeltDrive, marked: DriveSpan | None, path: Path, title: str, check: BeltLengthCheck | None
) -> None:
    from tensionear.drive_picture import draw_drive  # matplotlib only when a picture is asked for

    try:
        draw_drive(drive, marked, path, title, check)
    except OSError as error:
        raise InputError(f"picture {path} cannot be written: {error.strerror or error}") from error
    tell_note(f"Picture: {path}")


def _measured(estimate: Estimate) -> Measured:
    return Measured(estimate.value, estimate.standard_uncertainty)


def _write_drive(drive: BeltDrive, marked: DriveSpan | None, check: BeltLengthCheck | None) -> None:
    for span in drive.spans:
        _write_span(
            span.span_length, span.leaves, span.meets, span.course, None if marked is None else span is marked
        )
    for pulley, wrap_rad in zip(drive.pulleys, drive.wrap_angles_rad, strict=True):
        write_line("pulley", name=pulley.name, face=pulley.face, wrap_angle_rad=wrap_rad)
    found = drive.belt_length
    write_line(
        "belt_length",
        drive_length_m=found.value,
        drive_length_standard_uncertainty_m=found.standard_uncertainty,
        belt_length_m=None if check is None else check.belt_length_m,
        difference_m=None if check is None else check.difference_m,
        difference_teeth=None if check is None else check.difference_teeth,
        permitted_difference_m=None if check is None else check.permitted_difference_m,
        agrees=None if check is None else check.agrees,
        explanation=None if check is None else check.explanation,
    )


def _write_span(
    length: Estimate,
    leaves: str | None = None,
    meets: str | None = None,
    course: Course | None = None,
    is_plucked: bool | None = None,
) -> None:
    write_line(
        "span",
        leaves=leaves,
        meets=meets,
        course=course,
        span_length_m=length.value,
        span_length_standard_uncertainty_m=length.standard_uncertainty,
        span_length_expanded_uncertainty_m=_measured(length).expanded_uncertainty,
        is_plucked=is_plucked,
    )

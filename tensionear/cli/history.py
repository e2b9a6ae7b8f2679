"""``tensionear history``: how the belt of a vehicle, or the belts of a setup, were found over time."""

from pathlib import Path

import click

from tensionear.cli.archive_options import looking_options, opened
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.history_telling import tell_history, write_history
from tensionear.cli.trouble import tell_note, tell_trouble
from tensionear.cli.units import ToldUnits, tell_in_option
from tensionear.errors import InputError
from tensionear.job.archive.history import HistoryLine

EPILOG = """\b
Examples:
  tensionear history --registration "EX 4711" --picture history.png
  tensionear history --setup "invented four"
"""


@click.command(epilog=EPILOG)
@click.option("--vehicle", default="", metavar="TEXT", help="Of this vehicle, as its jobs call it.")
@click.option("--registration", default="", metavar="TEXT", help="Of the vehicle with this plate.")
@click.option("--chassis-number", default="", metavar="TEXT", help="Of the vehicle with this number.")
@click.option(
    "--setup", default="", metavar="NAME", help="Of all jobs that go by this setup, in any version."
)
@click.option(
    "--picture",
    type=click.Path(path_type=Path, readable=False),
    metavar="OUT.png",
    help="Draw it: tension over time, with the tolerance band.",
)
@tell_in_option
@looking_options
def command(
    picture: Path | None, tell_in: tuple[str, ...], archive: str | None, as_json: bool, **given: str
) -> ExitCode:
    """Show how the belt of a vehicle, or the belts of a setup, were found over time.

    A line for every pass that ended, of all jobs that are not deleted and agree in all that is given. Case, accents
    and separators do not count, but the whole has to be given; "tensionear job list" finds jobs by single words.
    """
    units = ToldUnits.of(tell_in)
    if picture is not None:
        _require_png(picture)
    with opened(archive) as there:
        lines = there.history(**given)
    if as_json:
        write_history(lines)
    else:
        tell_history(lines, units)
    if not lines:
        tell_note("There is no pass that ended, of such jobs.")
    if picture is None:
        return ExitCode.DONE
    return _draw(picture, lines, ", ".join(text for text in given.values() if text.strip()), as_json)


def _require_png(path: Path) -> None:
    if path.suffix.lower() != ".png":
        raise InputError(f"picture {path} does not end in .png: no other kind can be drawn")
    if not path.parent.is_dir():
        raise InputError(f"picture {path} cannot be written: there is no folder {path.parent}")


def _draw(path: Path, lines: list[HistoryLine], title: str, as_json: bool) -> ExitCode:
    # Only here: matplotlib is loaded only when a picture is asked for.
    from tensionear.history_picture import draw_history
    from tensionear.job.history_content import tension_history

    history = tension_history(lines, title)
    try:
        draw_history(history, path)
    except OSError as error:
        tell_trouble(f"picture {path} cannot be written: {error.strerror or error}", as_json, path=path)
        return ExitCode.INPUT
    n_left_out = len(lines) - len(history.passes)
    many = "1 pass" if n_left_out == 1 else f"{n_left_out} passes"
    left_out = f" ({many} without a mean of {history.quantity} left out)" if n_left_out else ""
    tell_note(f"Picture: {path}{left_out}")
    return ExitCode.DONE

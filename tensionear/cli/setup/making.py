"""``tensionear setup new``, ``change`` and ``copy``."""

from typing import Any

import click
from click.core import ParameterSource

from tensionear.cli.archive_options import opened, writing_options
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.options import Text
from tensionear.cli.sections import SectionedCommand
from tensionear.cli.setup.telling import tell_setup, write_setup_line
from tensionear.cli.setup.typed_setup import SECTIONS, WITHOUT, renamed, setup_from, setup_options
from tensionear.cli.units import LENGTHS, ToldUnits
from tensionear.job.archive.setups import KeptSetup

EXAMPLE = """\b
Example:
  tensionear setup new "invented four" --belt "invented belt" --span-length-mm 213 --linear-density-g-per-m 165
    --band-hz 110 122 --source "invented manual, page 12" --over-tension-band-hz 140 152
    --revolutions 6 --direction clockwise --check tools-out "All pins out and counted"

A band in newtons also needs --method: whether it is meant as a force, or as what a vibration reading comes to.
Lengths may be given in inches (-in), tensions in pounds-force (-lbf).
"""

CHANGE_EXAMPLE = """\b
Example:
  tensionear setup change "invented four" --reason "measured again" --span-length-mm 212.5
    --linear-density-g-per-m 165
"""


@click.command(name="new", cls=SectionedCommand, sections=SECTIONS, epilog=EXAMPLE)
@click.argument("name", type=Text())
@setup_options
@writing_options
@click.pass_context
def new_command(
    ctx: click.Context, /, name: str, archive: str | None, by: str, as_json: bool, **typed: Any
) -> ExitCode:
    """Make a setup.

    NAME is what it is found by. What is not known can be left out and given later: without a span length and a linear
    density only frequencies are read; without a specification there is no verdict.
    """
    setup = setup_from(name, typed, _given(ctx))
    with opened(archive, make=True) as there:
        _tell(there.add_setup(setup, by), as_json, typed)
    return ExitCode.DONE


@click.command(
    name="change",
    cls=SectionedCommand,
    sections=SECTIONS,
    epilog=EXAMPLE.replace("setup new", "setup change"),
)
@click.argument("name", type=Text())
@click.option("--reason", required=True, metavar="TEXT", help="Why; kept with the new version.")
@click.option("--without", type=click.Choice(WITHOUT), multiple=True, help="Take this out; may be repeated.")
@setup_options
@writing_options
@click.pass_context
def change_command(
    ctx: click.Context,
    /,
    name: str,
    reason: str,
    without: tuple[str, ...],
    archive: str | None,
    by: str,
    as_json: bool,
    **typed: Any,
) -> ExitCode:
    """Make a new version of a setup.

    What is given replaces what was there; the rest stays. Span and belt are replaced as a whole, and so are what is
    specified, the value for over-tension, the checklist, and the cautions. Jobs go on by the version that they were
    opened with, until "tensionear job take-setup" is asked for.
    """
    with opened(archive) as there:
        before = there.setup(name)
        setup = setup_from(before.name, typed, _given(ctx), before.setup, without)
        _tell(there.change_setup(name, setup, reason, by), as_json, typed)
    return ExitCode.DONE


@click.command(name="copy")
@click.argument("name", type=Text())
@click.argument("new", type=Text())
@click.option(
    "--version", type=click.IntRange(min=1), metavar="N", help="Which version.  [default: the last]"
)
@writing_options
def copy_command(
    name: str, new: str, version: int | None, archive: str | None, by: str, as_json: bool
) -> ExitCode:
    """Make a setup like another one.

    NEW is the name of the new one. It goes its own way from there.
    """
    with opened(archive) as there:
        _tell(there.add_setup(renamed(there.setup(name, version).setup, new), by), as_json, {})
    return ExitCode.DONE


def _given(ctx: click.Context) -> set[str]:
    """Names of the parameters that a person typed."""
    return {name for name in ctx.params if ctx.get_parameter_source(name) is ParameterSource.COMMANDLINE}


def _tell(kept: KeptSetup, as_json: bool, typed: dict[str, Any]) -> None:
    if as_json:
        write_setup_line(kept)
        return
    in_inches = typed.get("span_length_in") is not None
    tell_setup(kept, ToldUnits.of((), LENGTHS[1] if in_inches else None))

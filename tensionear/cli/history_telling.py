"""How a history is told: to people as a table, to programs in JSON."""

from collections.abc import Sequence
from dataclasses import asdict

import click

from tensionear.cli.job.lines import moment
from tensionear.cli.json_lines import readable, write_line
from tensionear.cli.layout import filled, row
from tensionear.cli.units import ToldUnits
from tensionear.figures import with_uncertainty
from tensionear.job.archive.history import HistoryLine
from tensionear.words import INTERVAL_NOTE

_NOTHING = "–"


def write_history(lines: Sequence[HistoryLine]) -> None:
    """Write each pass as a line of kind "history_pass"."""
    for each in lines:
        named = asdict(each)
        job, kind = named.pop("job_number"), named.pop("kind")
        named |= {name: moment(named[name]) for name in ("begun_at", "ended_at")}
        write_line("history_pass", job=readable(job), pass_kind=kind, **named)


def tell_history(lines: Sequence[HistoryLine], units: ToldUnits) -> None:
    """Tell each pass in a row, and what is to be minded.

    Parameters
    ----------
    lines : sequence of HistoryLine
        By time.
    units : ToldUnits
        For tensions.
    """
    if not lines:
        return
    wide = max(len("job"), *(len(_job(each)) for each in lines))
    heads = [
        "ended     ",
        f"{'job':<{wide}}",
        f"{'pass':<13}",
        " read",
        f"{'fundamental':<17}",
        f"{'tension':<14}",
    ]
    click.echo(row([*heads, "verdict"]))
    for each in lines:
        cells = [
            f"{each.ended_at.astimezone():%Y-%m-%d}",
            f"{_job(each):<{wide}}",
            f"{each.kind:<13}",
            f"{each.n_readings}/{each.n_readings + each.n_refused}".rjust(5),
            f"{_figure(each.fundamental_hz, each.fundamental_expanded_uncertainty_hz, 1.0, 'Hz'):<17}",
            f"{_tension(each, units):<14}",
            _verdict(each),
        ]
        click.echo(row(cells))
    click.echo(filled(f"{INTERVAL_NOTE} Each pass is judged by the setup that its job goes by now."))
    jobs = {each.job_number for each in lines if each.is_demonstration}
    if jobs:
        many = "1 job is a demonstration" if len(jobs) == 1 else f"{len(jobs)} jobs are demonstrations"
        click.echo(filled(f"Mind: {many}, in [brackets]; nothing of that is real."))


def _job(each: HistoryLine) -> str:
    """Its number; of a demonstration in brackets, as in the picture."""
    return f"[{each.job_number}]" if each.is_demonstration else each.job_number


def _verdict(each: HistoryLine) -> str:
    """The verdict, and the limits that it holds for."""
    said = _NOTHING if each.verdict is None else str(each.verdict)
    if each.single_value is not None:
        said += f", aim {each.single_value:g} {each.unit}"
    elif each.lower is not None or each.upper is not None:
        said += f", {_limits(each)} {each.unit}"
    return said


def _limits(each: HistoryLine) -> str:
    if each.lower is None:
        return f"up to {each.upper:.5g}"
    return f"from {each.lower:.5g}" if each.upper is None else f"{each.lower:.5g} to {each.upper:.5g}"


def _tension(each: HistoryLine, units: ToldUnits) -> str:
    force = units.force
    return _figure(each.tension_n, each.tension_expanded_uncertainty_n, force.per_si, force.symbol)


def _figure(value: float | None, expanded_uncertainty: float | None, per_si: float, unit: str) -> str:
    if value is None or expanded_uncertainty is None:
        return _NOTHING
    return with_uncertainty(value * per_si, expanded_uncertainty * per_si, unit)

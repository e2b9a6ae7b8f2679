"""Readings for people: a table that grows by a row a pluck, then what the plucks say together."""

import textwrap

import click

from tensionear.cli.figures import half_width, with_uncertainty
from tensionear.metrology.decision import Decision, Side, Verdict
from tensionear.metrology.uncertainty import Measured
from tensionear.pluck.outcome import PluckRefusal
from tensionear.reading import BeltReading, BeltTask, SetReading

SPAN_MODEL_NOTE = (
    "The span is taken as flexible. A real belt is stiff: the true tension of a short span may be lower by "
    "3 to 21 %. Until stiffness is corrected, compare only with a value that its maker states for a reading "
    "by vibration."
)
DISAGREEMENT_NOTE = (
    "The plucks do not agree: they differ by more than 3 %. Did another span answer, or did the belt settle "
    "between them? Pluck again before trusting the set."
)
_WIDTH = 96


class TableReport:
    """Tells readings as the rows of a table."""

    def __init__(self, task: BeltTask) -> None:
        self._task = task
        self._source = ""
        self._n_plucks = 0

    def begin(self) -> None:
        """Tell span and band, as they were understood."""
        span, band = self._task.span, self._task.band
        if span is not None:
            length = half_width(span.span_length_m, span.span_length_standard_uncertainty_m, 1e3, "mm")
            density = half_width(
                span.linear_density_kg_per_m, span.linear_density_standard_uncertainty_kg_per_m, 1e3, "g/m"
            )
            click.echo(f"Span length {length}, linear density {density}.")
        if band is not None:
            click.echo(f"Tolerance band {band.lower:g} to {band.upper:g} {band.unit}.")

    def tell_pluck(self, reading: BeltReading) -> None:
        """Write the row of one pluck, under its source's name."""
        if reading.source != self._source:
            self._source = reading.source
            click.echo(f"\n{reading.source}, channel {reading.channel}")
            click.echo(self._row("#", "time", "fundamental", "tension", "ring", "SNR", "result"))
        self._n_plucks += 1
        outcome = reading.pluck.outcome
        number, time = str(self._n_plucks), f"{outcome.at_s:.2f} s"
        snr = "" if outcome.snr_db is None else f"{outcome.snr_db:.0f} dB"
        if isinstance(outcome, PluckRefusal):
            click.echo(self._row(number, time, "", "", "", snr, f"refused: {outcome.reason}"))
            click.echo(
                textwrap.fill(outcome.explanation, _WIDTH, initial_indent=" " * 6, subsequent_indent=" " * 6)
            )
            return
        click.echo(
            self._row(
                number,
                time,
                _figure(reading.fundamental, "Hz"),
                _figure(reading.tension, "N"),
                f"{outcome.ring_time_s:.2f} s",
                snr,
                "read" if reading.decision is None else verdict_words(reading.decision),
            )
        )

    def tell_set(self, together: SetReading) -> None:
        """Write what the plucks say together, and how it is meant."""
        click.echo()
        if together.fundamental is None:
            refused = f": {_count(together.n_refused, 'pluck was', 'plucks were')} refused"
            click.echo(f"No reading{refused if together.n_refused else ': no pluck was heard'}.")
            return
        refused = f" ({together.n_refused} refused)" if together.n_refused else ""
        click.echo(f"Set of {_count(together.n_readings, 'reading', 'readings')}{refused}:")
        scatter = together.fundamental.scatter
        said = "" if scatter is None else f", scatter {scatter:.2g} Hz"
        click.echo(f"  fundamental  {_figure(together.fundamental.mean, 'Hz')}{said}")
        if together.tension is not None:
            click.echo(f"  tension      {_figure(together.tension, 'N')}")
        if together.decision is not None:
            click.echo(f"  verdict      {verdict_words(together.decision).upper()}")
        if not together.fundamental.agree:
            click.echo(textwrap.fill(DISAGREEMENT_NOTE, _WIDTH))
        click.echo("± is the expanded uncertainty (95 %).")
        if together.tension is not None:
            click.echo(textwrap.fill(SPAN_MODEL_NOTE, _WIDTH))

    def _row(
        self, number: str, time: str, fundamental: str, tension: str, ring: str, snr: str, result: str
    ) -> str:
        cells = [f"{number:>4}", f"{time:>10}", f"{fundamental:>18}"]
        if self._task.span is not None:
            cells.append(f"{tension:>16}")
        return "  ".join([*cells, f"{ring:>7}", f"{snr:>6}", result])


def verdict_words(decision: Decision) -> str:
    """Say a decision to a person."""
    if decision.side is None or decision.verdict is Verdict.IN_BAND:
        return str(decision.verdict)
    if decision.verdict is Verdict.OUT_OF_BAND:
        return f"{decision.verdict}: too {decision.side}"
    return f"{decision.verdict}: near the {'lower' if decision.side is Side.LOW else 'upper'} limit"


def _figure(measured: Measured | None, unit: str) -> str:
    if measured is None:
        return ""
    return with_uncertainty(measured.value, measured.expanded_uncertainty, unit)


def _count(n: int, one: str, several: str) -> str:
    return f"{n} {one if n == 1 else several}"

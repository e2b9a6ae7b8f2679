"""Readings for people: a table that grows by a row a pluck, then what the plucks say together."""

import click

from tensionear.cli.figures import half_width, with_uncertainty
from tensionear.cli.layout import filled, row
from tensionear.metrology.decision import Decision, Side, Verdict
from tensionear.metrology.marks import Mark
from tensionear.metrology.pluck_set import SetStatistics
from tensionear.metrology.uncertainty import Measured
from tensionear.pluck.outcome import PluckRefusal
from tensionear.reading import BeltReading, BeltTask, SetReading

SPAN_MODEL_NOTE = (
    "The span is taken as flexible. A real belt is stiff: the true tension of a short span may be lower by "
    "3 to 21 %. Until stiffness is corrected, compare only with a value that its maker states for a reading "
    "by vibration."
)
AGAIN = (
    "Did another span answer, is one of them an octave off, or did the belt settle between them? Remove the cause "
    "and take a new set, five plucks or more. Do not choose among these."
)
ONE_PLUCK_NOTE = (
    "This is one pluck: nothing is known of how plucks differ from each other, and ± says nothing of it. Pluck at "
    "least four times more before you act on it."
)
LOWER_NOTE = (
    "A pluck far below the others may be the right one, the others an octave too high: if the fundamental is "
    "surprisingly high, bring the microphone closer and take a new set."
)
_INDENT = " " * 6
_LOWER = (Mark.HALF, Mark.THIRD, Mark.TWO_THIRDS)


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
            click.echo(filled(f"Span length {length}, linear density {density}."))
        if band is not None:
            click.echo(filled(f"Tolerance band {band.lower:g} to {band.upper:g} {band.unit}."))

    def tell_pluck(self, reading: BeltReading) -> None:
        """Write the row of one pluck, under its source's name."""
        source = f"{reading.path or reading.source}, channel {reading.channel}"
        if source != self._source:
            self._source = source
            click.echo(f"\n{source}")
            click.echo(self._row("#", "time", "fundamental", "tension", "ring", "SNR", "result"))
        self._n_plucks += 1
        outcome = reading.pluck.outcome
        number, time = str(self._n_plucks), f"{outcome.at_s:.2f} s"
        snr = "" if outcome.snr_db is None else f"{outcome.snr_db:.0f} dB"
        if isinstance(outcome, PluckRefusal):
            loud = f" (SNR {snr})" if snr else ""
            click.echo(row([f"{number:>4}", f"{time:>9}", f"refused: {outcome.reason}{loud}"]))
            click.echo(filled(outcome.explanation, _INDENT, _INDENT))
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

    def tell_set(self, together: SetReading, n_unreadable: int = 0) -> None:
        """Write what the plucks say together, and how it is meant."""
        click.echo()
        unreadable = f"{_count(n_unreadable, 'source', 'sources')} could not be read, or not to the end"
        if together.fundamental is None:
            refused = f"{_count(together.n_refused, 'pluck was', 'plucks were')} refused"
            reasons = [refused] if together.n_refused else []
            reasons += [unreadable] if n_unreadable else []
            click.echo(filled(f"No reading: {', and '.join(reasons) or 'no pluck was heard'}."))
            return
        refused = f" ({together.n_refused} refused)" if together.n_refused else ""
        click.echo(f"Set of {_count(together.n_readings, 'reading', 'readings')}{refused}:")
        if together.fundamental.mean is None:
            self._tell_disagreement(together, together.fundamental)
        else:
            self._tell_mean(together, together.fundamental, together.fundamental.mean)
        if n_unreadable:
            click.echo(filled(f"{unreadable}: the set lacks what is there."))

    def _tell_mean(self, together: SetReading, statistics: SetStatistics, mean: Measured) -> None:
        said = "" if statistics.scatter is None else f", scatter {statistics.scatter:.2g} Hz"
        _tell("fundamental", f"{_figure(mean, 'Hz')}{said}")
        if together.tension is not None:
            _tell("tension", _figure(together.tension, "N"))
        if together.decision is not None:
            _tell("verdict", verdict_words(together.decision).upper())
        _tell_marked(together, "left out of the mean: ")
        if any(pluck.mark in _LOWER for pluck in together.marked):
            click.echo(filled(LOWER_NOTE))
        if together.n_readings == 1:
            click.echo(filled(ONE_PLUCK_NOTE))
        click.echo(filled("± is the expanded uncertainty (95 %)."))
        if together.tension is not None:
            click.echo(filled(SPAN_MODEL_NOTE))

    def _tell_disagreement(self, together: SetReading, statistics: SetStatistics) -> None:
        _tell("fundamental", f"from {statistics.lowest:.2f} to {statistics.highest:.2f} Hz: no mean")
        if self._task.band is not None:
            _tell("verdict", "NONE: THE PLUCKS DO NOT AGREE")
        _tell_marked(together, "")
        click.echo(filled(f"The plucks do not agree: {statistics.disagreement}. {AGAIN}"))

    def _row(
        self, number: str, time: str, fundamental: str, tension: str, ring: str, snr: str, result: str
    ) -> str:
        cells = [f"{number:>4}", f"{time:>9}", f"{fundamental:>18}"]
        if self._task.span is not None:
            cells.append(f"{tension:>15}")
        return row([*cells, f"{ring:>6}", f"{snr:>5}", result])


def _tell(name: str, what: str) -> None:
    """Write one line of what the set says."""
    click.echo(filled(what, f"  {name:<11}  ", " " * 15))


def _tell_marked(together: SetReading, what: str) -> None:
    """Name each marked pluck and what is odd about it."""
    for pluck in together.marked:
        _tell("marked", f"#{pluck.number}, {_figure(pluck.fundamental, 'Hz')}, {what}{pluck.mark}")


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

"""Readings for people: a table that grows by a row a pluck, then what the plucks say together."""

import click

from tensionear.cli.layout import filled, row
from tensionear.cli.reading_options import HowTold
from tensionear.cli.report_meaning import tell_line, tell_meaning, tell_results
from tensionear.cli.task_words import limits_words, span_words
from tensionear.figures import with_uncertainty
from tensionear.metrology.decision import GUARDED, Decision, Verdict
from tensionear.metrology.marks import Mark
from tensionear.metrology.pluck_set import SetStatistics
from tensionear.metrology.uncertainty import Measured
from tensionear.pluck.outcome import PluckRefusal
from tensionear.reading import BeltReading, SetReading
from tensionear.task import BeltTask
from tensionear.words import rule_words

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

    def __init__(self, task: BeltTask, how: HowTold) -> None:
        self._task = task
        self._how = how
        self._source = ""
        self._n_plucks = 0

    def begin(self) -> None:
        """Tell span, limits and rule, as they were understood."""
        if self._task.span is not None:
            click.echo(filled(span_words(self._task.span, self._how.units)))
        comparison = self._task.comparison
        if comparison is not None:
            click.echo(
                filled(
                    f"Compared: the {comparison.quantity}, with"
                    f" {limits_words(comparison.limits, self._how.units)}."
                )
            )
        if self._task.decision_rule != GUARDED:
            click.echo(filled(f"Decision rule: {rule_words(self._task.decision_rule)}."))

    def tell_pluck(self, reading: BeltReading, number: int | None = None) -> None:
        """Write the row of one pluck, under its source's name; without a number it gets the next."""
        source = f"{reading.path or reading.source}, channel {reading.channel}"
        if source != self._source:
            self._source = source
            click.echo(f"\n{source}")
            click.echo(self._row("#", "time", "fundamental", "tension", "ring", "SNR", "result"))
        self._n_plucks = self._n_plucks + 1 if number is None else number
        outcome = reading.pluck.outcome
        shown_number, time = str(self._n_plucks), f"{outcome.at_s:.2f} s"
        snr = "" if outcome.snr_db is None else f"{outcome.snr_db:.0f} dB"
        if isinstance(outcome, PluckRefusal):
            loud = f" (SNR {snr})" if snr else ""
            click.echo(row([f"{shown_number:>4}", f"{time:>8}", f"refused: {outcome.reason}{loud}"]))
            click.echo(filled(outcome.explanation, _INDENT, _INDENT))
            return
        click.echo(
            self._row(
                shown_number,
                time,
                _figure(reading.fundamental, "Hz"),
                "" if reading.tension is None else self._how.units.tension(reading.tension),
                f"{outcome.ring_time_s:.2f} s",
                snr,
                "read" if reading.decision is None else _short(reading.decision),
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
        tell_line("fundamental", f"{_figure(mean, 'Hz')}{said}")
        if together.found is not None:
            tell_results(self._task, together.found, self._how.units)
        _tell_marked(together, "left out of the mean: ")
        if any(pluck.mark in _LOWER for pluck in together.marked):
            click.echo(filled(LOWER_NOTE))
        if together.n_readings == 1:
            click.echo(filled(ONE_PLUCK_NOTE))
        if together.found is not None:
            tell_meaning(self._task, together.found, statistics.n_in_mean, self._how)

    def _tell_disagreement(self, together: SetReading, statistics: SetStatistics) -> None:
        tell_line("fundamental", f"from {statistics.lowest:.2f} to {statistics.highest:.2f} Hz: no mean")
        if self._task.comparison is not None:
            tell_line("verdict", "NONE: THE PLUCKS DO NOT AGREE")
        _tell_marked(together, "")
        click.echo(filled(f"The plucks do not agree: {statistics.disagreement}. {AGAIN}"))

    def _row(
        self, number: str, time: str, fundamental: str, tension: str, ring: str, snr: str, result: str
    ) -> str:
        cells = [f"{number:>4}", f"{time:>8}", f"{fundamental:>18}"]
        if self._task.span is not None:
            cells.append(f"{tension:>14}")
        return row([*cells, f"{ring:>6}", f"{snr:>5}", result])


def _tell_marked(together: SetReading, what: str) -> None:
    """Name each marked pluck and what is odd about it."""
    for pluck in together.marked:
        tell_line("marked", f"#{pluck.number}, {_figure(pluck.fundamental, 'Hz')}, {what}{pluck.mark}")


def _short(decision: Decision) -> str:
    """Say a decision in a word or two; out of band by its side alone."""
    return f"too {decision.side}" if decision.verdict is Verdict.OUT_OF_BAND else str(decision.verdict)


def _figure(measured: Measured | None, unit: str) -> str:
    if measured is None:
        return ""
    return with_uncertainty(measured.value, measured.expanded_uncertainty, unit)


def _count(n: int, one: str, several: str) -> str:
    return f"{n} {one if n == 1 else several}"

"""Readings for programs: one JSON object a line.

A line of kind "begin" at the start, one of kind "pluck" for every pluck, one of kind "set" at the end, one of kind
"error" for trouble; if asked for, the set's budget in lines as of the command ``tension``. Floats have full
precision; what is not known is null.
"""

import numpy as np

from tensionear.cli.json_lines import now, readable, write_line
from tensionear.cli.reading_names import (
    assessment_names,
    next_step_names,
    outcome_names,
    rests_on_names,
    set_names,
)
from tensionear.cli.reading_options import HowTold
from tensionear.cli.report_meaning import budgets_of
from tensionear.cli.tension_report import write_budget
from tensionear.cli.trouble import tell_trouble
from tensionear.errors import InputError
from tensionear.known_span import KnownSpan
from tensionear.metrology.budget import Budget
from tensionear.metrology.monte_carlo import PropagatedDistribution
from tensionear.reading import BeltReading, SetReading
from tensionear.task import Assessment, BeltTask
from tensionear.tension_budget import drawn


class JsonReport:
    """Tells readings as JSON lines."""

    def __init__(self, task: BeltTask, how: HowTold) -> None:
        self._task = task
        self._how = how
        self._sources: dict[tuple[str, str | None], None] = {}  # a set that keeps its order
        self._n_plucks = 0
        self._span_model = None if task.span is None else task.span.model

    def begin(self) -> None:
        """Write when the analysis began and what it rests on."""
        write_line(
            "begin",
            analysed_at=now(),
            **rests_on_names(self._task),
        )

    def tell_pluck(self, reading: BeltReading, number: int | None = None) -> None:
        """Write the line of one pluck; without a number it gets the next."""
        outcome = reading.pluck.outcome
        source, path = readable(reading.source), None if reading.path is None else readable(str(reading.path))
        self._sources[source, path] = None
        self._n_plucks = self._n_plucks + 1 if number is None else number
        write_line(
            "pluck",
            number=self._n_plucks,
            source=source,
            path=path,
            channel=reading.channel,
            **outcome_names(outcome),
            **assessment_names(reading.fundamental, reading.found),
            span_model=self._span_model,
        )

    def tell_set(self, together: SetReading, n_unreadable: int = 0) -> None:
        """Write the line of the set."""
        write_line(
            "set",
            sources=[source for source, _ in self._sources],
            paths=[path for _, path in self._sources],
            n_unreadable=n_unreadable,
            **set_names(together),
            **next_step_names(self._task, together),
            **rests_on_names(self._task),
        )
        if together.found is not None:
            self.tell_budgets(together.found)

    def tell_budgets(self, found: Assessment) -> None:
        """Write the budgets of a set's result, as far as they are asked for."""
        for budget in budgets_of(found):
            trials = self._trials(budget) if budget is found.budget else None
            if self._how.with_budget or trials is not None:
                write_budget(budget, self._task.span or KnownSpan(()), trials)

    def _trials(self, budget: Budget) -> PropagatedDistribution | None:
        if self._how.seed is None:
            return None
        try:
            return drawn(budget, np.random.default_rng(self._how.seed))
        except InputError as error:
            tell_trouble(str(error), as_json=True)
            return None

"""Readings for programs: one JSON object a line.

A line of kind "begin" at the start, one of kind "pluck" for every pluck, one of kind "set" at the end, one of kind
"error" for trouble; if asked for, the set's budget in lines as of the command ``tension``. Floats have full
precision; what is not known is null.
"""

from dataclasses import asdict

import numpy as np

from tensionear.belt.comparison import SingleValue
from tensionear.cli.json_lines import now, readable, write_line
from tensionear.cli.reading_options import HowTold
from tensionear.cli.report_meaning import budgets_of, limiting_budget
from tensionear.cli.tension_report import write_budget
from tensionear.cli.trouble import tell_trouble
from tensionear.errors import InputError
from tensionear.known_span import KnownSpan
from tensionear.metrology.budget import Budget
from tensionear.metrology.improvement import dominance_sentence
from tensionear.metrology.monte_carlo import PropagatedDistribution
from tensionear.metrology.uncertainty import Measured
from tensionear.next_step import move_of, way_out_of
from tensionear.pluck.outcome import PluckReading
from tensionear.reading import BeltReading, SetReading
from tensionear.task import Assessment, BeltTask
from tensionear.tension_budget import AIR, drawn

# Attributes of a reading or a refusal that are told under their own name; what one of them lacks is null.
_OF_THE_OUTCOME = (
    "reason",
    "explanation",
    "ring_time_s",
    "snr_db",
    "support",
    "stretch",
    "glide_hz",
)
_OF_THE_SPAN = (
    "span_length_m",
    "span_length_standard_uncertainty_m",
    "linear_density_kg_per_m",
    "linear_density_standard_uncertainty_kg_per_m",
)


_OF_THE_STIFFNESS = (
    "bending_stiffness_n_m2",
    "bending_stiffness_standard_uncertainty_n_m2",
    "end_fixity",
    "end_fixity_standard_uncertainty",
)


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
            **self._rests_on(),
        )

    def tell_pluck(self, reading: BeltReading) -> None:
        """Write the line of one pluck."""
        outcome = reading.pluck.outcome
        source, path = readable(reading.source), None if reading.path is None else readable(str(reading.path))
        self._sources[source, path] = None
        self._n_plucks += 1
        write_line(
            "pluck",
            number=self._n_plucks,
            source=source,
            path=path,
            channel=reading.channel,
            at_s=outcome.at_s,
            outcome="reading" if isinstance(outcome, PluckReading) else "refused",
            **{name: getattr(outcome, name, None) for name in _OF_THE_OUTCOME},
            rivals=[
                {"fundamental_hz": rival.fundamental_hz, "support": rival.support} for rival in outcome.rivals
            ],
            **_fundamental(reading.fundamental),
            **_tension(reading.found),
            **_verdict(reading.found),
            span_model=self._span_model,
        )

    def tell_set(self, together: SetReading, n_unreadable: int = 0) -> None:
        """Write the line of the set."""
        statistics = together.fundamental
        write_line(
            "set",
            sources=[source for source, _ in self._sources],
            paths=[path for _, path in self._sources],
            n_readings=together.n_readings,
            n_refused=together.n_refused,
            n_unreadable=n_unreadable,
            n_in_mean=0 if statistics is None else statistics.n_in_mean,
            **_fundamental(None if statistics is None else statistics.mean),
            scatter_hz=None if statistics is None else statistics.scatter,
            lowest_hz=None if statistics is None else statistics.lowest,
            highest_hz=None if statistics is None else statistics.highest,
            agree=None if statistics is None else statistics.agree,
            disagreement=None if statistics is None else statistics.disagreement,
            marked=[
                {"number": pluck.number, "fundamental_hz": pluck.fundamental.value, "mark": pluck.mark}
                for pluck in together.marked
            ],
            **_tension(together.found),
            **_verdict(together.found),
            **self._next_step(together),
            **self._rests_on(),
        )
        if together.found is not None:
            self._tell_budgets(together.found)

    def _tell_budgets(self, found: Assessment) -> None:
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

    def _next_step(self, together: SetReading) -> dict[str, object]:
        found = together.found
        names: dict[str, object] = dict.fromkeys(("limited_by", "way_out", "move"))
        if found is None or together.fundamental is None:
            return names
        limiting = limiting_budget(self._task, found)
        if limiting is not None:
            names["limited_by"] = {
                "name": limiting.dominant.given.name,
                "sentence": dominance_sentence(limiting),
            }
        way_out = way_out_of(self._task, found, together.fundamental.n_in_mean)
        if way_out is not None:
            names["way_out"] = {
                "decides": way_out.decides,
                "n_more_plucks": way_out.n_more_plucks,
                "is_decided_in_the_middle": way_out.is_decided_in_the_middle,
                "sentence": way_out.sentence(),
            }
        move = move_of(self._task, found)
        names["move"] = None if move is None else asdict(move)
        return names

    def _rests_on(self) -> dict[str, object]:
        known, comparison, rule = self._task.span, self._task.comparison, self._task.decision_rule
        air = None if known is None else known.given(AIR)
        limits = None if comparison is None else comparison.limits
        return {
            "span_model": self._span_model,
            **{name: getattr(None if known is None else known.span, name, None) for name in _OF_THE_SPAN},
            **{
                name: getattr(None if known is None else known.stiffness, name, None)
                for name in _OF_THE_STIFFNESS
            },
            "air_kg_per_m": None if air is None else air.measured.value,
            "warnings": [] if known is None else list(known.warnings),
            "band": None
            if limits is None or isinstance(limits, SingleValue)
            else {"lower": limits.lower, "upper": limits.upper, "unit": limits.unit},
            "single_value": {"value": limits.value, "unit": limits.unit}
            if isinstance(limits, SingleValue)
            else None,
            "compared_quantity": None if comparison is None else comparison.quantity,
            "limits_relative_standard_uncertainty": None
            if comparison is None
            else comparison.limits_relative_standard_uncertainty,
            "constants": None
            if comparison is None or comparison.constants is None
            else asdict(comparison.constants),
            "is_specification": None if comparison is None else comparison.is_specification,
            "comparison_sentence": None if comparison is None else readable(comparison.sentence),
            "decision_rule": rule.rule,
            "asked_probability": rule.asked_probability,
        }


def _fundamental(fundamental: Measured | None) -> dict[str, float | None]:
    return {
        "fundamental_hz": None if fundamental is None else fundamental.value,
        "fundamental_standard_uncertainty_hz": None
        if fundamental is None
        else fundamental.standard_uncertainty,
        "fundamental_expanded_uncertainty_hz": None
        if fundamental is None
        else fundamental.expanded_uncertainty,
    }


def _tension(found: Assessment | None) -> dict[str, float | str | None]:
    tension = None if found is None else found.tension
    flexible = None if found is None else found.flexible_tension
    return {
        "tension_n": None if tension is None else tension.value,
        "tension_standard_uncertainty_n": None if tension is None else tension.standard_uncertainty,
        "tension_expanded_uncertainty_n": None if tension is None else tension.expanded_uncertainty,
        "coverage_factor": None if tension is None else tension.coverage_factor,
        "flexible_tension_n": None if flexible is None else flexible.value,
        "flexible_tension_standard_uncertainty_n": None
        if flexible is None
        else flexible.standard_uncertainty,
        "no_tension": None if found is None else found.no_tension or None,
    }


def _verdict(found: Assessment | None) -> dict[str, float | str | None]:
    compared = None if found is None or found.compared is None else found.compared.result
    decision = None if found is None else found.decision
    return {
        "compared_value": None if compared is None else compared.value,
        "compared_standard_uncertainty": None if compared is None else compared.standard_uncertainty,
        "compared_expanded_uncertainty": None if compared is None else compared.expanded_uncertainty,
        "verdict": None if decision is None else decision.verdict,
        "side": None if decision is None else decision.side,
        "conformance_probability": None if found is None else found.conformance_probability,
    }

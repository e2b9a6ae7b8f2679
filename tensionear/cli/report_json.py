"""Readings for programs: one JSON object a line.

A line of kind "pluck" for every pluck, one of kind "set" at the end, one of kind "error" for trouble. Floats
have full precision; what is not known is null.
"""

import json
import math
from typing import Any

import click

from tensionear.metrology.decision import Decision
from tensionear.metrology.uncertainty import Measured
from tensionear.pluck.outcome import PluckReading
from tensionear.reading import SPAN_MODEL, BeltReading, BeltTask, SetReading

# Attributes of a reading or a refusal that are told under their own name; what one of them lacks is null.
_OF_THE_OUTCOME = (
    "reason",
    "explanation",
    "fundamental_hz",
    "fundamental_standard_uncertainty_hz",
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


class JsonReport:
    """Tells readings as JSON lines."""

    def __init__(self, task: BeltTask) -> None:
        self._task = task
        self._sources: list[str] = []
        self._span_model = None if task.span is None else SPAN_MODEL

    def begin(self) -> None:
        """Tell nothing: what the readings rest on comes with the set."""

    def tell_pluck(self, reading: BeltReading) -> None:
        """Write the line of one pluck."""
        outcome = reading.pluck.outcome
        if reading.source not in self._sources:
            self._sources.append(reading.source)
        _write(
            {
                "kind": "pluck",
                "source": reading.source,
                "channel": reading.channel,
                "at_s": outcome.at_s,
                "outcome": "reading" if isinstance(outcome, PluckReading) else "refused",
                **{name: getattr(outcome, name, None) for name in _OF_THE_OUTCOME},
                "rivals": [
                    {"fundamental_hz": rival.fundamental_hz, "support": rival.support}
                    for rival in outcome.rivals
                ],
                **_tension(reading.tension),
                **_verdict(reading.decision),
                "span_model": self._span_model,
            }
        )

    def tell_set(self, together: SetReading) -> None:
        """Write the line of the set."""
        statistics = together.fundamental
        band = self._task.band
        _write(
            {
                "kind": "set",
                "sources": self._sources,
                "n_readings": together.n_readings,
                "n_refused": together.n_refused,
                "fundamental_hz": None if statistics is None else statistics.mean.value,
                "fundamental_standard_uncertainty_hz": (
                    None if statistics is None else statistics.mean.standard_uncertainty
                ),
                "scatter_hz": None if statistics is None else statistics.scatter,
                "agree": None if statistics is None else statistics.agree,
                **_tension(together.tension),
                **_verdict(together.decision),
                "span_model": self._span_model,
                **{name: getattr(self._task.span, name, None) for name in _OF_THE_SPAN},
                "band": (
                    None if band is None else {"lower": band.lower, "upper": band.upper, "unit": band.unit}
                ),
            }
        )


def _tension(tension: Measured | None) -> dict[str, float | None]:
    return {
        "tension_n": None if tension is None else tension.value,
        "tension_expanded_uncertainty_n": None if tension is None else tension.expanded_uncertainty,
        "coverage_factor": None if tension is None else tension.coverage_factor,
    }


def _verdict(decision: Decision | None) -> dict[str, str | None]:
    return {
        "verdict": None if decision is None else decision.verdict,
        "side": None if decision is None else decision.side,
    }


def _write(line: dict[str, Any]) -> None:
    finite = {
        key: None if isinstance(value, float) and not math.isfinite(value) else value
        for key, value in line.items()
    }
    click.echo(json.dumps(finite, allow_nan=False))

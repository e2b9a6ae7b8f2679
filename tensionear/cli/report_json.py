"""Readings for programs: one JSON object a line.

A line of kind "begin" at the start, one of kind "pluck" for every pluck, one of kind "set" at the end, one of kind
"error" for trouble. Floats have full precision; what is not known is null.
"""

from tensionear.cli.json_lines import now, readable, write_line
from tensionear.metrology.decision import Decision
from tensionear.metrology.uncertainty import Measured
from tensionear.pluck.outcome import PluckReading
from tensionear.reading import SPAN_MODEL, BeltReading, BeltTask, SetReading

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


class JsonReport:
    """Tells readings as JSON lines."""

    def __init__(self, task: BeltTask) -> None:
        self._task = task
        self._sources: dict[tuple[str, str | None], None] = {}  # a set that keeps its order
        self._n_plucks = 0
        self._span_model = None if task.span is None else SPAN_MODEL

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
            **_tension(reading.tension),
            **_verdict(reading.decision),
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
            **_tension(together.tension),
            **_verdict(together.decision),
            **self._rests_on(),
        )

    def _rests_on(self) -> dict[str, object]:
        band = self._task.band
        return {
            "span_model": self._span_model,
            **{name: getattr(self._task.span, name, None) for name in _OF_THE_SPAN},
            "band": None if band is None else {"lower": band.lower, "upper": band.upper, "unit": band.unit},
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


def _tension(tension: Measured | None) -> dict[str, float | None]:
    return {
        "tension_n": None if tension is None else tension.value,
        "tension_standard_uncertainty_n": None if tension is None else tension.standard_uncertainty,
        "tension_expanded_uncertainty_n": None if tension is None else tension.expanded_uncertainty,
        "coverage_factor": None if tension is None else tension.coverage_factor,
    }


def _verdict(decision: Decision | None) -> dict[str, str | None]:
    return {
        "verdict": None if decision is None else decision.verdict,
        "side": None if decision is None else decision.side,
    }

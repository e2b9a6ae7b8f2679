"""The names under which lines for programs tell readings, sets, and what they rest on."""

from dataclasses import asdict

from tensionear.belt.comparison import SingleValue
from tensionear.cli.json_lines import readable
from tensionear.cli.report_meaning import limiting_budget
from tensionear.metrology.improvement import dominance_sentence
from tensionear.metrology.uncertainty import Measured
from tensionear.next_step import move_of, way_out_of
from tensionear.pluck.outcome import PluckOutcome, PluckReading
from tensionear.reading import SetReading
from tensionear.task import Assessment, BeltTask
from tensionear.tension_budget import AIR

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


def outcome_names(outcome: PluckOutcome) -> dict[str, object]:
    """What became of a pluck."""
    return {
        "at_s": outcome.at_s,
        "outcome": "reading" if isinstance(outcome, PluckReading) else "refused",
        **{name: getattr(outcome, name, None) for name in _OF_THE_OUTCOME},
        "rivals": [
            {"fundamental_hz": rival.fundamental_hz, "support": rival.support} for rival in outcome.rivals
        ],
    }


def assessment_names(fundamental: Measured | None, found: Assessment | None) -> dict[str, object]:
    """Fundamental, tension and verdict of a pluck or a set."""
    return {**_fundamental(fundamental), **_tension(found), **_verdict(found)}


def set_names(together: SetReading) -> dict[str, object]:
    """How many plucks a set has, what its mean says, and which of its readings stand apart."""
    statistics = together.fundamental
    return {
        "n_readings": together.n_readings,
        "n_refused": together.n_refused,
        "n_in_mean": 0 if statistics is None else statistics.n_in_mean,
        "scatter_hz": None if statistics is None else statistics.scatter,
        "lowest_hz": None if statistics is None else statistics.lowest,
        "highest_hz": None if statistics is None else statistics.highest,
        "agree": None if statistics is None else statistics.agree,
        "disagreement": None if statistics is None else statistics.disagreement,
        "marked": [
            {"number": pluck.number, "fundamental_hz": pluck.fundamental.value, "mark": pluck.mark}
            for pluck in together.marked
        ],
        **assessment_names(None if statistics is None else statistics.mean, together.found),
    }


def next_step_names(task: BeltTask, together: SetReading) -> dict[str, object]:
    """What limits a set, what would decide it, and by how much to change the belt."""
    found = together.found
    names: dict[str, object] = dict.fromkeys(("limited_by", "way_out", "move"))
    if found is None or together.fundamental is None:
        return names
    limiting = limiting_budget(task, found)
    if limiting is not None:
        names["limited_by"] = {
            "name": limiting.dominant.given.name,
            "sentence": dominance_sentence(limiting),
        }
    way_out = way_out_of(task, found, together.fundamental.n_in_mean)
    if way_out is not None:
        names["way_out"] = {
            "decides": way_out.decides,
            "n_more_plucks": way_out.n_more_plucks,
            "is_decided_in_the_middle": way_out.is_decided_in_the_middle,
            "sentence": way_out.sentence(),
        }
    move = move_of(task, found)
    names["move"] = None if move is None else asdict(move)
    return names


def rests_on_names(task: BeltTask) -> dict[str, object]:
    """Span, limits and rule that readings rest on."""
    known, comparison, rule = task.span, task.comparison, task.decision_rule
    air = None if known is None else known.given(AIR)
    limits = None if comparison is None else comparison.limits
    return {
        "span_model": None if known is None else known.model,
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

"""What follows from a job, as a record states it: the same job gives the same, whoever computes it."""

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.belt.comparison import shown
from tensionear.figures import significant, with_uncertainty
from tensionear.job.passes import PassKind
from tensionear.job.record.finding_run_in import found_run_in
from tensionear.job.record.found_document import (
    Found,
    FoundBudgetLine,
    FoundCompared,
    FoundMark,
    FoundMove,
    FoundPass,
    FoundPluck,
    FoundValue,
)
from tensionear.job.results import PassResult, deciding_pass, pass_results
from tensionear.job.setup import Setup
from tensionear.job.specification_document import BandDocument, SingleValueDocument
from tensionear.job.state import JobPluck, JobState
from tensionear.metrology.budget import Budget, BudgetInput
from tensionear.metrology.decision import Side, Verdict
from tensionear.next_step import BeltMove
from tensionear.task import Assessment, BeltTask

_WORKSHOP_UNITS = {"m": (1e3, "mm"), "kg/m": (1e3, "g/m")}
"""How many make one SI unit, and their symbols, for sentences."""


def found_of(state: JobState, setup: Setup) -> Found:
    """Find out what follows from a job.

    Parameters
    ----------
    state, setup
        The job, and what it goes by.

    Raises
    ------
    InputError
        If the setup's parts do not go together.
    """
    results = pass_results(state, setup)
    deciding = deciding_pass(state)
    passes = tuple(_pass(each) for each in results)
    return Found(
        details=state.details,
        passes=passes,
        run_in=found_run_in(results),
        deciding_pass_number=None if deciding is None else deciding.number,
        conclusion=_conclusion(None if deciding is None else passes[deciding.number - 1]),
    )


def _pass(result: PassResult) -> FoundPass:
    each, together, found = result.job_pass, result.together, result.together.found
    statistics = together.fundamental
    tension = None if found is None else found.budget
    return FoundPass(
        pass_number=each.number,
        kind=each.kind,
        begun_at=each.begun_at,
        ended_at=each.ended_at,
        reason=each.reason,
        n_readings=together.n_readings,
        n_refused=together.n_refused,
        n_struck_out=sum(bool(pluck.struck_out) for pluck in each.plucks),
        n_in_mean=0 if statistics is None else statistics.n_in_mean,
        plucks=tuple(_pluck(pluck, result.each_pluck.get(pluck.number)) for pluck in each.plucks),
        marked=tuple(
            FoundMark(pluck_number=result.considered[marked.number - 1].number, mark=marked.mark)
            for marked in together.marked
        ),
        disagreement=None if statistics is None else statistics.disagreement,
        scatter_hz=None if statistics is None else statistics.scatter,
        fundamental=None if found is None else FoundValue.of(found.fundamental),
        span_model=None if result.task.span is None else result.task.span.model,
        tension=None if tension is None else FoundValue.of(tension.result),
        flexible_tension=None
        if found is None or found.flexible_tension is None
        else FoundValue.of(found.flexible_tension),
        no_tension="" if found is None else found.no_tension,
        budget=() if tension is None else _budget(tension),
        compared=_compared(result.task, found),
        way_out=None if result.way_out is None else result.way_out.sentence(_half_width, _contribution),
        move=None if result.move is None else _move(result.move),
    )


def _pluck(pluck: JobPluck, found: Assessment | None) -> FoundPluck:
    return FoundPluck(
        pluck_number=pluck.number,
        revolutions=pluck.revolutions,
        is_reading=found is not None,
        counts=pluck.counts,
        struck_out=pluck.struck_out,
        tension=None if found is None or found.tension is None else FoundValue.of(found.tension),
    )


def _compared(task: BeltTask, found: Assessment | None) -> FoundCompared | None:
    comparison = task.comparison
    if comparison is None:
        return None
    limits = comparison.limits
    decision = None if found is None else found.decision
    return FoundCompared(
        quantity=comparison.quantity,
        unit=limits.unit,
        limits=BandDocument(lower=limits.lower, upper=limits.upper, unit=limits.unit)
        if isinstance(limits, ToleranceBand)
        else SingleValueDocument(single_value=limits.value, unit=limits.unit),
        limits_relative_standard_uncertainty=comparison.limits_relative_standard_uncertainty,
        is_specification=comparison.is_specification,
        sentence=comparison.sentence,
        decision_rule=task.decision_rule.rule,
        asked_probability=task.decision_rule.asked_probability,
        result=None if found is None or found.compared is None else FoundValue.of(found.compared.result),
        budget=() if found is None or found.compared is None else _budget(found.compared),
        verdict=None if decision is None else decision.verdict,
        side=None if decision is None else decision.side,
        conformance_probability=None if found is None else found.conformance_probability,
    )


def _budget(budget: Budget) -> tuple[FoundBudgetLine, ...]:
    return tuple(
        FoundBudgetLine(
            name=line.given.name,
            value=line.given.measured.value,
            unit=line.given.unit,
            standard_uncertainty=line.given.measured.standard_uncertainty,
            evaluation=line.given.evaluation,
            distribution=line.given.distribution,
            origin=line.given.origin,
            sensitivity=line.sensitivity,
            contribution=line.contribution,
            share=line.share,
        )
        for line in budget.lines
    )


def _half_width(given: BudgetInput, half_width: float) -> str:
    per_si, unit = _WORKSHOP_UNITS.get(given.unit, (1.0, given.unit))
    return f"{significant(half_width * per_si, 2)} {unit}".rstrip()


def _contribution(budget: Budget, contribution: float) -> str:
    return f"{significant(contribution, 2)} {budget.unit}"


def _move(move: BeltMove) -> FoundMove:
    return FoundMove(
        target_hz=move.target_hz,
        change_hz=move.change_hz,
        target_n=move.target_n,
        change_n=move.change_n,
        is_enough=move.is_enough,
    )


def _conclusion(deciding: FoundPass | None) -> str:
    """The outcome in words; never more than what was found."""
    if deciding is None:
        return "No verdict: the belt was not read after its final setting."
    name = "final setting" if deciding.kind is PassKind.FINAL_SETTING else "re-check"
    if deciding.ended_at is None:
        return f"No verdict yet: the {name} still goes on."
    if deciding.fundamental is None:
        if deciding.disagreement is not None:
            return f"No verdict: the plucks of the {name} do not agree ({deciding.disagreement})."
        return f"No verdict: no pluck of the {name} could be read."
    compared = deciding.compared
    if compared is None or compared.result is None:
        return f"No verdict: nothing is specified that the {name} could be compared with."
    kind = "the specified band" if compared.is_specification else "the band about an earlier job"
    if isinstance(compared.limits, SingleValueDocument):
        return f"No verdict at the {name}: a single value without a tolerance is stated."
    where = "" if compared.side is None else f", {_at(compared.verdict, compared.side)}"
    return (
        f"At the {name} the {compared.quantity} is {_figure(compared.result, compared.unit)}, which is"
        f" {compared.verdict}{where}: {kind} reaches from {shown(compared.limits.value())}."
    )


def _figure(result: FoundValue, unit: BandUnit) -> str:
    return with_uncertainty(result.value, result.expanded_uncertainty, str(unit))


def _at(verdict: Verdict | None, side: Side) -> str:
    if verdict is Verdict.OUT_OF_BAND:
        return f"too {side}"
    return f"too near the {'lower' if side is Side.LOW else 'upper'} limit to be told from it"

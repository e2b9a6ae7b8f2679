"""How the belt settled in a job: its passes handed to the statistics of the run-in.

Only what was plucked since the belt was last over-tensioned counts, as it was run in anew. Readings that are struck
out, and those that stand apart in their set, are left out. Frequencies alone tell no settling: it takes a span.
"""

import math
from collections.abc import Iterator, Sequence

from tensionear.belt.band import ToleranceBand
from tensionear.belt.comparison import ComparedQuantity
from tensionear.errors import InputError
from tensionear.job.passes import PassKind
from tensionear.job.results import PassResult
from tensionear.job.state import JobPluck
from tensionear.metrology.budget import Budget
from tensionear.metrology.run_in import CountedPlucks, RunIn, judge_run_in
from tensionear.metrology.tension_change import SettingPlucks, TensionLimits
from tensionear.metrology.uncertainty import Measured
from tensionear.next_step import tension_when_compared
from tensionear.tension_budget import FUNDAMENTAL, own_part


def settling(results: Sequence[PassResult]) -> tuple[RunIn, tuple[PassResult, ...]] | None:
    """Judge how the belt settled.

    Parameters
    ----------
    results : sequence of PassResult
        Of all passes of a job, in order.

    Returns
    -------
    tuple of RunIn and tuple of PassResult, or None
        What is found, and the re-checks that its `rechecks` are of. None without a span, or if no reading since the
        last over-tension began counts.
    """
    since = _since_over_tension(results)
    budgets = [budget for each in since for _, budget in _budgets(each)]
    if not budgets:
        return None
    counted = [
        CountedPlucks(pluck.revolutions, (own_part(budget),))
        for each in since
        if each.job_pass.kind in (PassKind.OVER_TENSION, PassKind.RUN_IN)
        for pluck, budget in _budgets(each)
    ]
    final = _last(since, PassKind.FINAL_SETTING)
    rechecks: list[PassResult] = []
    if final is not None:
        rechecks = [
            each
            for each in since[since.index(final) + 1 :]
            if each.job_pass.kind is PassKind.RE_CHECK and _tensions(each)
        ]
    run_in = judge_run_in(
        counted,
        None if final is None else _setting(final),
        [_setting(each) for each in rechecks],
        common_share=_common_share(budgets[-1]),
        limits=None if final is None else _limits(final),
    )
    return run_in, tuple(rechecks)


def _since_over_tension(results: Sequence[PassResult]) -> list[PassResult]:
    start = 0
    for place, each in enumerate(results):
        if each.job_pass.kind is PassKind.OVER_TENSION:
            start = place
    return list(results[start:])


def _last(results: Sequence[PassResult], kind: PassKind) -> PassResult | None:
    return next((each for each in reversed(results) if each.job_pass.kind is kind and _tensions(each)), None)


def _budgets(result: PassResult) -> Iterator[tuple[JobPluck, Budget]]:
    """Plucks that count and stand not apart, with their tension."""
    apart = {result.considered[marked.number - 1].number for marked in result.together.marked}
    for pluck in result.considered:
        found = result.each_pluck.get(pluck.number)
        if found is not None and found.budget is not None and pluck.number not in apart:
            yield pluck, found.budget


def _tensions(result: PassResult) -> tuple[Measured, ...]:
    return tuple(own_part(budget) for _, budget in _budgets(result))


def _setting(result: PassResult) -> SettingPlucks:
    return SettingPlucks(_tensions(result), result.together.decision)


def _common_share(budget: Budget) -> float:
    """Standard uncertainty of all but the fundamental, as a share of the result. [1]."""
    return _beside_the_fundamental(budget) / budget.result.value


def _beside_the_fundamental(budget: Budget) -> float:
    own = budget.line(FUNDAMENTAL).contribution
    return math.sqrt(max(0.0, budget.result.standard_uncertainty**2 - own**2))


def _limits(result: PassResult) -> TensionLimits | None:
    """The limits of a pass as tensions of its span; None without limits, or where they cannot be brought to them."""
    comparison, found = result.task.comparison, next(iter(result.each_pluck.values()))
    if comparison is None or found.compared is None or not isinstance(comparison.limits, ToleranceBand):
        return None
    try:
        lower_n, upper_n = (
            tension_when_compared(result.task, found, limit)
            for limit in (comparison.limits.lower, comparison.limits.upper)
        )
    except InputError:  # so slack that the span would bend like a bar
        return None
    share = _beside_the_fundamental(found.compared) / found.compared.result.value
    if comparison.quantity is ComparedQuantity.FREQUENCY:
        share *= 2  # a tension goes with the square of its frequency
    return TensionLimits(lower_n, upper_n, share, result.task.decision_rule)

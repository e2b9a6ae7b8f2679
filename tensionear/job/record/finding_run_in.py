"""How the belt settled, as a record states it."""

from collections.abc import Sequence

from tensionear.job.record.found_document import FoundCount, FoundFall, FoundReCheck, FoundRunIn, FoundValue
from tensionear.job.results import PassResult
from tensionear.job.settling import settling
from tensionear.metrology.run_in import RunIn
from tensionear.metrology.run_in_sentences import (
    further_sentence,
    levelling_sentence,
    recheck_sentence,
    run_in_sentence,
    setting_sentence,
)
from tensionear.metrology.settling_law import FurtherFall
from tensionear.metrology.tension_change import TensionFall
from tensionear.metrology.uncertainty import Measured


def found_run_in(results: Sequence[PassResult]) -> FoundRunIn | None:
    """State how the belt settled.

    Parameters
    ----------
    results : sequence of PassResult
        Of all passes of a job, in order.
    """
    judged = settling(results)
    if judged is None or not judged[0].revolutions:
        return None
    run_in, rechecks = judged
    further = run_in.further if isinstance(run_in.further, FurtherFall) else None
    by_setting = run_in.by_setting
    return FoundRunIn(
        counts=tuple(
            FoundCount(revolutions=revolutions, tension=FoundValue.of(tension))
            for revolutions, tension in zip(run_in.revolutions, run_in.mean_tensions_n, strict=True)
        ),
        fall=None if run_in.fall is None else _fall(run_in.fall),
        per_revolution_percent=None
        if run_in.per_revolution_percent is None
        else FoundValue.of(run_in.per_revolution_percent),
        stretch_start_revolutions=run_in.stretch_start_revolutions,
        level_state=run_in.levelling.state,
        level_since_revolutions=run_in.levelling.level_since_revolutions,
        further_revolutions=None if further is None else further.revolutions,
        further_fall_percent=None if further is None else FoundValue.of(_percent(further.fall_share)),
        by_setting=None if by_setting is None else _fall(by_setting),
        rechecks=_rechecks(run_in, rechecks),
        sentence=run_in_sentence(run_in),
        level_sentence=levelling_sentence(run_in),
        further_sentence=further_sentence(run_in),
        setting_sentence="" if by_setting is None else setting_sentence(by_setting),
    )


def _rechecks(run_in: RunIn, passes: Sequence[PassResult]) -> tuple[FoundReCheck, ...]:
    return tuple(
        FoundReCheck(
            pass_number=each.job_pass.number, fall=_fall(recheck.fall), sentence=recheck_sentence(recheck)
        )
        for each, recheck in zip(passes, run_in.rechecks, strict=True)
    )


def _fall(fall: TensionFall) -> FoundFall:
    return FoundFall(
        percent=FoundValue.of(fall.fall_percent),
        newtons=FoundValue.of(fall.fall_n),
        is_significant=fall.is_significant,
    )


def _percent(share: Measured) -> Measured:
    return Measured(100 * share.value, 100 * share.standard_uncertainty, share.degrees_of_freedom)

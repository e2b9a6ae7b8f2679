"""A history is drawn in one quantity, with limits only where that very quantity was compared."""

import math
from dataclasses import replace
from datetime import UTC, datetime

from tensionear.belt.band import BandUnit
from tensionear.belt.comparison import ComparedQuantity
from tensionear.job.archive.history import HistoryLine
from tensionear.job.history_content import tension_history
from tensionear.job.passes import PassKind
from tensionear.metrology.decision import Verdict
from tensionear.tension_axes import Band, Mean

AT = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
CORRECTED = HistoryLine(
    job_number="17",
    is_demonstration=False,
    pass_number=1,
    kind=PassKind.FINAL_SETTING,
    begun_at=AT,
    ended_at=AT,
    n_readings=5,
    n_refused=0,
    fundamental_hz=118.0,
    fundamental_expanded_uncertainty_hz=0.3,
    tension_n=402.0,
    tension_expanded_uncertainty_n=5.0,
    compared_quantity=ComparedQuantity.CORRECTED_TENSION,
    compared=402.0,
    compared_expanded_uncertainty=6.0,
    lower=380.0,
    upper=460.0,
    single_value=None,
    unit=BandUnit.NEWTON,
    verdict=Verdict.IN_BAND,
)
FREQUENCY = replace(
    CORRECTED,
    compared_quantity=ComparedQuantity.FREQUENCY,
    compared=118.0,
    compared_expanded_uncertainty=0.4,
    lower=110.0,
    upper=None,
    unit=BandUnit.HERTZ,
)
FLEXIBLE = replace(CORRECTED, compared_quantity=ComparedQuantity.FLEXIBLE_TENSION, compared=423.0)
NOT_COMPARED = replace(
    CORRECTED,
    compared_quantity=None,
    compared=None,
    compared_expanded_uncertainty=None,
    lower=None,
    upper=None,
    unit=None,
    verdict=None,
)
WITHOUT_MEAN = replace(
    NOT_COMPARED,
    kind=PassKind.RUN_IN,
    fundamental_hz=None,
    fundamental_expanded_uncertainty_hz=None,
    tension_n=None,
    tension_expanded_uncertainty_n=None,
)
BAND = Band(380.0, 460.0)


def drawn(*lines: HistoryLine) -> tuple[str, str, list[tuple[Mean, Band | None]]]:
    history = tension_history(lines, "invented van")
    return history.quantity, history.unit, [(each.mean, each.band) for each in history.passes]


def test_what_was_compared_is_drawn_with_its_limits() -> None:
    passes = [(Mean(402.0, 6.0), BAND), (Mean(402.0, 5.0), None)]
    assert drawn(CORRECTED, NOT_COMPARED) == ("static tension", "N", passes)
    flexible = drawn(FLEXIBLE, NOT_COMPARED)  # whose flexible tension is not known
    assert flexible == ("tension of a flexible span", "N", [(Mean(423.0, 6.0), BAND)])
    in_hertz = drawn(FREQUENCY, NOT_COMPARED)
    band = Band(110.0, math.inf)
    assert in_hertz == ("fundamental frequency", "Hz", [(Mean(118.0, 0.4), band), (Mean(118.0, 0.3), None)])


def test_passes_that_were_compared_in_different_quantities_share_the_static_tension() -> None:
    passes = [(Mean(402.0, 6.0), BAND), (Mean(402.0, 5.0), None), (Mean(402.0, 5.0), None)]
    assert drawn(CORRECTED, FREQUENCY, FLEXIBLE) == ("static tension", "N", passes)


def test_a_pass_without_a_mean_is_left_out() -> None:
    assert drawn(WITHOUT_MEAN) == ("fundamental frequency", "Hz", [])
    assert len(drawn(CORRECTED, WITHOUT_MEAN)[2]) == 1


def test_a_single_value_is_an_aim() -> None:
    aimed = replace(CORRECTED, lower=None, upper=None, single_value=420.0, verdict=None)
    assert drawn(aimed)[2] == [(Mean(402.0, 6.0), Band(420.0, 420.0))]


def test_demonstrations_stay_marked() -> None:
    history = tension_history([replace(CORRECTED, is_demonstration=True), CORRECTED], "")
    assert [each.is_demonstration for each in history.passes] == [True, False]

"""A specification that was kept, in whatever form it is stated, is the same and judges the same."""

import pytest

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.belt.comparison import Baseline, SingleValue
from tensionear.belt.estimate import Estimate
from tensionear.belt.specification import Specification
from tensionear.belt.stated_value import BeltState, Method, Push, ReferenceSpan, Stated
from tensionear.job.specification_document import BaselineDocument, SpecificationDocument
from tensionear.metrology.uncertainty import Measured
from tensionear.task import BeltTask
from tests.job.invented import (
    FINAL_BAND_N,
    KNOWN_SPAN,
    SPAN,
    SPECIFICATION,
)

BAND_HZ = ToleranceBand(110.0, 122.0, BandUnit.HERTZ)
SPECIFICATIONS = [
    SPECIFICATION,
    Specification(Method.FORCE, (Stated(BeltState.ANY, FINAL_BAND_N),), "Invented sheet 2"),
    Specification(
        Method.FORCE,
        (
            Stated(BeltState.NEW, SingleValue(420.0, BandUnit.NEWTON)),
            Stated(BeltState.RUN_IN, FINAL_BAND_N),
            Stated(BeltState.OVER_TENSION, SingleValue(680.0, BandUnit.NEWTON)),
        ),
        "Invented sheet 3",
    ),
    Specification(Method.FREQUENCY, (Stated(BeltState.ANY, BAND_HZ),), "Invented sheet 4"),
    Specification(
        Method.FREQUENCY, (Stated(BeltState.ANY, BAND_HZ),), "Invented sheet 5", ReferenceSpan(0.2, 0.15)
    ),
    Specification(
        Method.VIBRATION_TENSION, (Stated(BeltState.ANY, FINAL_BAND_N),), "Sheet 6", ReferenceSpan(None, 0.15)
    ),
    Specification(
        Method.DEFLECTION, (Stated(BeltState.ANY, Push(30.0, 30.0, 0.0035, 0.0045)),), "Invented sheet 7"
    ),
    Specification(
        Method.DEFLECTION, (Stated(BeltState.ANY, Push(30.0, 30.0, 0.004, 0.004)),), "Invented sheet 8"
    ),
    Specification(
        Method.DEFLECTION, (Stated(BeltState.ANY, Push(28.0, 34.0, 0.004, 0.004)),), "Invented sheet 9"
    ),
]


@pytest.mark.parametrize("specification", SPECIFICATIONS, ids=lambda each: each.source)
def test_a_specification_that_was_kept_is_the_same_and_judges_the_same(specification: Specification) -> None:
    written = SpecificationDocument.of(specification).model_dump_json()
    kept = SpecificationDocument.model_validate_json(written).specification()
    assert kept == specification
    for stated in specification.values:
        before, after = (each.comparison(stated.state, SPAN) for each in (specification, kept))
        assert after == before
        fundamental = Measured(118.0, 0.2, 4.0)
        found = [BeltTask(KNOWN_SPAN, each).assessment(fundamental) for each in (before, after)]
        assert found[0].compared is not None
        assert found[1].compared is not None
        assert found[1].compared.result == found[0].compared.result
        assert (found[1].decision, found[1].conformance_probability) == (
            found[0].decision,
            found[0].conformance_probability,
        )


def test_a_baseline_that_was_kept_is_the_same() -> None:
    baseline = Baseline(Estimate(118.3, 0.12), 4.5, "invented job 17 of 2026-03-02")
    kept = BaselineDocument.model_validate_json(BaselineDocument.of(baseline).model_dump_json()).baseline()
    assert kept == baseline
    assert kept.comparison() == baseline.comparison()


def test_which_states_a_specification_states_is_told() -> None:
    kept = SpecificationDocument.of(SPECIFICATION)
    assert kept.states(BeltState.OVER_TENSION)
    assert not kept.states(BeltState.NEW)

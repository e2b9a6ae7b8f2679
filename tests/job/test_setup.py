"""A setup: whatever pass comes, it can be judged by it, or the setup is refused when it is made."""

import math
from typing import Any

import pytest
from pydantic import ValidationError

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.belt.comparison import Baseline, ComparedQuantity, SingleValue
from tensionear.belt.estimate import Estimate
from tensionear.belt.specification import Specification
from tensionear.belt.stated_value import BeltState, Method, Push, ReferenceSpan, Stated
from tensionear.job.passes import PassKind, Step
from tensionear.job.setup import (
    MOST_LINES,
    MOST_PLUCKS,
    MOST_REVOLUTIONS,
    ChecklistLine,
    Direction,
    RuleDocument,
    RunInPlan,
    Setup,
)
from tensionear.job.specification_document import BaselineDocument, SpecificationDocument
from tensionear.metrology.decision import GUARDED, DecisionRule, Rule, Verdict
from tensionear.metrology.uncertainty import Measured
from tests.job.invented import FINAL_BAND_N, KNOWN_SPAN, OVER_TENSION_BAND_N, invented_setup

BAND_HZ = ToleranceBand(110.0, 122.0, BandUnit.HERTZ)
BASELINE = BaselineDocument.of(Baseline(Estimate(118.0, 0.1), 5.0, "invented job 17"))


def specified(
    method: Method,
    state: BeltState,
    value: ToleranceBand | SingleValue | Push,
    reference: ReferenceSpan | None = None,
) -> SpecificationDocument:
    """A specification of one value."""
    given = Specification(method, (Stated(state, value),), "Invented sheet", reference)
    return SpecificationDocument.of(given)


def test_each_pass_is_compared_with_what_is_stated_for_it() -> None:
    setup = invented_setup()
    limits = {kind: _limits(setup, kind) for kind in PassKind}
    assert limits == {
        PassKind.OVER_TENSION: OVER_TENSION_BAND_N,
        PassKind.RUN_IN: None,
        PassKind.FINAL_SETTING: FINAL_BAND_N,
        PassKind.RE_CHECK: FINAL_BAND_N,
    }


def _limits(setup: Setup, kind: PassKind) -> ToleranceBand | SingleValue | None:
    comparison = setup.task_for(kind).comparison
    return None if comparison is None else comparison.limits


def test_each_pass_has_the_span_as_it_was_known() -> None:
    setup = invented_setup()
    assert all(setup.task_for(kind).span == KNOWN_SPAN for kind in PassKind)


def test_the_verdict_of_a_pass_is_that_of_the_specification_in_hand_worked_newtons() -> None:
    # 4·0.165·0.213² = 0.02994354: 118 Hz make 416.93 N (in 380 to 460), 110 Hz 362.32 N (below), 150 Hz 673.73 N.
    task = invented_setup().task_for(PassKind.FINAL_SETTING)
    for fundamental_hz, tension_n, verdict in (
        (118.0, 416.934, Verdict.IN_BAND),
        (110.0, 362.317, Verdict.OUT_OF_BAND),
        (150.0, 673.730, Verdict.OUT_OF_BAND),
    ):
        found = task.assessment(Measured(fundamental_hz, 0.02))
        assert found.tension is not None
        assert found.decision is not None
        assert found.tension.value == pytest.approx(tension_n, abs=0.001)
        assert found.decision.verdict is verdict


def test_final_setting_and_re_check_are_judged_as_the_belts_that_they_are() -> None:
    values = (
        Stated(BeltState.NEW, ToleranceBand(400.0, 480.0, BandUnit.NEWTON)),
        Stated(BeltState.RUN_IN, ToleranceBand(360.0, 440.0, BandUnit.NEWTON)),
    )
    stated = SpecificationDocument.of(Specification(Method.FORCE, values, "Invented sheet"))
    setup = invented_setup(
        specification=stated, final_setting_state=BeltState.NEW, re_check_state=BeltState.RUN_IN
    )
    assert _limits(setup, PassKind.FINAL_SETTING) == values[0].value
    assert _limits(setup, PassKind.RE_CHECK) == values[1].value
    assert _limits(setup, PassKind.OVER_TENSION) is None


def test_the_over_tension_is_compared_with_its_own_specification_where_there_is_one() -> None:
    own = specified(Method.FREQUENCY, BeltState.OVER_TENSION, BAND_HZ)
    setup = invented_setup(over_tension=own)
    comparison = setup.task_for(PassKind.OVER_TENSION).comparison
    assert comparison is not None
    assert (comparison.quantity, comparison.limits) == (ComparedQuantity.FREQUENCY, BAND_HZ)
    assert _limits(setup, PassKind.FINAL_SETTING) == FINAL_BAND_N


def test_a_value_for_any_belt_is_not_taken_for_the_over_tension() -> None:
    any_belt = specified(Method.FORCE, BeltState.ANY, FINAL_BAND_N)
    assert _limits(invented_setup(specification=any_belt), PassKind.OVER_TENSION) is None
    with pytest.raises(ValidationError, match="states nothing for over-tension, only for any belt"):
        invented_setup(over_tension=any_belt)


def test_a_baseline_judges_final_setting_and_re_check_and_never_the_over_tension() -> None:
    setup = invented_setup(specification=None, baseline=BASELINE)
    # 118 Hz ± 5 %.
    for kind in (PassKind.FINAL_SETTING, PassKind.RE_CHECK):
        comparison = setup.task_for(kind).comparison
        assert comparison is not None
        assert not comparison.is_specification
        assert isinstance(comparison.limits, ToleranceBand)
        assert comparison.limits.lower == pytest.approx(112.1)
        assert comparison.limits.upper == pytest.approx(123.9)
    assert _limits(setup, PassKind.OVER_TENSION) is None


def test_a_setup_of_a_name_alone_gives_frequencies_and_no_verdict() -> None:
    setup = Setup(name="Example Four")
    for kind in PassKind:
        found = setup.task_for(kind).assessment(Measured(118.0, 0.02))
        assert (found.tension, found.decision) == (None, None)
        assert found.fundamental == Measured(118.0, 0.02)


@pytest.mark.parametrize(
    ("changes", "match"),
    [
        ({"baseline": BASELINE}, "a specification and a baseline of your own are both given"),
        (
            {"span": None, "specification": specified(Method.FORCE, BeltState.ANY, FINAL_BAND_N)},
            "add the span length",
        ),
        (
            {"span": None, "specification": specified(
                Method.VIBRATION_TENSION, BeltState.ANY, FINAL_BAND_N, ReferenceSpan()
            )},
            "add the span length",
        ),
        (
            {"specification": specified(Method.FORCE, BeltState.NEW, FINAL_BAND_N)},
            "states nothing for any belt, only for new belt",
        ),
        (
            {"specification": specified(Method.DEFLECTION, BeltState.ANY, Push(30.0, 30.0, 0.03, 0.03))},
            "deflection 30 mm is more than 10% of the span length",
        ),
        ({"name": " "}, "at least 1 character"),
        ({"name": "x" * 201}, "at most 200 characters"),
        ({"notes": "x" * 10_001}, "at most 10000 characters"),
        ({"plucks_per_pass": 0}, "greater than or equal to 1"),
        ({"plucks_per_pass": MOST_PLUCKS + 1}, "less than or equal to 50"),
        ({"plucks_per_pass": 2.5}, "valid integer"),
        ({"cautions": ["hot"] * (MOST_LINES + 1)}, "at most 100 items"),
        ({"checklist": [{"step": "run-in", "text": "look"}] * (MOST_LINES + 1)}, "at most 100 items"),
        ({"checklist": [{"step": "lunch", "text": "look"}]}, "Input should be 'cautions'"),
        ({"decision_rule": {"asked_probability": 0.5}}, "greater than 0.5"),
        ({"decision_rule": {"asked_probability": 1.0}}, "less than 1"),
        ({"run_in": {"revolutions": 0, "direction": "clockwise"}}, "greater than or equal to 1"),
        ({"run_in": {"revolutions": MOST_REVOLUTIONS + 1, "direction": "clockwise"}}, "less than or equal to 100"),
        ({"run_in": {"revolutions": 6, "direction": "either"}}, "'clockwise' or 'anticlockwise'"),
        ({"run_in": {"revolutions": 6}}, "direction\n  Field required"),
    ],
)  # fmt: skip
def test_what_cannot_be_meant_is_refused_when_the_setup_is_made(changes: dict[str, Any], match: str) -> None:
    with pytest.raises(ValidationError, match=match):
        invented_setup(**changes)


def test_a_specification_written_by_hand_upside_down_is_refused() -> None:
    content = invented_setup().model_dump(mode="json")
    content["specification"]["values"][1]["stated"].update(lower=460.0, upper=380.0)
    with pytest.raises(ValidationError, match="is the band upside down"):
        Setup.model_validate(content)


def test_a_value_for_a_belt_that_no_pass_has_is_looked_at_too() -> None:
    content = invented_setup().model_dump(mode="json")
    band = {"form": "band", "lower": 4.0, "upper": 300.0, "unit": "N"}
    content["specification"]["values"].append({"state": "new belt", "stated": band})
    with pytest.raises(ValidationError, match="band limit 4 N"):
        Setup.model_validate(content)


def test_the_rule_is_guarded_unless_said() -> None:
    assert invented_setup().task_for(PassKind.FINAL_SETTING).decision_rule == GUARDED
    simple = invented_setup(decision_rule=RuleDocument(rule=Rule.SIMPLE))
    assert simple.task_for(PassKind.FINAL_SETTING).decision_rule == DecisionRule(Rule.SIMPLE)


def test_every_rule_is_kept() -> None:
    for rule in Rule:
        document = RuleDocument(rule=rule, asked_probability=0.9)
        kept = RuleDocument.model_validate_json(document.model_dump_json())
        assert kept.decision_rule() == DecisionRule(rule, 0.9)


@pytest.mark.parametrize(("value", "unit"), [(25.0, ""), (None, "N m")])
def test_a_checklist_value_and_its_unit_belong_together(value: float | None, unit: str) -> None:
    with pytest.raises(ValidationError, match="a value and its unit belong together"):
        ChecklistLine(step=Step.FINAL_SETTING, text="tensioner bolt", value=value, unit=unit)


def test_a_checklist_line_tells_its_value() -> None:
    line = ChecklistLine(step=Step.FINAL_SETTING, text="tensioner bolt", value=25.0, unit="N m")
    assert line.words == "tensioner bolt: 25 N m"
    assert ChecklistLine(step=Step.TOOLS_OUT, text="pin out").words == "pin out"
    with pytest.raises(ValidationError, match="finite number"):
        ChecklistLine(step=Step.FINAL_SETTING, text="tensioner bolt", value=math.nan, unit="N m")


def test_a_run_in_plan_says_from_where_the_direction_is_seen() -> None:
    assert RunInPlan(revolutions=6, direction=Direction.CLOCKWISE).seen_from == "the belt's side"
    with pytest.raises(ValidationError, match="at least 1 character"):
        RunInPlan(revolutions=6, direction=Direction.CLOCKWISE, seen_from=" ")

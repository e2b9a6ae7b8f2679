"""A span that was kept gives the very same tension, and none that was written by hand is found out only later."""

import json
import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from tensionear.belt.span import BeltSpan
from tensionear.belt.stiffness import SpanStiffness
from tensionear.job.span_document import SpanDocument
from tensionear.known_span import KnownSpan
from tensionear.metrology.budget import BudgetInput, Correlation, Distribution, EvaluationType
from tensionear.metrology.uncertainty import Measured
from tensionear.task import BeltTask
from tensionear.tension_budget import (
    AIR,
    BENDING_STIFFNESS,
    END_FIXITY,
    LINEAR_DENSITY,
    SPAN_LENGTH,
    UNKNOWN_STIFFNESS,
    budget_input,
)
from tests.job.invented import (
    KNOWN_SPAN,
    SPAN,
)

AS_STIFF = KnownSpan.taken(SPAN, SpanStiffness(0.03, 0.003, 0.8, 0.1))
AS_CALIBRATED = KnownSpan.of(
    (
        budget_input(
            SPAN_LENGTH, Measured(0.213, 0.0005, 4.0), "three times", Distribution.NORMAL, EvaluationType.A
        ),
        budget_input(LINEAR_DENSITY, Measured(0.165, 0.001, math.inf), "weighed", Distribution.TRIANGULAR),
        budget_input(BENDING_STIFFNESS, Measured(0.031, 0.004, 2.5), "calibrated", Distribution.NORMAL),
        budget_input(END_FIXITY, Measured(0.7, 0.2), "calibrated", Distribution.ARCSINE),
        budget_input(AIR, Measured.within(0.0006, 0.0003), "belt width"),
    ),
    (Correlation(BENDING_STIFFNESS, END_FIXITY, -0.87), Correlation(LINEAR_DENSITY, BENDING_STIFFNESS, 0.2)),
    ("invented warning: the calibration is a year old",),
)


@pytest.mark.parametrize(
    "known",
    [KNOWN_SPAN, KnownSpan.taken(SPAN), AS_STIFF, AS_CALIBRATED],
    ids=["flexible", "stiffness not known", "stiff", "calibrated"],
)
def test_a_span_that_was_kept_gives_the_very_same_tension_and_budget(known: KnownSpan) -> None:
    kept = SpanDocument.model_validate_json(SpanDocument.of(known).model_dump_json()).known_span()
    assert kept == known
    assert kept.model is known.model
    for fundamental in (Measured(118.0, 0.1), Measured(150.0, 0.2, 4.0)):
        before, after = (BeltTask(each).assessment(fundamental).budget for each in (known, kept))
        assert before is not None
        assert after is not None
        assert after.result == before.result  # to the last bit, degrees of freedom too
        assert after.lines == before.lines
        assert after.correlations == before.correlations


def test_infinite_degrees_of_freedom_are_kept_as_null() -> None:
    kept = SpanDocument.of(AS_CALIBRATED)
    assert [given.measured.degrees_of_freedom for given in kept.inputs][:3] == [4.0, None, 2.5]
    assert "Infinity" not in json.dumps(kept.model_dump(mode="json"))
    assert [given.measured.degrees_of_freedom for given in kept.known_span().inputs][1] == math.inf


@given(
    length_m=st.floats(0.05, 4.0),
    density=st.floats(0.02, 4.0),
    shares=st.tuples(st.floats(0, 0.1), st.floats(0, 0.1)),
    degrees=st.floats(1, 1e6) | st.just(math.inf),
    coefficient=st.floats(-1, 1),
)
@settings(max_examples=50)
def test_any_span_is_kept_whole(
    length_m: float, density: float, shares: tuple[float, float], degrees: float, coefficient: float
) -> None:
    known = KnownSpan.of(
        (
            budget_input(SPAN_LENGTH, Measured(length_m, shares[0] * length_m, degrees), "invented"),
            budget_input(LINEAR_DENSITY, Measured(density, shares[1] * density), "invented"),
            budget_input(BENDING_STIFFNESS, Measured(0.0, 0.0), "invented"),
            budget_input(END_FIXITY, Measured(0.0, 0.0), "invented"),
        ),
        (Correlation(SPAN_LENGTH, LINEAR_DENSITY, coefficient),),
    )
    assert SpanDocument.model_validate_json(SpanDocument.of(known).model_dump_json()).known_span() == known


def _with_input(name: str, changes: dict[str, Any]) -> dict[str, Any]:
    content = SpanDocument.of(KNOWN_SPAN).model_dump(mode="json")
    place = next(each for each in content["inputs"] if each["name"] == name)
    place.update(changes)
    return content


@pytest.mark.parametrize(
    ("name", "changes", "match"),
    [
        (
            SPAN_LENGTH,
            {"unit": "mm", "measured": {"value": 213.0, "standard_uncertainty": 0.5}},
            "kept in 'm' only",
        ),
        (LINEAR_DENSITY, {"unit": "g/m"}, "kept in 'kg/m' only"),
        (SPAN_LENGTH, {"measured": {"value": 213.0, "standard_uncertainty": 0.5}}, "entered in millimetres"),
        (SPAN_LENGTH, {"measured": {"value": -0.2, "standard_uncertainty": 0.0}}, "span length"),
        (LINEAR_DENSITY, {"measured": {"value": 165.0, "standard_uncertainty": 1.0}}, "linear density 165"),
        (LINEAR_DENSITY, {"name": "mass"}, "a span has no 'mass'"),
        (LINEAR_DENSITY, {"name": "fundamental", "unit": "Hz"}, "a span has no 'fundamental'"),
        (LINEAR_DENSITY, {"name": AIR}, "of the span is missing: linear density"),
        (END_FIXITY, {"measured": {"value": 1.2, "standard_uncertainty": 0.0}}, "end fixity 1.2 .*0 to 1"),
        (
            BENDING_STIFFNESS,
            {"measured": {"value": -0.1, "standard_uncertainty": 0.0}},
            "bending stiffness -0.1",
        ),
        (
            SPAN_LENGTH,
            {"measured": {"value": 0.2, "standard_uncertainty": -0.001}},
            "greater than or equal to 0",
        ),
        (
            SPAN_LENGTH,
            {"measured": {"value": 0.2, "standard_uncertainty": 0.001, "degrees_of_freedom": 0}},
            "greater than 0",
        ),
    ],
)
def test_a_span_written_by_hand_that_gives_no_tension_is_refused_at_once(
    name: str, changes: dict[str, Any], match: str
) -> None:
    with pytest.raises(ValidationError, match=match):
        SpanDocument.model_validate(_with_input(name, changes))


@pytest.mark.parametrize(
    ("correlation", "match"),
    [
        ({"first": SPAN_LENGTH, "second": "belt", "coefficient": 0.5}, "no two inputs are called"),
        ({"first": SPAN_LENGTH, "second": LINEAR_DENSITY, "coefficient": 1.1}, "can be correlated like that"),
    ],
)
def test_correlations_that_cannot_be_are_refused(correlation: dict[str, Any], match: str) -> None:
    content = SpanDocument.of(KNOWN_SPAN).model_dump(mode="json")
    with pytest.raises(ValidationError, match=match):
        SpanDocument.model_validate({**content, "correlations": [correlation]})


def test_an_input_that_is_there_twice_is_refused() -> None:
    content = SpanDocument.of(KNOWN_SPAN).model_dump(mode="json")
    with pytest.raises(ValidationError, match="two inputs have one name"):
        SpanDocument.model_validate({**content, "inputs": [*content["inputs"], content["inputs"][0]]})


def test_an_input_keeps_all_that_is_said_of_it() -> None:
    given = BudgetInput(
        AIR,
        Measured(0.0006, 0.0001, 3.0),
        "kg/m",
        EvaluationType.A,
        "belt width",
        Distribution.ARCSINE,
        "still air",
    )
    known = KnownSpan((*KNOWN_SPAN.inputs, given))
    assert SpanDocument.of(known).known_span().given(AIR) == given


def test_a_file_cannot_claim_to_know_what_an_unknown_stiffness_does() -> None:
    """Or a hand-made setup would tell a narrow ± and still say that the stiffness is not known."""
    document = SpanDocument.of(KnownSpan.taken(BeltSpan(0.213, 0.0005, 0.165, 0.001)))
    content = document.model_dump(mode="json")
    unknown = next(each for each in content["inputs"] if each["name"] == UNKNOWN_STIFFNESS)
    unknown["measured"]["standard_uncertainty"] = 0.0
    with pytest.raises(ValidationError, match="not for a file to say"):
        SpanDocument.model_validate(content)

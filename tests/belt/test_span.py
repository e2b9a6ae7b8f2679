import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tensionear.belt.span import BeltSpan
from tensionear.errors import InputError


@pytest.mark.parametrize(
    ("span_length_m", "linear_density_kg_per_m", "message"),
    [
        (213, 0.165, "span length 213 m is longer than 5 m: was it entered in millimetres?"),
        (21.3, 0.165, "span length 21.3 m is longer than 5 m: was it entered in centimetres?"),
        (8.4, 0.165, "span length 8.4 m is longer than 5 m: was it entered in inches?"),
        (54000, 0.165, "span length 54000 m is longer than 5 m: was a digit lost or added?"),
        (0.0213, 0.165, "span length 0.0213 m is shorter than 0.04 m: was a digit lost or added?"),
        (0, 0.165, "span length 0 m must be above 0 m: was it left empty?"),
        (-0.213, 0.165, "span length -0.213 m is negative: was a minus sign entered by mistake?"),
        (
            math.nan,
            0.165,
            "span length nan m is not a finite number: was something else than digits entered?",
        ),
        (
            math.inf,
            0.165,
            "span length inf m is not a finite number: was something else than digits entered?",
        ),
        (0.213, 165, "linear density 165 kg/m is heavier than 5 kg/m: was it entered in grams per metre?"),
        (0.213, 0, "linear density 0 kg/m must be above 0 kg/m: was it left empty?"),
        (0.213, -0.165, "linear density -0.165 kg/m is negative: was a minus sign entered by mistake?"),
        (
            0.213,
            math.nan,
            "linear density nan kg/m is not a finite number: was something else than digits entered?",
        ),
    ],
)
def test_span_guesses_the_slip(span_length_m: float, linear_density_kg_per_m: float, message: str) -> None:
    with pytest.raises(InputError, match=f"^{re.escape(message)}$"):
        BeltSpan(span_length_m, 0, linear_density_kg_per_m, 0)


@pytest.mark.parametrize(
    ("span_length_mm", "linear_density_g_per_m", "message"),
    [
        (0.213, 165, "span length 0.213 mm is shorter than 40 mm: was it entered in metres?"),
        (21.3, 165, "span length 21.3 mm is shorter than 40 mm: was it entered in centimetres?"),
        (8.4, 165, "span length 8.4 mm is shorter than 40 mm: was it entered in inches?"),
        (21300, 165, "span length 21300 mm is longer than 5000 mm: was a digit lost or added?"),
        (
            213,
            0.165,
            "linear density 0.165 g/m is lighter than 10 g/m: was it entered in kilograms per metre?",
        ),
        (
            213,
            5.5,
            "linear density 5.5 g/m is lighter than 10 g/m:"
            " was it entered in grams per metre for each millimetre of width?",
        ),
        (213, 165000, "linear density 165000 g/m is heavier than 5000 g/m: was a digit lost or added?"),
        (-213, 165, "span length -213 mm is negative: was a minus sign entered by mistake?"),
        (213, 0, "linear density 0 g/m must be above 0 g/m: was it left empty?"),
    ],
)
def test_span_in_workshop_units_speaks_in_the_units_typed(
    span_length_mm: float, linear_density_g_per_m: float, message: str
) -> None:
    with pytest.raises(InputError, match=f"^{re.escape(message)}$"):
        BeltSpan.from_workshop_units(span_length_mm, linear_density_g_per_m, 0, 0)


@pytest.mark.parametrize(
    ("uncertainty_mm", "message"),
    [
        (43, "standard uncertainty of the span length 43 mm is more than 20% of 213 mm"),
        (-1, "standard uncertainty of the span length -1 mm is negative"),
        (math.nan, "standard uncertainty of the span length nan mm is not a finite number"),
    ],
)
def test_span_refuses_an_uncertainty_that_cannot_be_meant(uncertainty_mm: float, message: str) -> None:
    with pytest.raises(InputError, match=f"^{re.escape(message)}"):
        BeltSpan.from_workshop_units(213, 165, uncertainty_mm, 1)


def test_span_refuses_a_density_typed_again_as_its_uncertainty() -> None:
    with pytest.raises(
        InputError, match="uncertainty of the linear density 165 g/m is more than 20% of 165 g/m"
    ):
        BeltSpan.from_workshop_units(213, 165, 1, 165)


def test_span_takes_workshop_units_to_si() -> None:
    span = BeltSpan.from_workshop_units(213, 165, 0.5, 2)
    assert span == BeltSpan(0.213, 0.0005, 0.165, 0.002)


@given(st.floats(40, 5000), st.floats(10, 5000))
def test_every_plausible_span_is_taken(span_length_mm: float, linear_density_g_per_m: float) -> None:
    span = BeltSpan.from_workshop_units(span_length_mm, linear_density_g_per_m, 0, 0)
    assert span.span_length_m == span_length_mm / 1000
    assert span.linear_density_kg_per_m == linear_density_g_per_m / 1000


@given(st.floats(0.04, 0.399))
def test_a_usual_span_typed_in_another_unit_never_passes(span_length_m: float) -> None:
    for per_metre in (1, 100, 1 / 0.0254):
        with pytest.raises(InputError, match="was it entered in"):
            BeltSpan.from_workshop_units(span_length_m * per_metre, 165, 0, 0)
